"""What a trainer is shown of a phrase."""

from __future__ import annotations

import pytest

from diagnose.authoring.phrase_shown import phrase_shown
from tests.commands.running import run
from tests.engines import real_engine


@pytest.mark.parametrize(
    ("phrase", "line"),
    [
        ("the display is dark", "words that count: display · dark"),
        ("the display is dark", "words that do not: the, is"),
        ("the display is dark", "read today as: + display is dark (display-dark)"),
        ("display dark", "they may stand in any order, with 2 other words at most between two of them"),
        ("0 mA", "they may stand in this order, with nothing between two of them"),
        ("sludge", "one word alone: it speaks wherever it stands; a phrase of two is safer"),
        ("zebras graze", "read today as: nothing"),
        ("maybe the fuse is blown", "to clear up today: `maybe the fuse is blown` is only a guess"),
    ],
)
def test_what_a_phrase_becomes(phrase: str, line: str) -> None:
    """Words that count and words that do not, order, gaps, and what it says already."""
    shown = list(phrase_shown(real_engine().lexicon, phrase))
    assert any(each.startswith(line) for each in shown), shown


def test_little_words_only() -> None:
    """Nothing is left to look for."""
    assert run("rules", "phrase", ",", ",").out == "nothing of it counts: it is made of little words only\n"
