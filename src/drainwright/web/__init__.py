"""The pages: parse, call one operation, show."""
