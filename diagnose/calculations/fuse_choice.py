"""The right fuse: breaking capacity, rating for the usual current, and what is fitted against the data sheet."""

from __future__ import annotations

import math

from diagnose.calculations.calculation import Column, Table, calculation
from diagnose.calculations.fuses import NOT_KNOWN
from diagnose.calculations.limits import not_below
from diagnose.errors import OutOfRange

RATINGS = (
    *(0.032, 0.04, 0.05, 0.063, 0.08, 0.1, 0.125, 0.16, 0.2, 0.25, 0.315, 0.4, 0.5, 0.63, 0.8),
    *(1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3),
)
"""Standard ratings of miniature fuses [A]: IEC 60127."""

BREAKING = {"L": 35.0, "E": 150.0, "H": 1500.0}
"""Letter → breaking capacity at 250 V [A]; L has ten times its rating where that is more (IEC 60127-2, from memory)."""


@calculation(
    gives="breaking-capacity",
    formula="L 35 A or 10 I_n, E 150 A, H 1500 A",
    source="IEC 60127-2; L, E from memory",
    valid="250 V a.c.",
)
def breaking_capacity(fuse_breaking_letter: str, fuse_rating: float) -> float:
    """Return the greatest current [A] that a fuse of a rating [A] breaks safely at 250 V.

    Raises OutOfRange for a rating that is not positive or a letter not known. Source: IEC 60127-2; L breaks 35 A or
    ten times its rating, whichever is more (from memory).

    >>> breaking_capacity("L", 0.5), breaking_capacity("L", 5.0), breaking_capacity("H", 0.5)
    (35.0, 50.0, 1500.0)
    """
    if fuse_breaking_letter == NOT_KNOWN:
        raise OutOfRange("the letter on the fuse (L, E or H) must be known")
    capacity = BREAKING[fuse_breaking_letter]
    return max(capacity, 10 * fuse_rating) if fuse_breaking_letter == "L" else capacity


@calculation(
    gives="smallest-suitable-fuse",
    formula="next standard rating from k I",
    source="ratings IEC 60127; 1.5 times common practice",
    valid="only if no data sheet specifies the fuse",
)
def smallest_suitable_fuse(expected_supply_current: float, fuse_factor: float = 1.5) -> float:
    """Return the smallest standard rating [A] that is not less than the usual current [A] times a factor.

    Replace a fuse by the one that the data sheet names, never by a larger one. Raises OutOfRange beyond 6.3 A.
    Source: ratings of IEC 60127; the factor of 1.5 is common practice; 87 mA want 160 mA.

    >>> 1000 * smallest_suitable_fuse(0.087)
    160.0
    """
    wanted = fuse_factor * expected_supply_current
    for rating in RATINGS:
        if not_below(rating, wanted):
            return rating
    raise OutOfRange(f"no miniature fuse is rated for {wanted:.3g} A; the largest here has {RATINGS[-1]:g} A")


@calculation(
    title="fitted fuse beside the marked one",
    formula="same rating, same characteristic, at least the same breaking capacity",
    source="common practice",
)
def fuse_replacement(
    fuse_rating: float,
    fuse_characteristic: str,
    fuse_rating_marked: float,
    fuse_characteristic_marked: str,
    fuse_breaking_letter: str = NOT_KNOWN,
    fuse_breaking_letter_marked: str = NOT_KNOWN,
) -> Table:
    """Put the fitted fuse beside the one that is marked on the meter; ratings in A. Rules judge what differs.

    Raises OutOfRange for a rating that is not positive. Source: common practice: same type, letter, rating and
    breaking class, never bridged, never larger.

    >>> [row[3] for row in fuse_replacement(1.0, "T", 0.5, "T").rows]
    ['2 times', 'same', 'not compared']
    """
    share = fuse_rating / fuse_rating_marked
    rows = (
        (
            "rating",
            _rating(fuse_rating),
            _rating(fuse_rating_marked),
            "same" if math.isclose(share, 1.0, rel_tol=1e-6) else f"{share:.3g} times",
        ),
        (
            "characteristic",
            fuse_characteristic,
            fuse_characteristic_marked,
            _beside(fuse_characteristic, fuse_characteristic_marked),
        ),
        (
            "breaking capacity",
            fuse_breaking_letter,
            fuse_breaking_letter_marked,
            _beside(fuse_breaking_letter, fuse_breaking_letter_marked),
        ),
    )
    return Table((Column("what"), Column("fitted"), Column("marked"), Column("fitted beside marked")), rows)


def _rating(current: float) -> str:
    return f"{current:g} A" if not_below(current, 1.0) else f"{1000 * current:g} mA"


def _beside(fitted: str, marked: str) -> str:
    if NOT_KNOWN in (fitted, marked):
        return "not compared"
    return "same" if fitted == marked else "another"
