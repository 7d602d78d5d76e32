"""Whole ways, from files to papers."""
