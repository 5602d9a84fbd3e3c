"""Harnesses that try to break the program; ``python -m tests.hardening`` runs them at full size."""
