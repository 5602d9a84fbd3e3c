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


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("range-suits-the-flow", "when: usual-flow at-least 10 % of upper-range-value"),
        ("range-covers-the-flow", "when: highest-flow at-most upper-range-value"),
        ("loop-between-the-levels", "(loop-current above 20.65 mA), (loop-current below 21 mA)"),
        ("loop-at-upper-limit", "when: loop-current between 20.4 mA and 20.65 mA"),
        ("meter-stands-under-a-roof", "when: location is not open or pit or vault"),
        ("usual-flow", "- 100000 m3/h"),
        ("liquid-temperature", "- 400 degC"),
    ],
)
def test_conditions_and_figures_read_as_they_were_written(name: str, line: str) -> None:
    """In the quantity's unit, and `at-least` is no *below* that does not hold."""
    text = described(BOOK, name)[0].partition("used by:")[0]
    assert line in text, text
    assert "holds" not in text
