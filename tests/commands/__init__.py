"""Tests of the command line, as people call it."""
