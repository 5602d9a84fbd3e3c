"""Tests of the calculations."""
