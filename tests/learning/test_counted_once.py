"""Copies count once, and what contradicts itself not at all."""

from __future__ import annotations

from datetime import date
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from diagnose.learning.closed_cases import ClosedCase
from diagnose.learning.counted_once import counted_once
from tests.learning.cases import closed

MANY = st.lists(st.sampled_from(["a", "b", ""]), max_size=8)


def names(cases: tuple[ClosedCase, ...]) -> set[str]:
    """Return what cases are called."""
    return {each.name for each in cases}


@given(MANY, st.randoms(use_true_random=False))
def test_twice_in_is_once(causes: list[str], luck: Random) -> None:
    """Whatever a case is called the second time, and in whatever order they come."""
    cases = [closed(number, name) for number, name in enumerate(causes)]
    again = [closed(number, name, name=f"again {number}") for number, name in enumerate(causes)]
    both = luck.sample([*cases, *again], 2 * len(cases))
    counted = counted_once(both)
    assert {each.marks for each in counted.cases} == {each.marks for each in cases}
    assert len(counted.cases) == len(counted.copies) == len(cases)
    assert not counted.contradictory


@given(MANY, st.randoms(use_true_random=False))
def test_the_order_does_not_matter(causes: list[str], luck: Random) -> None:
    """The same cases count."""
    cases = [closed(number % 5, name, name=f"case {number}") for number, name in enumerate(causes)]
    one, other = counted_once(cases), counted_once(luck.sample(cases, len(cases)))
    assert one == other


def test_the_same_answers_at_the_same_meter_on_the_same_day_are_one_case() -> None:
    """Typed twice, at other minutes; on another day or at another meter it is another case."""
    first = closed(1, "a", meter="M-1", marks=("at nine", "answers"))
    typed_again = closed(1, "a", name="again", meter="M-1", marks=("at ten", "answers"))
    next_day = closed(1, "a", name="next day", meter="M-1", closed_on=date(2026, 1, 3), marks=("then", "answers"))
    elsewhere = closed(1, "a", name="elsewhere", meter="M-2", marks=("there", "answers"))
    counted = counted_once([first, typed_again, next_day, elsewhere])
    assert names(counted.cases) == {"again", "next day", "elsewhere"}
    assert names(counted.copies) == {"case 1"}


def test_alike_but_for_their_causes_teach_nothing() -> None:
    """Nobody knows which is right."""
    one = closed(1, "a", meter="M-1", marks=("at nine", "answers"))
    other = closed(1, "b", name="other", meter="M-1", marks=("at ten", "answers"))
    counted = counted_once([one, other, closed(2, "a")])
    assert names(counted.cases) == {"case 2"}
    assert [names(group) for group in counted.contradictory] == [{"case 1", "other"}]
