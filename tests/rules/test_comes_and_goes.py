"""Faults that come and go in the real rule book: they are provoked and watched before anything is measured."""

from __future__ import annotations

import pytest

from tests.reasoning.books import real_rule_book

BOOK = real_rule_book()
PROVOKING = [each.id for each in BOOK.checks.values() if each.provokes]


def test_there_are_many_ways_to_provoke_or_watch_it() -> None:
    """Tapping, wiggling, warming, wetting, switching neighbours, logging, noting: at least eight of them."""
    assert len(PROVOKING) >= 8


@pytest.mark.parametrize("name", PROVOKING)
def test_nothing_is_opened_to_provoke_it_but_to_connect_a_recorder(name: str) -> None:
    """A fault is brought on at closed housings; only a recorder is worth an open one."""
    check = BOOK.checks[name]
    assert "open" not in check.needs.get("enclosure", ()) or "recorder" in check.tools


@pytest.mark.parametrize("name", PROVOKING)
def test_what_it_finds_is_shown_by_a_cause_that_comes_and_goes(name: str) -> None:
    """Each finding that such a check can bring is one that a fault which comes and goes may show."""
    check = BOOK.checks[name]
    found = {each for outcome in check.outcomes for each in outcome.present}
    if check.measures:
        found = {each for rule in BOOK.inference.values() if check.measures in str(rule.when) for each in rule.present}
    passing = [each for each in BOOK.causes.values() if "comes-and-goes" in each.shows]
    assert found
    assert {each for each in found if not any(each in cause.shows for cause in passing)} == set()


def test_answers_for_a_standing_fault_leave_others() -> None:
    """Where the fault comes and goes, every check still has two answers or more to choose from."""
    for check in BOOK.checks.values():
        if any(each.standing_only for each in check.outcomes):
            assert sum(not each.standing_only for each in check.outcomes) >= 2, check.id
