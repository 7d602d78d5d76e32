"""The files of the demo town."""
