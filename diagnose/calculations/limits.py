"""Comparison with limits, with a tolerance for rounding errors."""

from __future__ import annotations

ROUNDING = 1e-9
"""Relative tolerance of a limit."""


def not_above(value: float, limit: float) -> bool:
    """Check whether a value meets its upper limit.

    >>> 28.8 <= 24 * 1.2, not_above(28.8, 24 * 1.2)
    (False, True)
    """
    return value <= limit + ROUNDING * abs(limit)


def not_below(value: float, limit: float) -> bool:
    """Check whether a value meets its lower limit.

    >>> 6 * 0.7 >= 4.2, not_below(6 * 0.7, 4.2)
    (False, True)
    """
    return value >= limit - ROUNDING * abs(limit)
