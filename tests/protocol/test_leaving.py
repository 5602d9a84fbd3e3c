"""How a case stands when it is left, and where a cause stood before it was mended."""

from __future__ import annotations

import pytest

from diagnose.cases.events import Case, Closed, FaultRemains, NothingElse, RemedyDone, Undo
from diagnose.observations import CheckDone, FindingSeen, RemedyTried, WordEvidence
from diagnose.protocol.closing import closing
from diagnose.protocol.leaving import before_the_cure, faults_in, left_as, rank_of
from diagnose.protocol.situation import Situation
from diagnose.protocol.telling import read_words
from tests.protocol.lamps import lamp_book_engine

DARK = FindingSeen(finding="dark", present=True)
DONE = RemedyDone(remedy="bulb-burnt")
CURED = RemedyTried(remedy="bulb-burnt", verdict="cured")
IN_VAIN = RemedyTried(remedy="bulb-burnt", verdict="not cured")


def case_of(*events: object) -> Case:
    """Return a case of these answers."""
    case = Case()
    for event in events:
        case = case.after(event)  # type: ignore[arg-type]
    return case


@pytest.mark.parametrize(
    ("events", "left"),
    [
        ((DARK, DONE, CURED, NothingElse()), 1),
        ((DARK, CURED), 1),
        ((DARK, DONE, IN_VAIN, DONE, CURED), 3),
        ((DARK, DONE, IN_VAIN), 3),
        ((DARK, DONE, CURED, Undo(turn=3)), 4),
        ((), 0),
    ],
)
def test_what_was_known_before_the_last_remedy_that_helped(events: tuple[object, ...], left: int) -> None:
    """From when it was carried out on; one in vain, or one that was taken back, cures nothing."""
    case = case_of(*events)
    assert before_the_cure(case).entries == case.entries[:left]


def test_a_cured_case_names_the_causes_from_before() -> None:
    """What is mended shows nothing any more."""
    engine = lamp_book_engine()
    before, after = (left_as(Situation(engine, case_of(*events))) for events in ((DARK,), (DARK, CURED, NothingElse())))
    assert before.state == "open"
    assert after.state in ("cured", "waiting")
    assert after.causes == before.causes
    assert after.findings == before.findings == ("dark",)
    assert left_as(Situation(engine, Case())).causes == ()


def test_where_a_cause_stood() -> None:
    """By its place from 1; one that cannot be comes last, and without a complaint nobody knows."""
    engine = lamp_book_engine()
    case = case_of(DARK)
    causes = Situation(engine, case).diagnosis.causes
    for place, each in enumerate(causes, 1):
        assert rank_of(engine, case, each.id) == (place, pytest.approx(each.probability, abs=1e-4))
    assert rank_of(engine, case, "moon") == (len(causes) + 1, 0.0)
    assert rank_of(engine, Case(), causes[0].id) == (0, None)
    cured = case_of(DARK, CheckDone(check="look-at-bulb", answer="black"), DONE, CURED)
    assert rank_of(engine, cured, "bulb-burnt")[0] == 1


def test_of_a_second_fault_its_own_causes_are_named() -> None:
    """Those of the first one come second; either may be what the case is closed with."""
    engine = lamp_book_engine()
    flickers = FindingSeen(finding="flickers", present=True)
    case = case_of(DARK, CheckDone(check="look-at-bulb", answer="black"), DONE, CURED, FaultRemains(), flickers)
    before, now = faults_in(case)
    assert (before, now) == (before_the_cure(case), case)
    assert left_as(Situation(engine, case)).causes[0][0] == "loose-contact"
    assert [rank_of(engine, case, name)[0] for name in ("bulb-burnt", "loose-contact")] == [1, 1]
    assert faults_in(case_of(DARK, CURED, FaultRemains())) == (case_of(DARK),)
    assert len(faults_in(case_of(DARK, CURED, flickers, Undo(turn=3)))) == 1


def test_what_mended_the_first_fault_is_no_remedy_of_the_second() -> None:
    """A case that is closed without a remedy takes the one that helped, if it is one for the cause."""
    engine = lamp_book_engine()
    flickers = FindingSeen(finding="flickers", present=True)
    two = case_of(DARK, DONE, CURED, FaultRemains(), flickers)
    remedies = {
        (len(case.entries), cause): closing(engine, case, Closed(outcome="found", cause=cause)).remedy
        for case in (case_of(DARK, DONE, CURED), two)
        for cause in ("bulb-burnt", "loose-contact")
    }
    assert remedies == {
        (3, "bulb-burnt"): "bulb-burnt",
        (3, "loose-contact"): "bulb-burnt",
        (5, "bulb-burnt"): "bulb-burnt",
        (5, "loose-contact"): "",
    }


def test_of_words_a_case_keeps_the_words_alone() -> None:
    """Their weights follow from the rule book; weighed anew they are what they were when they were read."""
    engine = lamp_book_engine()
    turn = read_words(Situation(engine, Case()), "The lamp is dark. The wire glowed, then a bang.")
    kept = [each for each in turn.events if isinstance(each, WordEvidence)]
    case = case_of(*turn.events)
    assert all(each == WordEvidence(report=each.report) for each in kept)
    first = Situation(engine, case).observations
    engine.weighed.clear()
    assert Situation(engine, case).observations == first
