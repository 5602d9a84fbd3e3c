"""The right fuse: breaking capacity, rating for the usual current, and what is fitted against the data sheet."""

from __future__ import annotations

import math

from diagnose.calculations.calculation import Column, Judgement, Table, calculation
from diagnose.calculations.fuses import NOT_KNOWN
from diagnose.calculations.limits import not_above, not_below
from diagnose.calculations.terms import Term, declare
from diagnose.errors import OutOfRange

declare(
    Term(
        name="specified-fuse-rating",
        title="rated current of the fuse by data sheet",
        unit="mA",
        symbol="I_n by data sheet",
        above=0.0,
        example="500 mA",
    ),
    Term(
        name="specified-fuse-characteristic",
        title="characteristic of the fuse by data sheet: F quick, T time-lag",
        symbol="characteristic by data sheet",
        choices=("F", "T"),
        example="T",
    ),
    Term(
        name="specified-fuse-breaking-letter",
        title="breaking capacity of the fuse by data sheet: L low, E enhanced, H high",
        symbol="letter by data sheet",
        choices=("L", "E", "H", NOT_KNOWN),
        example="L",
    ),
    Term(
        name="breaking-capacity",
        title="largest current that the fuse breaks safely",
        unit="A",
        symbol="I_b",
        above=0.0,
    ),
    Term(
        name="short-circuit-current",
        title="current that the supply drives into a short circuit",
        unit="A",
        symbol="I_k",
        at_least=0.0,
        example="200 A",
    ),
    Term(
        name="breaking-verdict",
        title="breaking capacity of the fuse against the short-circuit current",
        choices=("fine", "wrong"),
    ),
    Term(
        name="fuse-factor",
        title="least ratio of rated current to usual current",
        symbol="k",
        at_least=1.0,
        example="1.5",
    ),
    Term(
        name="smallest-suitable-fuse",
        title="smallest standard rating for the usual current (the data sheet takes precedence)",
        unit="mA",
        symbol="I_n",
        above=0.0,
    ),
    Term(
        name="fuse-load-verdict",
        title="rating of the fuse against the usual current",
        choices=("fine", "too small: will age and blow without a fault"),
    ),
)

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


@calculation(gives="breaking-verdict", formula="I_k ≤ I_b", source="IEC 60127-2")
def breaking_verdict(short_circuit_current: float, breaking_capacity: float) -> str:
    """Return whether a fuse breaks the current [A] that the supply drives into a short circuit.

    Raises OutOfRange for a negative current. Source: meaning of the breaking capacity.

    >>> breaking_verdict(200.0, 35.0), breaking_verdict(200.0, 1500.0)
    ('wrong', 'fine')
    """
    return "fine" if not_above(short_circuit_current, breaking_capacity) else "wrong"


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


@calculation(gives="fuse-load-verdict", formula="I_n ≥ k I", source="common practice")
def fuse_load_verdict(fuse_rating: float, expected_supply_current: float, fuse_factor: float = 1.5) -> str:
    """Return whether a fuse of a rating [A] carries the usual current [A] with the margin that keeps it from ageing.

    Raises OutOfRange for a factor below one. Source: common practice, a factor of 1.5.

    >>> fuse_load_verdict(0.16, 0.087), fuse_load_verdict(0.1, 0.087)
    ('fine', 'too small: will age and blow without a fault')
    """
    if not_below(fuse_rating, fuse_factor * expected_supply_current):
        return "fine"
    return "too small: will age and blow without a fault"


@calculation(
    title="fitted fuse against the specified one",
    formula="same rating, same characteristic, at least the same breaking capacity",
    source="common practice",
)
def fuse_replacement(
    fuse_rating: float,
    fuse_characteristic: str,
    specified_fuse_rating: float,
    specified_fuse_characteristic: str,
    fuse_breaking_letter: str = NOT_KNOWN,
    specified_fuse_breaking_letter: str = NOT_KNOWN,
) -> Table:
    """Compare the fitted fuse with the one in the data sheet; ratings in A.

    Raises OutOfRange for a rating that is not positive. Source: common practice: same type, letter, rating and
    breaking class, never bridged, never larger.

    >>> fuse_replacement(1.0, "T", 0.5, "T").verdict
    'too large: it does not protect the meter'
    """
    faults = [
        _rating_fault(fuse_rating, specified_fuse_rating),
        _characteristic_fault(fuse_characteristic, specified_fuse_characteristic),
        _breaking_fault(fuse_breaking_letter, specified_fuse_breaking_letter),
    ]
    rows = (
        ("rating", _rating(fuse_rating), _rating(specified_fuse_rating)),
        ("characteristic", fuse_characteristic, specified_fuse_characteristic),
        ("breaking capacity", fuse_breaking_letter, specified_fuse_breaking_letter),
    )
    found = [each for each in faults if each]
    judgement: Judgement = "wrong" if found else "fine"
    return Table(
        columns=(Column("what"), Column("fitted"), Column("by data sheet"), Column("means")),
        rows=tuple((*row, fault or _agreement(*row[1:])) for row, fault in zip(rows, faults, strict=True)),
        verdict="; ".join(found) or "the right fuse",
        judgement=judgement,
    )


def _rating(current: float) -> str:
    return f"{current:g} A" if not_below(current, 1.0) else f"{1000 * current:g} mA"


def _agreement(fitted: str, specified: str) -> str:
    if NOT_KNOWN in (fitted, specified):
        return "not compared"
    return "same" if fitted == specified else "more than needed"


def _rating_fault(fitted: float, specified: float) -> str:
    if math.isclose(fitted, specified, rel_tol=1e-6):
        return ""
    if fitted > specified:
        return "too large: it does not protect the meter"
    return "too small: it will blow without a fault"


def _characteristic_fault(fitted: str, specified: str) -> str:
    if fitted == specified:
        return ""
    return (
        "quick instead of time-lag: blows when switched on"
        if fitted == "F"
        else "time-lag instead of quick: protects too late"
    )


def _breaking_fault(fitted: str, specified: str) -> str:
    if NOT_KNOWN in (fitted, specified):
        return ""
    return "breaks less than it should: may burst" if BREAKING[fitted] < BREAKING[specified] else ""
