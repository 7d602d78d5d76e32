"""Arrays in, SVG out."""
