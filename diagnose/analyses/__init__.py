"""Readings and logs given as answers: analysed with the data sheet, summarised in words and findings."""
