"""Who may say what of the plant, what is held while something is not put back, and what leaving in the middle keeps."""

from __future__ import annotations

import pytest

from diagnose.authoring.case_watch import judge
from diagnose.cases.events import (
    Case,
    Cleared,
    CompetenceSaid,
    DangerMentioned,
    Disturbed,
    PlantChanged,
    StaysDisturbed,
    StepBegun,
    StepChosen,
)
from diagnose.documents.markdown import markdown
from diagnose.interview.kept import kept_document
from diagnose.observations import FindingSeen
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import CautionPrompt, HandOverPrompt, PutBackPrompt, QuestionPrompt, ReadingPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.reasoning.proposal import Proposal
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
        ("ordinary", "supply", "switched off", True),
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
    turn = respond(ENGINE, case, prompt_of(ENGINE, case), replies.PlantSaid(state=state, value=value))
    assert any(isinstance(each, PlantChanged) for each in turn.events) == counts
    assert turn.events or turn.remarks


def test_nothing_is_switched_on_while_the_protective_earth_is_off() -> None:
    """Whoever left it off and then chooses a step with the supply on is stopped there: put back first, or hand over."""
    off = Disturbed(step="dry-the-terminals", what=("protective-earth-off",))
    open_and_dead = [PlantChanged(state=name, value=value) for name, value in OPENED]
    case = case_of("skilled", *open_and_dead, off, StaysDisturbed(what=off.what))
    proposals = Situation(ENGINE, case).diagnosis.proposals
    live = [each for each in (*proposals.checks, *proposals.remedies) if _leaves(each)["supply"] == "live"]
    assert live
    for step in live:
        chosen = case.after(StepChosen(step=step.id))
        prompt = prompt_of(ENGINE, chosen)
        for _ in range(6):
            assert judge(ENGINE.rule_book, chosen, prompt) == []
            given_up = getattr(prompt, "about", "") == "check" and prompt.proposal.id != step.id
            if isinstance(prompt, HandOverPrompt) or given_up:
                break
            assert isinstance(prompt, PutBackPrompt | CautionPrompt) or getattr(prompt, "about", "") == "data sheet"
            chosen = chosen.after(*respond(ENGINE, chosen, prompt, replies.Skip()).events)
            prompt = prompt_of(ENGINE, chosen)
        if isinstance(prompt, HandOverPrompt):
            assert "protective earth off the housing" in prompt.proposal.because
        else:  # what nobody knows of the meter forbade the step; the next one leaves the supply off
            assert _leaves(prompt.proposal)["supply"] == "isolated", (step.id, prompt)


def _leaves(proposal: Proposal) -> dict[str, str]:
    return {**proposal.standing, **dict(proposal.changes), **dict(proposal.leaves)}


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
    assert "enclosure may be closed or open: find out" in markdown(document)
    again = prompt_of(ENGINE, case)
    assert isinstance(again, QuestionPrompt)
    assert again.about == "plant"
    begun = next(each.reply for each in again.options if isinstance(each.reply, replies.PlantAsBegun))
    case = case.after(*respond(ENGINE, case, again, begun).events)
    assert Situation(ENGINE, case).plant["enclosure"] == "open"


def test_each_mention_of_a_danger_is_asked_about_by_itself() -> None:
    """One denial answers one of them; one that is told again after a hazard is over is asked about again."""
    first = DangerMentioned(quote="it sizzles", findings=("burning-now",))
    second = DangerMentioned(quote="my arm prickles", findings=("tingle-felt",))
    case = case_of("skilled", first, second)
    for mentioned in (first, second):
        prompt = prompt_of(ENGINE, case)
        assert isinstance(prompt, QuestionPrompt)
        assert prompt.about == "danger"
        assert mentioned.quote in prompt.text
        case = case.after(*respond(ENGINE, case, prompt, replies.NobodyInDanger()).events)
    assert Situation(ENGINE, case).danger_in_doubt is None
    over = case_of("skilled", FindingSeen(finding="burning-now", present=True), Cleared(finding="burning-now"), first)
    assert Situation(ENGINE, over).danger_in_doubt == first


def test_a_misread_hazard_does_not_settle_how_the_plant_stands_after_a_real_one() -> None:
    """The plant is asked for where one of them was over, not where all were misread."""
    for misread, asked in (((False, True), True), ((True, True), False)):
        cleared = [
            Cleared(finding=name, misread=each)
            for name, each in zip(("gas-smelt", "tingle-felt"), misread, strict=True)
        ]
        assert bool(Situation(ENGINE, case_of("skilled", *cleared)).standing.just_over) == asked


def test_nobody_says_of_a_step_left_in_the_middle_what_they_may_not_bring_about() -> None:
    """An ordinary person is not offered that it is isolated and proved dead, and saying so counts for nothing."""
    case = case_of("ordinary", StepBegun(step="take-out-the-fuse", changes=OPENED))
    prompt = prompt_of(ENGINE, case)
    assert isinstance(prompt, QuestionPrompt)
    assert prompt.about == "plant"
    assert not any(isinstance(each.reply, replies.PlantAsBegun) for each in prompt.options)
    turn = respond(ENGINE, case, prompt, replies.PlantAsBegun())
    assert turn.events == ()
    assert turn.remarks
