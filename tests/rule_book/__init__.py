"""Tests of reading the rule book."""
