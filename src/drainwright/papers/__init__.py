"""Papers as PDF."""
