"""Whoever comes back to a case, or tells of a danger that is not for them, is told before anything else."""

from __future__ import annotations

from diagnose.cases.events import Case
from diagnose.documents.html import to_html
from diagnose.interview.screens import resumed
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import CautionPrompt, StepsPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.competence import Competence
from tests.engines import real_engine


def _said(engine: Engine, case: Case, reply: replies.Reply) -> Case:
    return case.after(*respond(engine, case, prompt_in(Situation(engine, case)), reply).events)


def _case(engine: Engine, competence: Competence) -> Case:
    case = Case(name="x", data_sheet={"location": ("building",), "signal-duty": ("control",)})
    case = _said(engine, case, replies.Words(text="mA output stuck since the loop test"))
    return _said(engine, case, replies.CompetenceReply(competence=competence))


def test_the_cautions_of_the_steps_on_the_screen_are_told_again() -> None:
    """To somebody who may be another one; and as whom the case goes on."""
    engine = real_engine()
    case = _case(engine, "instructed")
    assert isinstance(prompt_in(Situation(engine, case)), CautionPrompt)
    case = _said(engine, case, replies.Heed())
    situation = Situation(engine, case)
    prompt = prompt_in(situation)
    assert isinstance(prompt, StepsPrompt)
    told = to_html(resumed(situation, prompt))
    assert "goes on as an instructed person" in told
    assert "Signal used by control or protection" in told


def test_an_open_housing_is_not_for_everybody() -> None:
    """It counts at once, whoever says so, and they are told to keep away."""
    engine = real_engine()
    opened = replies.PlantSaid(state="enclosure", value="open")
    for competence, warned in (("ordinary", True), ("skilled", False)):
        case = _case(engine, competence)  # type: ignore[arg-type]
        turn = respond(engine, case, prompt_in(Situation(engine, case)), opened)
        assert turn.events
        assert ("Touch nothing there" in " ".join(each.text for each in turn.remarks)) is warned
