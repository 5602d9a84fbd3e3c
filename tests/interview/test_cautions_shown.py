"""How the cautions of a step stand on the screen."""

from __future__ import annotations

import io
import re

from diagnose.cases.events import Acknowledgement, Case
from diagnose.documents.text import make_console, write
from diagnose.interview.screens import cautions
from diagnose.protocol.situation import Situation
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.proposal import proposal_for
from tests.engines import real_engine

BOOK = real_engine().rule_book
START = {name: state.initial for name, state in BOOK.states.items()}


def shown(*read: str) -> str:
    """Return the cautions of a look at the electrodes, on a sewage line of which nothing else is known."""
    case = Case(name="shown", data_sheet={"liquid": ("sewage",)})
    case = case.after(*(Acknowledgement(caution=name, step="another") for name in read))
    situation = Situation(real_engine(), case)
    check = BOOK.checks["look-at-electrodes"]
    output = io.StringIO()
    console = make_console(file=output, width=80, height=24, color_system=None, force_terminal=False)
    write(console, cautions(situation, proposal_for(Dangers(BOOK, situation.data_sheet), "check", check, START, "")))
    return output.getvalue()


def test_they_stand_under_the_moment_at_which_they_bite() -> None:
    """The changes in their order, the step itself, what is lighter, and what nobody knows."""
    heads = re.findall(r"^  (\S.*:)$", shown(), re.MULTILINE)
    assert heads == [
        "On the way, supply isolated:",
        "On the way, line drained:",
        "On the way, enclosure open:",
        "During the step itself:",
        "Also:",
        "Treat as present, since nobody could say:",
    ]


def test_what_only_may_be_there_takes_a_line_and_says_what_would_rule_it_out() -> None:
    """Nothing is left out for not being known."""
    possible = " ".join(shown().split("Treat as present")[1].split())
    assert "DANGER Pit, vault or other confined space (unless where the meter sits: not pit or vault):" in possible
    assert "•" not in possible


def test_what_was_read_takes_a_line() -> None:
    """Due anew where a change on the way brings it up, else still holding; neither once more in full."""
    text = shown("isolate-and-prove-dead", "heavy-meter")
    again = text.split("Read before, and needed again:")[1].split("Read before, and still applies:")
    assert "Isolate, lock off, prove dead: off, locked" in again[0]
    assert "Heavy meter: lifting gear" in again[1]
    assert "A meter that drops or swings" not in text
