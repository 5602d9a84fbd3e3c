"""Tests of the renderings of a diagnosis."""
