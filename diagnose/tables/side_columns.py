"""Where in a table the readings stand that are compared: the columns of both sides, and those that all share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from diagnose.place import visible
from diagnose.tables.headings import Side, Stage
from diagnose.tables.layout import Column

SIDES: tuple[Side, Side] = ("reference", "indicated")


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

OF_TIME: tuple[Aid, ...] = ("duration", "time", "start time", "stop time", "date", "start date", "stop date")


@dataclass(slots=True)
class ComparedLines:
    """One comparison in a table: its name if it has several, the lines that belong to it, and both sides.

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

    comparisons: list[ComparedLines]
    aids: dict[Aid, Column]
    is_named: bool = True
    """Whether headings said what is compared, not only the order of the columns."""


def names_of(columns: Sequence[Column]) -> str:
    """Return what columns are called in messages."""
    return ", ".join(f"`{visible(each.heading.text)}`" for each in columns)
