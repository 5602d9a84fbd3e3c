"""Reads the figures in the cells of a table, all with the same decimal mark; anything else is a problem."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from diagnose.errors import BadInput, ProblemsFound
from diagnose.place import Problem
from diagnose.tables.table_text import Cell, TextTable

Decimal = Literal["point", "comma"]

_SPACE = re.compile(r"[ '’\u00a0\u202f]")
_FIGURE = re.compile(
    r"(?P<figure>[-+−–]?(?:\d[\d ,.'’\u00a0\u202f]*|[.,]\d+)(?:[eE][-+]?\d+)?)\s*(?P<unit>\D.*)?", re.S
)
_MISSING = frozenset({"", "-", "–", "—", "--", "---", "n/a", "na", "#n/a", "nan", "null", "none", "?", "bad", "inf"})


@dataclass(frozen=True, slots=True)
class FigureInTable:
    """A figure in a cell and the unit after it; ``value`` is None for a missing reading."""

    value: float | None
    unit: str
    cell: Cell


def is_figure(text: str) -> bool:
    """Check whether a cell has a figure (perhaps with a unit) or a mark for a missing one.

    >>> is_figure("1 250,5"), is_figure("5.3 m3/h"), is_figure("reference"), is_figure("nan")
    (True, True, False, True)
    """
    return _FIGURE.fullmatch(text) is not None or text.casefold() in _MISSING


def decimal_mark(table: TextTable, cells: Iterable[Cell]) -> Decimal:
    """Return the decimal mark of these cells.

    Raises ProblemsFound if cells contradict each other, BadInput if every cell is ambiguous.
    """
    sure: dict[Decimal, Cell] = {}
    open_: dict[str, Cell] = {}
    for cell in cells:
        match = _FIGURE.fullmatch(cell.text)
        if not match:
            continue
        mark, doubtful = _evidence(_SPACE.sub("", match["figure"]))
        if mark:
            sure.setdefault(mark, cell)
        elif doubtful:
            open_.setdefault(doubtful, cell)
    if len(sure) == 2:
        text = f"here the decimal mark is a comma, in line {sure['point'].line} it is a point"
        help = "use the same decimal mark for all figures"
        raise ProblemsFound([table.problem(sure["comma"], "decimal-mark", text, help)])
    if sure:
        return next(iter(sure))
    if "," in open_ or ("." in open_ and table.delimiter == ";"):
        cell = open_.get(",") or open_["."]
        raise BadInput(
            f"{table.file}: the comma or point of `{cell.text}` in line {cell.line} may be a thousands separator or a "
            "decimal mark, and no other figure decides; give --decimal comma or --decimal point"
        )
    return "point"


def _evidence(figure: str) -> tuple[Decimal | None, str]:
    """Return the decimal mark that a figure proves, or the mark that leaves it ambiguous."""
    commas, points = figure.count(","), figure.count(".")
    if commas and points:
        return ("comma" if figure.rindex(",") > figure.rindex(".") else "point"), ""
    for mark, count, own, other in ((",", commas, "comma", "point"), (".", points, "point", "comma")):
        if count > 1:
            return (other, "")  # type: ignore[return-value]
        if count == 1:
            whole, part = figure.lstrip("+-−–").split(mark)
            digits = len(re.split("[eE]", part)[0])
            return (None, mark) if digits == 3 and whole.strip("0") and len(whole) <= 3 else (own, "")  # type: ignore[return-value]
    return None, ""


def read_figures(table: TextTable, cells: Iterable[Cell], decimal: Decimal) -> list[FigureInTable]:
    """Return the figures of cells.

    Raises ProblemsFound with every cell that has something else.
    """
    problems: list[Problem] = []
    found = []
    for cell in cells:
        if cell.text.casefold() in _MISSING:
            found.append(FigureInTable(None, "", cell))
            continue
        match = _FIGURE.fullmatch(cell.text)
        value = _value(match["figure"], decimal) if match else None
        if match is None or value is None:
            help = "write a plain number, or leave the cell empty; put words into a column of their own"
            problems.append(table.problem(cell, "not-a-number", f"`{cell.text}` is not a number", help))
            continue
        found.append(FigureInTable(value, (match["unit"] or "").strip(), cell))
    if problems:
        raise ProblemsFound(problems)
    return found


def _value(figure: str, decimal: Decimal) -> float | None:
    mark, thousands = (",", ".") if decimal == "comma" else (".", ",")
    bare = _SPACE.sub("", figure.strip()).replace("−", "-").replace("–", "-")
    whole, _, part = bare.partition(mark)
    if thousands in whole:
        if not re.fullmatch(rf"[-+]?\d{{1,3}}(?:{re.escape(thousands)}\d{{3}})+", whole):
            return None
        whole = whole.replace(thousands, "")
    if thousands in part or mark in part:
        return None
    try:
        value = float(f"{whole}.{part}" if part else whole)
    except ValueError:
        return None
    return value if math.isfinite(value) else None
