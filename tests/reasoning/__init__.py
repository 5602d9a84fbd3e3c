"""Tests of ``diagnose.reasoning``."""
