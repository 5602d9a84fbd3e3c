"""Extracts tables of readings from a report.

A table is a heading that names both sides (``reference``, ``meter``) with at least two lines of figures directly below.
Everything else remains text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from diagnose.errors import DiagnoseError
from diagnose.rule_book.patterns import ComparedAt
from diagnose.tables.columns import TableOptions, find_columns
from diagnose.tables.figures_in_table import is_figure
from diagnose.tables.headings import read_heading
from diagnose.tables.table_text import TextTable, read_table
from diagnose.units import is_unit

PLACE = "\ue000"
"""Stands in a report for a table that was taken out of it; no text says anything by it."""

FEWEST_LINES = 2
"""Fewest lines of figures below a heading that make a table."""

_QUOTED = re.compile(r"^[ \t]*(?:>[ \t]?)+", re.MULTILINE)
_RULE = re.compile(r"[\s|:+=-]+")
_PARTS = re.compile(r"[\t;|]|\s+")


@dataclass(frozen=True, slots=True)
class PastedTable:
    """A table found in a report: its text, and what the meter is compared with."""

    text: str
    compared: ComparedAt


def tables_in(text: str) -> tuple[str, tuple[PastedTable, ...]]:
    """Return a report with :data:`PLACE` in place of each of its tables of readings, and the tables.

    >>> rest, tables = tables_in("It reads high.\\nref [m3/h]  meter [m3/h]\\n10  12.1\\n50  52.2\\nPlease help.")
    >>> rest.replace(PLACE, "…")
    'It reads high.\\n…\\nPlease help.'
    >>> tables[0].compared, tables[0].text.splitlines()[1]
    ('reference', '10  12.1')
    """
    text = text.replace(PLACE, " ")
    lines = _QUOTED.sub("", text).splitlines()
    taken: set[int] = set()
    places: set[int] = set()
    found: list[PastedTable] = []
    for start, end in _runs(lines):
        heading = _line_above(lines, start)
        block = [lines[heading], *lines[start:end]] if heading is not None else []
        compared = _compared("\n".join(block)) if block else None
        if heading is None or compared is None:
            continue
        taken |= set(range(heading, end))
        places.add(heading)
        found.append(PastedTable("\n".join(block), compared))
    if not found:
        return text, ()
    taken -= places
    kept = (PLACE if number in places else line for number, line in enumerate(lines) if number not in taken)
    return "\n".join(kept), tuple(found)


def _runs(lines: list[str]) -> Iterator[tuple[int, int]]:
    """Yield start and end (exclusive) of each run of lines with at least two figures and no words."""
    start = None
    for number, line in enumerate([*lines, ""]):
        if _is_row(line):
            start = number if start is None else start
            continue
        if start is not None and number - start >= FEWEST_LINES:
            yield start, number
        start = None


def _is_row(line: str) -> bool:
    parts = [part for part in _PARTS.split(line.strip()) if part]
    figures = sum(is_figure(part) and any(letter.isdigit() for letter in part) for part in parts)
    return figures >= 2 and all(is_figure(part) or is_unit(part) or part in "±%" for part in parts)


def _line_above(lines: list[str], start: int) -> int | None:
    """Return the number of the line above a run, skipping a horizontal rule."""
    at = start - 1
    if at >= 0 and lines[at].strip() and _RULE.fullmatch(lines[at]):
        at -= 1
    return at if at >= 0 and lines[at].strip() else None


def _compared(block: str) -> ComparedAt | None:
    """Return what the columns compare, or None if the heading does not name both sides."""
    try:
        table = read_table(block, "the table in the report")
    except DiagnoseError:
        return None
    ways: tuple[tuple[ComparedAt, bool], ...] = (("reference", False), ("control-system", True))
    for compared, against_display in ways:
        if _names_both(table, against_display):
            counts = any("count" in cell.text.casefold() for cell in table.rows[0])
            return "counter" if against_display and counts else compared
    return None


def _names_both(table: TextTable, against_display: bool) -> bool:
    roles = {read_heading(cell.text, against_display).role for cell in table.rows[0]}
    if not {"reference", "indicated"} <= roles:
        return False
    try:
        find_columns(table, TableOptions(against_display=against_display), [])
    except DiagnoseError:
        return False
    return True
