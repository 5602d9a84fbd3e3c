"""The right fuse: ratings and breaking capacities of IEC 60127, rules of the trade."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS, fuse_choice
from diagnose.calculations.fuse_choice import (
    RATINGS,
    breaking_capacity,
    fuse_replacement,
    smallest_suitable_fuse,
)
from diagnose.calculations.solving import solve
from tests.calculations.worked import Refusal, Row, without_row

LETTERS = "facts 5.7: L 35 A or 10 In, E 150 A, H 1500 A (IEC 60127-2)"
FACTOR = "common practice, 1.5 times the usual current; ratings of facts 5.8"
SMALL = "too small: will age and blow without a fault"
ROWS = [
    Row(breaking_capacity, ("L", 0.5), 35.0, LETTERS),
    Row(breaking_capacity, ("L", 3.5), 35.0, LETTERS),
    Row(breaking_capacity, ("L", 5.0), 50.0, LETTERS),
    Row(breaking_capacity, ("E", 0.5), 150.0, LETTERS),
    Row(breaking_capacity, ("H", 0.5), 1500.0, LETTERS),
    Row(smallest_suitable_fuse, (20 / 230,), 0.16, FACTOR),
    Row(smallest_suitable_fuse, (10 / 24,), 0.63, FACTOR),
    Row(smallest_suitable_fuse, (0.21,), 0.315, FACTOR + ": 1.5 · 210 mA is just 315 mA"),
    Row(smallest_suitable_fuse, (0.001,), 0.032, FACTOR),
    Row(smallest_suitable_fuse, (0.1, 1.0), 0.1, FACTOR),
]


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_published_value(row: Row) -> None:
    """The calculation gives what the source beside it says."""
    row.holds()


REFUSED = [
    Refusal(breaking_capacity, ("not known", 0.5), "must be known"),
    Refusal(breaking_capacity, ("L", 0.0), "greater than 0 A"),
    Refusal(smallest_suitable_fuse, (5.0,), "no miniature fuse is rated for 7.5 A"),
    Refusal(smallest_suitable_fuse, (0.1, 0.5), "not less than 1"),
    Refusal(fuse_replacement, (0.5, "T", 0.0, "T"), "greater than 0 A"),
]


@pytest.mark.parametrize("row", REFUSED, ids=str)
def test_what_cannot_be_is_refused_in_words(row: Refusal) -> None:
    """No fuse is named where none can be."""
    row.holds()


def test_every_calculation_has_both() -> None:
    """A calculation has worked values, and inputs that it refuses."""
    assert without_row(fuse_choice, ROWS, tables=["fuse-replacement"]) == set()
    assert without_row(fuse_choice, REFUSED) == set()


def test_ratings_are_those_of_the_standard() -> None:
    """Facts 5.8 (IEC 60127), in mA; neighbours stand about a tenth of a decade apart."""
    listed = "32 40 50 63 80 100 125 160 200 250 315 400 500 630 800 1000 1250 1600 2000 2500 3150 4000 5000 6300"
    assert [round(1000 * each) for each in RATINGS] == [int(each) for each in listed.split()]
    assert all(1.2 < larger / smaller < 1.3 for smaller, larger in pairwise(RATINGS))


def test_a_fuse_is_put_beside_the_one_that_belongs_there() -> None:
    """A quick fuse of twice the rating: each in its row, and what was not given is not compared."""
    table = fuse_replacement(1.0, "F", 0.5, "T")
    assert [row[1:] for row in table.rows] == [
        ("1 A", "500 mA", "2 times"),
        ("F", "T", "another"),
        ("not known", "not known", "not compared"),
    ]
    assert [row[3] for row in fuse_replacement(0.5, "T", 0.5, "T", "H", "L").rows] == ["same", "same", "another"]


@given(st.floats(1e-4, 4.2), st.floats(1.0, 1.5))
def test_the_smallest_suitable_fuse_suits_and_the_next_smaller_does_not(current: float, factor: float) -> None:
    """Whatever the factor."""
    rating = smallest_suitable_fuse(current, factor)
    assert rating >= factor * current * (1 - 1e-9)
    below = RATINGS.index(rating) - 1
    assert below < 0 or RATINGS[below] < factor * current


def test_the_fuse_follows_from_the_nameplate() -> None:
    """20 VA at 230 V draw 87 mA; 1.5 times that is 130 mA, so 160 mA, and the factor is named as taken."""
    solved = solve({"nominal-supply-voltage": 230.0, "power-consumption": 20.0}, SUBJECTS["supply"].calculations)
    fuse = next(each for each in solved.worked if each.calculation is smallest_suitable_fuse)
    assert (fuse.result, fuse.taken) == (0.16, {"fuse-factor": 1.5})
