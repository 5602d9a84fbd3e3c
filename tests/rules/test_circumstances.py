"""How a meter is built, placed and used is no complaint: nobody is led to a cause by it alone."""

from __future__ import annotations

import pytest

from diagnose.cases.events import Case, CompetenceSaid
from diagnose.interview.screens import has_ranking
from diagnose.observations import FindingSeen
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import ComplaintPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.triage.report import triage
from tests.engines import real_engine

ENGINE = real_engine()
FINDINGS = ENGINE.rule_book.findings
CIRCUMSTANCES = sorted(name for name, item in FINDINGS.items() if item.kind == "circumstance" and not item.keep_away)

PLACES = [
    "sewage line, mag meter, 2011, plastic pipe",
    "DN 100 in the basement, flow downwards, cathodic protection on the pipe",
    "meter at the highest point of the line, elbow and pump just before it",
    "demineralised water, hose pump feeds the line, frequency converter next to the meter",
    "sand in the liquid, the sun shines on the display",
]


@pytest.mark.parametrize("text", PLACES)
def test_circumstances_alone_are_no_complaint(text: str) -> None:
    """They are understood and kept; then it is asked what is wrong, and nothing is ranked."""
    case = Case(name="talk")
    turn = respond(ENGINE, case, prompt_of(ENGINE, case), replies.Words(text=text))
    case = case.after(*turn.events)
    assert any(each.kind == "understood" for each in turn.remarks)
    prompt = prompt_of(ENGINE, case)
    assert isinstance(prompt, ComplaintPrompt)
    assert prompt.kept
    assert not has_ranking(prompt)


def test_a_complaint_beside_them_is_one() -> None:
    """With something wrong as well, it goes on to who is there."""
    case = Case(name="talk")
    reply = replies.Words(text="sewage line, plastic pipe, and the reading jumps about")
    case = case.after(*respond(ENGINE, case, prompt_of(ENGINE, case), reply).events)
    assert not isinstance(prompt_of(ENGINE, case), ComplaintPrompt)


@pytest.mark.parametrize("name", CIRCUMSTANCES)
def test_none_is_told_as_unexplained_or_makes_a_complaint(name: str) -> None:
    """Nothing has to explain how a meter is built, and it stays after a fault was put right."""
    seen = FindingSeen(finding=name, present=True)
    situation = Situation(ENGINE, Case(name="talk").after(CompetenceSaid(competence="skilled"), seen))
    assert not situation.complained
    assert FINDINGS[name].lasts
    assert not FINDINGS[name].complaint
    assert name not in situation.diagnosis.unexplained


def test_the_helpdesk_is_told_that_nothing_is_wrong_yet() -> None:
    """A report of nothing but circumstances says so beside the causes."""
    from diagnose.documents.document import diagnosis_document

    result = triage(ENGINE, "sewage line, mag meter, 2011, plastic pipe", {})
    document = diagnosis_document(ENGINE.rule_book, result.diagnosis, result.report.understanding, 3, (), ())
    assert any(each.startswith("Nothing here says") for each in document.messages)
