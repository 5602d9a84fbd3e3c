"""Readings that are compared are read at the same moment: those of one step are never taken for another's."""

from __future__ import annotations

import pytest

from diagnose.cases.events import Case, CompetenceSaid, StepChosen
from diagnose.cases.standing import standing_of
from diagnose.observations import FindingSeen, Measurement, RemedyTried
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import ReadingPrompt
from diagnose.protocol.replies import Figure, Observed, Reply, Unknown
from diagnose.protocol.responding import respond
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.condition_types import Operand, Relation
from diagnose.rule_book.quantities import Calculation, Quantity
from diagnose.rule_book.rules import InferenceRule
from tests.reasoning.books import book, cause, check, finding, remedy


def share(name: str) -> Quantity:
    """Return the share of what the display shows that a quantity comes to."""
    calculate = Calculation(function="ratio", inputs={"part": name, "whole": "display"})
    return Quantity(id=f"{name}-share", title=f"share {name}", calculate=calculate)


def rules(name: str) -> tuple[InferenceRule, InferenceRule]:
    """Return the rules that a quantity is too low when its share is, and that it is not."""
    low, high = (
        Relation(quantity=f"{name}-share", relation=side, operands=(Operand(constant=0.5),))
        for side in ("below", "above")
    )
    found, because = (f"{name}-low",), "of its share"
    return (
        InferenceRule(id=f"{name}-low", when=low, present=found, because=because, source="judgement"),
        InferenceRule(id=f"{name}-right", when=high, absent=found, because=because, source="judgement"),
    )


ENGINE = Engine(
    book(
        finding("wrong", kind="symptom", complaint="common"),
        Quantity(id="display", title="display", unit="V"),
        *(Quantity(id=name, title=name, unit="V") for name in ("loop", "receiver")),
        *(share(name) for name in ("loop", "receiver")),
        *(finding(f"{name}-low", leak=0.001) for name in ("loop", "receiver")),
        *(rule for name in ("loop", "receiver") for rule in rules(name)),
        *(cause(name, {"wrong": 0.9, f"{name}-low": 0.95}) for name in ("loop", "receiver")),
        cause("board", {"wrong": 0.9}),
        *(remedy(name, minutes=90.0) for name in ("loop", "receiver", "board")),
        *(check(f"measure-{name}", measures=name) for name in ("loop", "receiver")),
    )
)
WRONG = FindingSeen(finding="wrong", present=True)
START = Case().after(CompetenceSaid(competence="skilled")).after(WRONG)


def told(case: Case, *said: Reply) -> Case:
    """Return the case after these replies."""
    for reply in said:
        case = case.after(*respond(ENGINE, case, prompt_of(ENGINE, case), reply).events)
    return case


def reading(case: Case) -> str:
    """Return which quantity is to be read next."""
    prompt = prompt_of(ENGINE, case)
    assert isinstance(prompt, ReadingPrompt)
    return prompt.quantity


def test_the_display_is_read_again_with_the_next_quantity() -> None:
    """Minutes lie between the loop and the receiver; the flow has changed."""
    case = START.after(StepChosen(step="measure-loop"))
    assert reading(case) == "display"
    case = told(case, Figure(value=10.0))
    assert reading(case) == "loop"
    case = told(case, Figure(value=9.0))
    assert standing_of(case).observations[1:] == (
        Measurement(quantity="display", value=10.0),
        Measurement(quantity="loop", value=9.0),
    )
    prompt = prompt_of(ENGINE, case)
    assert isinstance(prompt, ReadingPrompt)
    assert (prompt.proposal.id, prompt.quantity, prompt.taken) == ("measure-receiver", "display", {})


@pytest.mark.parametrize("first", [Figure(value=10.0), Unknown()], ids=["read", "not to be read"])
def test_a_reading_is_asked_for_once_at_a_step(first: Reply) -> None:
    """Whether it could be taken or not, the other one comes next."""
    assert reading(told(START.after(StepChosen(step="measure-loop")), first)) == "loop"


def test_what_nobody_could_read_is_not_asked_for_beside_another() -> None:
    """A dark display stays dark at the next step; once it was read, or something was mended, it is asked for again."""
    case = told(START.after(StepChosen(step="measure-loop")), Unknown(), Figure(value=9.0))
    case = case.after(StepChosen(step="measure-receiver"))
    assert reading(case) == "receiver"
    read_since = case.after(Measurement(quantity="display", value=10.0), StepChosen(step="measure-receiver"))
    assert reading(read_since) == "display"
    mended = case.after(RemedyTried(remedy="board", verdict="not cured"), StepChosen(step="measure-receiver"))
    assert reading(mended) == "display"


def test_what_is_told_in_passing_does_not_lose_a_reading() -> None:
    """The step goes on where it stood."""
    case = told(START.after(StepChosen(step="measure-loop")), Figure(value=10.0), Observed(observations=(WRONG,)))
    assert reading(case) == "loop"


def test_a_measured_step_is_an_answer() -> None:
    """It counts as a look at the meter, like a question that was answered."""
    case = told(START.after(StepChosen(step="measure-loop")), Figure(value=10.0), Figure(value=9.0))
    standing = standing_of(case)
    assert (standing.answers, standing.looked, standing.chosen) == (1, True, "")
