"""A report from its first word to its last: nothing is lost."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.bounded import REPORT_LETTERS
from diagnose.language.cleaning import clean, tidy
from diagnose.language.understanding import understand
from diagnose.reading import read_report
from tests.benchmarks.reading import FOLDER, tickets
from tests.engines import real_engine

ENGINE = real_engine()
PIECES = [
    "display dark", "flow is negative", "no error", "fuse ok?", "Hi all,", "the hens lay well", "230 V", ".", "\n",
    "Q: is it dark? A: no.", "maybe wet", "regards, Tom", "> quoted", "12 mA", "smells burnt", "ÄÖ ß", "…", "|a|b|",
]  # fmt: skip


def marked(text: str) -> str:
    """Return the parts of a text put together."""
    return "".join(part.text for part in understand(text, ENGINE.lexicon).reading)


@pytest.mark.parametrize("file", sorted(FOLDER.glob("*.yaml")), ids=lambda path: path.stem)
def test_every_word_of_a_ticket_stands_in_one_part(file: object) -> None:
    """The parts put together are the ticket."""
    for ticket in tickets(file):  # type: ignore[arg-type]
        assert marked(clean(ticket.text)) == tidy(clean(ticket.text)), ticket.id


@given(st.lists(st.sampled_from(PIECES) | st.text(max_size=12), max_size=12).map(" ".join))
@settings(max_examples=150, deadline=None)
def test_every_word_of_any_text_stands_in_one_part(text: str) -> None:
    """Whatever is pasted."""
    assert marked(text) == tidy(text)


def test_what_is_too_long_is_set_aside() -> None:
    """And not lost."""
    text = "display dark. " + "word " * (REPORT_LETTERS // 5) + "the very last"
    reading = understand(text, ENGINE.lexicon).reading
    assert reading[-1].text.endswith("the very last")
    assert reading[-1].kind in ("set aside", "not understood")


def test_kinds() -> None:
    """What was understood, what is in doubt, what was not, and what says nothing."""
    text = "Dear all,\n\nthe display is dark. Maybe the fuse is blown. The hens lay well.\n\nKind regards"
    reading = understand(text, ENGINE.lexicon).reading
    assert [(part.kind, part.text.split()[0]) for part in reading] == [
        ("set aside", "Dear"),
        ("understood", "the"),
        ("to clear up", "Maybe"),
        ("not understood", "The"),
        ("set aside", "Kind"),
    ]
    assert "display-dark" in reading[1].of


def test_a_table_stands_where_it_was() -> None:
    """It was read as readings, not as words."""
    report = "It reads high.\nref [m3/h]  meter [m3/h]\n10  12.1\n50  52.2\nDisplay is bright."
    reading = read_report(ENGINE, report, {}).understanding.reading
    assert [part.of for part in reading if "52.2" in part.text] == [("readings",)]
    assert [part.text.split()[0] for part in reading] == ["It", "ref", "Display"]
