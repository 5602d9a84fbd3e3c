"""While nobody has said whether words tell of a danger, no document names a step to do."""

from __future__ import annotations

import pytest

from diagnose.cases.events import Case, DangerMentioned, NoDanger
from diagnose.documents.document import diagnosis_document
from diagnose.interview.kept import kept_document
from diagnose.observations import FindingSeen
from diagnose.protocol.situation import Situation
from diagnose.triage.report import triage
from tests.engines import real_engine

ENGINE = real_engine()
BOOK = ENGINE.rule_book


@pytest.mark.parametrize("words", ["It sizzles.", "It gave a loud pop last week.", "Somebody was stung at the meter."])
def test_a_report(words: str) -> None:
    """The danger is asked about first; the step comes with its cautions once that is answered, or not at all."""
    result = triage(ENGINE, f"The reading jumps about. {words}", {})
    document = diagnosis_document(BOOK, result.diagnosis, result.report.understanding)
    assert document.unclear_dangers
    assert (document.next.kind, document.next.id, document.next.steps) == ("escalate", "", ())
    assert document.next.title == "Ask first whether anybody is in danger"


def test_a_report_without_any() -> None:
    """Others get their step."""
    result = triage(ENGINE, "The reading jumps about.", {})
    assert result.diagnosis.proposals.next.kind == "check"


def test_a_kept_interview() -> None:
    """The same in an interview that was left at that question, and no longer once it was answered."""
    case = Case(name="kept").after(FindingSeen(finding="reading-erratic", present=True))
    hazard = next(each.id for each in BOOK.findings.values() if each.keep_away)
    asked = case.after(DangerMentioned(quote="my arm prickles", findings=(hazard,)))
    assert kept_document(Situation(ENGINE, asked)).next.steps == ()
    answered = asked.after(NoDanger(quote="my arm prickles"))
    assert kept_document(Situation(ENGINE, answered)).next.kind == "check"
