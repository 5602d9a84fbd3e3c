"""How long each run of a table took: from a column of durations, or from the times at its start and stop."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import datetime

from diagnose.errors import ProblemsFound
from diagnose.tables.figures_in_table import decimal_mark, read_figures
from diagnose.tables.headings import is_in_minutes
from diagnose.tables.layout import Column
from diagnose.tables.side_columns import Aid, ComparedLines
from diagnose.tables.table_text import Cell, TextTable
from diagnose.units import is_unit, unit_info

Run = tuple[int, int]
"""The lines in which a run begins and ends, counted from 0; mostly one and the same."""

DAY = 86_400.0

_CLOCK = re.compile(r"(?P<h>\d{1,2}):(?P<m>\d\d)(?::(?P<s>\d\d(?:[.,]\d+)?))?\s*(?P<half>[aApP])?[.mM]*$")
_DATES = ("%Y-%m-%d", "%d.%m.%Y", "%d.%m.%y", "%Y/%m/%d", "%d/%m/%Y", "%m/%d/%Y", "%d-%m-%Y", "%d %b %Y", "%d %B %Y")
HOW_TO_TIME = "write times as 08:00 or 08:00:30, dates as 2026-03-01, durations with their unit in the heading"


def durations(table: TextTable, item: ComparedLines, runs: Sequence[Run], aids: Mapping[Aid, Column]) -> list[float]:
    """Return the seconds that each run took; empty if the table does not tell.

    Raises ProblemsFound for times that cannot be read, or runs that end before they begin.
    """
    if "duration" in aids:
        cells = [aids["duration"].cells[last] for _, last in runs]
        found = [_seconds(table, aids["duration"], cell) for cell in cells]
    else:
        ends = _ends(item, aids)
        if not ends:
            return []
        begin, end, begun_on, ended_on = ends
        cells = [end.cells[last] for _, last in runs]
        found = [_between(table, (begin, first), (end, last), begun_on, ended_on) for first, last in runs]
    wrong = [
        table.problem(cell, "time", "this run took no time", "its stop comes after its start")
        for cell, seconds in zip(cells, found, strict=True)
        if seconds <= 0
    ]
    if wrong:
        raise ProblemsFound(wrong)
    return found


def _ends(
    item: ComparedLines, aids: Mapping[Aid, Column]
) -> tuple[Column, Column, Column | None, Column | None] | None:
    """Return the columns with the times at which runs begin and end, and those of the dates."""
    date = aids.get("date")
    if "start time" in aids and "stop time" in aids:
        return aids["start time"], aids["stop time"], aids.get("start date", date), aids.get("stop date", date)
    if "time" in aids and (item.run_on or any(item.moments)):
        return aids["time"], aids["time"], date, date
    return None


def _seconds(table: TextTable, column: Column, cell: Cell) -> float:
    """Return a duration, a figure with its unit or `h:mm:ss` (with one colon `mm:ss` where the unit is minutes)."""
    clock = re.fullmatch(r"(\d+):(\d\d)(?::(\d\d(?:[.,]\d+)?))?", cell.text)
    if clock:
        one, two, three = int(clock[1]), int(clock[2]), clock[3]
        if three is None:
            is_minutes = is_unit(column.heading.unit) and unit_info(column.heading.unit).factor < 3600
            is_minutes = is_minutes or is_in_minutes(column.heading)
            return one * 60.0 + two if is_minutes else one * 3600.0 + two * 60.0
        return one * 3600.0 + two * 60.0 + float(three.replace(",", "."))
    figure = read_figures(table, [cell], decimal_mark(table, column.cells))[0]
    unit = column.heading.unit or figure.unit
    if figure.value is None or not is_unit(unit) or unit_info(unit).dimension != unit_info("s").dimension:
        what = "is no duration" if unit else "has no unit"
        raise ProblemsFound([table.problem(cell, "time", f"`{cell.text}` {what}", HOW_TO_TIME)])
    return figure.value * unit_info(unit).factor


def _between(
    table: TextTable,
    begin: tuple[Column, int],
    end: tuple[Column, int],
    begun_on: Column | None,
    ended_on: Column | None,
) -> float:
    """Return the seconds between two times; without dates a run that ends earlier in the day passed midnight."""
    moments: list[tuple[list[datetime], float, Cell]] = []
    for (column, row), dated in ((begin, begun_on), (end, ended_on)):
        cell = column.cells[row]
        clock = _CLOCK.search(cell.text.strip())
        if clock is None:
            if is_unit(column.heading.unit):
                moments.append(([], _seconds(table, column, cell), cell))
                continue
            raise ProblemsFound([table.problem(cell, "time", f"`{cell.text}` is no time", HOW_TO_TIME)])
        dates = dated.cells[row].text if dated else clock.string[: clock.start()].rstrip("T ")
        moments.append((_dates(table, dated.cells[row] if dated else cell, dates), _of_day(clock), cell))
    (days, started, _), (later, stopped, cell) = moments
    seconds = stopped - started
    if not days or not later:
        return seconds + DAY if seconds < 0 else seconds
    apart = {(two - one).total_seconds() + seconds for one, two in zip(days, later, strict=False)}
    if len(days) != len(later) or len(apart) > 1:
        text = f"which is the day and which the month in `{cell.text}`?"
        raise ProblemsFound([table.problem(cell, "time", text, "write dates as 2026-03-01")])
    return apart.pop()


def _of_day(clock: re.Match[str]) -> float:
    hour = int(clock["h"])
    if clock["half"]:
        hour = hour % 12 + (12 if clock["half"] in "pP" else 0)
    return hour * 3600.0 + int(clock["m"]) * 60.0 + float((clock["s"] or "0").replace(",", "."))


def _dates(table: TextTable, cell: Cell, text: str) -> list[datetime]:
    """Return what a date may be: two days where day and month may be either."""
    bare = text.strip().strip(",")
    if not bare:
        return []
    found: list[datetime] = []
    for form in _DATES:
        try:
            day = datetime.strptime(bare, form)
        except ValueError:
            continue
        found += [day] if day not in found else []
    if not found:
        raise ProblemsFound([table.problem(cell, "time", f"`{bare}` is no date", HOW_TO_TIME)])
    return found
