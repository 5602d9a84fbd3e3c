"""What one side of a comparison read, run by run, in SI: a flow, a volume or a mass, its resolution and uncertainty."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

from diagnose.calculations.entering import DIVISORS
from diagnose.errors import BadInput, ProblemsFound, UnitError
from diagnose.place import visible
from diagnose.tables.figures_in_table import Beside, Decimal, FigureInTable, decimal_mark, read_figures
from diagnose.tables.headings import ColumnHeading, Side
from diagnose.tables.layout import Column
from diagnose.tables.roll_over import said_of_roll_over, size_of_counter
from diagnose.tables.run_times import Run
from diagnose.tables.side_columns import Aid, SideColumns
from diagnose.tables.table_options import TableOptions
from diagnose.tables.table_text import TextTable
from diagnose.tables.unknown_units import refuse_unknown_units
from diagnose.units import read_measurement, to_si, unit_info

Kind = Literal["flow", "volume", "mass", "mass flow"]

LARGEST_FLOW, SMALLEST_FLOW = 1e6, 1e-15
"""Largest flow [m³/s] or volume [m³] that is accepted (the largest river has 2e5 m³/s); below the other it is zero."""

SUREST, LEAST_SURE = 1e-9, 1e3
"""Range of credible uncertainties over the largest reading."""

EXPANDED = 2.0
"""Coverage factor of an uncertainty of which nothing more is said."""

TYPED = "the pairs"
"""Name of typed pairs in messages, in place of a file name."""

BEHIND_THE_PAIRS = "write it after the last pair, as in `5 5.31; 10 10.42 m3/h`"
HOW_TO_SAY = "write it in the heading, as in `reference [m3/h];indicated [m3/h]`, or give --unit m3/h"
HOW_TO_WEIGH = (
    "a mass has a volume only with its density: add a column `temperature [degC]` (of water) or `density [kg/m3]`, or "
    "give --density 998kg/m3"
)

_A_UNIT_OF_EACH: tuple[tuple[str, Kind], ...] = (
    ("m3/h", "flow"),
    ("m3", "volume"),
    ("kg", "mass"),
    ("kg/s", "mass flow"),
)


@cache
def _kinds() -> Mapping[str, Kind]:
    """Return what is read by its dimension; not before units are read, which a rule book spells."""
    return {unit_info(unit).dimension: kind for unit, kind in _A_UNIT_OF_EACH}


@cache
def _of_range() -> frozenset[str]:
    return frozenset(unit_info(unit).dimension for unit in ("mA", "%"))


@dataclass(slots=True)
class Amounts:
    """The readings of one side: what they are of, their unit, and SI values with resolution and standard uncertainty.

    ``spreads`` are empty unless every reading has one; ``coverage`` is what they were divided by.
    """

    kind: Kind
    unit: str
    values: list[float]
    resolutions: list[float]
    spreads: list[float]
    coverage: float | None = None

    def scaled(self, factors: Sequence[float], kind: Kind) -> None:
        """Turn the readings into another kind, each by a factor of its own."""
        self.values = [each * factor for each, factor in zip(self.values, factors, strict=True)]
        self.resolutions = [each * abs(factor) for each, factor in zip(self.resolutions, factors, strict=True)]
        self.spreads = [each * abs(factor) for each, factor in zip(self.spreads, factors, strict=bool(self.spreads))]
        self.kind = kind


def amounts_of(
    table: TextTable,
    side: Side,
    columns: SideColumns,
    runs: Sequence[Run],
    runs_on: bool,
    options: TableOptions,
    warnings: list[str],
) -> Amounts:
    """Return what one side read in each run; the figures of its columns have been read.

    Raises UnitError for a unit that is missing or of something else, ProblemsFound for totals that fall.
    """
    unit = _unit_of(table, columns, options, side)
    begins = columns.start or (columns.reading if runs_on else None)
    lasts = [columns.reading.figures[last] for _, last in runs]
    firsts = [begins.figures[first] for first, _ in runs] if begins else []
    values = [_si(each, unit, options) for each in lasts]
    finest = min((each.resolution for each in (*lasts, *firsts) if each.resolution), default=0.0)
    steps = [_step(each, finest) * _factor(unit, options) for each in lasts]
    if begins:
        values = [value - _si(first, unit, options) for value, first in zip(values, firsts, strict=True)]
        if _kind(unit) == "volume":
            _begin_anew(firsts, lasts, values, columns.reading.heading, _factor(unit, options), warnings)
        steps = [math.hypot(a, _step(b, finest) * _factor(unit, options)) for a, b in zip(steps, firsts, strict=True)]
        values = _rising(table, lasts, firsts, values, warnings)
    found = Amounts(_kind(unit), unit, values, steps, [])
    if columns.uncertainty:
        stated = [_beside(columns.uncertainty.figures[last], columns.uncertainty.heading) for _, last in runs]
        _take_spreads(found, side, [stated], options, warnings)
    elif any(each.beside for each in lasts):
        told = [[each.beside for each in some] for some in (lasts, firsts) if some]
        _take_spreads(found, side, told, options, warnings)
    elif columns.reading.heading.spread:
        parts = 2 if firsts else 1
        _take_spreads(found, side, [[columns.reading.heading.spread] * len(lasts)] * parts, options, warnings)
    return found


def _begin_anew(
    firsts: Sequence[FigureInTable],
    lasts: Sequence[FigureInTable],
    values: list[float],
    heading: ColumnHeading,
    factor: float,
    warnings: list[str],
) -> None:
    """Add to the runs in which a counter passed its end what it counts until then; a tank is emptied in every run."""
    falling = [number for number, value in enumerate(values) if value < 0]
    if len(falling) == len(values) > 1:
        return
    for number in falling:
        size = size_of_counter(firsts[number], lasts[number], heading)
        if size:
            values[number] += size * factor
            warnings.append(said_of_roll_over(firsts[number], lasts[number], size))


def _step(figure: FigureInTable, finest: float) -> float:
    """Return the resolution of a figure; a bare 0 (an empty tank) has no digits to tell, and takes the finest."""
    return figure.resolution if figure.value else min(figure.resolution, finest)


def _kind(unit: str) -> Kind:
    return _kinds().get(unit_info(unit).dimension, "flow")


def _rising(
    table: TextTable,
    lasts: Sequence[FigureInTable],
    firsts: Sequence[FigureInTable],
    values: list[float],
    warnings: list[str],
) -> list[float]:
    """Return what was added in each run; a tank that was emptied in all of them gave as much."""
    falling = [number for number, value in enumerate(values) if value < 0]
    if falling and len(falling) == len(values):
        warnings.append(
            f"`{visible(firsts[0].cell.text)}` to `{visible(lasts[0].cell.text)}` and all the others fall: what was "
            "taken out is compared"
        )
        return [-value for value in values]
    if falling:
        raise ProblemsFound(
            [
                table.problem(
                    lasts[number].cell,
                    "falls",
                    f"`{lasts[number].cell.text}` at the stop is less than `{firsts[number].cell.text}` at the start",
                    "are start and stop swapped? if the counter rolled over, add what it had counted until then",
                )
                for number in falling
            ]
        )
    return values


def _unit_of(table: TextTable, columns: SideColumns, options: TableOptions, side: Side) -> str:
    both = [columns.reading, *([columns.start] if columns.start else [])]
    behind = {each.unit for column in both for each in column.figures if each.unit}
    units = {each for each in (*(column.heading.unit for column in both), *behind) if each}
    odd = next((e for column in both for e in column.figures if e.unit and not _is_known(e.unit)), None)
    if odd:
        help = "write a plain number with a unit such as m3/h or l/s behind it, or none"
        text = f"`{odd.unit}` behind the figure is no unit"
        raise ProblemsFound([table.problem(odd.cell, "unit", text, help)])
    if len({unit_info(unit) for unit in units}) > 1:
        named = ", ".join(sorted(map(visible, units)))
        raise UnitError(f"{table.file}: the {side} readings have several units: {named}; use a single one")
    unit = next(iter(sorted(units)), options.unit)
    if not unit:
        how = BEHIND_THE_PAIRS if table.file == TYPED else HOW_TO_SAY
        raise UnitError(f"{table.file}: the unit of the {side} readings is missing; {how}")
    if options.unit and unit_info(options.unit) != unit_info(unit):
        raise UnitError(f"{table.file}: the {side} readings are in {visible(unit)}, but --unit says {options.unit}")
    _check_kind(unit, options, side)
    return unit


def _is_known(unit: str) -> bool:
    try:
        unit_info(unit)
    except UnitError:
        return False
    return True


def _check_kind(unit: str, options: TableOptions, side: Side) -> None:
    dimension = unit_info(unit).dimension
    if dimension in _kinds():
        return
    if dimension not in _of_range():
        raise UnitError(f"the {side} readings are in {visible(unit)}, which is not a flow, a volume or a mass")
    if options.upper is None:
        raise UnitError(f"the {side} readings are in {visible(unit)}; give the range as well: --urv 100m3/h")


def _factor(unit: str, options: TableOptions) -> float:
    """Return what one of a unit is in SI; of a current or a per cent, the flow that it stands for."""
    info = unit_info(unit)
    if info.dimension not in _of_range() or options.upper is None:
        return info.factor
    whole = 0.016 if info.dimension == unit_info("mA").dimension else 1.0
    return abs(info.factor / whole * (options.upper - options.lower))


def _si(figure: FigureInTable, unit: str, options: TableOptions) -> float:
    assert figure.value is not None
    info = unit_info(unit)
    value = figure.value * info.factor + info.offset
    if info.dimension in _of_range():
        assert options.upper is not None
        share = (value - 0.004) / 0.016 if info.dimension == unit_info("mA").dimension else value
        value = options.lower + share * (options.upper - options.lower)
    if abs(value) > LARGEST_FLOW and _kind(unit) in ("flow", "volume"):
        what = _kind(unit)
        raise BadInput(f"`{visible(figure.cell.text)}` {unit} in line {figure.cell.line} is too large to be a {what}")
    return value if abs(value) > SMALLEST_FLOW else 0.0


def _beside(figure: FigureInTable, heading: ColumnHeading) -> Beside | None:
    """Return an uncertainty from a column of its own."""
    if figure.value is None:
        return None
    means = heading.means
    is_expanded, is_standard = "expanded-uncertainty" in means, "standard-uncertainty" in means
    told: Literal["standard", "expanded", ""] = "expanded" if is_expanded else "standard" if is_standard else ""
    return Beside(figure.value, heading.unit or figure.unit, heading.coverage, told)


def _take_spreads(
    found: Amounts,
    side: Side,
    stated: Sequence[Sequence[Beside | None]],
    options: TableOptions,
    warnings: list[str],
) -> None:
    """Put the standard uncertainties (SI) to the readings, unless one is missing; several of a run add as squares."""
    told = [each for some in stated for each in some if each and each.half > 0]
    if len(told) != sum(map(len, stated)):
        warnings.append("uncertainties are ignored: one is missing or not greater than zero")
        return
    divisors = {_divisor(each, options) for each in told}
    if all(each.coverage is None and not each.told for each in told) and options.spread is None:
        warnings.append(
            f"± of the {side} readings is taken as expanded (k = 2); say `k=1` or --uncertainties standard where it is "
            "a standard uncertainty"
        )
    values = [
        math.hypot(*(_standard(each, value, found, options) for each in row if each))
        for row, value in zip(zip(*stated, strict=True), found.values, strict=True)
    ]
    top = max(map(abs, found.values))
    if top and not all(SUREST * top <= each <= LEAST_SURE * top for each in values):
        warnings.append("uncertainties are ignored: one is not credible compared with the largest flow")
        return
    found.spreads, found.coverage = values, divisors.pop() if len(divisors) == 1 else None


def _divisor(stated: Beside, options: TableOptions) -> float:
    """Return what turns an uncertainty into a standard one: as told beside it, as asked for, or as usual."""
    if stated.coverage:
        return stated.coverage
    if options.spread:
        return DIVISORS[options.spread]
    return 1.0 if stated.told == "standard" else EXPANDED


def _standard(stated: Beside, value: float, found: Amounts, options: TableOptions) -> float:
    half = stated.half / _divisor(stated, options)
    unit = stated.unit or found.unit
    if unit == "%":
        return half / 100 * max(abs(value), 1e-3 * max(map(abs, found.values)))
    if unit_info(unit).dimension != unit_info(found.unit).dimension:
        raise UnitError(f"uncertainties in {visible(unit)} do not go with readings in {visible(found.unit)}")
    return half * _factor(unit, options)


def densities(table: TextTable, runs: Sequence[Run], aids: Mapping[Aid, Column], options: TableOptions) -> list[float]:
    """Return the density [kg/m³] of the liquid in each run, told or that of water at its temperature.

    Raises UnitError where neither is told.
    """
    if "density" in aids:
        return _column_in_si(table, aids["density"], runs, "kg/m3", options.decimal)
    if options.density is not None:
        return [options.density] * len(runs)
    from diagnose.calculations.water_density import density_of_water

    if "temperature" in aids:
        degrees = _column_in_si(table, aids["temperature"], runs, "degC", options.decimal)
        return [density_of_water(each) for each in degrees]
    if options.temperature is not None:
        return [density_of_water(options.temperature)] * len(runs)
    raise UnitError(f"{table.file}: {HOW_TO_WEIGH}")


def _column_in_si(
    table: TextTable, column: Column, runs: Sequence[Run], usual: str, decimal: Decimal | None
) -> list[float]:
    """Return a column in SI; where its own figures leave the decimal mark open, it is that of the readings."""
    try:
        decimal = decimal_mark(table, column.cells)
    except BadInput:
        if decimal is None:
            raise
    refuse_unknown_units(table, [column], example=usual)
    figures = read_figures(table, column.cells, decimal)
    found = []
    for _, last in runs:
        figure = figures[last]
        if figure.value is None:
            text = f"the {column.name} of this run is missing"
            raise ProblemsFound([table.problem(figure.cell, "missing", text, "give one for every run")])
        found.append(to_si(figure.value, column.heading.unit or figure.unit or usual, usual))
    return found


def one_for_all(text: str, values: Sequence[float], unit: str, divisor: float, top: float) -> tuple[float, ...]:
    """Return the same uncertainty for all readings, ``0.5 %`` or ``0.2 m3/h``, as standard ones in SI.

    ``top`` is the largest reading of both sides: all of one side may be zero. Raises UnitError for an uncertainty that
    cannot be read or is not greater than zero.
    """
    measured = read_measurement(text)
    if measured is None or measured.number <= 0 or not measured.unit:
        raise UnitError(f"`{visible(text)}` is not an uncertainty; write for example 0.5 % or 0.2 m3/h")
    if measured.unit == "%":
        least = 1e-3 * top  # no reading is exact, not even zero
        return tuple(measured.number / 100 / divisor * max(abs(value), least) for value in values)
    return (to_si(measured.number, measured.unit, unit) / divisor,) * len(values)
