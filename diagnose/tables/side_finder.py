"""Which columns of a table are compared with which: both sides, each with its totals and its uncertainty."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from diagnose.errors import BadInput
from diagnose.place import visible
from diagnose.tables.column_kinds import ColumnKinds, dimension_of, of_readings
from diagnose.tables.headings import Side, Stage
from diagnose.tables.layout import Column, stage_of
from diagnose.tables.side_columns import SIDES, SideColumns, names_of
from diagnose.tables.table_options import HOW_TO_NAME, SidesUnknown, TableOptions
from diagnose.units import unit_info


class SideFinder:
    """Puts the readings of a table on the two sides of a comparison; ``file`` is what the table is called."""

    def __init__(self, file: str, kinds: ColumnKinds, options: TableOptions, warnings: list[str]) -> None:
        self.file, self.kinds, self.options, self.warnings = file, kinds, options, warnings

    def sides(self, columns: list[Column], name: Stage) -> dict[Side, SideColumns]:
        """Return both sides of a comparison; what is named for it goes before what serves several.

        Raises BadInput if columns cannot be told, SidesUnknown if only the reference cannot.
        """
        named = self.kinds.named.values()
        single = [SideColumns(each) for each in columns if not self.kinds.moment(each) or each in named]
        pairs = self._start_and_stop([each for each in columns if self.kinds.moment(each)])
        chosen = _either_way(
            lambda: self._assigned(single, name), lambda: self._assigned([*single, *pairs], name, pairs), bool(pairs)
        )
        for column in self.kinds.uncertain:
            self._give_uncertainty(column, chosen, name)
        return chosen

    def _start_and_stop(self, columns: list[Column]) -> list[SideColumns]:
        starts = [each for each in columns if self.kinds.moment(each) == "start"]
        stops = [each for each in columns if self.kinds.moment(each) == "stop"]
        found = []
        lent = self._without_side(starts, stops)
        for side in (*SIDES, ""):
            own = [[each for each in some if lent.get(id(each), each.heading.side) == side] for some in (starts, stops)]
            if len(own[0]) != len(own[1]):
                there, missing = ("start", "stop") if len(own[0]) > len(own[1]) else ("stop", "start")
                raise BadInput(
                    f"{self.file}: of {names_of(own[0] + own[1])} one {there} has no {missing}; name the columns "
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
                    kinds = {dimension_of(self.kinds.unit(each)) for each in (*nameless, *alone)}
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
            of_side = [each for each in of_side if name and self.kinds.stage(each.reading) == name] or of_side
            of_side = [each for each in of_side if each in first] or of_side
            if len(of_side) > 1:
                raise BadInput(
                    f"more than one of the columns {self._all()} is recognised as `{side}`; {HOW_TO_NAME}"
                    f"{self._against_display(of_side)}"
                )
            if of_side:
                found[side] = of_side[0]
        free = [each for each in sides if not self._side(each)]
        free = [each for each in free if name and self.kinds.stage(each.reading) == name] or free
        free = [each for each in free if dimension_of(self.kinds.unit(each.reading)) in of_readings()] or free
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
                    all(dimension_of(self.kinds.unit(each.reading)) == unit_info("m3/h").dimension for each in free),
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
        named = next((each for each, column in self.kinds.named.items() if column is side.reading), "")
        own = side.reading.heading.side
        return named or ("" if own in self.kinds.named else own)  # type: ignore[return-value]

    def _all(self) -> str:
        return names_of(self.kinds.columns)

    def _give_uncertainty(self, column: Column, sides: dict[Side, SideColumns], name: Stage) -> None:
        """Give an uncertainty to the side that it names, else to the reading on its left, else to the meter."""
        if name and self.kinds.stage(column) not in ("", name):
            return
        columns = self.kinds.columns
        before = columns[: columns.index(column)][::-1]
        left: Side = next((side for each in before for side in SIDES if sides[side].reading is each), "indicated")
        nameless = column.heading.text.strip() in ("±", "+/-", "+-")
        side = sides[column.heading.side or (left if nameless else "indicated")]
        if side.uncertainty is None or self.kinds.stage(column) == name != "":
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
