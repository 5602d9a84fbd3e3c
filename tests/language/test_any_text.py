# ruff: noqa: D103 - the names of tests are sentences
"""What holds for every text, and how the work grows with its length."""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import FrameType
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.bounded import REPORT_LETTERS
from diagnose.errors import BadInput
from diagnose.language.cleaning import clean, tidy
from diagnose.language.understanding import understand
from tests.language.book import FINDINGS, LEXICON

_PIECES = [phrase for finding in FINDINGS for phrase in finding.phrases] + [
    *(
        "not",
        "no",
        "or",
        ", ",
        "but",
        ". ",
        "? ",
        "\n",
        "> ",
        "ok",
        "fuse",
        "maybe",
        "was",
        "now fine",
        "Subject: ",
        "Hi, ",
    ),
    *(
        "3.6 mA",
        "4-20 mA",
        "1,250 m3/h",
        "between 3 and 4 V",
        "-5",
        "loop",
        "plc",
        "\x1b[31m",
        "\u202e",
        "m³/h",
        "5 flurbs",
    ),
]
_reports = st.lists(st.sampled_from(_PIECES), max_size=25).map(" ".join)


def _one_line(text: str) -> str:
    return " ".join(text.split())


@given(st.one_of(st.text(max_size=300), _reports))
@settings(max_examples=300, deadline=None)
def test_any_text_is_understood_or_not_but_never_raises(text: str) -> None:
    said = understand(text, LEXICON)
    assert said == understand(text, LEXICON)
    cleaned = _one_line(tidy(text))
    assert all(item.quote and item.quote in cleaned for item in said.understood)
    assert len(said.observations()) == len(said.understood)


@given(st.one_of(st.text(max_size=200), st.text("\x1b[];m\x07\x9b\x9d> \n\u200bᵃ´µμΩ³½0aé\u0301", max_size=60)))
@settings(max_examples=500, deadline=None)
def test_cleaning_twice_is_cleaning_once(text: str) -> None:
    once = tidy(text)
    assert tidy(once) == once


@given(st.binary(max_size=200))
def test_any_bytes_are_cleaned_or_refused(raw: bytes) -> None:
    try:
        text = clean(raw)
    except BadInput:
        return
    assert text == text.strip() != ""
    assert not any(letter < " " and letter != "\n" for letter in text)


@pytest.mark.parametrize(
    ("raw", "expected"),
    [
        (b"flow 38 m\xc2\xb3/h", "flow 38 m³/h"),
        (b"flow 38 m\xb3/h", "flow 38 m³/h"),
        ("dark".encode("utf-16"), "dark"),
        (b"\xef\xbb\xbfdark", "dark"),
        (b"it doesn\x92t move", "it doesn't move"),
        ("\x1b[1;31mdark\x1b[0m", "dark"),
        ("\x1b]0;title\x07dark", "dark"),
        ("\x1b]8;;http://a.b\x1b\\dark\x1b]8;;\x1b\\", "dark"),
        ("\x9b31mdark", "dark"),
        ("da\u200brk \u202edisplay", "dark display"),
        ("dark\r\n\r\n\r\n\r\ndisplay\r", "dark\n\ndisplay"),
        ("[red]dark[/red]", "[red]dark[/red]"),
        ("> > quoted\n>21 mA", "quoted\n>21 mA"),
        ("５ ｍＡ, 5 µA, 5 μA, 5 \u2126", "5 mA, 5 µA, 5 µA, 5 Ω"),
    ],
)
def test_cleaning(raw: str | bytes, expected: str) -> None:
    assert clean(raw) == expected


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ("", "the report is empty"),
        (b" \n\x1b[0m ", "the report is empty"),
        (b"\x7fELF\x00\x00", "not plain text"),
        (b"\x01\x02\x03\x04a", "not plain text"),
    ],
)
def test_what_is_no_report_is_refused(raw: str | bytes, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        clean(raw)


def _lines_run(work: Callable[[], object]) -> int:
    """Count the lines of Python that work takes: the same on a slow machine as on a fast one."""
    count = 0

    def counting(frame: FrameType, event: str, argument: object) -> Any:
        nonlocal count
        count += 1
        return counting

    before = sys.gettrace()
    sys.settrace(counting)
    try:
        work()
    finally:
        sys.settrace(before)
    return count


@pytest.mark.parametrize(
    "words",
    [
        ["display dark no error flow 38 m3/h xqzwv"] * 200,
        ["1"] * 4000,
        [f"w{number:x} dispxay{number % 7}" for number in range(800)],
    ],
    ids=["report", "numbers", "unknown words"],
)
def test_four_times_the_text_is_four_times_the_work(words: list[str]) -> None:
    """What regular expressions do within themselves cannot be counted; the benchmark `reading` shows that."""
    part, whole = " ".join(words[: len(words) // 4]), " ".join(words)
    first = _lines_run(lambda: understand(part, LEXICON))
    assert 3 * first < _lines_run(lambda: understand(whole, LEXICON)) < 4.5 * first


def test_of_a_longer_text_the_rest_is_left_out_with_a_doubt() -> None:
    said = understand("a, " * REPORT_LETTERS + " display dark", LEXICON)
    assert not said.understood
    assert "very long" in said.doubts[0]
