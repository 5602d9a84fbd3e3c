"""Before a step that a field of the data sheet may forbid, that field is asked for; a blank forbids it, and says so."""

from __future__ import annotations

import random

import pytest

from diagnose.authoring.case_watch import judge, step_shown
from diagnose.cases.events import Case, CompetenceSaid, SheetAsked
from diagnose.observations import FindingSeen
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import CautionPrompt, HandOverPrompt, Prompt, QuestionPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.protocol.steps import held_up_in_words
from diagnose.reasoning.engine import Engine
from tests.authoring.invented import lamp
from tests.engines import real_engine
from tests.reasoning.books import yes_or_no

ENGINE = real_engine()
BURN = yes_or_no("burn", "filament-broken", not_when={"gas": ("yes",)}, minutes=0.1)
LAMP = Engine(lamp(BURN))


def dark(*events: object, **sheet: str) -> Case:
    """Return the case of a dark lamp, met by a skilled person."""
    told = FindingSeen(finding="dark", present=True)
    return Case(name="dark", data_sheet=dict(sheet)).after(told).after(CompetenceSaid(competence="skilled"), *events)  # type: ignore[arg-type]


def next_of(case: Case) -> Prompt:
    """Return the prompt of a case of the lamp."""
    return prompt_of(LAMP, case)


class TestOneField:
    """An invented lamp, perhaps in gas."""

    def test_asked_for_before_the_step(self) -> None:
        """The form comes before the step is shown."""
        prompt = next_of(dark())
        assert isinstance(prompt, QuestionPrompt)
        assert (prompt.about, prompt.fields) == ("data sheet", ("gas",))
        assert prompt.proposal is not None
        assert prompt.proposal.id == "burn"

    @pytest.mark.parametrize("reply", [replies.FieldsFilled(complete=True), replies.Unknown(), replies.Skip()])
    def test_a_blank_takes_it_out_and_says_so(self, reply: replies.Reply) -> None:
        """Whatever the way in which nobody knows."""
        case = dark()
        turn = respond(LAMP, case, next_of(case), reply)
        assert "Not proposed, because nobody could say “gas”: “burn”." in [each.text for each in turn.remarks]
        after = next_of(case.after(*turn.events))
        shown = getattr(after, "proposal", None)
        assert shown is not None
        assert shown.id != "burn"

    def test_whoever_knows_gets_it(self) -> None:
        """No gas: the step is shown, and nothing is said."""
        case = dark()
        turn = respond(LAMP, case, next_of(case), replies.FieldsFilled(values={"gas": "no"}))
        assert [each.kind for each in turn.remarks] == ["taken"]
        assert next_of(case.after(*turn.events)).proposal.id == "burn"  # type: ignore[union-attr]

    def test_it_comes_back_once_it_is_known(self) -> None:
        """Somebody found out later."""
        case = dark(SheetAsked(fields=("gas",)))
        assert held_up_in_words(Situation(LAMP, case)) == ("Not proposed, because nobody could say “gas”: “burn”.",)
        assert held_up_in_words(Situation(LAMP, dark(SheetAsked(fields=("gas",)), gas="no"))) == ()


def walk(seed: int, most: int = 60) -> tuple[list[Prompt], list[Case]]:
    """Walk an interview about a meter of which nobody knows anything, with random answers."""
    chooser = random.Random(seed)
    symptoms = [each.id for each in ENGINE.rule_book.findings.values() if each.complaint]
    case = Case(name="nothing-known").after(FindingSeen(finding=chooser.choice(symptoms), present=True))
    case = case.after(CompetenceSaid(competence="skilled"))
    prompts, cases = [], []
    for _ in range(most):
        prompt = prompt_of(ENGINE, case)
        prompts.append(prompt)
        cases.append(case)
        if isinstance(prompt, HandOverPrompt):
            break
        said: replies.Reply = replies.Skip()
        if isinstance(prompt, CautionPrompt):
            said = replies.Heed()
        elif isinstance(prompt, QuestionPrompt) and prompt.fields:
            said = replies.FieldsFilled(complete=True)
        elif prompt.options and chooser.random() < 0.6:
            said = chooser.choice(prompt.options).reply
        case = case.after(*respond(ENGINE, case, prompt, said).events)
    return prompts, cases


@pytest.mark.parametrize("seed", range(4))
def test_a_meter_of_which_nobody_knows_anything(seed: int) -> None:
    """Nothing that may be forbidden is ever shown, and at most two forms come before the first look."""
    prompts, cases = walk(seed)
    book = ENGINE.rule_book
    for prompt, case in zip(prompts, cases, strict=True):
        assert judge(book, case, prompt) == []
        step = step_shown(book, prompt)
        known = Situation(ENGINE, case).data_sheet
        assert step is None or not set(step.not_when) - known.keys()
    first = next((number for number, each in enumerate(prompts) if step_shown(book, each)), len(prompts))
    forms = [each for each in prompts[:first] if isinstance(each, QuestionPrompt) and each.about == "data sheet"]
    assert len(forms) <= 2
