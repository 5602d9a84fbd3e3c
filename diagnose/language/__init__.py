"""Turns pasted text into observations, each with a quote of the words behind it."""
