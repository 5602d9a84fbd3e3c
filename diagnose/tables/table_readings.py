"""From a table to pairs of readings in SI: figures are read, and made flows of where that can be done."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from diagnose.bounded import PAIRS
from diagnose.errors import BadInput, ProblemsFound, UnitError
from diagnose.place import Problem, visible
from diagnose.tables.amounts import LARGEST_FLOW, Amounts, amounts_of, densities
from diagnose.tables.columns import find_columns
from diagnose.tables.figures_in_table import Decimal, decimal_mark, read_figures
from diagnose.tables.headings import Side
from diagnose.tables.layout import Column
from diagnose.tables.readings import ReadingKind, Readings
from diagnose.tables.run_times import Run, durations
from diagnose.tables.running_totals import runs_of
from diagnose.tables.side_columns import SIDES, ComparedLines, TableColumns
from diagnose.tables.table_options import TableOptions
from diagnose.tables.table_text import PAIRED, TextTable
from diagnose.tables.written_figures import unit_behind
from diagnose.units import show, taken_for, unit_info


def readings_from_table(table: TextTable, options: TableOptions | None = None) -> Readings:
    """Return the pairs of a table with one comparison, in SI.

    Raises ProblemsFound for cells without a number, BadInput if columns cannot be identified or the table has several
    comparisons, UnitError for units.

    >>> from diagnose.tables.table_text import read_table
    >>> found = readings_from_table(read_table("reference [l/s];indicated [l/s]\\n1,0;1,02", "a.csv"))
    >>> found.indicated, found.resolution_reference
    ((0.00102,), (0.0001,))
    """
    found = comparisons_in(table, options)
    if len(found) > 1:
        names = " and ".join(each.name for each in found)
        raise BadInput(f"{table.file} has several comparisons: {names}; give one of them")
    return found[0]


def comparisons_in(table: TextTable, options: TableOptions | None = None) -> tuple[Readings, ...]:
    """Return the comparisons of a table, mostly one; as found and as left each have their name.

    Raises as :func:`readings_from_table` does.

    >>> from diagnose.tables.table_text import read_table
    >>> text = "reference [l/s];as found [l/s];as left [l/s]\\n10;10,4;10,0\\n20;20,9;20,1"
    >>> [each.name for each in comparisons_in(read_table(text, "a.csv"))]
    ['as found', 'as left']
    """
    options = options or TableOptions()
    warnings = list(table.warnings)
    found = find_columns(table, options, warnings)
    if table.delimiter == PAIRED:
        _share_unit(found)
    decimal = _read_all(table, found, options)
    warnings += _how_read(found)
    options = replace(options, decimal=decimal)
    return tuple(_in_si(table, item, found, options, list(warnings)) for item in found.comparisons)


def _share_unit(found: TableColumns) -> None:
    """Let a unit that stands behind one reading of a pair (`10/10.4 m3/h`) count for the other as well."""
    for item in found.comparisons:
        one, other = (item.sides[side].reading for side in SIDES)
        for column, beside in ((one, other), (other, one)):
            own = column.heading.unit or any(unit_behind(cell.text) for cell in column.cells)
            unit = beside.heading.unit or next(filter(None, (unit_behind(cell.text) for cell in beside.cells)), "")
            if unit and not own:
                column.heading = replace(column.heading, unit=unit)


def _used(found: TableColumns) -> list[Column]:
    """Return the columns that are compared, each once."""
    used = {id(column): column for item in found.comparisons for side in item.sides.values() for column in side.columns}
    return list(used.values())


def _how_read(found: TableColumns) -> list[str]:
    """Return what is to be said of figures that are not read as they stand, and of units of several countries."""
    used = _used(found)
    said = [
        f"the figures below `{visible(each.name)}` are multiplied by {each.heading.factor:g}"
        for each in used
        if each.heading.factor != 1
    ]
    units = {unit for each in used for unit in (each.heading.unit, *(figure.unit for figure in each.figures)) if unit}
    told = (f"`{visible(unit)}` is taken to be {taken_for(unit)}" for unit in sorted(units) if taken_for(unit))
    return [*said, *dict.fromkeys(told)]


def _read_all(table: TextTable, found: TableColumns, options: TableOptions) -> Decimal:
    """Read the figures of all columns that are compared; return their decimal mark."""
    used = _used(found)
    cells = [cell for column in used for cell in column.cells]
    if len(cells) > 2 * PAIRS and len(found.comparisons[0].rows) > PAIRS:
        raise BadInput(
            f"{table.file} has {len(found.comparisons[0].rows):,} pairs of readings, and {PAIRS:,} at most are "
            "compared: leave out all but every tenth line, say"
        )
    decimal = options.decimal or decimal_mark(table, cells)
    wrong: list[Problem] = []
    for column in used:
        try:
            column.figures = [each.times(column.heading.factor) for each in read_figures(table, column.cells, decimal)]
        except ProblemsFound as error:
            wrong += error.problems
    if wrong:
        raise ProblemsFound(sorted(wrong))
    return decimal


def _in_si(
    table: TextTable, item: ComparedLines, found: TableColumns, options: TableOptions, warnings: list[str]
) -> Readings:
    runs = runs_of(item, warnings, found.aids)
    sides = {
        side: amounts_of(table, side, item.sides[side], runs, item.is_total(side), options, warnings) for side in SIDES
    }
    _of_one_kind(table, item, runs, found, sides, options, warnings)
    for side, amounts in sides.items():
        if not all(math.isfinite(each) and abs(each) <= LARGEST_FLOW for each in amounts.values):
            raise BadInput(f"{table.file}: the {side} readings are too large to be a {amounts.kind}")
    reference, indicated = sides["reference"], sides["indicated"]
    kind: ReadingKind = "volume" if reference.kind == "volume" else "flow"
    warnings += _coarse(item, sides)
    usual = "m3" if kind == "volume" else "m3/h"
    units = (each.unit for each in (reference, indicated))
    shown = next((unit for unit in units if unit_info(unit).dimension == unit_info(usual).dimension), usual)
    return Readings(
        tuple(reference.values),
        tuple(indicated.values),
        _never_exact(reference.spreads, reference, indicated),
        _never_exact(indicated.spreads, reference, indicated),
        shown,
        tuple(warnings),
        tuple(reference.resolutions),
        tuple(indicated.resolutions),
        kind,
        reference.coverage,
        indicated.coverage,
        item.name,
    )


_LEAST_UNCERTAIN = 1e-5
"""Share of the largest reading that stands for a share of nothing: 1 % of a reading of zero is no certainty."""


def _never_exact(spreads: Sequence[float], *sides: Amounts) -> tuple[float, ...]:
    """Return standard uncertainties of which none is zero."""
    top = max(abs(value) for side in sides for value in side.values)
    return tuple(each or _LEAST_UNCERTAIN * top for each in spreads)


_FINER, _TELLS = 9.0, 0.01
"""How many times as finely the other side is written, and the share of a reading that a step then has to be."""


def _coarse(item: ComparedLines, sides: Mapping[Side, Amounts]) -> list[str]:
    """Say that figures count as they are written, where those of one side are rounded and the others are not."""
    found = []
    for side, other in (SIDES, SIDES[::-1]):
        own, beside = sides[side], sides[other]
        steps = [
            step for step, value in zip(own.resolutions, own.values, strict=True) if step > _TELLS * abs(value) > 0
        ]
        if steps and min(own.resolutions) > _FINER * min(beside.resolutions) and len(set(own.resolutions)) == 1:
            figure = item.sides[side].reading.figures[item.rows[0]].cell.text
            found.append(
                f"the {side} readings count as they are written (`{visible(figure)}`); write the last digit that was "
                "read, a zero as well"
            )
    return found


def _of_one_kind(
    table: TextTable,
    item: ComparedLines,
    runs: Sequence[Run],
    found: TableColumns,
    sides: Mapping[Side, Amounts],
    options: TableOptions,
    warnings: list[str],
) -> None:
    """Turn masses into volumes, and volumes into mean flows where the runs have times.

    Raises UnitError where one side is a flow, the other a volume, and nobody told how long it took.
    """
    weighed = [each for each in sides.values() if each.kind in ("mass", "mass flow")]
    if weighed:
        _weigh(weighed, densities(table, runs, found.aids, options), warnings)
    totals = [each for each in sides.values() if each.kind == "volume"]
    if not totals:
        return
    seconds = durations(table, item, runs, found.aids)
    if seconds:
        for each in totals:
            each.scaled([1 / took for took in seconds], "flow")
        return
    if len(totals) == 1:
        volume, flow = (
            visible(item.sides[side].name) for side in sorted(SIDES, key=lambda side: sides[side] is not totals[0])
        )
        raise UnitError(
            f"{table.file}: `{volume}` is a volume and `{flow}` a flow; add a column `duration [min]`, or the times at "
            "the start and stop of each run"
        )
    warnings.append(
        "volumes without times: only what is alike at every flow can be told; add the duration of each run, or its "
        "start and stop"
    )


def _weigh(weighed: Sequence[Amounts], density: list[float], warnings: list[str]) -> None:
    from diagnose.calculations.reference_volume import buoyancy_factor

    for each in weighed:
        if each.kind == "mass":
            each.scaled([buoyancy_factor(rho) / rho for rho in density], "volume")
        else:
            each.scaled([1 / rho for rho in density], "flow")
    low, high = (show(rho, "kg/m3") for rho in (min(density), max(density)))
    at = low if low == high else f"{low} to {high}"
    warnings.append(f"masses are turned into volumes at {at}, with the buoyancy of air where a scale weighed them")
