"""Fields that may have several values at once: each mention is one of them, and together they are one fact."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.language.understanding import understand
from diagnose.observations import Measurement
from tests.language.book import LEXICON

SAID = {
    "4-20 mA": "We use the analogue output.",
    "pulse": "It has a pulse output.",
    "bus": "There is a bus output.",
}
"""Value → a sentence that mentions it."""


def told(text: str) -> dict[str, object]:
    """Return what a text tells of fields, by field."""
    observations = understand(text, LEXICON).observations()
    measured = [each for each in observations if isinstance(each, Measurement)]
    assert len({each.quantity for each in measured}) == len(measured)
    return {each.quantity: each.value for each in measured}


def test_each_mention_is_a_statement_of_its_own() -> None:
    """With its words, so that people see what was understood; and marked as one of several."""
    said = understand("We use the analogue output. It has a pulse output.", LEXICON).understood
    assert [(each.value, each.quote, each.one_of_several) for each in said] == [
        ("4-20 mA", "We use the analogue output", True),
        ("pulse", "It has a pulse output", True),
    ]


def test_together_they_are_one_observation() -> None:
    """In the order of mention, with all quotes."""
    observations = understand("It has a pulse output. We use the analogue output.", LEXICON).observations()
    assert observations == (
        Measurement(
            quantity="output",
            value=("pulse", "4-20 mA"),
            quote="It has a pulse output, We use the analogue output",
            heard=True,
        ),
    )


def test_a_single_mention_is_a_tuple_too() -> None:
    """The field has the same form however many are mentioned."""
    assert told("It has a pulse output.") == {"output": ("pulse",)}


def test_said_again_it_is_still_once() -> None:
    """Also with another value between."""
    text = "It has a pulse output. We use the analogue output. The pulse output is new."
    assert told(text) == {"output": ("pulse", "4-20 mA")}


def test_several_values_are_no_doubt_where_one_alone_may_be_true() -> None:
    """Two outputs go together, compact and remote do not."""
    assert understand("We use the analogue output. It has a pulse output.", LEXICON).doubts == ()
    assert told("It is a compact unit. It is a remote version.") == {}


@pytest.mark.parametrize(
    "text",
    [
        "There is no pulse output.",
        "Is there a pulse output?",
        "If it had a pulse output we would use it.",
        "The other meter has a pulse output.",
    ],
)
def test_what_is_denied_asked_supposed_or_said_of_another_is_not_taken(text: str) -> None:
    """Neither by itself nor beside another output."""
    assert told(text) == {}
    assert told(f"We use the analogue output. {text}") == {"output": ("4-20 mA",)}


def test_other_things_that_are_told_stay_what_they_are() -> None:
    """A field with one value keeps its word, a reading its figure."""
    text = "It has a pulse output. It is a compact unit. 3.6 mA in the loop."
    assert told(text) == {"output": ("pulse",), "build": "compact", "loop-current": pytest.approx(0.0036)}


@settings(deadline=None, max_examples=60)
@given(st.lists(st.sampled_from(sorted(SAID)), min_size=1, max_size=6))
def test_whatever_is_mentioned_is_there_once_and_nothing_else(values: list[str]) -> None:
    """In any order and however often: the values in the order in which each was mentioned first."""
    assert told(" ".join(SAID[value] for value in values)) == {"output": tuple(dict.fromkeys(values))}
