"""Benchmarks: ratios, never limits in seconds."""
