"""What was seen, issued and done: frozen records in SI, no computing."""
