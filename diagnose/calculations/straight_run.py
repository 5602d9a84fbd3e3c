"""Straight pipe upstream and downstream of a meter: required, present, and the verdict.

Counted in diameters from the middle of the meter. Chain: ``flow-disturbance`` (and ``cone-angle``) →
``required-run-upstream``, with ``straight-run-upstream`` (or a length and the bore) → ``upstream-run-verdict``;
likewise downstream.
"""

from __future__ import annotations

import math
from typing import NamedTuple, get_args

from diagnose.calculations.calculation import Judgement, calculation
from diagnose.calculations.terms import Term, declare
from diagnose.errors import OutOfRange

JUDGEMENTS = tuple(filter(None, get_args(Judgement)))
"""Words of every verdict, from the best to the worst."""


class Run(NamedTuple):
    """Required straight pipe in diameters, and the least, below which it is wrong rather than doubtful."""

    wanted: float
    least: float


class Runs(NamedTuple):
    """Straight pipe required upstream and downstream of a meter."""

    upstream: Run
    downstream: Run


GENERAL = Runs(Run(5.0, 5.0), Run(3.0, 2.0))
"""After mild disturbances: engineers' handbook 7.6 (5 and 3); common practice (2 to 3 downstream)."""

BAD = Runs(Run(10.0, 5.0), Run(5.0, 2.0))
"""After disturbances with swirl or a jet: common practice; ISO 6817 clause 7 (from memory)."""

DOSING = Runs(Run(50.0, 20.0), GENERAL.downstream)
"""After a dosing point, until the liquid is mixed: common practice (20 to 50)."""

RUNS = {
    "none": GENERAL,
    "bend": GENERAL,
    "two bends in one plane": GENERAL,
    "two bends in different planes": BAD,
    "tee": GENERAL,
    "reducer": GENERAL,
    "expander": BAD,
    "open valve": GENERAL,
    "part-open valve": BAD,
    "pump": BAD,
    "swirl": BAD,
    "dosing point": DOSING,
}
"""Disturbance → straight pipe required."""

SLIM_CONE = math.radians(16.0)
"""Total angle of a reducer up to which it counts as straight pipe: common practice (8 degrees to the axis)."""

_BEFORE = (
    "engineers' handbook 7.6 (5); common practice and ISO 6817 clause 7, from memory (10); common practice (dosing)"
)
_BEHIND = "engineers' handbook 7.6 (3); common practice (2 to 3) and ISO 6817 clause 7, from memory (5)"

declare(
    Term(name="flow-disturbance", title="disturbance upstream of the meter", choices=tuple(RUNS)),
    Term(
        name="cone-angle",
        title="total angle of a reducer's cone",
        unit="deg",
        symbol="β",
        above=0.0,
        at_most=math.pi,
        example="16 deg",
    ),
    Term(
        name="pipe-inner-diameter",
        title="inner diameter of the pipe upstream of the reducer",
        unit="mm",
        symbol="D_pipe",
        above=0.0,
        example="150 mm",
    ),
    Term(
        name="reducer-length",
        title="length of the reducer",
        unit="mm",
        symbol="L",
        above=0.0,
        example="180 mm",
    ),
    Term(
        name="required-run-upstream",
        title="straight pipe required upstream of the meter, in diameters",
        symbol="n_before",
        at_least=0.0,
        example="5",
    ),
    Term(
        name="required-run-downstream",
        title="straight pipe required downstream of the meter, in diameters",
        symbol="n_behind",
        at_least=0.0,
        example="3",
    ),
    Term(
        name="straight-run-upstream",
        title="straight pipe upstream of the meter, in diameters",
        at_least=0.0,
        example="8",
    ),
    Term(
        name="straight-run-downstream",
        title="straight pipe downstream of the meter, in diameters",
        at_least=0.0,
        example="3",
    ),
    Term(
        name="straight-length-upstream",
        title="straight pipe upstream of the meter, as a length",
        unit="m",
        at_least=0.0,
        example="0.5 m",
    ),
    Term(
        name="straight-length-downstream",
        title="straight pipe downstream of the meter, as a length",
        unit="m",
        at_least=0.0,
        example="0.3 m",
    ),
    Term(name="required-length-upstream", title="straight pipe required upstream of the meter, as a length", unit="m"),
    Term(
        name="required-length-downstream", title="straight pipe required downstream of the meter, as a length", unit="m"
    ),
    Term(name="upstream-run-verdict", title="straight pipe upstream of the meter", choices=JUDGEMENTS),
    Term(name="downstream-run-verdict", title="straight pipe downstream of the meter", choices=JUDGEMENTS),
)


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
    return 0.0 if cone_angle <= SLIM_CONE * (1 + 1e-9) else RUNS[flow_disturbance].upstream.wanted


@calculation(gives="required-run-upstream", formula="5; after swirl or a jet 10; after dosing 50", source=_BEFORE)
def required_run_upstream(flow_disturbance: str) -> float:
    """Return the diameters of straight pipe required between a disturbance and the middle of the meter.

    Raises OutOfRange for a disturbance that is not one of the words. Source: engineers' handbook 7.6 (5 in general);
    common practice and ISO 6817 clause 7, from memory (10 after pump, part-open valve, bends in different planes,
    expander).

    >>> required_run_upstream("bend"), required_run_upstream("pump")
    (5.0, 10.0)
    """
    return RUNS[flow_disturbance].upstream.wanted


@calculation(gives="required-run-downstream", formula="3; with swirl or a jet 5", source=_BEHIND)
def required_run_downstream(flow_disturbance: str) -> float:
    """Return the diameters of straight pipe required downstream of the middle of the meter.

    Raises OutOfRange for a disturbance that is not one of the words. Source: engineers' handbook 7.6 (3 in general);
    common practice and ISO 6817 clause 7, from memory (5 where the upstream side needs 10).

    >>> required_run_downstream("bend"), required_run_downstream("pump")
    (3.0, 5.0)
    """
    return RUNS[flow_disturbance].downstream.wanted


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


@calculation(
    gives="upstream-run-verdict",
    formula="fine from the required run, wrong below 5 (after dosing 20), doubtful between",
    source=_BEFORE,
)
def upstream_run_verdict(straight_run_upstream: float, required_run_upstream: float, flow_disturbance: str) -> str:
    """Return whether the straight pipe upstream of the meter is fine, doubtful or wrong, in diameters.

    ``required_run_upstream`` as it follows from the disturbance. Raises OutOfRange for a negative number or a word
    that is not one of the disturbances. Source: engineers' handbook 7.6, common practice; 7 diameters after a pump are
    doubtful.

    >>> upstream_run_verdict(7.0, 10.0, "pump"), upstream_run_verdict(7.0, 5.0, "bend")
    ('doubtful', 'fine')
    """
    least = min(required_run_upstream, RUNS[flow_disturbance].upstream.least)
    return _verdict(straight_run_upstream, Run(required_run_upstream, least))


@calculation(
    gives="downstream-run-verdict",
    formula="fine from the required run, wrong below 2, doubtful between",
    source=_BEHIND,
)
def downstream_run_verdict(
    straight_run_downstream: float, required_run_downstream: float, flow_disturbance: str
) -> str:
    """Return whether the straight pipe downstream of the meter is fine, doubtful or wrong, in diameters.

    ``required_run_downstream`` as it follows from the disturbance. Raises OutOfRange for a negative number or a word
    that is not one of the disturbances. Source: engineers' handbook 7.6, common practice; 2.5 diameters are doubtful.

    >>> downstream_run_verdict(2.5, 3.0, "bend"), downstream_run_verdict(1.0, 3.0, "bend")
    ('doubtful', 'wrong')
    """
    least = min(required_run_downstream, RUNS[flow_disturbance].downstream.least)
    return _verdict(straight_run_downstream, Run(required_run_downstream, least))


@calculation(
    gives="upstream-run-verdict",
    formula="fine from 10, wrong below 5, doubtful between",
    source=_BEFORE,
    valid="any disturbance except a dosing point",
)
def upstream_run_verdict_of_anything(straight_run_upstream: float) -> str:
    """Return the verdict on the straight pipe upstream of the meter for an unknown disturbance.

    From 10 diameters fine whatever it is, below 5 wrong whatever it is. Raises OutOfRange for a negative number.
    Source: engineers' handbook 7.6, common practice; 7 diameters are doubtful.

    >>> upstream_run_verdict_of_anything(7.0)
    'doubtful'
    """
    return _verdict(straight_run_upstream, Run(BAD.upstream.wanted, GENERAL.upstream.least))


@calculation(
    gives="downstream-run-verdict",
    formula="fine from 5, wrong below 2, doubtful between",
    source=_BEHIND,
)
def downstream_run_verdict_of_anything(straight_run_downstream: float) -> str:
    """Return the verdict on the straight pipe downstream of the meter for an unknown disturbance.

    From 5 diameters fine whatever it is, below 2 wrong whatever it is. Raises OutOfRange for a negative number. Source:
    engineers' handbook 7.6, common practice; 4 diameters are doubtful.

    >>> downstream_run_verdict_of_anything(4.0)
    'doubtful'
    """
    return _verdict(straight_run_downstream, Run(BAD.downstream.wanted, GENERAL.downstream.least))


def _verdict(there: float, run: Run) -> str:
    counted = there * (1 + 1e-9)  # rounding: 0.3 m of 100 mm are three diameters, not slightly less
    if counted >= run.wanted:
        return "fine"
    return "wrong" if counted < run.least else "doubtful"
