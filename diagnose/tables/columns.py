"""Finds in a table what is compared with what: the readings of both sides, their uncertainties, times and the liquid.

A side is read off one column, or off two, a total at the start of each run and one at its stop. A table may hold two
comparisons, as found and as left.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import takewhile
from typing import TYPE_CHECKING, Literal

from diagnose.errors import BadInput
from diagnose.place import visible
from diagnose.tables.figures_in_table import Decimal
from diagnose.tables.heading_words import HeadingWords
from diagnose.tables.headings import UNCERTAIN, Side, Stage, is_in_minutes
from diagnose.tables.layout import Column, Layout, laid_out, stage_of
from diagnose.tables.table_text import TextTable
from diagnose.tables.table_units import table_unit
from diagnose.tables.unknown_units import refuse_unknown_units
from diagnose.tables.written_figures import is_plain_figure, unit_behind
from diagnose.units import unit_info

if TYPE_CHECKING:  # a report seldom has a table
    from diagnose.calculations.entering import Spread

HOW_TO_NAME = "name them `reference` and `indicated`, or give --reference NAME --indicated NAME (or their numbers)"

SIDES: tuple[Side, Side] = ("reference", "indicated")

CLOCK = re.compile(r"(?:.*\D)?\d{1,2}:\d\d(?::\d\d(?:[.,]\d+)?)?\s*(?:[aApP]\.?[mM]\.?)?")
"""A time of day, perhaps behind a date."""


@cache
def _of_readings() -> frozenset[str]:
    """Return the dimensions of readings; not before units are read, which a rule book spells."""
    return frozenset(unit_info(unit).dimension for unit in ("m3/h", "m3", "kg", "kg/h"))


@cache
def _of_range() -> frozenset[str]:
    return frozenset(unit_info(unit).dimension for unit in ("mA", "%"))


class SidesUnknown(BadInput):
    """Two columns may be compared, and nothing says which of them is the reference."""

    def __init__(self, message: str, are_flows: bool) -> None:
        super().__init__(message)
        self.are_flows = are_flows


@dataclass(frozen=True, slots=True, kw_only=True)
class TableOptions:
    """Options for a table: columns by name or number, unit, decimal mark, kind of ±, range and liquid (SI).

    With ``may_guess`` the first of two columns that nobody named is taken as the reference, and a warning says so.
    """

    reference: str = ""
    indicated: str = ""
    unit: str = ""
    decimal: Decimal | None = None
    spread: Spread | None = None
    against_display: bool = False
    lower: float = 0.0
    upper: float | None = None
    density: float | None = None
    temperature: float | None = None
    words: HeadingWords | None = None
    may_guess: bool = True


@dataclass(slots=True)
class SideColumns:
    """Where the readings of one side stand: the total at the start of a run, if any, the reading, its uncertainty."""

    reading: Column
    start: Column | None = None
    uncertainty: Column | None = None

    @property
    def name(self) -> str:
        """Return what the side is called in messages."""
        return self.reading.name

    @property
    def columns(self) -> list[Column]:
        """Return all its columns."""
        return [each for each in (self.start, self.reading, self.uncertainty) if each]


Aid = Literal[
    "duration", "time", "start time", "stop time", "date", "start date", "stop date", "temperature", "density"
]

_OF_TIME: tuple[Aid, ...] = ("duration", "time", "start time", "stop time", "date", "start date", "stop date")


@dataclass(slots=True)
class Comparison:
    """One comparison of a table: its name if it has several, the lines that belong to it, and both sides.

    The readings of the sides in ``run_on`` are totals that run on from line to line.
    """

    name: Stage
    rows: list[int]
    sides: dict[Side, SideColumns]
    run_on: frozenset[Side] = frozenset()
    moments: list[Literal["start", "stop", ""]] = field(default_factory=list)

    def is_total(self, side: Side) -> bool:
        """Check whether a side has totals, of which what was added in a run is compared."""
        return side in self.run_on or any(self.moments)


@dataclass(slots=True)
class TableColumns:
    """The comparisons of a table and the columns that all of them share."""

    comparisons: list[Comparison]
    aids: dict[Aid, Column]
    is_named: bool = True
    """Whether headings said what is compared, not only the order of the columns."""


def find_columns(table: TextTable, options: TableOptions, warnings: list[str]) -> TableColumns:
    """Return what is compared in a table.

    Raises BadInput if columns cannot be told, SidesUnknown if only the reference cannot, ProblemsFound for lines.
    """
    words = options.words or HeadingWords()
    layout = laid_out(table, words, options.against_display, warnings)
    if not layout.has_heading and not any(_is_named(each) for each in layout.columns):
        return _without_heading(layout, options, warnings)
    finder = _Finder(table, layout, options, words, warnings)
    found = finder.found()
    used = {id(each) for item in found.comparisons for side in item.sides.values() for each in side.columns}
    used |= {id(found.aids[name]) for name in finder.needed(found) if name in found.aids}
    used |= {id(each) for each in finder.labels}
    unused = [each.heading.text for each in layout.columns if id(each) not in used and each.heading.text]
    if unused:
        warnings.append(f"columns not used: {', '.join(unused)}")
    refuse_unknown_units(table, [item.sides[side].reading for item in found.comparisons for side in SIDES])
    return found


def _is_named(column: Column) -> bool:
    return bool(column.heading.text)


def _without_heading(layout: Layout, options: TableOptions, warnings: list[str]) -> TableColumns:
    width = len(layout.columns)
    if options.reference or options.indicated:
        places = [
            _by_number(name, width, role)
            for role, name in (("reference", options.reference or "1"), ("indicated", options.indicated or "2"))
        ]
    elif width == 2:
        warnings.append("no heading: the first column is taken as the reference, the second as the meter")
        places = [0, 1]
    elif width < 2:
        raise BadInput("a comparison needs two figures per line: the reading of the reference and that of the meter")
    else:
        raise BadInput(f"the {width} columns have no headings; {HOW_TO_NAME}")
    sides = {side: SideColumns(layout.columns[at]) for side, at in zip(SIDES, places, strict=True)}
    return TableColumns(_by_stage(layout.stages, sides), {}, is_named=False)


def _by_stage(stages: Sequence[Stage], sides: dict[Side, SideColumns]) -> list[Comparison]:
    """Return a comparison for each name that lines have."""
    names = list(dict.fromkeys(stages))
    return [Comparison(name, [at for at, each in enumerate(stages) if each == name], sides) for name in names]


def _by_number(name: str, width: int, role: str) -> int:
    if not name.isdigit() or not 1 <= int(name) <= width:
        raise BadInput(f"--{role} {visible(name)}: there is no heading; give the number of the column, 1 to {width}")
    return int(name) - 1


class _Finder:
    """Goes through the columns of a table with headings."""

    def __init__(
        self, table: TextTable, layout: Layout, options: TableOptions, words: HeadingWords, warnings: list[str]
    ) -> None:
        self.table, self.layout, self.options, self.words, self.warnings = table, layout, options, words, warnings
        self.named = {side: self._named(side, getattr(options, side)) for side in SIDES if getattr(options, side)}
        if len(self.named) == 2 and self.named["reference"] is self.named["indicated"]:
            raise BadInput("reference and indicated are the same column; name two different ones")
        self.labels: list[Column] = []
        self.aids: dict[Aid, Column] = {}
        self.uncertain: list[Column] = []
        self.readings: list[Column] = []

    def found(self) -> TableColumns:
        """Return the comparisons of the table."""
        stages, moments = self.layout.stages, self._labelled("start", "stop")
        own = self._labelled("as-found", "as-left")
        if own:
            stages = ["as found" if "as-found" in each else "as left" if "as-left" in each else "" for each in own]
        for column in self.layout.columns:
            self._sort(column)
        named = list(dict.fromkeys(stage for each in self.readings if (stage := self.stage(each))))
        comparisons: list[Comparison] = []
        nameless: list[Stage] = [""]
        for name in named or nameless:
            sides = self._sides([each for each in self.readings if self.stage(each) in ("", name)], name)
            comparisons += [Comparison(name, list(range(len(stages))), sides)] if named else _by_stage(stages, sides)
        for item in comparisons:
            if all(self._runs_on(each) for each in item.sides.values()):
                item.run_on = frozenset(SIDES)
            item.moments = ["start" if "start" in each else "stop" for each in moments]
        return TableColumns(comparisons, self.aids)

    def needed(self, found: TableColumns) -> set[Aid]:
        """Return which further columns turn the readings into flows."""
        sides = [side for item in found.comparisons for side in item.sides.values()]
        kinds = {_dimension(self.unit(each.reading)) for each in sides}
        masses = {unit_info("kg").dimension, unit_info("kg/s").dimension}
        needed: set[Aid] = {"temperature", "density"} if kinds & masses else set()
        return needed | (set(_OF_TIME) if kinds & {unit_info("m3").dimension, unit_info("kg").dimension} else set())

    def _named(self, side: Side, name: str) -> Column:
        columns, wanted = self.layout.columns, name.strip().casefold()
        ways: tuple[Callable[[str], bool], ...] = (wanted.__eq__, lambda text: text.startswith(wanted))
        for fits in ways:
            at = [each for each in columns if fits(each.heading.text.casefold())]
            if len(at) == 1:
                return at[0]
        if name.isdigit() and 1 <= int(name) <= len(columns):
            return columns[int(name) - 1]
        raise BadInput(
            f"--{side} {visible(name)}: not the name of exactly one column; the columns are {_names(columns)}"
        )

    def _labelled(self, one: str, other: str) -> list[frozenset[str]]:
        """Return what each line is called in a column of nothing but these words; empty if there is no such column."""
        for column in self.layout.columns:
            means = (self.words.meanings(cell.text) for cell in column.cells)
            told: list[frozenset[str]] = list(takewhile(lambda each: each & {one, other}, means))
            if len(told) == len(column.cells) > 1:
                self.labels.append(column)
                return told
        return []

    def _sort(self, column: Column) -> None:
        """Put a column where it belongs: a reading, an uncertainty, a time, the liquid, or nowhere."""
        if column in self.named.values():
            self.readings.append(column)
        elif column in self.labels:
            return
        elif aid := self._aid(column):
            self.aids.setdefault(aid, column)
        elif column.heading.means & UNCERTAIN or column.heading.text in ("±", "+/-"):
            self.uncertain.append(column)
        elif "not-a-reading" not in column.heading.means and self._may_be_reading(column):
            self.readings.append(column)

    def _aid(self, column: Column) -> Aid | None:
        means, unit = column.heading.means, column.heading.unit
        dimension = _dimension(unit)
        clock = _all(column, CLOCK.fullmatch)
        moment = "start " if "start" in means else "stop " if "stop" in means else ""
        if "date" in means and not clock:
            return f"{moment}date"  # type: ignore[return-value]
        if is_in_minutes(column.heading):
            return "duration"
        if clock and "duration" not in means:
            return f"{moment}time"  # type: ignore[return-value]
        if dimension == unit_info("s").dimension or "duration" in means:
            return f"{moment}time" if moment else "duration"  # type: ignore[return-value]
        if "time" in means and not column.heading.side:
            return f"{moment}time"  # type: ignore[return-value]
        if dimension == unit_info("degC").dimension or ("temperature" in means and not dimension):
            return "temperature"
        if dimension == unit_info("kg/m3").dimension or ("density" in means and not dimension):
            return "density"
        return None

    def _may_be_reading(self, column: Column) -> bool:
        """Check whether a column has figures, and of something that is compared; what names a side says so itself."""
        if not any(is_plain_figure(cell.text) for cell in column.cells):
            return bool(column.heading.side)
        dimension = _dimension(self.unit(column))
        return bool(column.heading.side) or not dimension or dimension in _of_readings() | _of_range()

    def unit(self, column: Column) -> str:
        """Return the unit of a column as far as it is told."""
        if column.heading.unit:
            return column.heading.unit
        told = (unit_behind(cell.text) for cell in column.cells)
        return next(filter(None, told), "") or self.options.unit

    def _is_total(self, column: Column) -> bool:
        return _dimension(self.unit(column)) in {unit_info("m3").dimension, unit_info("kg").dimension}

    def stage(self, column: Column) -> Stage:
        """Return the comparison that a heading names; `before` and `after` name one where they are said of flows."""
        stage, moments = stage_of(column.heading.means), column.heading.means & {"start", "stop"}
        return "" if stage and moments and self._is_total(column) else stage

    def moment(self, column: Column) -> str:
        """Return whether a column has totals at the start or the stop of runs."""
        means = column.heading.means
        if stage_of(means) and not self._is_total(column):
            return ""
        return "start" if "start" in means else "stop" if "stop" in means else ""

    def _runs_on(self, side: SideColumns) -> bool:
        return side.start is None and "total" in side.reading.heading.means and self._is_total(side.reading)

    def _sides(self, columns: list[Column], name: Stage) -> dict[Side, SideColumns]:
        """Return both sides of a comparison; what is named for it goes before what serves several."""
        single = [SideColumns(each) for each in columns if not self.moment(each) or each in self.named.values()]
        pairs = self._start_and_stop([each for each in columns if self.moment(each)])
        chosen = _either_way(
            lambda: self._assigned(single, name), lambda: self._assigned([*single, *pairs], name, pairs), bool(pairs)
        )
        for column in self.uncertain:
            self._give_uncertainty(column, chosen, name)
        return chosen

    def _start_and_stop(self, columns: list[Column]) -> list[SideColumns]:
        starts = [each for each in columns if self.moment(each) == "start"]
        stops = [each for each in columns if self.moment(each) == "stop"]
        found = []
        lent = self._without_side(starts, stops)
        for side in (*SIDES, ""):
            own = [[each for each in some if lent.get(id(each), each.heading.side) == side] for some in (starts, stops)]
            if len(own[0]) != len(own[1]):
                there, missing = ("start", "stop") if len(own[0]) > len(own[1]) else ("stop", "start")
                raise BadInput(
                    f"{self.table.file}: of {_names(own[0] + own[1])} one {there} has no {missing}; name the columns "
                    "`start reference`, `stop reference`, `start meter` and `stop meter`"
                )
            found += [SideColumns(stop, start) for start, stop in zip(*own, strict=True)]
        return found

    def _without_side(self, starts: list[Column], stops: list[Column]) -> dict[int, Side]:
        """Return the side of each column that names none, and completes one of the same kind that does (`tare`)."""
        lent: dict[int, Side] = {}
        for some, others in ((starts, stops), (stops, starts)):
            nameless = [each for each in some if not each.heading.side]
            for side in SIDES:
                alone = [each for each in others if each.heading.side == side]
                if len(nameless) == len(alone) == 1 and not any(each.heading.side == side for each in some):
                    kinds = {_dimension(self.unit(each)) for each in (*nameless, *alone)}
                    lent |= {id(nameless[0]): side} if len(kinds) == 1 else {}
        return lent

    def _assigned(
        self, sides: list[SideColumns], name: Stage, first: Sequence[SideColumns] = ()
    ) -> dict[Side, SideColumns]:
        """Return the columns of both sides.

        Raises BadInput where there is none or more than one, SidesUnknown where only the headings do not tell.
        """
        found: dict[Side, SideColumns] = {}
        for side in SIDES:
            of_side = [each for each in sides if self._side(each) == side]
            of_side = [each for each in of_side if name and self.stage(each.reading) == name] or of_side
            of_side = [each for each in of_side if each in first] or of_side
            if len(of_side) > 1:
                raise BadInput(
                    f"more than one of the columns {self._all()} is recognised as `{side}`; {HOW_TO_NAME}"
                    f"{self._against_display(of_side)}"
                )
            if of_side:
                found[side] = of_side[0]
        free = [each for each in sides if not self._side(each)]
        free = [each for each in free if name and self.stage(each.reading) == name] or free
        free = [each for each in free if _dimension(self.unit(each.reading)) in _of_readings()] or free
        return self._filled(found, free)

    def _against_display(self, of_side: Sequence[SideColumns]) -> str:
        """Return what to write where the meter's own display is meant as the reference."""
        is_display = ["display" in each.reading.heading.means for each in of_side]
        if self.options.against_display or len(of_side) != 2 or sum(is_display) != 1:
            return ""
        display = visible(of_side[is_display.index(True)].name)
        return f"; to compare with what `{display}` shows, give --against display"

    def _filled(self, found: dict[Side, SideColumns], free: list[SideColumns]) -> dict[Side, SideColumns]:
        """Return both sides, with what has no side in its heading in the place of what is missing."""
        missing = [side for side in SIDES if side not in found]
        if not missing:
            return found
        if len(free) != len(missing):
            raise BadInput(f"none of the columns {self._all()} is recognised as `{missing[0]}`; {HOW_TO_NAME}")
        if len(missing) == 2:
            one, other = (visible(each.name) for each in free)
            if not self.options.may_guess:
                raise SidesUnknown(
                    f"neither `{one}` nor `{other}` says which of them is the reference; write `reference` and "
                    "`meter` above them",
                    all(_dimension(self.unit(each.reading)) == unit_info("m3/h").dimension for each in free),
                )
            self._warn(
                f"neither heading says which is the reference: `{one}` is taken as the reference, `{other}` as the "
                f'meter; --reference "{other}" --indicated "{one}" turns them round'
            )
        elif not stage_of(free[0].reading.heading.means):
            what = "meter" if missing[0] == "indicated" else "reference"
            self._warn(f"`{visible(free[0].name)}` is taken as the {what}")
        return found | dict(zip(missing, free, strict=True))

    def _warn(self, text: str) -> None:
        if text not in self.warnings:
            self.warnings.append(text)

    def _side(self, side: SideColumns) -> Side:
        named = next((each for each, column in self.named.items() if column is side.reading), "")
        own = side.reading.heading.side
        return named or ("" if own in self.named else own)  # type: ignore[return-value]

    def _all(self) -> str:
        return _names(self.layout.columns)

    def _give_uncertainty(self, column: Column, sides: dict[Side, SideColumns], name: Stage) -> None:
        """Give an uncertainty to the side that it names, else to the reading on its left, else to the meter."""
        if name and self.stage(column) not in ("", name):
            return
        columns = self.layout.columns
        before = columns[: columns.index(column)][::-1]
        left: Side = next((side for each in before for side in SIDES if sides[side].reading is each), "indicated")
        nameless = column.heading.text.strip() in ("±", "+/-", "+-")
        side = sides[column.heading.side or (left if nameless else "indicated")]
        if side.uncertainty is None or self.stage(column) == name != "":
            side.uncertainty = column


def _either_way(
    one: Callable[[], dict[Side, SideColumns]], other: Callable[[], dict[Side, SideColumns]], has_other: bool
) -> dict[Side, SideColumns]:
    """Return what the first way finds, else the second; where neither does, the second says why."""
    if not has_other:
        return one()
    try:
        return other()
    except SidesUnknown:
        raise
    except BadInput:
        return one()


def _all(column: Column, fits: Callable[[str], object]) -> bool:
    filled = [cell.text for cell in column.cells if cell.text]
    return bool(filled) and all(fits(text) for text in filled)


def _dimension(unit: str) -> str:
    return unit_info(table_unit(unit)).dimension if table_unit(unit) else ""


def _names(columns: Sequence[Column]) -> str:
    return ", ".join(f"`{visible(each.heading.text)}`" for each in columns)
