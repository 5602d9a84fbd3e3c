"""Whatever the rule book lets people disturb: put back before a proof, named at the end, and still when reopened."""

from __future__ import annotations

import pytest

from diagnose.authoring.case_watch import judge
from diagnose.cases.events import Case, CompetenceSaid, Disturbed, PlantChanged, RemedyDone, Resumed
from diagnose.documents.document import disturbance_documents
from diagnose.interview.endings import hand_over
from diagnose.interview.kept import kept_document
from diagnose.observations import FindingSeen
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import CautionPrompt, HandOverPrompt, Prompt, PutBackPrompt, QuestionPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.rule_book.work import Remedy
from tests.documents.invented import written
from tests.engines import real_engine

ENGINE = real_engine()
BOOK = ENGINE.rule_book


def after(case: Case, reply: replies.Reply) -> Case:
    """Return the case after one reply; each prompt on the way stands before the judge."""
    prompt = prompt_of(ENGINE, case)
    assert judge(BOOK, case, prompt) == []
    return case.after(*respond(ENGINE, case, prompt, reply).events)


def heeded(case: Case) -> tuple[Case, Prompt]:
    """Return the case where forms are left blank and cautions heeded, and the prompt that is then on."""
    while True:
        prompt = prompt_of(ENGINE, case)
        if isinstance(prompt, CautionPrompt):
            case = after(case, replies.Heed())
        elif isinstance(prompt, QuestionPrompt) and prompt.about == "data sheet":
            case = after(case, replies.FieldsFilled(complete=True))
        else:
            return case, prompt


def proved_otherwise(name: str) -> Remedy:
    """Return a remedy whose proof does not disturb this itself."""
    return next(each for each in BOOK.remedies.values() if name not in BOOK.checks[each.proved_by].disturbs)


def disturbed(name: str, remedy: str = "") -> Case:
    """Return a case in which this was disturbed and, if so wanted, a remedy then done."""
    seen = FindingSeen(finding="control-system-disagrees", present=True)
    case = Case(name="watch").after(seen).after(CompetenceSaid(competence="skilled"))
    case = case.after(Disturbed(step="loop-current", what=(name,)))
    return case.after(RemedyDone(remedy=remedy)) if remedy else case


@pytest.mark.parametrize("name", BOOK.disturbances)
class TestEachDisturbance:
    """One by one."""

    def test_it_is_put_back_before_a_proof(self, name: str) -> None:
        """Asked for with its own steps; only then comes the proof, of a meter that is whole."""
        remedy = proved_otherwise(name)
        case, prompt = heeded(disturbed(name, remedy.id))
        assert isinstance(prompt, PutBackPrompt)
        assert prompt.disturbed == (name,)
        case = after(case, replies.Done())
        case, prompt = heeded(case)
        while isinstance(prompt, PutBackPrompt):  # whoever isolated for it has put the loop in manual
            assert set(prompt.disturbed) <= {"loop-in-manual"}
            case, prompt = heeded(after(case, replies.Done()))
        assert Situation(ENGINE, case).disturbed == ()
        assert getattr(prompt, "proposal", None) is not None
        assert prompt.proposal.id == remedy.proved_by  # type: ignore[union-attr]

    def test_left_as_it_is_no_proof_is_made(self, name: str) -> None:
        """The remedy stays unproved; what is disturbed stays named."""
        remedy = proved_otherwise(name)
        case, _ = heeded(disturbed(name, remedy.id))
        situation = Situation(ENGINE, after(case, replies.NotDone()))
        assert situation.standing.not_proved == (remedy.id,)
        assert situation.disturbed == (name,)

    def test_a_hand_over_names_it_in_every_form_and_a_reopened_case_still_does(self, name: str) -> None:
        """With how it is put back; a shift later as well."""
        situation = Situation(ENGINE, disturbed(name).after(Resumed()))
        told = kept_document(situation).disturbed
        assert told == disturbance_documents(BOOK, (name,))
        assert told[0].steps == BOOK.disturbances[name].steps
        ending = HandOverPrompt(ending="hand-over", proposal=situation.proposal, disturbed=situation.disturbed)
        page = " ".join(written(hand_over(situation, ending), 2000))
        assert f"NOT PUT BACK: {BOOK.disturbances[name].title}" in page
        assert all(step in page for step in BOOK.disturbances[name].steps)


def test_what_went_off_dead_goes_back_dead_before_the_proof() -> None:
    """A meter that was closed and switched on since is isolated, opened and proved dead first; the cautions say so."""
    case = disturbed("electrode-inputs-bridged", "fuse-blown")
    case, prompt = heeded(case.after(PlantChanged(state="supply", value="live")))
    assert isinstance(prompt, PutBackPrompt)
    assert prompt.proposal.changes == (("supply", "isolated"), ("enclosure", "open"), ("conductors", "proved dead"))
    assert "isolate-and-prove-dead" in dict(prompt.proposal.cautions)
