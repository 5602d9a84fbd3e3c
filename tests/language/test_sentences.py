"""Sentences on the rule book that the project ships: what is read from them, and what is not."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from diagnose.language.results import Statement
from diagnose.language.understanding import understand
from tests.engines import real_engine

ROWS: list[dict[str, Any]] = [
    row
    for path in sorted(Path(__file__).parent.glob("sentences*.yaml"))
    for row in yaml.safe_load(path.read_text(encoding="utf-8"))
]


def _as_written(item: Statement) -> set[str]:
    if item.finding:
        return {f"{'+' if item.present else '-'}{item.finding}"}
    return {item.quantity, f"{item.quantity}={item.value}"}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["text"][:50])
def test_a_sentence_says_what_it_says_and_no_more(row: dict[str, Any]) -> None:
    """All that is listed is read, nothing that must not be; ``nothing`` leaves no finding."""
    understood = understand(row["text"], real_engine().lexicon).understood
    said: set[str] = set().union(*(_as_written(each) for each in understood))
    assert set(row.get("reads", ())) <= said
    assert not said & set(row.get("never", ()))
    if row.get("nothing"):
        assert not [each.finding for each in understood if each.finding]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["text"][:50])
def test_what_a_sentence_must_not_say_is_in_the_rule_book(row: dict[str, Any]) -> None:
    """A misspelt name would never be read, so that the sentence could not fail."""
    book = real_engine().rule_book
    for each in (*row.get("reads", ()), *row.get("never", ())):
        name = each.lstrip("+-").partition("=")[0]
        assert name in (book.findings if each[0] in "+-" else book.quantities), each
