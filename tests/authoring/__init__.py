"""The trainer's tools: coverage and simulation."""
