# ruff: noqa: D103 - the names of tests are sentences
"""Phrases whose small words count, and cries: text → whether the danger is read."""

from __future__ import annotations

import pytest

from diagnose.language.phrases import content_stems
from diagnose.language.tokens import Vocabulary
from diagnose.language.understanding import understand
from tests.language.book import LEXICON

ROWS: list[tuple[str, bool]] = [
    # a cry is all that is said
    ("fire", True),
    ("FIRE!!!", True),
    ("help, fire!", True),
    ("there is fire", True),
    ("leave it, fire!", True),
    ("Services: water, fire, air", False),
    ("fire main", False),
    ("no fire", False),
    ("fire up", False),
    ("it tickles", True),
    ("someone said it tickles", True),
    ("it tickles my curiosity", False),
    ("tickles the button", False),
    # with an exclamation mark only where it is called out
    ("gas!", True),
    ("gas", False),
    ("Medium: gas", False),
    # word for word
    ("he got acid on me", True),
    ("acid on the pipe", False),
    ("acid was on me", False),
    # what only sounds like it keeps its small words too
    ("he passed out", True),
    ("passed out in the pit", True),
    ("he passed out the drawings", False),
]


@pytest.mark.parametrize(("text", "read"), ROWS, ids=lambda value: str(value))
def test_small_words_and_cries(text: str, read: bool) -> None:
    said = {each.finding: each.present for each in understand(text, LEXICON).understood if each.finding == "danger"}
    assert said == ({"danger": True} if read else {})


@pytest.mark.parametrize(
    ("phrase", "stems"),
    [
        ("one pulse", ("one", "puls")),
        ("is wrong", ("is", "wrong")),
        ("reads too little", ("show", "too", "littl")),
        ("kicked by the pipe", ("kick", "by", "pip")),
        ("which one lies", ("which", "one", "lie")),
        ("the display is not working", ("display", "not", "work")),
    ],
)
def test_a_phrase_keeps_the_small_word_that_carries_it(phrase: str, stems: tuple[str, ...]) -> None:
    assert content_stems(phrase, Vocabulary([]))[0] == stems
