"""What each column of a table with headings is: a reading, an uncertainty, a time, of the liquid, or none of these."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from itertools import takewhile

from diagnose.errors import BadInput
from diagnose.place import visible
from diagnose.tables.heading_words import HeadingWords
from diagnose.tables.headings import UNCERTAIN, Side, Stage, is_in_minutes
from diagnose.tables.layout import Column, Layout, stage_of
from diagnose.tables.side_columns import SIDES, Aid, names_of
from diagnose.tables.table_options import TableOptions
from diagnose.tables.table_units import table_unit
from diagnose.tables.written_figures import is_plain_figure, unit_behind
from diagnose.units import unit_info

CLOCK = re.compile(r"(?:.*\D)?\d{1,2}:\d\d(?::\d\d(?:[.,]\d+)?)?\s*(?:[aApP]\.?[mM]\.?)?")
"""A time of day, perhaps behind a date."""


@cache
def of_readings() -> frozenset[str]:
    """Return the dimensions of readings; not before units are read, which a rule book spells."""
    return frozenset(unit_info(unit).dimension for unit in ("m3/h", "m3", "kg", "kg/h"))


@cache
def _of_range() -> frozenset[str]:
    return frozenset(unit_info(unit).dimension for unit in ("mA", "%"))


def dimension_of(unit: str) -> str:
    """Return the dimension of a unit in a table, "" for what is none."""
    return unit_info(table_unit(unit)).dimension if table_unit(unit) else ""


class ColumnKinds:
    """The columns of a table by what they are.

    ``readings`` may be compared, ``named`` are those that somebody named, ``uncertain`` their uncertainties, ``aids``
    what turns them into flows, ``labels`` say what each line is: its ``moments`` in a run, its ``stages``.

    Raises BadInput where a column that somebody named is none, or two are the same.
    """

    def __init__(self, layout: Layout, options: TableOptions, words: HeadingWords) -> None:
        self.columns, self._options, self._words = layout.columns, options, words
        self.named = {side: self._named(side, getattr(options, side)) for side in SIDES if getattr(options, side)}
        if len(self.named) == 2 and self.named["reference"] is self.named["indicated"]:
            raise BadInput("reference and indicated are the same column; name two different ones")
        self.labels: list[Column] = []
        self.aids: dict[Aid, Column] = {}
        self.uncertain: list[Column] = []
        self.readings: list[Column] = []
        self.moments = self._labelled("start", "stop")
        self.stages = self._labelled("as-found", "as-left")
        for column in layout.columns:
            self._sort(column)

    def _named(self, side: Side, name: str) -> Column:
        columns, wanted = self.columns, name.strip().casefold()
        ways: tuple[Callable[[str], bool], ...] = (wanted.__eq__, lambda text: text.startswith(wanted))
        for fits in ways:
            at = [each for each in columns if fits(each.heading.text.casefold())]
            if len(at) == 1:
                return at[0]
        if name.isdigit() and 1 <= int(name) <= len(columns):
            return columns[int(name) - 1]
        raise BadInput(
            f"--{side} {visible(name)}: not the name of exactly one column; the columns are {names_of(columns)}"
        )

    def _labelled(self, one: str, other: str) -> list[frozenset[str]]:
        """Return what each line is called in a column of nothing but these words; empty if there is no such column."""
        for column in self.columns:
            means = (self._words.meanings(cell.text) for cell in column.cells)
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
        dimension = dimension_of(unit)
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
        dimension = dimension_of(self.unit(column))
        return bool(column.heading.side) or not dimension or dimension in of_readings() | _of_range()

    def unit(self, column: Column) -> str:
        """Return the unit of a column as far as it is told."""
        if column.heading.unit:
            return column.heading.unit
        told = (unit_behind(cell.text) for cell in column.cells)
        return next(filter(None, told), "") or self._options.unit

    def is_total(self, column: Column) -> bool:
        """Tell whether a column has volumes or masses."""
        return dimension_of(self.unit(column)) in {unit_info("m3").dimension, unit_info("kg").dimension}

    def stage(self, column: Column) -> Stage:
        """Return the comparison that a heading names; `before` and `after` name one where they are said of flows."""
        stage, moments = stage_of(column.heading.means), column.heading.means & {"start", "stop"}
        return "" if stage and moments and self.is_total(column) else stage

    def moment(self, column: Column) -> str:
        """Return whether a column has totals at the start or the stop of runs."""
        means = column.heading.means
        if stage_of(means) and not self.is_total(column):
            return ""
        return "start" if "start" in means else "stop" if "stop" in means else ""


def _all(column: Column, fits: Callable[[str], object]) -> bool:
    filled = [cell.text for cell in column.cells if cell.text]
    return bool(filled) and all(fits(text) for text in filled)
