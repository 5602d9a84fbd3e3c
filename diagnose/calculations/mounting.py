"""Mounting of a meter: earthing of the liquid, a pipe that stays full, position of the electrodes.

Each verdict is a word: fine, doubtful or wrong.
"""

from __future__ import annotations

import math
from typing import get_args

from diagnose.calculations.calculation import Judgement, calculation
from diagnose.calculations.terms import Term, declare

JUDGEMENTS = tuple(filter(None, get_args(Judgement)))
"""Words of every verdict, from the best to the worst."""

NEEDED_EARTHING = {"bare metal": "flanges bonded", "plastic or lined": "rings or earthing electrode"}
"""Kind of pipe → earthing that ties the potential of the liquid to the meter: common practice."""

EARTHING = {
    ("bare metal", "none"): "doubtful",  # bolts may bond the flanges, by luck
    ("bare metal", "flanges bonded"): "fine",
    ("bare metal", "rings or earthing electrode"): "fine",
    ("plastic or lined", "none"): "wrong",
    ("plastic or lined", "flanges bonded"): "wrong",  # the flanges do not touch the liquid
    ("plastic or lined", "rings or earthing electrode"): "fine",
}

POSITIONS = {
    "low point": "fine",
    "rising leg": "fine",
    "straight horizontal run": "fine",
    "high point": "wrong",
    "falling leg": "wrong",
    "before free discharge": "wrong",
}
"""Where the meter sits → whether the pipe stays full there: common practice."""

ORIENTATIONS = {"vertical, upward": "fine", "horizontal": "fine", "vertical, downward": "doubtful"}
"""How the liquid runs → whether the pipe stays full: engineers' handbook 7.6, common practice."""

TOGETHER = {("before free discharge", "vertical, upward"): "doubtful"}
"""Combinations with a verdict of their own: a rising leg stays full up to its lip."""

EXCLUDE_EACH_OTHER = {
    ("rising leg", "vertical, downward"),
    ("falling leg", "vertical, upward"),
    ("straight horizontal run", "vertical, upward"),
    ("straight horizontal run", "vertical, downward"),
}
"""Positions and directions that contradict each other."""

LEVEL_WITHIN = math.radians(45.0)
"""Angle to the horizontal up to which the electrode axis counts as level: common practice."""

LEAST_STRAP = 4e-6
"""Cross-section of an earth strap [m²], copper: common practice."""

declare(
    Term(name="pipe", title="pipe at the meter (painted inside counts as lined)", choices=tuple(NEEDED_EARTHING)),
    Term(
        name="earthing",
        title="how the liquid is earthed at the meter",
        choices=("none", "rings or earthing electrode", "flanges bonded"),
    ),
    Term(name="needed-earthing", title="earthing that the liquid needs", choices=tuple(NEEDED_EARTHING.values())),
    Term(name="earthing-verdict", title="earthing of the liquid", choices=JUDGEMENTS),
    Term(name="strap-area", title="cross-section of the earth straps", unit="mm2", above=0.0, example="4 mm2"),
    Term(name="strap-verdict", title="earth straps by their cross-section", choices=JUDGEMENTS),
    Term(
        name="orientation",
        title="orientation of the meter",
        choices=("vertical, upward", "vertical, downward", "horizontal"),
    ),
    Term(name="position", title="position of the meter in the line", choices=tuple(POSITIONS)),
    Term(name="full-pipe-verdict", title="whether the pipe stays full at the meter", choices=JUDGEMENTS),
    Term(
        name="electrode-axis-angle",
        title="angle of the electrode axis to the horizontal",
        unit="deg",
        at_least=0.0,
        at_most=math.pi / 2,
        example="0 deg",
    ),
    Term(name="electrode-axis-verdict", title="electrode axis", choices=JUDGEMENTS),
)

BACK_PRESSURE = "against back-pressure, not at a pump's suction"
"""When position and direction say whether the pipe stays full."""


@calculation(
    gives="needed-earthing",
    formula="bare metal: flanges bonded to the meter; plastic or lined: a ring at each side or an earthing electrode",
    source="common practice",
)
def needed_earthing(pipe: str) -> str:
    """Return the earthing that ties the potential of the liquid to the meter for a kind of ``pipe``.

    A bare metal pipe touches the liquid itself, one of plastic or with a lining does not. Raises OutOfRange for a pipe
    that is none of the words. Source: common practice.

    >>> needed_earthing("plastic or lined")
    'rings or earthing electrode'
    """
    return NEEDED_EARTHING[pipe]


@calculation(
    gives="earthing-verdict",
    formula="fine: metal that touches the liquid is bonded to the meter; wrong: none is; doubtful: by bolts alone",
    source="common practice",
    valid="all bonds at one common potential",
)
def earthing_verdict(pipe: str, earthing: str) -> str:
    """Return whether the liquid is earthed at the meter: fine, doubtful or wrong.

    Raises OutOfRange for a word that is none of the choices. Source: common practice; bonded flanges of a lined pipe
    do not touch the liquid, and bare flanges without bonds are joined by their bolts at best.

    >>> earthing_verdict("plastic or lined", "flanges bonded"), earthing_verdict("bare metal", "flanges bonded")
    ('wrong', 'fine')
    """
    return EARTHING[pipe, earthing]


@calculation(
    gives="strap-verdict",
    formula="fine from 4 mm2",
    source="common practice",
    valid="copper, short, one to each flange",
)
def strap_verdict(strap_area: float) -> str:
    """Return whether the cross-section [m²] of earth straps is enough: fine from 4 mm², doubtful below.

    Raises OutOfRange for a cross-section that is not positive. Source: common practice; 2.5 mm² is doubtful.

    >>> strap_verdict(4e-6), strap_verdict(2.5e-6)
    ('fine', 'doubtful')
    """
    return "fine" if strap_area >= LEAST_STRAP * (1 - 1e-9) else "doubtful"


@calculation(
    gives="full-pipe-verdict",
    formula="the worse of position and direction; doubtful: upward to a free discharge, or a contradiction",
    source="engineers' handbook 7.6 (upward is best); common practice",
    valid=BACK_PRESSURE,
)
def full_pipe_verdict(position: str, orientation: str) -> str:
    """Return whether the pipe stays full at the meter, by its position and direction: fine, doubtful or wrong.

    A rising leg stays full up to its lip even before a free discharge, but spills and splashes there. If the two
    contradict each other, one is wrong, so that the verdict is doubtful at best. Raises OutOfRange for a word that is
    not one of the choices. Source: engineers' handbook 7.6, common practice.

    >>> full_pipe_verdict("rising leg", "vertical, upward"), full_pipe_verdict("low point", "vertical, downward")
    ('fine', 'doubtful')
    """
    both = (position, orientation)
    words = [POSITIONS[position], ORIENTATIONS[orientation]] + ["doubtful"] * (both in EXCLUDE_EACH_OTHER)
    return TOGETHER.get(both, max(words, key=JUDGEMENTS.index))


@calculation(
    gives="full-pipe-verdict",
    formula="fine: low point, rising leg, horizontal run; wrong: high point, falling leg, before free discharge",
    source="common practice",
    valid=BACK_PRESSURE,
)
def full_pipe_verdict_by_position(position: str) -> str:
    """Return whether the pipe stays full at the meter, by where it sits alone: fine or wrong.

    Raises OutOfRange for a position that is none of the words. Source: common practice; a high point gathers gas.

    >>> full_pipe_verdict_by_position("high point")
    'wrong'
    """
    return POSITIONS[position]


@calculation(
    gives="full-pipe-verdict",
    formula="fine: upward or horizontal; doubtful: downward",
    source="engineers' handbook 7.6 (upward is best); common practice",
    valid=BACK_PRESSURE,
)
def full_pipe_verdict_by_orientation(orientation: str) -> str:
    """Return whether the pipe stays full at the meter, by how the liquid runs alone: fine or doubtful.

    A pipe that falls is full only against back-pressure. Raises OutOfRange for an orientation that is none of the
    words. Source: engineers' handbook 7.6, common practice.

    >>> full_pipe_verdict_by_orientation("vertical, downward")
    'doubtful'
    """
    return ORIENTATIONS[orientation]


@calculation(
    gives="electrode-axis-verdict",
    formula="fine within 45 deg of level, or in a vertical pipe; wrong beyond",
    source="engineers' handbook 7.6 (level); common practice (45 deg)",
)
def electrode_axis_verdict(orientation: str, electrode_axis_angle: float) -> str:
    """Return whether electrodes on an axis at an angle [rad] to the horizontal stay clear of gas and silt.

    In a vertical pipe the axis is level anyway. Raises OutOfRange beyond 0 to 90°. Source: engineers' handbook 7.6
    (level), common practice (up to 45°).

    >>> electrode_axis_verdict("horizontal", math.radians(90)), electrode_axis_verdict("horizontal", 0.0)
    ('wrong', 'fine')
    """
    level = orientation != "horizontal" or electrode_axis_angle <= LEVEL_WITHIN * (1 + 1e-9)
    return "fine" if level else "wrong"
