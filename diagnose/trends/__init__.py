"""Logs: one detector for each sign."""
