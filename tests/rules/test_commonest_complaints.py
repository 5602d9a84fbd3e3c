"""The complaints that come most often are answered much as handbooks and the practice of the trade answer them."""

from __future__ import annotations

import pytest

from tests.benchmarks.complaints import FIRST_CAUSES, Answer, answers, report


@pytest.mark.parametrize("answer", answers(), ids=lambda each: each.complaint)
def test_what_practice_names_is_among_our_first_causes(answer: Answer) -> None:
    """At least two of its causes come among our first five; the table was written before anybody looked."""
    assert sum(place <= FIRST_CAUSES for place in answer.places) >= 2, answer


@pytest.mark.parametrize("answer", answers(), ids=lambda each: each.complaint)
def test_nothing_is_held_for_certain_by_a_complaint_alone(answer: Answer) -> None:
    """One complaint has many causes: no first cause above one half, and the first step is to look."""
    assert answer.causes[0][1] <= 0.5
    assert answer.next_is_a_check


def test_the_table_can_be_read() -> None:
    """It has every complaint and says how much of what practice names comes first."""
    told = report()
    assert all(each.complaint in told for each in answers())
    assert "% are among our first 5" in told
