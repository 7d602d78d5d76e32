"""Reading and writing what owners and crews send."""
