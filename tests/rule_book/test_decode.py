"""Plain data becomes frozen types, in an author's words when it does not fit."""

from __future__ import annotations

from typing import Literal

import msgspec
import pytest

from diagnose.rule_book.decode import decode
from diagnose.yaml_places import parse_document


class _Part(msgspec.Struct, frozen=True, kw_only=True, rename="kebab"):
    name: str
    size: float = 1.0


class _Thing(msgspec.Struct, frozen=True, kw_only=True, rename="kebab"):
    title: str
    kind: Literal["", "small", "large"] = ""
    words: tuple[str, ...] = ()
    limits: tuple[float, float] | None = None
    parts: tuple[_Part, ...] = ()
    needs: dict[str, tuple[str, ...]] = {}
    often_used: bool = False


def _told(text: str) -> tuple[_Thing | None, list[str]]:
    document = parse_document(text, "x.yaml")
    thing, problems = decode(_Thing, document.data, document, ())
    return thing, [problem.in_one_line() for problem in problems]


def test_one_word_may_stand_for_a_list() -> None:
    """Where words are wanted one will do, also inside a mapping, and a number among words is a word."""
    assert _told("{title: a, words: one, needs: {line: full, supply: [live, 12]}}") == (
        _Thing(title="a", words=("one",), needs={"line": ("full",), "supply": ("live", "12")}),
        [],
    )


def test_names_have_hyphens_in_yaml() -> None:
    """Fields are written with hyphens; an underscore is told as a misspelling."""
    assert _told("{title: a, often-used: true, limits: [1, 2.5], parts: [{name: b, size: 2}]}") == (
        _Thing(title="a", often_used=True, limits=(1.0, 2.5), parts=(_Part(name="b", size=2.0),)),
        [],
    )
    assert _told("{title: a, often_used: true}")[1] == [
        "x.yaml:1:12: error[unknown-field] there is no field `often_used` here (did you mean `often-used`?)"
    ]


WRONG = [
    ("just words", "1:1: error[wrong-type] expected a mapping, got text"),
    ("{title: 12}", "1:9: error[wrong-type] expected text, got a number (put it in quotes)"),
    ("{title: a, kind: medium}", "1:18: error[wrong-type] `medium` is not one of: small, large"),
    ("{title: a, kind: smal}", "1:18: error[wrong-type] `smal` is not one of: small, large (did you mean `small`?)"),
    ("{title: a, kind: true}", "1:18: error[wrong-type] `true` is not one of: small, large"),
    ("{title: a, often-used: yes}", "1:24: error[wrong-type] expected true or false, got text"),
    ("{title: a, words: {b: c}}", "1:19: error[wrong-type] expected a list, got a mapping"),
    ("{title: a, words: [[b]]}", "1:20: error[wrong-type] expected text, got a list (put it in quotes)"),
    ("{title: a, parts: [b]}", "1:20: error[wrong-type] expected a mapping, got text"),
    ("{title: a, parts: [{name: b, size: big}]}", "1:36: error[wrong-type] expected a number, got text"),
    ("{title: a, limits: [1]}", "1:20: error[wrong-type] expected `array` of length 2, got 1"),
    ("{title: a, needs: full}", "1:19: error[wrong-type] expected a mapping, got text"),
    ("{title: }", "1:9: error[wrong-type] expected text, got nothing (put it in quotes)"),
    ("{words: [a]}", "1:1: error[missing-field] `title` is missing (add `title:`)"),
]


@pytest.mark.parametrize(("text", "told"), WRONG, ids=[text for text, _ in WRONG])
def test_what_does_not_fit_is_told_at_its_place(text: str, told: str) -> None:
    """The message says what was wanted and what is there, without the names of Python's types."""
    assert _told(text) == (None, [f"x.yaml:{told}"])


def test_all_that_does_not_fit_is_told() -> None:
    """One wrong field does not hide another, however deep it stands."""
    _, problems = _told("{titel: a, often-used: 1, parts: [{size: big}, {name: 1}]}")
    assert [problem.split("] ")[0].split(" ")[1] for problem in problems] == [
        "error[unknown-field",
        "error[wrong-type",
        "error[wrong-type",
        "error[missing-field",
        "error[wrong-type",
        "error[missing-field",
    ]
