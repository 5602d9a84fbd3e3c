"""Pairs of readings from a table or from typed pairs: which column is what, its unit, its uncertainties, all in SI."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from diagnose.analyses.columns import Asked, Column, find_columns
from diagnose.analyses.figures_in_table import Figure, decimal_mark, is_figure, read_figures
from diagnose.analyses.table_text import Cell, TextTable
from diagnose.calculations.entering import DIVISORS
from diagnose.errors import BadInput, ProblemsFound, UnitError
from diagnose.place import Problem, visible
from diagnose.units import read_measurement, to_si, unit_info

LARGEST_FLOW, SMALLEST_FLOW = 1e6, 1e-15
"""Flows [m³/s] beyond which nothing is a flow (the largest river has 2e5), and below which all is none."""

SUREST, LEAST_SURE = 1e-9, 1e3
"""Uncertainties over the largest reading between which they say anything."""

TYPED = "the pairs"
"""What typed pairs are called in messages, in place of a file."""

BEHIND_THE_PAIRS = "write it behind the last pair, as in `5 5.31; 10 10.42 m3/h`"
HOW_TO_SAY = "write it into the heading, as in `reference [m3/h];indicated [m3/h]`, or give --unit m3/h"


@dataclass(frozen=True, slots=True)
class Readings:
    """Pairs in SI, their standard uncertainties where known (else empty), the unit to show them in, what was odd."""

    reference: tuple[float, ...]
    indicated: tuple[float, ...]
    of_reference: tuple[float, ...] = ()
    of_indicated: tuple[float, ...] = ()
    unit: str = "m3/h"
    warnings: tuple[str, ...] = ()

    def only(self, numbers: Sequence[int]) -> Readings:
        """Return the pairs of these numbers alone."""

        def kept(column: tuple[float, ...]) -> tuple[float, ...]:
            return tuple(column[number] for number in numbers) if column else ()

        columns = (self.reference, self.indicated, self.of_reference, self.of_indicated)
        reference, indicated, of_reference, of_indicated = map(kept, columns)
        return Readings(reference, indicated, of_reference, of_indicated, self.unit)

    @property
    def known(self) -> bool:
        """Tell whether uncertainties are known."""
        return bool(self.of_reference or self.of_indicated)


def readings_from_table(table: TextTable, asked: Asked | None = None) -> Readings:
    """Return the pairs of a table in SI.

    Raises ProblemsFound for cells that hold no number, BadInput when columns cannot be told, UnitError for units.

    >>> from diagnose.analyses.table_text import read_table
    >>> readings_from_table(read_table("reference [l/s];indicated [l/s]\\n1,0;1,02", "a.csv")).indicated
    (0.00102,)
    """
    asked = asked or Asked()
    warnings = list(table.warnings)
    columns = find_columns(table, asked, warnings)
    decimal = asked.decimal or decimal_mark(table, (cell for each in columns.values() for cell in each.cells))
    wrong: list[Problem] = []
    for column in columns.values():
        try:
            column.figures = read_figures(table, column.cells, decimal)
        except ProblemsFound as error:
            wrong += error.problems
    if wrong:
        raise ProblemsFound(sorted(wrong))
    rows = _whole_rows(columns, warnings)
    return _in_si(table, columns, rows, asked, warnings)


def with_uncertainty(readings: Readings, reference: str, indicated: str, divisor: float) -> Readings:
    """Return readings with one uncertainty for all pairs of a side, ``0.5 %`` or ``0.2 m3/h``; "" changes nothing.

    Raises UnitError for one that cannot be read or is not greater than zero.
    """

    def spread(text: str, flows: tuple[float, ...], own: tuple[float, ...]) -> tuple[float, ...]:
        if not text:
            return own
        measured = read_measurement(text)
        if measured is None or measured.number <= 0 or not measured.unit:
            raise UnitError(f"`{visible(text)}` is no uncertainty; write for example 0.5 % or 0.2 m3/h")
        if measured.unit == "%":
            least = 1e-3 * max(map(abs, flows))  # a share of nothing is nothing, and no reading is that sure
            return tuple(measured.number / 100 / divisor * max(abs(flow), least) for flow in flows)
        return (to_si(measured.number, measured.unit, "m3/h") / divisor,) * len(flows)

    return replace(
        readings,
        of_reference=spread(reference, readings.reference, readings.of_reference),
        of_indicated=spread(indicated, readings.indicated, readings.of_indicated),
    )


def readings_from_pairs(text: str, asked: Asked) -> Readings:
    """Return typed pairs, ``5 5.31; 10 10.42``, in SI; the unit is said beside them or by ``--unit``.

    >>> readings_from_pairs("10 10.4; 20 20.8 l/s", Asked()).reference
    (0.01, 0.02)
    """
    unit = asked.unit
    match = re.search(r"(?<=[\d\s])\s*([A-Za-z%][^\d;\n]*(?:\d[^\s\d;]*)?[^;\n]*)\s*$", text)
    if match and not is_figure(match[1]):
        text, unit = text[: match.start(1)], unit or match[1].strip()
    parts = [each for each in re.split(r"\s*[;\n]\s*", text.strip()) if each]
    rows = []
    for part in parts:
        figures = [each for each in re.split(r"\s*(?:[/|:]|→|->|,\s)\s*|\s+", part) if each]
        if len(figures) != 2:
            raise BadInput(f"`{visible(part)}` is not a pair; write reference and indicated, as in `5 5.31; 10 10.42`")
        rows.append(tuple(Cell(each, 1, text.index(part) + 1) for each in figures))
    heading = (Cell("reference", 1, 1), Cell("indicated", 1, 1))
    table = TextTable(TYPED, " ", (heading, *rows), (text,))
    return readings_from_table(table, Asked(unit=unit, decimal=asked.decimal, lower=asked.lower, upper=asked.upper))


def _whole_rows(columns: dict[str, Column], warnings: list[str]) -> list[int]:
    """Return the rows in which both readings stand; the others are told."""
    both = (columns["reference"].figures, columns["indicated"].figures)
    rows = range(len(both[0]))
    whole = [row for row in rows if all(each[row].value is not None for each in both)]
    left_out = [str(both[0][row].cell.line) for row in rows if row not in set(whole)]
    if left_out:
        warnings.append(f"left out, a reading is missing: line {', '.join(left_out)}")
    if not whole:
        raise BadInput("there is no line with both readings, of the reference and of the meter")
    return whole


def _in_si(
    table: TextTable, columns: dict[str, Column], rows: list[int], asked: Asked, warnings: list[str]
) -> Readings:
    units = {role: _unit_of(table, columns[role], asked, role) for role in ("reference", "indicated")}
    pairs = {
        role: tuple(_flow(columns[role].figures[row], units[role], asked) for row in rows)
        for role in ("reference", "indicated")
    }
    spreads = {
        role: _spreads(columns.get(f"uncertainty of the {role}"), rows, pairs[role], units[role], asked, warnings)
        for role in ("reference", "indicated")
    }
    shown = next((each for each in units.values() if _dimension(each) == _dimension("m3/h")), "m3/h")
    return Readings(
        pairs["reference"], pairs["indicated"], spreads["reference"], spreads["indicated"], shown, tuple(warnings)
    )


def _unit_of(table: TextTable, column: Column, asked: Asked, role: str) -> str:
    behind = {each.unit for each in column.figures if each.unit}
    units = {each for each in (column.heading.unit, *behind) if each}
    if len(units) > 1:
        named = ", ".join(sorted(map(visible, units)))
        raise UnitError(f"{table.file}: the {role} readings stand in several units: {named}; write all in one")
    unit = next(iter(units), asked.unit)
    if not unit:
        how = BEHIND_THE_PAIRS if table.file == TYPED else HOW_TO_SAY
        raise UnitError(f"{table.file}: the unit of the {role} readings is not said; {how}")
    if asked.unit and unit_info(asked.unit) != unit_info(unit):
        raise UnitError(f"{table.file}: the {role} readings are in {visible(unit)}, but --unit says {asked.unit}")
    _check_kind(unit, asked, role)
    return unit


def _check_kind(unit: str, asked: Asked, role: str) -> None:
    kind = _dimension(unit)
    if kind == _dimension("m3/h"):
        return
    if kind in (_dimension("mA"), _dimension("%")):
        if asked.upper is None:
            raise UnitError(f"the {role} readings are in {visible(unit)}; give the range as well: --urv 100m3/h")
        return
    more = "; divide volumes by the time over which they were counted" if kind == _dimension("m3") else ""
    raise UnitError(f"the {role} readings are in {visible(unit)}, which is no flow{more}")


def _dimension(unit: str) -> str:
    return unit_info(unit).dimension


def _flow(figure: Figure, unit: str, asked: Asked) -> float:
    assert figure.value is not None
    info = unit_info(unit)
    value = figure.value * info.factor + info.offset
    if info.dimension != _dimension("m3/h"):
        assert asked.upper is not None
        share = (value - 0.004) / 0.016 if info.dimension == _dimension("mA") else value
        value = asked.lower + share * (asked.upper - asked.lower)
    if abs(value) > LARGEST_FLOW:
        raise BadInput(f"`{visible(figure.cell.text)}` {unit} in line {figure.cell.line} is no flow that a meter shows")
    return value if abs(value) > SMALLEST_FLOW else 0.0


def _spreads(
    column: Column | None, rows: list[int], flows: tuple[float, ...], unit: str, asked: Asked, warnings: list[str]
) -> tuple[float, ...]:
    """Return standard uncertainties in SI, empty when there are none for every pair."""
    if column is None:
        return ()
    figures = [column.figures[row] for row in rows]
    if any(each.value is None or each.value <= 0 for each in figures):
        warnings.append("uncertainties are left out: one is missing or not greater than zero")
        return ()
    values = _standard(figures, column, flows, unit, asked)
    top = max(map(abs, flows))
    if top and not all(SUREST * top <= each <= LEAST_SURE * top for each in values):
        warnings.append("uncertainties are left out: one is beyond belief, beside the largest flow")
        return ()
    return values


def _standard(
    figures: Sequence[Figure], column: Column, flows: tuple[float, ...], unit: str, asked: Asked
) -> tuple[float, ...]:
    """Return standard uncertainties in SI."""
    divisor = column.heading.coverage or DIVISORS[asked.spread]
    own = column.heading.unit or next((each.unit for each in figures if each.unit), unit)
    values = [(each.value or math.nan) / divisor for each in figures]
    if own == "%":
        least = 1e-3 * max(map(abs, flows))
        return tuple(value / 100 * max(abs(flow), least) for value, flow in zip(values, flows, strict=True))
    if _dimension(own) != _dimension(unit):
        raise UnitError(f"uncertainties in {visible(own)} do not go with readings in {visible(unit)}")
    factor = unit_info(own).factor
    if _dimension(own) != _dimension("m3/h") and asked.upper is not None:
        factor *= (asked.upper - asked.lower) / (0.016 if _dimension(own) == _dimension("mA") else 1.0)
    return tuple(value * factor for value in values)
