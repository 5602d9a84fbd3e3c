"""How the plant stands by words: what is less safe is taken at once, what is safe is asked back."""

from __future__ import annotations

import pytest

from diagnose.cases.events import Case, PlantChanged
from diagnose.language.understanding import understand
from diagnose.protocol.situation import Situation
from diagnose.protocol.telling import read_words
from diagnose.triage.report import triage
from tests.engines import real_engine

ENGINE = real_engine()

LESS_SAFE = [
    ("the cover is already open", ("enclosure", "open")),
    ("display dark, cover is off", ("enclosure", "open")),
    ("I took the lid off", ("enclosure", "open")),
    ("the power is back on", ("supply", "live")),
    ("the line is under pressure again", ("line", "flowing")),
    ("pump is running again", ("line", "flowing")),
]

SAFER = [
    "the supply is off",
    "power is isolated and locked",
    "the line is drained",
    "pump is stopped",
    "i closed the housing",
    "conductors proved dead",
]

NOTHING_OF_NOW = [
    "it shows flow although the pump is off",
    "when the cover is open it works",
    "the cover was open in the rain",
    "supply is not off",
    "should the power be off?",
    "the display goes dark when power is off",
    "if the cover is off the keys work",
    "the fuse box is open",
    "the covers of the other meters are off",
    "at night the pump is off and it still shows flow",
]


@pytest.mark.parametrize(("text", "told"), LESS_SAFE)
def test_what_is_less_safe_is_taken_at_once_and_said(text: str, told: tuple[str, str]) -> None:
    """It is an event of the case where it changes something, and asked whether that is right."""
    said = understand(text, ENGINE.lexicon)
    assert said.plant == (told,)
    assert any("is that right?" in doubt for doubt in said.doubts)

    state, value = told
    events = read_words(Situation(ENGINE, Case()), text).events
    changed = PlantChanged(state=state, value=value)
    assert (changed in events) == (value != ENGINE.rule_book.states[state].initial)


@pytest.mark.parametrize("text", SAFER)
def test_what_is_safer_is_understood_and_asked_back_but_never_taken(text: str) -> None:
    """Nobody is safe by hearsay: the plant stands as before."""
    said = understand(text, ENGINE.lexicon)
    assert not said.plant
    assert any("is that so now?" in doubt for doubt in said.doubts)
    assert text not in said.not_understood
    assert not [each for each in read_words(Situation(ENGINE, Case()), text).events if isinstance(each, PlantChanged)]


@pytest.mark.parametrize("text", NOTHING_OF_NOW)
def test_what_was_or_would_be_says_nothing_of_now(text: str) -> None:
    """Conditions, the past, questions, and what belongs to a finding are no state of the plant."""
    said = understand(text, ENGINE.lexicon)
    assert not said.plant
    assert not any("is that so now?" in doubt for doubt in said.doubts)


def test_power_told_to_be_back_ends_what_was_proved_dead() -> None:
    """What goes with an isolated supply is lost with it."""
    isolated = [("supply", "isolated"), ("enclosure", "open"), ("conductors", "proved dead")]
    case = Case().after(*(PlantChanged(state=state, value=value) for state, value in isolated))
    events = read_words(Situation(ENGINE, case), "the power is back on").events
    assert PlantChanged(state="supply", value="live") in events
    assert PlantChanged(state="conductors", value="not proved dead") in events


def test_a_report_that_says_the_cover_is_off_is_planned_from_there() -> None:
    """The steps of a triage begin where the plant stands."""
    plain = triage(ENGINE, "display dark", {})
    opened = triage(ENGINE, "display dark, the cover is off", {})
    assert opened.report.understanding.plant == (("enclosure", "open"),)
    stands = [each.diagnosis.proposals.next.standing["enclosure"] for each in (plain, opened)]
    assert stands == ["closed", "open"]
