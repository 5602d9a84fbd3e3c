"""Finds the columns of reference, meter and their uncertainties in a table, by heading, name or number."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from diagnose.errors import BadInput, ProblemsFound
from diagnose.place import visible
from diagnose.tables.figures_in_table import Decimal, FigureInTable, is_figure
from diagnose.tables.headings import ColumnHeading, bracketed, read_heading
from diagnose.tables.table_text import Cell, TextTable

if TYPE_CHECKING:  # a report seldom has a table
    from diagnose.calculations.entering import Spread

HOW_TO_NAME = "name them `reference` and `indicated`, or give --reference NAME --indicated NAME (or their numbers)"


@dataclass(frozen=True, slots=True, kw_only=True)
class TableOptions:
    """Options for a table: columns by name or number, unit, decimal mark, kind of ±, range (SI)."""

    reference: str = ""
    indicated: str = ""
    unit: str = ""
    decimal: Decimal | None = None
    spread: Spread = "standard"
    against_display: bool = False
    lower: float = 0.0
    upper: float | None = None


@dataclass(slots=True)
class ReadingColumn:
    """A column in use: heading, cells, and figures once they are read."""

    heading: ColumnHeading
    cells: Sequence[Cell]
    figures: list[FigureInTable] = field(default_factory=list)


def find_columns(table: TextTable, options: TableOptions, warnings: list[str]) -> dict[str, ReadingColumn]:
    """Return the columns in use, by role."""
    heading, rows = _heading_and_rows(table)
    width = max(len(row) for row in rows)
    uneven = [row for row in rows if len(row) != width]
    if uneven:
        cell = uneven[0][-1]
        text = f"this line has {len(uneven[0])} cells, the others have {width}"
        raise ProblemsFound([table.problem(cell, "uneven", text, "write every line with the same number of cells")])
    if heading is None:
        return _without_heading(rows, width, options, warnings)
    headings = [read_heading(cell.text, options.against_display) for cell in heading]
    positions = _positions(heading, headings, options)
    for role in ("uncertainty of the reference", "uncertainty of the indicated", "uncertainty"):
        at = [number for number, each in enumerate(headings) if each.role == role]
        if at:
            positions["uncertainty of the indicated" if role == "uncertainty" else role] = at[0]
    unused = [cell.text for number, cell in enumerate(heading) if number not in positions.values() and cell.text]
    if unused:
        warnings.append(f"columns not used: {', '.join(unused)}")
    _unknown_units(table, heading, headings, positions)
    return {role: ReadingColumn(headings[at], [row[at] for row in rows]) for role, at in positions.items()}


def _heading_and_rows(table: TextTable) -> tuple[tuple[Cell, ...] | None, list[tuple[Cell, ...]]]:
    first, rest = table.rows[0], list(table.rows[1:])
    if any(is_figure(cell.text) and cell.text for cell in first):
        return None, [first, *rest]
    if not rest:
        raise BadInput(f"{table.file} has a heading but no readings")
    width = len(first)
    # Some programs end every line with an extra delimiter.
    rest = [row[:width] if len(row) == width + 1 and not row[-1].text else row for row in rest]
    if any(len(row) != width for row in rest) and len({len(row) for row in rest}) == 1:
        cell = rest[0][-1]
        text = f"the heading has {width} cells, the lines below have {len(rest[0])}"
        raise ProblemsFound([table.problem(cell, "uneven", text, "give every column a heading")])
    return first, rest


def _without_heading(
    rows: list[tuple[Cell, ...]], width: int, options: TableOptions, warnings: list[str]
) -> dict[str, ReadingColumn]:
    if options.reference or options.indicated:
        positions = {
            role: _by_number(name, width, role)
            for role, name in (("reference", options.reference or "1"), ("indicated", options.indicated or "2"))
        }
    elif width == 2:
        warnings.append("no heading: the first column is taken as the reference, the second as the meter")
        positions = {"reference": 0, "indicated": 1}
    elif width < 2:
        raise BadInput("a comparison needs two figures per line: the reading of the reference and that of the meter")
    else:
        raise BadInput(f"the {width} columns have no headings; {HOW_TO_NAME}")
    return {role: ReadingColumn(ColumnHeading("", ""), [row[at] for row in rows]) for role, at in positions.items()}


def _by_number(name: str, width: int, role: str) -> int:
    if not name.isdigit() or not 1 <= int(name) <= width:
        raise BadInput(f"--{role} {visible(name)}: there is no heading; give the number of the column, 1 to {width}")
    return int(name) - 1


def _positions(heading: Sequence[Cell], headings: Sequence[ColumnHeading], options: TableOptions) -> dict[str, int]:
    positions = {}
    for role, name in (("reference", options.reference), ("indicated", options.indicated)):
        if name:
            positions[role] = _by_name(heading, name, role)
            continue
        at = [number for number, each in enumerate(headings) if each.role == role]
        if len(at) == 1:
            positions[role] = at[0]
            continue
        names = ", ".join(f"`{visible(cell.text)}`" for cell in heading)
        found = "none" if not at else "more than one"
        raise BadInput(f"{found} of the columns {names} is recognised as `{role}`; {HOW_TO_NAME}")
    if positions["reference"] == positions["indicated"]:
        raise BadInput("reference and indicated are the same column; name two different ones")
    return positions


def _by_name(heading: Sequence[Cell], name: str, role: str) -> int:
    wanted = name.strip().casefold()
    ways: tuple[Callable[[str], bool], ...] = (wanted.__eq__, lambda text: text.startswith(wanted))
    for fits in ways:
        at = [number for number, cell in enumerate(heading) if fits(cell.text.casefold())]
        if len(at) == 1:
            return at[0]
    if name.isdigit() and 1 <= int(name) <= len(heading):
        return int(name) - 1
    names = ", ".join(f"`{visible(cell.text)}`" for cell in heading)
    raise BadInput(f"--{role} {visible(name)}: not the name of exactly one column; the columns are {names}")


def _unknown_units(
    table: TextTable, heading: Sequence[Cell], headings: Sequence[ColumnHeading], positions: dict[str, int]
) -> None:
    for role in ("reference", "indicated"):
        cell, inside = heading[positions[role]], bracketed(heading[positions[role]].text)
        if inside and not headings[positions[role]].unit:
            text = f"`{inside}` is not a known unit"
            raise ProblemsFound([table.problem(cell, "unit", text, "write for example m3/h, l/s or US gal/min")])
