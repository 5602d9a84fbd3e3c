"""Tests of journals and recorded cases."""
