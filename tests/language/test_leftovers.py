"""Nothing of a report vanishes: what was not understood of a sentence is listed, word by word."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.language.understanding import understand
from tests.language.book import LEXICON

UNDERSTOOD = ("display dark", "the fuse is blown", "flow is negative", "no reply on the bus", "jumps about", "no alarm")
STRANGE = ("purple walruses hum", "someone whistled the anthem", "octopus kites over Zanzibar", "juggling hedgehogs")


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("Display dark, the cat likes fish.", ("the cat likes fish",)),
        ("Display dark since the circus left town", ("since the circus left town",)),
        ("In the old brewery cellar the display is dark", ("In the old brewery cellar",)),
        ("display dark and the gardener sang", ("the gardener sang",)),
        ("display dark, thanks", ()),
        ("the poor display is dark", ()),
        ("display dark, wet", ("wet",)),
    ],
)
def test_the_rest_of_a_sentence_is_listed(text: str, left: tuple[str, ...]) -> None:
    """Without courtesies and little words."""
    assert understand(text, LEXICON).not_understood == left


@given(
    st.lists(st.sampled_from((*UNDERSTOOD, *STRANGE)), min_size=1, max_size=6),
    st.lists(st.sampled_from((", ", ". ", " and ", "; ", "\n", " but ")), min_size=6, max_size=6),
)
def test_every_clause_stands_in_a_list(parts: list[str], joints: list[str]) -> None:
    """Whatever stands beside it, and however the two are joined: what nobody understands to the last word."""
    text = "".join(part + joint for part, joint in zip(parts, joints, strict=False))
    said = understand(text, LEXICON)
    shown = " ".join((*said.not_understood, *(each.quote for each in said.understood), *said.doubts))
    for part in parts:
        in_list = all if part in STRANGE else any
        assert in_list(word in shown for word in part.split()), (text, shown)


def test_a_long_rest_is_shortened() -> None:
    """A list is for reading."""
    said = understand("display dark, " + "walrus " * 100, LEXICON)
    assert all(len(each) <= 300 for each in said.not_understood)
