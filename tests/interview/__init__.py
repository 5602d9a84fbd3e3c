"""Tests of the interview."""
