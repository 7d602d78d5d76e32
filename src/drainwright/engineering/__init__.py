"""Numbers: one module a subject; arrays and SI floats in, SI out; no record known."""
