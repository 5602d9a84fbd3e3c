"""Whole rule books drawn at random: what ``rules check`` calls fine can be compiled, kept, shown and used."""
