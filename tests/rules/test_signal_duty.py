"""Who is told before a signal is disturbed, by what uses it."""

from __future__ import annotations

import pytest

from diagnose.observations import State
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.proposal import proposal_for
from diagnose.rule_book.quantities import AND_MORE, DataSheet
from diagnose.rule_book.work import Step
from tests.engines import real_engine

BOOK = real_engine().rule_book
START = State().standing(BOOK)
DISTURBS = {"loop-interrupted", "signal-forced", "signal-lost"}
STEPS: list[Step] = [each for each in (*BOOK.checks.values(), *BOOK.remedies.values()) if DISTURBS & set(each.meets)]


def warned(step: Step, sheet: DataSheet) -> dict[str, tuple[str, ...]]:
    """Return the cautions of a step, each with the fields on which it hangs."""
    return dict(proposal_for(Dangers(BOOK, sheet), "check", step, START, "").cautions)


@pytest.mark.parametrize("step", STEPS, ids=lambda each: each.id)
def test_a_signal_that_people_only_look_at_hurts_nobody(step: Step) -> None:
    """No caution about its users, nor about dosing or a trip that do not follow it."""
    assert not {"signal-in-use", "dosing-upset", "bypass"} & warned(step, {"signal-duty": ("indication only",)}).keys()


@pytest.mark.parametrize(
    "duty",
    [
        None,
        ("control",),
        ("protection",),
        ("dosing",),
        ("custody",),
        ("indication only", "control"),
        ("custody", AND_MORE),
    ],
    ids=str,
)
def test_any_other_use_and_an_unknown_one_is_warned_of_for_certain(duty: tuple[str, ...] | None) -> None:
    """Among several uses one is enough, and so is that there may be more."""
    sheet: DataSheet = {} if duty is None else {"signal-duty": duty}
    assert all(warned(step, sheet)["signal-in-use"] == () for step in STEPS)
