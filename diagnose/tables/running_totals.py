"""Which lines of a table make a run: each by itself, from its start to its stop, or from line to line of totals."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from diagnose.errors import BadInput
from diagnose.place import visible
from diagnose.tables.headings import Side
from diagnose.tables.layout import Column
from diagnose.tables.roll_over import size_of_counter
from diagnose.tables.run_times import Run
from diagnose.tables.side_columns import SIDES, Aid, ComparedLines
from diagnose.tables.table_units import table_unit
from diagnose.units import unit_info


def runs_of(item: ComparedLines, warnings: list[str], aids: Mapping[Aid, Column]) -> list[Run]:
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


def _both_run_on(item: ComparedLines, rows: Sequence[int], aids: Mapping[Aid, Column]) -> frozenset[Side]:
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


def _one_runs_on(item: ComparedLines, rows: Sequence[int]) -> frozenset[Side]:
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


def _from_start_to_stop(item: ComparedLines, rows: Sequence[int]) -> list[Run]:
    found = [
        (one, other) for one, other in pairwise(rows) if (item.moments[one], item.moments[other]) == ("start", "stop")
    ]
    if not found:
        raise BadInput("no line with a start is followed by its stop")
    return found
