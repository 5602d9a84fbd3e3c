"""Pairs of readings in SI from a table or from typed pairs, with units and uncertainties."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from diagnose.bounded import PAIRS
from diagnose.calculations.entering import DIVISORS
from diagnose.errors import BadInput, ProblemsFound, UnitError
from diagnose.place import Problem, visible
from diagnose.tables.columns import ReadingColumn, TableOptions, find_columns
from diagnose.tables.figures_in_table import FigureInTable, decimal_mark, is_figure, read_figures
from diagnose.tables.table_text import Cell, TextTable
from diagnose.units import read_measurement, to_si, unit_info

LARGEST_FLOW, SMALLEST_FLOW = 1e6, 1e-15
"""Largest flow [m³/s] that is accepted (the largest river has 2e5), and the one below which it counts as zero."""

SUREST, LEAST_SURE = 1e-9, 1e3
"""Range of credible uncertainties over the largest reading."""

TYPED = "the pairs"
"""Name of typed pairs in messages, in place of a file name."""

BEHIND_THE_PAIRS = "write it after the last pair, as in `5 5.31; 10 10.42 m3/h`"
HOW_TO_SAY = "write it in the heading, as in `reference [m3/h];indicated [m3/h]`, or give --unit m3/h"

_UNIT_AT_THE_END = re.compile(r"(?<=[\d\s])([A-Za-z%][^;\n]*)$")


@dataclass(frozen=True, slots=True)
class Readings:
    """Pairs in SI, their standard uncertainties (empty if unknown), the unit to show them in, and warnings."""

    reference: tuple[float, ...]
    indicated: tuple[float, ...]
    u_reference: tuple[float, ...] = ()
    u_indicated: tuple[float, ...] = ()
    unit: str = "m3/h"
    warnings: tuple[str, ...] = ()
    resolution_reference: tuple[float, ...] = ()
    resolution_indicated: tuple[float, ...] = ()

    @property
    def resolutions(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """The steps of the figures of both columns; empty where they are not known."""
        return (self.resolution_reference, self.resolution_indicated)

    def only(self, numbers: Sequence[int]) -> Readings:
        """Return only the pairs with these numbers."""

        def kept(column: tuple[float, ...]) -> tuple[float, ...]:
            return tuple(column[number] for number in numbers) if column else ()

        columns = (self.reference, self.indicated, self.u_reference, self.u_indicated)
        reference, indicated, u_reference, u_indicated = map(kept, columns)
        resolved = map(kept, self.resolutions)
        return Readings(reference, indicated, u_reference, u_indicated, self.unit, (), *resolved)

    @property
    def known(self) -> bool:
        """Whether uncertainties are known."""
        return bool(self.u_reference or self.u_indicated)


def readings_from_table(table: TextTable, options: TableOptions | None = None) -> Readings:
    """Return the pairs of a table in SI.

    Raises ProblemsFound for cells without a number, BadInput if columns cannot be identified, UnitError for units.

    >>> from diagnose.tables.table_text import read_table
    >>> readings_from_table(read_table("reference [l/s];indicated [l/s]\\n1,0;1,02", "a.csv")).indicated
    (0.00102,)
    """
    options = options or TableOptions()
    warnings = list(table.warnings)
    columns = find_columns(table, options, warnings)
    decimal = options.decimal or decimal_mark(table, (cell for each in columns.values() for cell in each.cells))
    wrong: list[Problem] = []
    for column in columns.values():
        try:
            column.figures = read_figures(table, column.cells, decimal)
        except ProblemsFound as error:
            wrong += error.problems
    if wrong:
        raise ProblemsFound(sorted(wrong))
    rows = _complete_rows(columns, warnings)
    if len(rows) > PAIRS:
        raise BadInput(
            f"{table.file} has {len(rows):,} pairs of readings, and {PAIRS:,} at most are compared: "
            "leave out all but every tenth line, say"
        )
    return _in_si(table, columns, rows, options, warnings)


def with_uncertainty(readings: Readings, reference: str, indicated: str, divisor: float) -> Readings:
    """Return readings with the same uncertainty for all pairs of a side, ``0.5 %`` or ``0.2 m3/h``; "" changes nothing.

    Raises UnitError for one that cannot be read or is not greater than zero.
    """

    def spread(text: str, flows: tuple[float, ...], own: tuple[float, ...]) -> tuple[float, ...]:
        if not text:
            return own
        measured = read_measurement(text)
        if measured is None or measured.number <= 0 or not measured.unit:
            raise UnitError(f"`{visible(text)}` is not an uncertainty; write for example 0.5 % or 0.2 m3/h")
        if measured.unit == "%":
            least = 1e-3 * max(map(abs, flows))  # no reading is exact, not even zero
            return tuple(measured.number / 100 / divisor * max(abs(flow), least) for flow in flows)
        return (to_si(measured.number, measured.unit, "m3/h") / divisor,) * len(flows)

    return replace(
        readings,
        u_reference=spread(reference, readings.reference, readings.u_reference),
        u_indicated=spread(indicated, readings.indicated, readings.u_indicated),
    )


def readings_from_pairs(text: str, options: TableOptions) -> Readings:
    """Return typed pairs, ``5 5.31; 10 10.42``, in SI; the unit follows them or comes from ``--unit``.

    >>> readings_from_pairs("10 10.4; 20 20.8 l/s", TableOptions()).reference
    (0.01, 0.02)
    """
    unit = options.unit
    bare = text.rstrip()
    last = max(bare.rfind(";"), bare.rfind("\n")) + 1
    match = _UNIT_AT_THE_END.search(bare, last)
    if match and not is_figure(match[1]):
        text, unit = text[: match.start(1)], unit or match[1].strip()
    parts = [each.strip() for each in re.split(r"[;\n]", text) if each.strip()]
    rows = []
    at = 0
    for part in parts:
        figures = [each for each in re.split(r"\s*(?:[/|:]|→|->|,\s)\s*|\s+", part) if each]
        if len(figures) != 2:
            raise BadInput(f"`{visible(part)}` is not a pair; write reference and indicated, as in `5 5.31; 10 10.42`")
        at = text.index(part, at)
        rows.append(tuple(Cell(each, 1, at + 1) for each in figures))
    heading = (Cell("reference", 1, 1), Cell("indicated", 1, 1))
    table = TextTable(TYPED, " ", (heading, *rows), (text,))
    return readings_from_table(
        table, TableOptions(unit=unit, decimal=options.decimal, lower=options.lower, upper=options.upper)
    )


def _complete_rows(columns: dict[str, ReadingColumn], warnings: list[str]) -> list[int]:
    """Return the rows with both readings; warn about the others."""
    both = (columns["reference"].figures, columns["indicated"].figures)
    rows = range(len(both[0]))
    is_whole = [all(each[row].value is not None for each in both) for row in rows]
    whole = [row for row in rows if is_whole[row]]
    left_out = [str(both[0][row].cell.line) for row in rows if not is_whole[row]]
    if left_out:
        warnings.append(f"left out because a reading is missing: line {', '.join(left_out)}")
    if not whole:
        raise BadInput("no line has both readings, of the reference and of the meter")
    return whole


def _in_si(
    table: TextTable, columns: dict[str, ReadingColumn], rows: list[int], options: TableOptions, warnings: list[str]
) -> Readings:
    units = {role: _unit_of(table, columns[role], options, role) for role in ("reference", "indicated")}
    pairs = {
        role: tuple(_flow(columns[role].figures[row], units[role], options) for row in rows)
        for role in ("reference", "indicated")
    }
    spreads = {
        role: _spreads(columns.get(f"uncertainty of the {role}"), rows, pairs[role], units[role], options, warnings)
        for role in ("reference", "indicated")
    }
    shown = next((each for each in units.values() if _dimension(each) == _dimension("m3/h")), "m3/h")
    return Readings(
        pairs["reference"], pairs["indicated"], spreads["reference"], spreads["indicated"], shown, tuple(warnings)
    )


def _unit_of(table: TextTable, column: ReadingColumn, options: TableOptions, role: str) -> str:
    behind = {each.unit for each in column.figures if each.unit}
    units = {each for each in (column.heading.unit, *behind) if each}
    if len(units) > 1:
        named = ", ".join(sorted(map(visible, units)))
        raise UnitError(f"{table.file}: the {role} readings have several units: {named}; use a single one")
    unit = next(iter(units), options.unit)
    if not unit:
        how = BEHIND_THE_PAIRS if table.file == TYPED else HOW_TO_SAY
        raise UnitError(f"{table.file}: the unit of the {role} readings is missing; {how}")
    if options.unit and unit_info(options.unit) != unit_info(unit):
        raise UnitError(f"{table.file}: the {role} readings are in {visible(unit)}, but --unit says {options.unit}")
    _check_kind(unit, options, role)
    return unit


def _check_kind(unit: str, options: TableOptions, role: str) -> None:
    kind = _dimension(unit)
    if kind == _dimension("m3/h"):
        return
    if kind in (_dimension("mA"), _dimension("%")):
        if options.upper is None:
            raise UnitError(f"the {role} readings are in {visible(unit)}; give the range as well: --urv 100m3/h")
        return
    more = "; divide volumes by the time in which they were counted" if kind == _dimension("m3") else ""
    raise UnitError(f"the {role} readings are in {visible(unit)}, which is not a flow{more}")


def _dimension(unit: str) -> str:
    return unit_info(unit).dimension


def _flow(figure: FigureInTable, unit: str, options: TableOptions) -> float:
    assert figure.value is not None
    info = unit_info(unit)
    value = figure.value * info.factor + info.offset
    if info.dimension != _dimension("m3/h"):
        assert options.upper is not None
        share = (value - 0.004) / 0.016 if info.dimension == _dimension("mA") else value
        value = options.lower + share * (options.upper - options.lower)
    if abs(value) > LARGEST_FLOW:
        raise BadInput(f"`{visible(figure.cell.text)}` {unit} in line {figure.cell.line} is too large to be a flow")
    return value if abs(value) > SMALLEST_FLOW else 0.0


def _spreads(
    column: ReadingColumn | None,
    rows: list[int],
    flows: tuple[float, ...],
    unit: str,
    options: TableOptions,
    warnings: list[str],
) -> tuple[float, ...]:
    """Return the standard uncertainties in SI; empty unless every pair has one."""
    if column is None:
        return ()
    figures = [column.figures[row] for row in rows]
    if any(each.value is None or each.value <= 0 for each in figures):
        warnings.append("uncertainties are ignored: one is missing or not greater than zero")
        return ()
    values = _standard(figures, column, flows, unit, options)
    top = max(map(abs, flows))
    if top and not all(SUREST * top <= each <= LEAST_SURE * top for each in values):
        warnings.append("uncertainties are ignored: one is not credible compared with the largest flow")
        return ()
    return values


def _standard(
    figures: Sequence[FigureInTable], column: ReadingColumn, flows: tuple[float, ...], unit: str, options: TableOptions
) -> tuple[float, ...]:
    """Return the standard uncertainties in SI."""
    divisor = column.heading.coverage or DIVISORS[options.spread]
    own = column.heading.unit or next((each.unit for each in figures if each.unit), unit)
    values = [(each.value or math.nan) / divisor for each in figures]
    if own == "%":
        least = 1e-3 * max(map(abs, flows))
        return tuple(value / 100 * max(abs(flow), least) for value, flow in zip(values, flows, strict=True))
    if _dimension(own) != _dimension(unit):
        raise UnitError(f"uncertainties in {visible(own)} do not go with readings in {visible(unit)}")
    factor = unit_info(own).factor
    if _dimension(own) != _dimension("m3/h") and options.upper is not None:
        factor *= (options.upper - options.lower) / (0.016 if _dimension(own) == _dimension("mA") else 1.0)
    return tuple(value * factor for value in values)
