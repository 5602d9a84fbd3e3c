"""Pasted text to observations, each with the words that gave it."""
