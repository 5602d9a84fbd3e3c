"""``rules show``: every part of the rule book can be looked up, with all that names the entry, and nothing else."""

from __future__ import annotations

import msgspec
import pytest

from diagnose.authoring.lookup import PARTS, described
from diagnose.entry import Entry
from tests.engines import real_engine

BOOK = real_engine().rule_book


def test_every_part_of_the_rule_book_can_be_shown() -> None:
    """Whatever an author can write in a folder can be looked up by its id."""
    parts = [
        field.name
        for field in msgspec.structs.fields(BOOK)
        if isinstance(getattr(BOOK, field.name), dict)
        and all(isinstance(each, Entry) for each in getattr(BOOK, field.name).values())
    ]
    assert set(parts) == set(PARTS)
    for part in parts:
        name = next(iter(getattr(BOOK, part)))
        assert f"{part}: {name}" in described(BOOK, name)[0]


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("fuse-open", "cause fuse-blown: shows 0.9"),
        ("control-system-reading", ": proved-by"),
        ("bus", "cause bus-address-differs: area"),
        ("output", "cause loop-open: applies"),
        ("loop-in-manual", "check loop-current: disturbs"),
        ("common-practice", " of the causes"),
    ],
)
def test_what_names_an_entry_is_told_with_the_field(name: str, line: str) -> None:
    """So a trainer sees what hangs on it before he changes it."""
    uses = described(BOOK, name)[0].partition("used by:")[2]
    assert any(each.strip().startswith(line) or line in each for each in uses.splitlines()), uses


def test_words_of_people_name_no_entry() -> None:
    """A quantity that is called `bus` by somebody does not use the area of that name."""
    assert "words" not in described(BOOK, "bus")[0].partition("used by:")[2]
