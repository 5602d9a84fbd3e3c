"""Learning as a whole: a year of closed cases from a plant unlike ours helps, and from one like ours does no harm."""

from __future__ import annotations

from datetime import date
from random import Random

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.learning.learning import learn, learned_engine, learned_rule_book, moved
from diagnose.learning.prior import LEAST_CASES, MOST_CASES, Prior
from diagnose.observations import CheckDone, FindingSeen
from diagnose.reasoning.engine import Engine
from tests.benchmarks.learning import after_a_year, change, ranked
from tests.learning.cases import closed
from tests.learning.simulated import Plant, another_plant
from tests.reasoning.books import book, cause, finding, yes_or_no

SYMPTOMS = [finding(f"symptom-{number}", kind="symptom", complaint="common", leak=0.01) for number in range(5)]
RESULTS = [finding(f"result-{number}", leak=0.02) for number in range(12)]
CAUSES = [
    cause(
        f"cause-{number}",
        {
            f"symptom-{number % 5}": 0.9,
            f"symptom-{(number + 1) % 5}": 0.4,
            f"result-{number}": 0.6,
            f"result-{(number + 5) % 12}": 0.3,
        },
        frequency=(0.3, 1.0, 3.0)[number % 3],
        looks_like=(f"cause-{(number + 5) % 12}",),
    )
    for number in range(12)
]
CHECKS = [yes_or_no(f"look-{number}", f"result-{number}") for number in range(12)]
ENGINE = Engine(book(*SYMPTOMS, *RESULTS, *CAUSES, *CHECKS))
SEEN = FindingSeen(finding="symptom-0", present=True)


@pytest.fixture(scope="module")
def elsewhere() -> Plant:
    """Return a plant whose frequencies are not ours, by a factor of e as a rule."""
    return Plant(another_plant(ENGINE.rule_book, seed=4, looks=None), "elsewhere", meters=1)


def test_after_a_year_elsewhere_the_right_cause_comes_first_more_often(elsewhere: Plant) -> None:
    """In more cases than chance explains; and it is more probable."""
    rows = list(ranked(ENGINE, after_a_year(ENGINE, elsewhere, 1000), elsewhere, 600))
    first, probability = change([(one[0], one[2]) for one in rows]), change([(one[1], one[3]) for one in rows])
    assert first.by - first.give_or_take > 0
    assert probability.by - probability.give_or_take > 0


def test_after_a_year_on_a_plant_like_ours_nothing_is_worse() -> None:
    """For the cases look as believed, and so what was believed counts for much."""
    plant = Plant(ENGINE.rule_book, "like ours", meters=1)
    rows = list(ranked(ENGINE, after_a_year(ENGINE, plant, 1000), plant, 600))
    assert change([(one[0], one[2]) for one in rows]).by > -0.01
    assert change([(one[1], one[3]) for one in rows]).by > -0.02


@given(st.lists(st.integers(0, 11), max_size=10), st.randoms(use_true_random=False))
def test_twice_in_is_once_and_the_order_does_not_matter(numbers: list[int], luck: Random) -> None:
    """Whatever the cases are called."""
    cases = [closed(place, f"cause-{number}") for place, number in enumerate(numbers)]
    again = [msgspec.structs.replace(each, name=f"again {each.name}") for each in cases]
    once = learn(ENGINE, cases, Prior(50, 10))
    twice = learn(ENGINE, luck.sample([*cases, *again], 2 * len(cases)), Prior(50, 10))
    assert twice.cases == once.cases == len(cases)
    for one, other in zip(once.frequencies, twice.frequencies, strict=True):
        assert one.frequency_after == pytest.approx(other.frequency_after)


def test_a_case_closed_with_another_cause_than_was_proposed_counts_the_same() -> None:
    """What came first says nothing of what was found."""
    away = CheckDone(check="look-0", answer="yes"), CheckDone(check="look-5", answer="no")
    surprised = [closed(number, "cause-5", observations=(SEEN, *away)) for number in range(4)]
    expected = [closed(number, "cause-5", observations=(SEEN,)) for number in range(4)]
    one, other = (learn(ENGINE, cases, Prior(20, 10)).frequencies for cases in (surprised, expected))
    assert one == other


def test_what_was_looked_for_is_learned_and_what_was_told_is_not() -> None:
    """From the observations of the cases themselves."""
    looks = CheckDone(check="look-0", answer="no")
    learned = learn(ENGINE, [closed(n, "cause-0", observations=(SEEN, looks)) for n in range(6)], Prior(20, 10))
    assert [(each.finding, each.found, each.of) for each in learned.strengths] == [("result-0", 0, 6)]
    assert learned_rule_book(ENGINE.rule_book, learned).causes["cause-0"].shows["result-0"] < 0.5


def test_only_what_was_closed_since_a_day_counts() -> None:
    """The rest shows what has drifted."""
    early = [closed(n, "cause-0", closed_on=date(2025, 3, 1), marks=(f"e{n}", f"e{n}")) for n in range(10)]
    late = [closed(n, "cause-1") for n in range(10)]
    learned = learn(ENGINE, [*early, *late], Prior(20, 10), since=date(2026, 1, 1))
    assert (learned.cases, learned.since) == (10, "2026-01-01")
    assert {each.cause: each.risen > 0.95 for each in learned.drift} == {"cause-0": False, "cause-1": True}


def test_the_prior_that_was_taken_is_stated() -> None:
    """Whether it was given or found."""
    assert learn(ENGINE, [], Prior(33, 4)).prior_cases == 33
    found = learn(ENGINE, [closed(n, "cause-3") for n in range(200)])
    assert found.prior_cases == LEAST_CASES
    assert LEAST_CASES <= learn(ENGINE, []).prior_cases <= MOST_CASES


def test_cases_whose_first_cause_would_be_another_are_named() -> None:
    """Two causes that show the same, of which the rarer one is all that ever comes."""
    cases = [closed(n, "cause-0", observations=(SEEN,)) for n in range(60)]
    learned = learn(ENGINE, cases, Prior(20, 10))
    rows, tried, before, after = moved(ENGINE, learned_engine(ENGINE, learned), cases)
    assert (tried, before, after) == (60, 0, 60)
    assert {each.first_after for each in rows} == {"cause-0"}
    assert all(each.place_before > each.place_after == 1 for each in rows)
