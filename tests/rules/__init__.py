"""Tests of what stands in ``rules/``."""
