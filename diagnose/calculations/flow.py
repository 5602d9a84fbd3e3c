"""Flow, velocity and deviation."""

from __future__ import annotations

import math

from diagnose.errors import OutOfRange


def velocity(flow: float, bore: float) -> float:
    """Return the mean velocity [m/s] of ``flow`` [m³/s] in a full pipe of ``bore`` [m]: v = 4 Q / (π D²).

    Raises OutOfRange for a bore that is not positive. Source: continuity; 60 m³/h in 100 mm gives 2.12207 m/s.

    >>> velocity(60 / 3600, 0.1)
    2.12207
    """
    if bore <= 0:
        raise OutOfRange("a bore is greater than zero")
    return 4 * flow / (math.pi * bore**2)


def deviation(indicated: float, reference: float) -> float:
    """Return (indicated - reference) / reference, a ratio; 0.02 is 2 % high.

    Raises OutOfRange for a reference of zero. Source: ISO/IEC Guide 99 (relative error); 51 against 50 is 2 %.

    >>> deviation(51.0, 50.0)
    0.02
    """
    if reference == 0:
        raise OutOfRange("a deviation needs a reference that is not zero")
    return (indicated - reference) / reference


def ratio(part: float, whole: float) -> float:
    """Return part / whole; both in the same unit.

    Raises OutOfRange when ``whole`` is zero. Source: definition.

    >>> ratio(36.0, 100.0)
    0.36
    """
    if whole == 0:
        raise OutOfRange("a ratio needs a whole that is not zero")
    return part / whole
