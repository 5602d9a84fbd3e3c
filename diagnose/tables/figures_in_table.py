"""Reads the figures in the cells of a table, all with the same decimal mark; anything else is a problem."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from diagnose.errors import BadInput, ProblemsFound
from diagnose.place import Problem
from diagnose.tables.table_text import Cell, TextTable
from diagnose.tables.table_units import table_unit
from diagnose.tables.written_figures import MISSING, SPACES_IN_FIGURES, coverage_in, written

Decimal = Literal["point", "comma"]
SpreadTold = Literal["standard", "expanded", ""]
"""What a table says of its uncertainties; "" if nothing."""

HOW_TO_WRITE = "write a plain number, or leave the cell empty; put words into a column of their own"


@dataclass(frozen=True, slots=True)
class Beside:
    """An uncertainty that stands beside a figure: its half width, unit, coverage factor and kind as far as told."""

    half: float
    unit: str
    coverage: float | None
    told: SpreadTold


@dataclass(frozen=True, slots=True)
class FigureInTable:
    """A figure in a cell, the unit after it and what its last digit stands for; ``value`` is None for a missing one."""

    value: float | None
    unit: str
    cell: Cell
    resolution: float = 0.0
    beside: Beside | None = None

    def times(self, factor: float) -> FigureInTable:
        """Return the figure multiplied by what its heading says (`x10`)."""
        if self.value is None or factor == 1:
            return self
        beside = replace(self.beside, half=self.beside.half * factor) if self.beside and not self.beside.unit else None
        return replace(
            self, value=self.value * factor, resolution=self.resolution * factor, beside=beside or self.beside
        )


def decimal_mark(table: TextTable, cells: Iterable[Cell]) -> Decimal:
    """Return the decimal mark of these cells.

    Raises ProblemsFound if cells contradict each other, BadInput if every cell is ambiguous.
    """
    sure: dict[Decimal, Cell] = {}
    open_: dict[str, Cell] = {}
    for cell in cells:
        parts = written(cell.text)
        for figure in (parts.figure, parts.half) if parts else ():
            mark, doubtful = _evidence(SPACES_IN_FIGURES.sub("", figure))
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
        if cell.text.casefold() in MISSING:
            found.append(FigureInTable(None, "", cell))
            continue
        figure = _figure(cell, decimal)
        if figure is None:
            problems.append(table.problem(cell, "not-a-number", f"`{cell.text}` is not a number", HOW_TO_WRITE))
            continue
        found.append(figure)
    if problems:
        raise ProblemsFound(problems)
    return found


def _figure(cell: Cell, decimal: Decimal) -> FigureInTable | None:
    parts = written(cell.text)
    value = _value(parts.figure, decimal) if parts else None
    if parts is None or value is None:
        return None
    unit = table_unit(parts.unit) or parts.unit
    resolution = _resolution(parts.figure, decimal)
    if not parts.half:
        return FigureInTable(value, unit, cell, resolution)
    half = _value(parts.half, decimal)
    if half is None:
        return None
    said = parts.said.casefold()
    is_standard = parts.kind == "u" or "standard" in said or "1 sigma" in said
    is_expanded = parts.kind == "U" or "expanded" in said
    told: SpreadTold = "standard" if is_standard else "expanded" if is_expanded else ""
    return FigureInTable(value, unit, cell, resolution, Beside(half, parts.half_unit, coverage_in(parts.said), told))


def _value(figure: str, decimal: Decimal) -> float | None:
    mark, thousands = (",", ".") if decimal == "comma" else (".", ",")
    bare = SPACES_IN_FIGURES.sub("", figure.strip()).replace("−", "-").replace("–", "-")
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


def _resolution(figure: str, decimal: Decimal) -> float:
    """Return what one step of the last digit stands for.

    >>> _resolution("10.40", "point"), _resolution("1 250,5", "comma"), _resolution("10", "point")
    (0.01, 0.1, 1.0)
    """
    written, _, power = figure.strip().lower().partition("e")
    _, _, part = written.partition("," if decimal == "comma" else ".")
    digits = sum(letter.isdigit() for letter in part)
    try:
        return float(f"1e{int(power or 0) - digits}")
    except ValueError:
        return 0.0
