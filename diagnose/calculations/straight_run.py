"""Straight pipe upstream and downstream of a meter, required and present.

Counted in diameters from the middle of the meter.
"""

from __future__ import annotations

import math

from diagnose.calculations.calculation import calculation
from diagnose.errors import OutOfRange
from diagnose.terms import TERMS

SLIM_CONE = math.radians(16.0)
"""Total angle of a reducer up to which it counts as straight pipe: common practice (8 degrees to the axis)."""

_BEFORE = (
    "engineers' handbook 7.6 (5); common practice and ISO 6817 clause 7, from memory (10); common practice (dosing)"
)
_BEHIND = "engineers' handbook 7.6 (3); common practice (2 to 3) and ISO 6817 clause 7, from memory (5)"


@calculation(
    gives="cone-angle",
    formula="β = 2 arctan((D_pipe - D) / (2 L))",
    source="geometry",
    valid="straight cone on one axis",
)
def cone_angle(pipe_inner_diameter: float, bore: float, reducer_length: float) -> float:
    """Return the total angle [rad] of a reducer from the pipe [m] to the bore [m]: 2 arctan((D_pipe - D)/(2 L)).

    ``reducer_length`` L [m]. Raises OutOfRange unless the pipe is wider than the bore. Source: geometry; from 150 to
    100 mm over 180 mm it is 15.81°.

    >>> math.degrees(cone_angle(0.150, 0.100, 0.180))
    15.81
    """
    if pipe_inner_diameter <= bore:
        raise OutOfRange("a reducer leads from a wider pipe to the bore; this pipe is not wider than the bore")
    return 2 * math.atan((pipe_inner_diameter - bore) / (2 * reducer_length))


@calculation(
    gives="required-run-upstream",
    formula="0 up to a total cone angle of 16 deg (counts as straight pipe), otherwise as any reducer",
    source="common practice (8 degrees to the axis); engineers' handbook 7.6 (5 before)",
    valid="reducer; count through it to the disturbance upstream of it",
)
def required_run_after_cone(flow_disturbance: str, cone_angle: float) -> float:
    """Return the diameters required between a reducer of a total ``cone_angle`` [rad] and the meter.

    A slim one counts as straight pipe. Raises OutOfRange for anything but a reducer: an expander's jet has no such
    rule. Source: common practice; 16° needs 0, 30° needs 5 diameters.

    >>> required_run_after_cone("reducer", math.radians(16)), required_run_after_cone("reducer", math.radians(30))
    (0.0, 5.0)
    """
    if flow_disturbance != "reducer":
        raise OutOfRange("a cone angle applies only to a reducer; leave it out for anything else")
    return 0.0 if cone_angle <= SLIM_CONE * (1 + 1e-9) else _run("required-run-upstream", flow_disturbance)


@calculation(gives="required-run-upstream", formula="5; after swirl or a jet 10; after dosing 50", source=_BEFORE)
def required_run_upstream(flow_disturbance: str) -> float:
    """Return the diameters of straight pipe required between a disturbance and the middle of the meter.

    Raises OutOfRange for a disturbance that is not one of the words. Source: engineers' handbook 7.6 (5 in general);
    common practice and ISO 6817 clause 7, from memory (10 after pump, part-open valve, bends in different planes,
    expander).

    >>> required_run_upstream("bend"), required_run_upstream("pump")
    (5.0, 10.0)
    """
    return _run("required-run-upstream", flow_disturbance)


@calculation(gives="required-run-downstream", formula="3; with swirl or a jet 5", source=_BEHIND)
def required_run_downstream(flow_disturbance: str) -> float:
    """Return the diameters of straight pipe required downstream of the middle of the meter.

    Raises OutOfRange for a disturbance that is not one of the words. Source: engineers' handbook 7.6 (3 in general);
    common practice and ISO 6817 clause 7, from memory (5 where the upstream side needs 10).

    >>> required_run_downstream("bend"), required_run_downstream("pump")
    (3.0, 5.0)
    """
    return _run("required-run-downstream", flow_disturbance)


def _run(term: str, flow_disturbance: str) -> float:
    """Return the diameters that the vocabulary gives for a disturbance."""
    return TERMS["flow-disturbance"].figures_of(term, flow_disturbance)[0]


@calculation(gives="required-length-upstream", formula="L = n_before D", source="definition")
def required_length_upstream(required_run_upstream: float, bore: float) -> float:
    """Return the length [m] of the diameters of ``bore`` [m] required upstream of the meter.

    Raises OutOfRange for a negative number or a bore that is not positive. Source: definition; 5 times 100 mm are 0.5
    m.

    >>> required_length_upstream(5.0, 0.1)
    0.5
    """
    return required_run_upstream * bore


@calculation(gives="required-length-downstream", formula="L = n_behind D", source="definition")
def required_length_downstream(required_run_downstream: float, bore: float) -> float:
    """Return the length [m] of the diameters of ``bore`` [m] required downstream of the meter.

    Raises OutOfRange for a negative number or a bore that is not positive. Source: definition; 3 times 100 mm are 0.3
    m.

    >>> required_length_downstream(3.0, 0.1)
    0.3
    """
    return required_run_downstream * bore


@calculation(gives="straight-run-upstream", formula="length / D", source="definition")
def straight_run_upstream(straight_length_upstream: float, bore: float) -> float:
    """Return a length [m] of straight pipe upstream of the meter in diameters of ``bore`` [m].

    Raises OutOfRange for a negative length or a bore that is not positive. Source: definition; 0.5 m of 100 mm are 5.

    >>> straight_run_upstream(0.5, 0.1)
    5.0
    """
    return straight_length_upstream / bore


@calculation(gives="straight-run-downstream", formula="length / D", source="definition")
def straight_run_downstream(straight_length_downstream: float, bore: float) -> float:
    """Return a length [m] of straight pipe downstream of the meter in diameters of ``bore`` [m].

    Raises OutOfRange for a negative length or a bore that is not positive. Source: definition; 0.3 m of 100 mm are 3.

    >>> straight_run_downstream(0.3, 0.1)
    3.0
    """
    return straight_length_downstream / bore
