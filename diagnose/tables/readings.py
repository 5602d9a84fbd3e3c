"""Pairs of readings in SI from a table or from typed pairs, with units, resolution and uncertainties."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from diagnose.bounded import PAIRS
from diagnose.calculations.entering import DIVISORS, Spread
from diagnose.errors import BadInput, ProblemsFound, UnitError
from diagnose.place import Problem, visible
from diagnose.tables.amounts import EXPANDED, LARGEST_FLOW, Amounts, amounts_of, densities, one_for_all
from diagnose.tables.columns import SIDES, Aid, Comparison, TableColumns, TableOptions, find_columns
from diagnose.tables.figures_in_table import Decimal, decimal_mark, read_figures
from diagnose.tables.headings import Side, Stage
from diagnose.tables.layout import Column
from diagnose.tables.roll_over import size_of_counter
from diagnose.tables.run_times import Run, durations
from diagnose.tables.table_text import PAIRED, TextTable
from diagnose.tables.table_units import table_unit
from diagnose.tables.written_figures import unit_behind
from diagnose.units import show, taken_for, unit_info

ReadingKind = Literal["flow", "volume"]


def uncertainty_of_step(step: float) -> float:
    """Return the standard uncertainty of a figure whose last digit steps by so much (JCGM 100:2008, F.2.2.1).

    >>> round(uncertainty_of_step(0.1), 4)
    0.0289
    """
    return step / math.sqrt(12)


@dataclass(frozen=True, slots=True)
class Readings:
    """Pairs in SI, their standard uncertainties (empty if unknown), the unit to show them in, and warnings.

    ``kind`` says whether they are flows or volumes [m³] of runs of unknown length. The resolution of each is what a
    step of the last digit stands for; empty if nobody wrote the figures. ``coverage`` are the factors by which the
    uncertainties of both sides were divided, None where they are unknown or differ. ``name`` tells one comparison of a
    table from another (`as found`).
    """

    reference: tuple[float, ...]
    indicated: tuple[float, ...]
    u_reference: tuple[float, ...] = ()
    u_indicated: tuple[float, ...] = ()
    unit: str = "m3/h"
    warnings: tuple[str, ...] = ()
    resolution_reference: tuple[float, ...] = ()
    resolution_indicated: tuple[float, ...] = ()
    kind: ReadingKind = "flow"
    coverage_reference: float | None = None
    coverage_indicated: float | None = None
    name: Stage = ""

    def only(self, numbers: Sequence[int]) -> Readings:
        """Return only the pairs with these numbers, without the warnings."""

        def kept(column: tuple[float, ...]) -> tuple[float, ...]:
            return tuple(column[number] for number in numbers) if column else ()

        return replace(
            self,
            reference=kept(self.reference),
            indicated=kept(self.indicated),
            u_reference=kept(self.u_reference),
            u_indicated=kept(self.u_indicated),
            resolution_reference=kept(self.resolution_reference),
            resolution_indicated=kept(self.resolution_indicated),
            warnings=(),
        )

    @property
    def resolutions(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """The steps of the figures of both columns; empty where they are not known."""
        return (self.resolution_reference, self.resolution_indicated)

    @property
    def known(self) -> bool:
        """Whether uncertainties are known."""
        return bool(self.u_reference or self.u_indicated)


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
    table: TextTable, item: Comparison, found: TableColumns, options: TableOptions, warnings: list[str]
) -> Readings:
    runs = _runs(item, warnings, found.aids)
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


def _coarse(item: Comparison, sides: Mapping[Side, Amounts]) -> list[str]:
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


def _runs(item: Comparison, warnings: list[str], aids: Mapping[Aid, Column]) -> list[Run]:
    """Return the lines in which each run begins and ends, and tell which are left out.

    Raises BadInput where none is whole.
    """
    columns = [each for side in SIDES for each in (item.sides[side].start, item.sides[side].reading) if each]
    whole = [row for row in item.rows if all(each.figures[row].value is not None for each in columns)]
    left_out = [str(columns[0].cells[row].line) for row in item.rows if row not in set(whole)]
    if left_out:
        warnings.append(f"left out because a reading is missing: line {', '.join(left_out)}")
    if not whole:
        raise BadInput("no line has both readings, of the reference and of the meter")
    if any(item.moments):
        return _from_start_to_stop(item, whole)
    if not (len(whole) > 1 and item.run_on and all(_never_falls(item.sides[side].reading, whole) for side in SIDES)):
        item.run_on = _both_run_on(item, whole, aids) or _one_runs_on(item, whole)
    if len(item.run_on) == 1:
        side = next(iter(item.run_on))
        warnings.append(
            f"`{visible(item.sides[side].name)}` runs on, the other side does not: what was added from one line to the "
            "next is compared with the reading of the later line"
        )
        return list(pairwise(whole))
    if item.run_on:
        warnings.append("the totals run on: what was added from one line to the next is compared")
        return list(pairwise(whole))
    return [(row, row) for row in whole]


_FEWEST_LINES = 3
"""Lines that show that a column runs on whose heading does not say so; of two, a large error would look like it."""

_ALIKE = 0.3
"""Share by which what was added differs at most from the other side where one side runs on: no fault is so large."""


def _both_run_on(item: Comparison, rows: Sequence[int], aids: Mapping[Aid, Column]) -> frozenset[Side]:
    """Return both sides where times stand beside counters that began at different figures and count alike.

    Each line has one time, so a run lies between two of them, unless the table says otherwise.
    """
    columns = [each.reading for each in item.sides.values()]
    if "time" not in aids or aids.keys() & {"duration", "start time", "stop time"} or len(rows) < _FEWEST_LINES:
        return frozenset()
    if any(each.start for each in item.sides.values()) or not all(map(_is_volume, columns)):
        return frozenset()
    if not all(_never_falls(column, rows) for column in columns):
        return frozenset()
    one, other = ([_in_unit(column, row) for row in rows] for column in columns)
    added = ([after - before for before, after in pairwise(each)] for each in (one, other))
    alike = all(map(_are_alike, *added)) and not any(map(_are_alike, one, other))
    return frozenset(SIDES) if alike else frozenset()


def _one_runs_on(item: Comparison, rows: Sequence[int]) -> frozenset[Side]:
    """Return the side whose steps from line to line are what the other side reads, while its figures are not."""
    columns = [each.reading for each in item.sides.values()]
    if any(each.start for each in item.sides.values()) or not all(map(_is_volume, columns)):
        return frozenset()
    for side, other in (SIDES, SIDES[::-1]):
        column = item.sides[side].reading
        least = 2 if "total" in column.heading.means else _FEWEST_LINES
        if len(rows) < least or not _never_falls(column, rows):
            continue
        own, beside = ([_in_unit(item.sides[each].reading, row) for row in rows] for each in (side, other))
        added = [after - before for before, after in pairwise(own)]
        if all(map(_are_alike, added, beside[1:])) and not any(map(_are_alike, own[1:], beside[1:])):
            return frozenset({side})
    return frozenset()


def _is_volume(column: Column) -> bool:
    unit = _unit_of(column)
    return bool(unit) and unit_info(unit).dimension == unit_info("m3").dimension


def _unit_of(column: Column) -> str:
    return table_unit(column.heading.unit or next((each.unit for each in column.figures if each.unit), ""))


def _in_unit(column: Column, row: int) -> float:
    return (column.figures[row].value or 0.0) * unit_info(_unit_of(column)).factor


def _are_alike(one: float, other: float) -> bool:
    return one > 0 and abs(one - other) <= _ALIKE * max(abs(one), abs(other))


def _never_falls(column: Column, rows: Sequence[int]) -> bool:
    return all(
        (before.value or 0.0) <= (after.value or 0.0) or size_of_counter(before, after, column.heading) is not None
        for before, after in pairwise(column.figures[row] for row in rows)
    )


def _from_start_to_stop(item: Comparison, rows: Sequence[int]) -> list[Run]:
    found = [
        (one, other) for one, other in pairwise(rows) if (item.moments[one], item.moments[other]) == ("start", "stop")
    ]
    if not found:
        raise BadInput("no line with a start is followed by its stop")
    return found


def _of_one_kind(
    table: TextTable,
    item: Comparison,
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


def with_uncertainty(readings: Readings, reference: str, indicated: str, spread: Spread | None = None) -> Readings:
    """Return readings with the same uncertainty for all pairs of a side, ``0.5 %`` or ``0.2 m3/h``; "" changes nothing.

    Raises UnitError for one that cannot be read or is not greater than zero.
    """
    divisor = DIVISORS[spread] if spread else EXPANDED
    usual = "m3" if readings.kind == "volume" else "m3/h"
    top = max(map(abs, (*readings.reference, *readings.indicated)))
    if reference:
        u = one_for_all(reference, readings.reference, usual, divisor, top)
        readings = replace(readings, u_reference=u, coverage_reference=divisor)
    if indicated:
        u = one_for_all(indicated, readings.indicated, usual, divisor, top)
        readings = replace(readings, u_indicated=u, coverage_indicated=divisor)
    if spread is None and (reference or indicated):
        told = "the uncertainties given are taken as expanded (k = 2); say --uncertainties standard if they are not"
        readings = replace(readings, warnings=(*readings.warnings, told))
    return readings
