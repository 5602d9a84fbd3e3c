"""Analyses of pairs of readings and of logs, and the findings that follow from them."""
