"""General arithmetic for rules, with their own quantities."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.errors import OutOfRange


@calculation(gives="ratio", formula="part / whole", source="definition", valid="both in the same unit")
def ratio(part: float, whole: float) -> float:
    """Return part / whole; both in the same unit.

    Raises OutOfRange when ``whole`` is zero. Source: definition.

    >>> ratio(36.0, 100.0)
    0.36
    """
    if whole == 0:
        raise OutOfRange("a ratio needs a whole that is not zero")
    return part / whole
