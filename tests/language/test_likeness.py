"""What is nearest to words in which no phrase was found: asked first, never concluded."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.cases.events import Case
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import ComplaintPrompt
from diagnose.protocol.replies import Observed, Words
from diagnose.protocol.responding import respond
from tests.engines import real_engine

ENGINE = real_engine()
MOST = 4


@pytest.mark.parametrize(
    ("text", "finding"),
    [
        ("numbers are way too small compared with the tanker weighbridge", "reads-low"),
        ("the milliamps do not follow the local reading", "output-wrong"),
        ("it goes up to maximum as soon as the mixer starts", "over-range-indicated"),
        ("flow is there for sure but the thing wont budge from 0", "zero-while-flowing"),
    ],
)
def test_what_was_meant_is_among_the_nearest(text: str, finding: str) -> None:
    """Single words are enough for that, however they stand."""
    assert finding in ENGINE.complaint_words.nearest(text, MOST)


@given(st.text(max_size=200))
def test_it_is_few_and_each_once(text: str) -> None:
    """Whatever is written: at most so many, all of them complaints."""
    near = ENGINE.complaint_words.nearest(text, MOST)
    assert len(near) == len(set(near)) <= MOST
    assert all(ENGINE.rule_book.findings[name].complaint for name in near)


def test_words_that_nobody_uses_of_a_complaint_are_near_to_none() -> None:
    """Neither is an empty text."""
    assert ENGINE.complaint_words.nearest("zebra quagga okapi", MOST) == ()
    assert ENGINE.complaint_words.nearest("", MOST) == ()


def test_they_come_first_where_it_is_asked_what_is_wrong() -> None:
    """Before what people come with most; nothing counts until it is chosen."""
    case = Case(name="near")
    text = "this is about the milliamps of the second string"
    case = case.after(*respond(ENGINE, case, prompt_of(ENGINE, case), Words(text=text)).events)
    prompt = prompt_of(ENGINE, case)
    assert isinstance(prompt, ComplaintPrompt)
    assert 0 < prompt.near <= MOST
    first = [option.reply for option in prompt.options[: prompt.near]]
    assert [each.observations[0].finding for each in first if isinstance(each, Observed)] == list(  # type: ignore[union-attr]
        ENGINE.complaint_words.nearest(text, MOST)
    )
    assert len({option.text for option in prompt.options}) == len(prompt.options)
