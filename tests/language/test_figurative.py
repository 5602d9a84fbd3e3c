"""What has no body neither burns nor bursts; the same words of something that has one are a danger."""

from __future__ import annotations

import pytest

from diagnose.language.cleaning import clean
from diagnose.language.understanding import understand
from tests.engines import real_engine

ENGINE = real_engine()
HAZARDS = {name for name, item in ENGINE.rule_book.findings.items() if item.keep_away}

FIGURES_OF_SPEECH = [
    "the total exploded overnight",
    "the reading has just exploded to 999",
    "batch times exploded last month",
    "a flood of alarms since Monday, reads low",
    "an explosion of errors on the bus",
    "the price is shocking",
    "readings collapsed at noon",
    "signal drowned in noise",
    "the curve is on fire since the new pump",
]
DANGERS = [
    "the converter exploded",
    "wrong reading smoke from the head",
    "the reading dropped and the pump is on fire",
    "the value jumps and I got a shock",
    "the result burst out of the flange, acid everywhere",
    "reading low, my mate collapsed",
    "there was a loud noise then smoke",
    "burning smell of the signal cable since this morning",
    "The last time I leaned on it, it jolted me.",
    "The smoke does not come from the motor.",
    "The chlorine alarm was dismissed by the night shift",
]


def told(text: str) -> bool:
    """Tell whether a text stops work, or asks whether anybody is in danger."""
    read = understand(clean(text), ENGINE.lexicon)
    return bool(read.dangers) or any(each.finding in HAZARDS and each.present for each in read.understood)


@pytest.mark.parametrize("text", FIGURES_OF_SPEECH)
def test_of_a_reading_or_a_price_it_is_a_figure_of_speech(text: str) -> None:
    """It stops nothing, and nobody is asked."""
    assert not told(text)


@pytest.mark.parametrize("text", DANGERS)
def test_of_anything_else_it_is_heard(text: str) -> None:
    """Also where a reading stands near it, and where somebody left the commas out."""
    assert told(text)


def test_a_circumstance_excuses_words_near_each_other_as_it_does_phrases() -> None:
    """A housing is hot in the sun; a word of danger of years ago is none now."""
    assert not any(
        each.finding in HAZARDS and each.present
        for text in ("the housing is too hot to touch in the sun", "the housing is too hot to touch, hot water line")
        for each in understand(clean(text), ENGINE.lexicon).understood
    )
    assert told("the housing is too hot to touch")
    assert not told("the meter drowned in mud years ago and was replaced")
