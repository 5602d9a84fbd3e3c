"""Headings with something in brackets that looks like a unit and is none: a figure below would be read wrongly."""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.errors import ProblemsFound
from diagnose.tables.headings import bracketed
from diagnose.tables.layout import Column
from diagnose.tables.table_text import TextTable
from diagnose.tables.table_units import unclear_unit

_SAID_IN_BRACKETS = frozenset({"as-found", "as-left", "start", "stop", "total"})


def refuse_unknown_units(table: TextTable, columns: Iterable[Column], example: str = "m3/h, l/s or US gal/min") -> None:
    """Raise ProblemsFound for a column whose heading has no unit but something in brackets."""
    for column in columns:
        inside = bracketed(column.heading.text)
        if inside and column.head and not column.heading.unit and not column.heading.means & _SAID_IN_BRACKETS:
            which = unclear_unit(inside)
            text = f"`{inside}` is not clear" if which else f"`{inside}` is not a known unit"
            help = f"write {which}" if which else f"write for example {example}"
            raise ProblemsFound([table.problem(column.head, "unit", text, help)])
