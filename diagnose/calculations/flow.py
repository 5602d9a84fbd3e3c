"""Flow, velocity and deviation."""

from __future__ import annotations

import math

from diagnose.calculations.calculation import calculation
from diagnose.calculations.terms import Term, declare
from diagnose.errors import OutOfRange

declare(
    Term(name="indicated", title="what the meter shows", unit="m3/h", symbol="Q_ind", example="51 m3/h"),
    Term(name="reference", title="what the reference shows", unit="m3/h", symbol="Q_ref", example="50 m3/h"),
    Term(name="deviation", title="deviation from the reference", unit="%", symbol="e"),
)


@calculation(gives="velocity", formula="v = 4 Q / (π D²)", source="continuity", valid="pipe full")
def velocity(flow: float, bore: float) -> float:
    """Return the mean velocity [m/s] of ``flow`` [m³/s] in a full pipe of ``bore`` [m]: v = 4 Q / (π D²).

    Raises OutOfRange for a bore that is not positive. Source: continuity; 60 m³/h in 100 mm gives 2.12207 m/s.

    >>> velocity(60 / 3600, 0.1)
    2.12207
    """
    return 4 * flow / (math.pi * bore**2)


@calculation(gives="flow", formula="Q = v π D² / 4", source="continuity", valid="pipe full")
def flow_from_velocity(velocity: float, bore: float) -> float:
    """Return the flow [m³/s] of a mean ``velocity`` [m/s] in a full pipe of ``bore`` [m]: Q = v π D² / 4.

    Raises OutOfRange for a bore that is not positive. Source: continuity; 3 m/s in 100 mm gives 84.8230 m³/h.

    >>> 3600 * flow_from_velocity(3.0, 0.1)
    84.8230
    """
    return velocity * math.pi * bore**2 / 4


@calculation(
    gives="deviation", formula="e = (Q_ind - Q_ref) / Q_ref", source="ISO/IEC Guide 99 (relative error)"
)
def deviation(indicated: float, reference: float) -> float:
    """Return (indicated - reference) / reference, a ratio; 0.02 is 2 % high.

    Raises OutOfRange for a reference of zero. Source: ISO/IEC Guide 99 (relative error); 51 against 50 is 2 %.

    >>> deviation(51.0, 50.0)
    0.02
    """
    if reference == 0:
        raise OutOfRange("a deviation needs a reference that is not zero")
    return (indicated - reference) / reference
