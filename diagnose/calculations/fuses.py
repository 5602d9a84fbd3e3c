"""Miniature fuses (IEC 60127-2): test currents, and time to blow."""

from __future__ import annotations

import math

from diagnose.calculations.calculation import Column, Table, calculation
from diagnose.calculations.limits import not_above, not_below
from diagnose.errors import OutOfRange
from diagnose.terms import TERMS

NOT_KNOWN = "not known"

LOWEST_WITH_GATES, HIGHEST_WITH_GATES = 0.125, 6.3
"""Ratings [A] for which the times below hold; smaller ones may be quicker."""

HOUR, HALF_HOUR = 3600.0, 1800.0

Gates = tuple[tuple[float, float, float], ...]

_NO_BLOWING = (1.5, HOUR, math.inf)
GATES: dict[tuple[str, str], Gates] = {
    ("F", "L"): (_NO_BLOWING, (2.1, 0, HALF_HOUR), (2.75, 0.05, 2.0), (4.0, 0.01, 0.3), (10.0, 0, 0.02)),
    ("T", "L"): (_NO_BLOWING, (2.1, 0, 120.0), (2.75, 0.6, 10.0), (4.0, 0.15, 3.0), (10.0, 0.02, 0.3)),
    ("T", "H"): (_NO_BLOWING, (2.1, 0, HALF_HOUR), (2.75, 0.75, 80.0), (4.0, 0.095, 5.0), (10.0, 0.01, 0.15)),
}
"""Characteristic and breaking capacity → times rated current, shortest and longest time [s] (IEC 60127-2, from memory).

F with L is standard sheet 2, T with L sheet 3, T with H sheet 5.
"""

GATE_SOURCE = "IEC 60127-2, sheets 2 (F, L), 3 (T, L), 5 (T, H), from memory"
GATE_VALID = "125 mA to 6.3 A, 5 x 20 mm, room temperature"


@calculation(title="test currents of the fuse", formula="table", source=GATE_SOURCE, valid=GATE_VALID)
def fuse_test_currents(fuse_rating: float, fuse_characteristic: str, fuse_breaking_letter: str = NOT_KNOWN) -> Table:
    """Return at which currents a fuse of a rating [A] is tested, with the shortest and longest time that it may take.

    Raises OutOfRange for a rating beyond 125 mA to 6.3 A or a kind of fuse whose times are not known here. Source:
    IEC 60127-2, from memory; T 500 mA is tested at 0.75, 1.05, 1.375, 2 and 5 A.

    >>> [row[1] for row in fuse_test_currents(0.5, "T").rows]
    [0.75, 1.05, 1.375, 2.0, 5.0]
    """
    gates = _gates(fuse_rating, fuse_characteristic, fuse_breaking_letter)
    return Table(
        columns=(Column("times rated"), Column("current", "A"), Column("at least"), Column("at most")),
        rows=tuple(
            (times, times * fuse_rating, _duration(shortest) if shortest else "", _duration(longest))
            for times, shortest, longest in gates
        ),
    )


@calculation(
    title="how long the fuse carries the current",
    formula="between the gates on either side: more current is never slower",
    source=GATE_SOURCE,
    valid=GATE_VALID,
)
def fuse_time(
    fuse_rating: float, fuse_characteristic: str, fuse_current: float, fuse_breaking_letter: str = NOT_KNOWN
) -> Table:
    """Return the shortest and longest time that a sound fuse of a rating [A] may take at a current [A].

    The times are those of the tests on either side, for more current never takes longer. Raises OutOfRange for a
    rating beyond 125 mA to 6.3 A or a kind of fuse whose times are not known here. Source: IEC 60127-2, from memory;
    T 500 mA L at 2 A blows in 0.15 to 3 s.

    >>> fuse_time(0.5, "T", 2.0, "L").remark
    'blows within 3 s, not before 150 ms'
    """
    gates = _gates(fuse_rating, fuse_characteristic, fuse_breaking_letter)
    times = fuse_current / fuse_rating
    shortest, longest = _band(times, gates)
    return Table(
        columns=(Column("current", "A"), Column("times rated"), Column("at least"), Column("at most")),
        rows=((fuse_current, times, _duration(shortest) if shortest else "", _duration(longest)),),
        remark=_words(times, shortest, longest),
    )


def _gates(rating: float, characteristic: str, letter: str) -> Gates:
    """Return the gates of a fuse; if its breaking capacity is not known, the widest of all possible ones."""
    kinds = [gates for (kind, of), gates in GATES.items() if kind == characteristic and letter in (of, NOT_KNOWN)]
    if not kinds:
        raise OutOfRange(
            f"the times of {characteristic} fuses with letter {letter} are not known, only of F L, T L and T H"
        )
    if not (not_below(rating, LOWEST_WITH_GATES) and not_above(rating, HIGHEST_WITH_GATES)):
        raise OutOfRange(
            f"the times are known for ratings from 125 mA to 6.3 A; it is {TERMS['fuse-rating'].exactly(rating)}"
        )
    return tuple(
        (gate[0][0], min(least for _, least, _ in gate), max(most for *_, most in gate))
        for gate in zip(*kinds, strict=True)
    )


def _band(times: float, gates: Gates) -> tuple[float, float]:
    """Return the shortest and longest time at ``times`` the rating, by the gates on either side alone."""
    shortest = next((least for gate, least, _ in gates if not_below(gate, times) and least), 0.0)
    longest = min((most for gate, _, most in gates if not_above(gate, times)), default=math.inf)
    return shortest, longest


def _words(times: float, shortest: float, longest: float) -> str:
    if times <= 1:
        return "carries it indefinitely"
    if math.isinf(longest):
        return f"carries it for {_duration(shortest)} or longer"
    if not shortest:
        return f"blows within {_duration(longest)}"
    return f"blows within {_duration(longest)}, not before {_duration(shortest)}"


def _duration(seconds: float) -> str:
    if math.isinf(seconds):
        return "no limit"
    if seconds >= 120:
        return f"{seconds / 60:g} min"
    return f"{seconds:g} s" if seconds >= 1 else f"{1000 * seconds:g} ms"
