"""Analyses of readings against published values and known truths."""
