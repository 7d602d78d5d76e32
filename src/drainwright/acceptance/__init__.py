"""Verdicts and payment: from evidence to what a person signs; pure."""
