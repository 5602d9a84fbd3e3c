"""Who may say what of the plant, what is held while something is not put back, and what leaving in the middle keeps."""

from __future__ import annotations

import pytest

from diagnose.authoring.case_watch import judge
from diagnose.cases.events import Case, CompetenceSaid, Disturbed, PlantChanged, StaysDisturbed
from diagnose.documents.markdown import markdown
from diagnose.interview.kept import kept_document
from diagnose.observations import FindingSeen
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import HandOverPrompt, PutBackPrompt, QuestionPrompt, ReadingPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.rule_book.competence import Competence
from tests.engines import real_engine

ENGINE = real_engine()


def case_of(competence: Competence, *others: object) -> Case:
    """Return a case with a dark display and somebody of this competence."""
    case = Case(name="told").after(FindingSeen(finding="display-dark", present=True))
    case = case.after(CompetenceSaid(competence=competence))
    for each in others:
        case = case.after(each)  # type: ignore[arg-type]
    return case


@pytest.mark.parametrize(
    ("competence", "state", "value", "counts"),
    [
        ("ordinary", "supply", "isolated", False),
        ("instructed", "supply", "isolated", False),
        ("skilled", "supply", "isolated", True),
        ("ordinary", "enclosure", "open", True),
        ("ordinary", "line", "drained", False),
        ("instructed", "line", "stopped full", True),
    ],
)
def test_nobody_declares_safe_what_they_may_not_make_safe(
    competence: Competence, state: str, value: str, counts: bool
) -> None:
    """What is less safe counts whoever says it."""
    case = case_of(competence)
    turn = respond(ENGINE, case, prompt_of(ENGINE, case), replies.PlantState(state=state, value=value))
    assert any(isinstance(each, PlantChanged) for each in turn.events) == counts
    assert turn.events or turn.remarks


def test_nothing_is_switched_on_while_the_protective_earth_is_off() -> None:
    """Whoever leaves it off may stop, or put it back: no step with the supply on is shown, and the judge sees it."""
    off = Disturbed(step="dry-the-terminals", what=("protective-earth-off",))
    open_and_dead = [PlantChanged(state=name, value=value) for name, value in OPENED]
    case = case_of("skilled", *open_and_dead, off, StaysDisturbed(what=off.what))
    for _ in range(6):
        prompt = prompt_of(ENGINE, case)
        assert judge(ENGINE.rule_book, case, prompt) == []
        if isinstance(prompt, HandOverPrompt | PutBackPrompt):
            break
        proposal = getattr(prompt, "proposal", None)
        assert proposal is None or dict(proposal.changes).get("supply") != "live"
        case = case.after(*respond(ENGINE, case, prompt, replies.Skip()).events)


OPENED = (("supply", "isolated"), ("enclosure", "open"), ("conductors", "proved dead"))


def test_whoever_leaves_in_the_middle_is_told_what_may_be_open() -> None:
    """The document says so too, and whoever comes back is asked how the plant stands."""
    case = case_of("skilled")
    for _ in range(30):
        prompt = prompt_of(ENGINE, case)
        proposal = getattr(prompt, "proposal", None)
        shown = isinstance(prompt, ReadingPrompt) or getattr(prompt, "about", "") == "check"
        if shown and proposal is not None and dict(proposal.changes).get("enclosure") == "open":
            break
        reply: replies.Reply = replies.FieldsFilled(complete=True)
        if getattr(prompt, "about", "") != "data sheet":
            reply = replies.Heed() if type(prompt).__name__ == "CautionPrompt" else replies.Skip()
        case = case.after(*respond(ENGINE, case, prompt, reply).events)
    else:
        pytest.fail("no step opens the enclosure")
    case = case.after(*respond(ENGINE, case, prompt, replies.Leave()).events)
    document = kept_document(Situation(ENGINE, case))
    assert "enclosure" in {each.state for each in document.left}
    assert "enclosure is open" in markdown(document)
    again = prompt_of(ENGINE, case)
    assert isinstance(again, QuestionPrompt)
    assert again.about == "plant"
    begun = next(each.reply for each in again.options if isinstance(each.reply, replies.PlantAsBegun))
    case = case.after(*respond(ENGINE, case, again, begun).events)
    assert Situation(ENGINE, case).plant["enclosure"] == "open"
