"""Parses time stamps in any common format to seconds since 1970 (UTC if a time zone is given).

The format is found once for each layout; the fields of all its cells are then read together. `3/4/2024` is kept both
ways until the whole log has shown which figure is the day.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

from diagnose.tables.arrays import Array
from diagnose.tables.log_bytes import Bytes, printable
from diagnose.tables.log_layouts import NonNumericCells, digits_of, figures, layouts

Order = Literal["dmy", "mdy"]
Kind = Literal["calendar", "clock", "elapsed"]
Whole = npt.NDArray[np.int64]

DAY = 86400.0
EXCEL_ZERO = 25569.0
"""Days from the zero of spreadsheet dates (1899-12-30) to 1970-01-01."""

_CLOCK = (
    r"(?P<H>\d{1,2}):(?P<M>\d{2})(?::(?P<S>\d{2})(?:[.,](?P<f>\d{1,9}))?)?"
    r"(?:\s*(?P<half>[AaPp])\.?[Mm]\.?)?(?:\s*(?P<zone>Z|UTC|GMT|[+-]\d{2}(?::?\d{2})?))?"
)
_BEHIND = rf"(?:[T\s,_;]+{_CLOCK})?"
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_FORMS = tuple(
    re.compile(form)
    for form in (
        rf"(?P<Y>\d{{4}})[-/.](?P<m>\d{{1,2}})[-/.](?P<d>\d{{1,2}}){_BEHIND}",
        rf"(?P<d>\d{{1,2}})\.\s?(?P<m>\d{{1,2}})\.\s?(?P<Y>\d{{4}}|\d{{2}}){_BEHIND}",
        rf"(?P<a>\d{{1,2}})[-/](?P<b>\d{{1,2}})[-/](?P<Y>\d{{4}}|\d{{2}}){_BEHIND}",
        rf"(?P<d>\d{{1,2}})[-\s./](?P<name>[A-Za-z]{{3}})[A-Za-z]*\.?[-\s./](?P<Y>\d{{4}}|\d{{2}}){_BEHIND}",
        rf"(?P<name>[A-Za-z]{{3}})[A-Za-z]*\.?\s(?P<d>\d{{1,2}}),?\s(?P<Y>\d{{4}}){_BEHIND}",
        r"(?P<Y>(?:19|20)\d{2})(?P<m>\d{2})(?P<d>\d{2})[T_\s]?(?P<H>\d{2})(?P<M>\d{2})(?P<S>\d{2})?(?P<zone>Z)?",
        _CLOCK,
    )
)

_ELAPSED = {"s": 1.0, "sec": 1.0, "seconds": 1.0, "second": 1.0, "ms": 1e-3, "milliseconds": 1e-3, "min": 60.0}
_ELAPSED |= {"minutes": 60.0, "h": 3600.0, "hours": 3600.0, "hour": 3600.0, "d": DAY, "days": DAY, "us": 1e-6}
"""Units in the heading of a time column, in seconds."""


@dataclass(frozen=True, slots=True)
class TimeScale:
    """The meaning of plain numbers as times: kind of stamp, zero, and unit in seconds."""

    kind: Kind
    zero: float
    unit: float


@dataclass(slots=True)
class TimeStamps:
    """What is known about the time stamps of a log so far."""

    order: Order | None = None
    """Which of two figures is the day, if given."""
    unit: float | None = None
    """The unit in the heading in seconds, if there is one."""
    scale: TimeScale | None = None
    """The meaning of plain numbers, known once the first is read."""
    day_first: bool = True
    month_first: bool = True
    either: bool = False
    kinds: Counter[str] = field(default_factory=Counter)
    zones: Counter[int] = field(default_factory=Counter)
    """Counts of the written time-zone offsets in seconds; stamps without one are not counted."""
    unread: NonNumericCells = field(default_factory=NonNumericCells)


def elapsed_unit(heading: str, unit: str) -> float | None:
    """Return the unit of a time column in seconds if its heading says that it is an elapsed time.

    >>> elapsed_unit("elapsed time", "min"), elapsed_unit("time", "s"), elapsed_unit("time", "")
    (60.0, 1.0, None)
    """
    found = _ELAPSED.get(unit.strip().rstrip(".").lower())
    if found is None:
        words = re.split(r"[\s_/]+", heading.lower())
        found = next((_ELAPSED[word] for word in words if len(word) > 1 and word in _ELAPSED), None)
    return 1.0 if found is None and "elapsed" in heading.lower() else found


def seconds(table: Bytes, stamps: TimeStamps) -> tuple[Array, Array | None]:
    """Return the seconds of each cell (NaN if none), and those with day and month swapped if ambiguous."""
    found = np.full(len(table), np.nan)
    other: Array | None = None
    plain = []
    for cell, rows, own in layouts(table):
        shown = cell.decode("ascii", errors="replace")
        if re.fullmatch(r"[-+]?\d+(?:[.,]\d*)?(?:[eE][-+]?\d+)?", shown) and not _is_compact(shown):
            plain.append(rows)
            continue
        match = next((match for form in _FORMS if (match := form.fullmatch(shown))), None)
        if match is None:
            stamps.unread.seen[printable(shown)] += len(rows)
            continue
        found[rows], second = _stamped(own, match, stamps)
        if second is not None:
            other = np.full(len(table), np.nan) if other is None else other
            other[rows] = second
    if plain:
        rows = np.concatenate(plain)
        found[rows] = _counted(table[rows], stamps)
    return found, other


def _is_compact(shown: str) -> bool:
    return bool(re.fullmatch(r"(?:19|20)\d{2}(?:0[1-9]|1[0-2])[0-3]\d(?:[0-2]\d[0-5]\d(?:[0-5]\d)?)", shown))


def _stamped(own: Bytes, match: re.Match[str], stamps: TimeStamps) -> tuple[Array, Array | None]:
    fields = match.re.groupindex
    clock = _clock(own, match, fields, stamps) if fields.get("H") and match["H"] else np.zeros(len(own))
    if "Y" not in fields:
        stamps.kinds["clock"] += len(own)
        return clock, None
    stamps.kinds["calendar"] += len(own)
    year = _number(own, match, "Y")
    year = np.where(year < 70, year + 2000, np.where(year < 100, year + 1900, year))
    if "a" in fields:
        a, b = _number(own, match, "a"), _number(own, match, "b")
        return _either_way(year, a, b, clock, stamps)
    if "name" in fields:
        name = match["name"].lower()
        month = np.full(len(own), _MONTHS.index(name) + 1 if name in _MONTHS else 0, np.int64)
    else:
        month = _number(own, match, "m")
    return days(year, month, _number(own, match, "d")) * DAY + clock, None


def _either_way(year: Whole, a: Whole, b: Whole, clock: Array, stamps: TimeStamps) -> tuple[Array, Array | None]:
    if stamps.order:
        day, month = (a, b) if stamps.order == "dmy" else (b, a)
        return days(year, month, day) * DAY + clock, None
    stamps.either = True
    stamps.day_first &= not bool(np.any(b > 12))
    stamps.month_first &= not bool(np.any(a > 12))
    return days(year, b, a) * DAY + clock, days(year, a, b) * DAY + clock


def _number(own: Bytes, match: re.Match[str], name: str) -> Whole:
    start, end = match.span(name)
    return digits_of(own, start, end)


def _clock(own: Bytes, match: re.Match[str], fields: object, stamps: TimeStamps) -> Array:
    hour, minute = _number(own, match, "H"), _number(own, match, "M")
    second = _number(own, match, "S") if match["S"] else np.zeros(len(own), np.int64)
    groups = match.groupdict()
    if groups.get("half"):
        hour = hour % 12 + (12 if groups["half"].lower() == "p" else 0)
    total = (hour * 3600 + minute * 60 + second).astype(np.float64)
    if groups.get("f"):
        total += _number(own, match, "f") / 10.0 ** len(groups["f"])
    total[(hour > 24) | (minute > 59) | (second > 60)] = np.nan
    if groups.get("zone"):
        total -= _zone(own, match, stamps)
    return total


def _zone(own: Bytes, match: re.Match[str], stamps: TimeStamps) -> Whole:
    text, start = match["zone"], match.start("zone")
    if text[0] not in "+-":
        stamps.zones[0] += len(own)
        return np.zeros(len(own), np.int64)
    minutes_at = start + len(text) - 2
    offset = digits_of(own, start + 1, start + 3) * 3600
    if len(text) > 3:
        offset = offset + digits_of(own, minutes_at, minutes_at + 2) * 60
    offset = -offset if text[0] == "-" else offset
    for value, count in zip(*np.unique(offset, return_counts=True), strict=True):
        stamps.zones[int(value)] += int(count)
    return offset


def days(year: Whole, month: Whole, day: Whole) -> Array:
    """Return days since 1970-01-01, NaN for an impossible date.

    >>> days(np.array([2024, 2023]), np.array([2, 2]), np.array([29, 29]))
    array([19782.,    nan])
    """
    sound = (month >= 1) & (month <= 12) & (year >= 1)
    months = (np.where(sound, year, 1970) - 1970) * 12 + np.where(sound, month, 1) - 1
    first = months.astype("M8[M]")
    length = ((first + 1).astype("M8[D]") - first.astype("M8[D]")).astype(np.int64)
    found = first.astype("M8[D]").astype(np.int64) + day - 1.0
    return np.where(sound & (day >= 1) & (day <= length), found, np.nan)


def _counted(table: Bytes, stamps: TimeStamps) -> Array:
    comma = bool(np.any(table == ord(",")))
    number = figures(table, "comma" if comma else "point", stamps.unread)
    if stamps.scale is None:
        first = number[np.isfinite(number)][:1]
        stamps.scale = _scale(float(first[0]) if len(first) else 0.0, stamps.unit)
    stamps.kinds[stamps.scale.kind] += len(table)
    return (number - stamps.scale.zero) * stamps.scale.unit


def _scale(first: float, unit: float | None) -> TimeScale:
    """Return the meaning of plain numbers: elapsed time, seconds since 1970 (or ms, µs, ns), or spreadsheet days.

    The first one decides: elapsed time begins near zero.
    """
    if unit is not None and first < 1e8:
        return TimeScale("elapsed", 0.0, unit)
    for least, part in ((1e17, 1e-9), (1e14, 1e-6), (1e11, 1e-3), (1e8, 1.0)):
        if first >= least:
            return TimeScale("calendar", 0.0, part)
    return TimeScale("calendar", EXCEL_ZERO, DAY) if 25000 <= first <= 80000 else TimeScale("elapsed", 0.0, 1.0)
