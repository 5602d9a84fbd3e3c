"""Faults that come and go in the real rule book: they are provoked and watched before anything is measured."""

from __future__ import annotations

import msgspec
import pytest

from diagnose.observations import FindingSeen, State
from diagnose.reasoning.diagnosis import diagnose
from diagnose.reasoning.proposals import LEAST_SAVING
from tests.engines import real_engine
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


def test_a_fault_that_comes_and_goes_is_provoked_before_somebody_is_fetched() -> None:
    """Whoever may not repair it can still find out what brings it on."""
    engine = real_engine()
    told = [FindingSeen(finding=name, present=True) for name in ("display-dark", "comes-and-goes")]
    state, seen = State(competence="instructed"), []
    for _ in range(40):
        proposal = diagnose(engine, {}, tuple(told), state).proposals.next
        if proposal.kind != "check":
            break
        seen.append(proposal.id)
        state = msgspec.structs.replace(state, set_aside=(*state.set_aside, proposal.id))
    assert proposal.kind == "escalate"
    assert [name for name in seen if engine.rule_book.checks[name].provokes]


COMPLAINTS = [each.id for each in BOOK.findings.values() if each.complaint == "common"]


@pytest.mark.parametrize("complaint", COMPLAINTS)
def test_it_is_provoked_before_a_look_that_finds_only_what_is_there_at_the_moment(complaint: str) -> None:
    """Tap, wiggle, watch or log first, as far as that exposes nobody; mere looks may come at a quiet moment."""
    engine = real_engine()
    told = tuple(FindingSeen(finding=name, present=True) for name in (complaint, "comes-and-goes"))
    state, looked = State(competence="ordinary"), False
    for _ in range(12):
        proposals = diagnose(engine, {}, told, state).proposals
        if proposals.next.kind != "check":
            break
        check = engine.rule_book.checks[proposals.next.id]
        looked = looked or check.id in engine.momentary
        assert not (looked and check.provokes and not check.meets), f"{check.id} after a mere look"
        state = msgspec.structs.replace(state, set_aside=(*state.set_aside, check.id))


@pytest.mark.parametrize("complaint", COMPLAINTS)
def test_what_brings_it_on_at_once_comes_before_what_waits_for_it(complaint: str) -> None:
    """A tap takes three minutes, notes of the operators take days."""
    engine = real_engine()
    told = tuple(FindingSeen(finding=name, present=True) for name in (complaint, "comes-and-goes"))
    state = State(competence="skilled")
    for _ in range(12):
        proposals = diagnose(engine, {}, told, state).proposals
        if proposals.next.kind != "check":
            break
        if engine.rule_book.checks[proposals.next.id].provokes == "in time":
            left = [
                each.id
                for each in proposals.checks
                if engine.rule_book.checks[each.id].provokes == "at once" and not each.changes
            ]
            saves = {each.id: each.saves_minutes for each in proposals.checks}
            assert all(saves[name] <= LEAST_SAVING for name in left), (proposals.next.id, left)
        state = msgspec.structs.replace(state, set_aside=(*state.set_aside, proposals.next.id))
