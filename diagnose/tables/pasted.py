"""Extracts tables of readings from a report.

A table is a heading that names both sides (``reference``, ``meter``) with at least two lines of figures directly below.
Two columns of flows under names that say nothing are a table as well: which is the reference is then asked. Everything
else remains text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from diagnose.errors import DiagnoseError
from diagnose.place import visible
from diagnose.rule_book.patterns import ComparedAt
from diagnose.tables.columns import find_columns
from diagnose.tables.heading_words import HeadingWords
from diagnose.tables.layout import OF_SECTIONS
from diagnose.tables.table_options import SidesUnknown, TableOptions
from diagnose.tables.table_text import read_table, split_pair
from diagnose.tables.table_units import is_unit
from diagnose.tables.written_figures import is_figure, written
from diagnose.units import unit_info

PLACE = "\ue000"
"""Stands in a report for a table that was taken out of it; no text says anything by it."""

FEWEST_LINES = 2
"""Fewest lines of figures below a heading that make a table."""

_QUOTED = re.compile(r"^[ \t]*(?:>[ \t]?)+", re.MULTILINE)
_LINES_OF_HEADING = 3
"""Most lines above the figures that may belong to their heading."""

_RULE = re.compile(r"[\s|:+=-]+")
_BESIDE = re.compile(r"[±%]|±?[\d.,]+%?|\(?k=\d\)?|[uU]=.*")
"""Parts of a line that belong to a figure beside them."""

_WORDS_OF_SECTION = 3
_PARTS = re.compile(r"[\t;|]|\s+")


@dataclass(frozen=True, slots=True)
class PastedTable:
    """A table found in a report: its text, what the meter is compared with, and what has to be asked before."""

    text: str
    compared: ComparedAt
    asked: str = ""


def tables_in(text: str, words: HeadingWords | None = None) -> tuple[str, tuple[PastedTable, ...]]:
    """Return a report with :data:`PLACE` in place of each of its tables of readings, and the tables.

    >>> rest, tables = tables_in("It reads high.\\nref [m3/h]  meter [m3/h]\\n10  12.1\\n50  52.2\\nPlease help.")
    >>> rest.replace(PLACE, "…")
    'It reads high.\\n…\\nPlease help.'
    >>> tables[0].compared, tables[0].text.splitlines()[1]
    ('reference', '10  12.1')
    """
    text = text.replace(PLACE, " ")
    words = words or HeadingWords()
    lines = _QUOTED.sub("", text).splitlines()
    taken: set[int] = set()
    places: set[int] = set()
    found: list[PastedTable] = []
    for start, end in _runs(lines, words):
        heading, compared = _heading_above(lines, start, end, words, max(taken, default=-1))
        asked = _asked(lines[start:end]) if compared is None else ""
        if compared is None and not asked:
            continue
        taken |= set(range(heading, end))
        places.add(heading)
        found.append(PastedTable("\n".join(lines[heading:end]), compared or "reference", asked))
    if not found:
        return text, ()
    taken -= places
    kept = (PLACE if number in places else line for number, line in enumerate(lines) if number not in taken)
    return "\n".join(kept), tuple(found)


def _runs(lines: list[str], words: HeadingWords) -> Iterator[tuple[int, int]]:
    """Yield start and end (exclusive) of each run of lines with at least two figures and no words.

    A line that heads the second comparison of a table (``as left``) is part of its run.
    """
    start, count = None, 0
    for number, line in enumerate([*lines, ""]):
        if _is_row(line, words):
            start = number if start is None else start
            count += 1
        elif start is None or not _goes_on(lines, number, words):
            if start is not None and count >= FEWEST_LINES:
                yield start, number
            start, count = None, 0


def _goes_on(lines: list[str], number: int, words: HeadingWords) -> bool:
    """Check whether a line between figures heads a second comparison."""
    return number + 1 < len(lines) and _is_section(lines[number], words) and _is_row(lines[number + 1], words)


def _is_section(line: str, words: HeadingWords) -> bool:
    bare = line.strip(" \t;|:-=*")
    means = words.meanings(bare) if bare and len(bare.split()) <= _WORDS_OF_SECTION else frozenset()
    return bool(means) and means <= OF_SECTIONS


def _is_row(line: str, words: HeadingWords) -> bool:
    parts = [part for part in _PARTS.split(line.strip()) if part]
    if len(parts) == 1 or any(part.endswith(",") for part in parts[:-1]):
        parts = [part.strip() for part in line.split(",") if part.strip()]
    figures = sum(is_figure(part) and any(letter.isdigit() for letter in part) for part in parts)
    others = [part for part in parts if not (is_figure(part) or is_unit(part) or _BESIDE.fullmatch(part))]
    if figures >= 2 and not others:
        return True
    if split_pair(line) is not None:
        return True
    return (
        figures >= 2
        and len(others) <= _WORDS_OF_SECTION
        and words.meanings(" ".join(others)) <= OF_SECTIONS
        and (bool(words.meanings(" ".join(others))))
    )


def _heading_above(
    lines: list[str], start: int, end: int, words: HeadingWords, taken: int
) -> tuple[int, ComparedAt | None]:
    """Return the first line of the heading of a run, and what its columns compare: None if it names no two sides.

    The fewest lines that name both sides are the heading, so that sentences above it stay text.
    """
    unclear: tuple[int, ComparedAt | None] = (start, None)
    at = start
    for _ in range(_LINES_OF_HEADING):
        at -= 1
        if at > taken and lines[at].strip() and _RULE.fullmatch(lines[at]):
            at -= 1
        if at <= taken or not lines[at].strip():
            break
        compared, are_flows = _compared("\n".join(lines[at:end]), words)
        if compared and not are_flows:
            first = at - 1
            return (first if first > taken and _is_section(lines[first], words) else at), compared
        if compared and unclear[1] is None:
            unclear = (at, compared)
    return unclear


def _asked(lines: list[str]) -> str:
    """Return the question that pairs of flows raise which nobody named; "" for anything else."""
    pairs = [split_pair(line) for line in lines]
    if None in pairs:
        return ""
    units = {parts.unit for pair in pairs if pair for text, _ in pair if (parts := written(text)) and parts.unit}
    if not units or any(unit_info(unit).dimension != unit_info("m3/h").dimension for unit in units):
        return ""
    return (
        f"which is the reference in `{visible(lines[0].strip())}`, and which the meter? write `reference / meter` "
        "above the pairs"
    )


def _compared(block: str, words: HeadingWords) -> tuple[ComparedAt | None, bool]:
    """Return what the columns compare, None if they do not; and whether two flows leave open which is the reference."""
    try:
        table = read_table(block, "the table in the report")
    except DiagnoseError:
        return None, False
    unclear = False
    ways: tuple[tuple[ComparedAt, bool], ...] = (("reference", False), ("control-system", True))
    for compared, against_display in ways:
        try:
            options = TableOptions(against_display=against_display, words=words, may_guess=False)
            found = find_columns(table, options, [])
        except SidesUnknown as error:
            unclear = unclear or error.are_flows
            continue
        except DiagnoseError:
            continue
        if not found.is_named:
            continue
        counts = any(
            "counter" in side.reading.heading.means for item in found.comparisons for side in item.sides.values()
        )
        return ("counter" if against_display and counts else compared), False
    return ("reference" if unclear else None), unclear
