"""Corrects the clock of a log: day and month, wrap at midnight, duplicates, jumps back, summer time, gaps.

Every correction is reported. Lines keep their order unless single ones are out of place.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
import numpy.typing as npt

from diagnose.errors import BadInput
from diagnose.tables.arrays import Array
from diagnose.tables.log_times import DAY, Kind, TimeStamps

Rows = npt.NDArray[np.intp]

GAP = 5.0
"""Steps longer than this many usual ones are gaps."""

HOUR = 3600.0
EARLIEST, LATEST = -2.2e9, 4.2e9
"""Years 1900 and 2103 in seconds since 1970; a stamp outside is wrong, by the logger or by misreading."""

_STRAY = 5
"""Lines after a jump back within which the clock must have caught up, if single lines are out of place."""

_MANY_DOUBLE = 0.2
_MANY_BACK = 0.05


@dataclass(frozen=True, slots=True)
class Clock:
    """The clock of a log: kind of stamps, offset of the time zone for display, usual step, and gaps."""

    kind: Kind
    offset: float
    step: float
    gaps: int
    longest_gap: float
    irregular: float
    """Share of the steps, gaps excluded, that differ from the usual one by a fifth or more."""

    def shown(self, time: float) -> str:
        """Format a time.

        >>> Clock("calendar", 0.0, 60.0, 0, 0.0, 0.0).shown(86400.0)
        '1970-01-02 00:00'
        """
        if self.kind == "elapsed":
            return f"{time:.6g} s"
        moment = datetime.fromtimestamp(0, UTC) + timedelta(seconds=time + self.offset)
        seconds = "" if self.step >= 60 else ":%S"
        if self.kind == "clock":
            day = f"day {int((time + self.offset) // DAY) + 1} " if time + self.offset >= DAY else ""
            return f"{day}{moment:%H:%M{seconds}}"
        return f"{moment:%Y-%m-%d %H:%M{seconds}}"


def count_of(count: int, what: str) -> str:
    """Format a number of things.

    >>> count_of(1, "line"), count_of(4, "line")
    ('one line', '4 lines')
    """
    return f"one {what}" if count == 1 else f"{count} {what}s"


def duration(seconds: float) -> str:
    """Format a duration.

    >>> duration(300), duration(5400), duration(0.5), duration(200000), duration(86400)
    ('5 min', '1.5 h', '0.5 s', '2.31 days', '1 day')
    """
    for size, word in ((86400.0, "days"), (3600.0, "h"), (60.0, "min")):
        if seconds >= size:
            count = f"{seconds / size:.3g}"
            return f"{count} {'day' if (count, word) == ('1', 'days') else word}"
    return f"{seconds:.3g} s"


def order_times(
    times: Array, other: Array | None, stamps: TimeStamps, flow: Array
) -> tuple[Rows, Array, Clock, list[str]]:
    """Return the rows to keep, in order, their times, the clock, and notes on what was corrected.

    Raises BadInput if no stamp could be read, or stamps contradict each other.
    """
    notes: list[str] = []
    if other is not None:
        times = _day_or_month(times, other, stamps, notes)
    kind: Kind = max(("calendar", "clock", "elapsed"), key=lambda each: stamps.kinds[each])
    if kind == "calendar":
        times = np.where((times > EARLIEST) & (times < LATEST), times, np.nan)
    rows = np.flatnonzero(np.isfinite(times))
    lost = len(times) - len(rows)
    if not len(rows):
        seen = ", ".join(f"`{text}`" for text, _ in stamps.unread.seen.most_common(3))
        raise BadInput(f"no time stamp in the log can be read{f' ({seen})' if seen else ''}; write 2024-03-31 12:00:00")
    if lost:
        notes.append(f"{count_of(lost, 'line')} without a readable time stamp left out")
    times = times[rows]
    if len(stamps.kinds) > 1:
        notes.append(
            "several kinds of time stamp are mixed; those of the commonest kind are right, others may be wrong"
        )
    order = _sorted_times(times, kind, stamps, notes)
    rows, times = rows[order.rows], order.times
    kept = _without_doubles(times, flow[rows], notes)
    rows, times = rows[kept], times[kept]
    times = _spread(times, notes)
    return rows, times, _clock(times, kind, stamps, notes), notes


def _day_or_month(day_first: Array, month_first: Array, stamps: TimeStamps, notes: list[str]) -> Array:
    """Return the times with the right order of day and month."""
    sure = np.isnan(month_first) & np.isfinite(day_first) & ~stamps.either
    month_first = np.where(np.isnan(month_first) & sure, day_first, month_first)
    if not stamps.day_first and not stamps.month_first:
        raise BadInput(
            "the dates mix day/month and month/day: in some the first figure is above 12, in others the second"
        )
    if stamps.day_first != stamps.month_first:
        return day_first if stamps.day_first else month_first
    scores = [_count_disordered(each) for each in (day_first, month_first)]
    if abs(scores[0] - scores[1]) > 1:
        name = "day/month" if scores[0] < scores[1] else "month/day"
        notes.append(f"dates are read as {name}: only then are they in order")
        return day_first if scores[0] < scores[1] else month_first
    notes.append(
        "dates may be day/month or month/day, and nothing in the log decides; read as day/month "
        "(--dates mdy reads them the other way; within a day it makes no difference)"
    )
    return day_first


def _count_disordered(times: Array) -> int:
    steps = np.diff(times[np.isfinite(times)])
    if not len(steps):
        return 0
    usual = float(np.median(np.abs(steps)))
    return int(np.count_nonzero((steps < 0) | (steps > max(GAP * usual, DAY))))


@dataclass(frozen=True, slots=True)
class _SortedTimes:
    rows: Rows
    times: Array


def _sorted_times(times: Array, kind: Kind, stamps: TimeStamps, notes: list[str]) -> _SortedTimes:
    """Return times that never go backward, and the order of the lines."""
    order = np.arange(len(times))
    steps = np.diff(times)
    if len(steps) and np.count_nonzero(steps < 0) > 0.6 * np.count_nonzero(steps != 0):
        notes.append("the newest line comes first; the log is read from the end")
        order, times = order[::-1], times[::-1]
        steps = np.diff(times)
    if kind == "clock" and np.any(steps < -DAY / 2):
        times = times + DAY * np.concatenate(([0], np.cumsum(steps < -DAY / 2)))
        steps = np.diff(times)
    back = np.flatnonzero(steps < 0)
    if not len(back):
        return _SortedTimes(order, times)
    usual = _usual(steps)
    if len(back) > max(3, _MANY_BACK * len(steps)) or all(_is_stray(times, int(each), usual) for each in back):
        notes.append(f"{count_of(len(back), 'line')} out of order by the time stamps: sorted")
        by_time = np.argsort(times, kind="stable")
        return _SortedTimes(order[by_time], times[by_time])
    times = times.copy()
    for place in back:
        _set_forward(times, int(place), usual, kind, stamps, notes)
    by_time = np.argsort(times, kind="stable")
    return _SortedTimes(order[by_time], times[by_time])


def _usual(steps: Array) -> float:
    forward = steps[steps > 0]
    return float(np.median(forward)) if len(forward) else 1.0


def _is_stray(times: Array, place: int, usual: float) -> bool:
    """Check whether the clock has caught up soon after a jump back: then single lines are out of place."""
    ahead = times[place + 1 : place + 1 + _STRAY + 1]
    return bool(len(ahead) > 1 and np.any(ahead[1:] >= times[place]) and times[place] - times[place + 1] > 0) and not (
        np.all(np.abs(np.diff(ahead) - usual) < 0.5 * usual)
    )


def _set_forward(times: Array, place: int, usual: float, kind: Kind, stamps: TimeStamps, notes: list[str]) -> None:
    """Undo a jump of the clock, so that time runs on."""
    back = times[place] - times[place + 1]
    if back <= 0:
        return
    whole_hour = abs(back + usual - HOUR) <= max(usual, 1.0)
    shown = _plain_time(float(times[place]), kind)
    if whole_hour and kind != "elapsed" and not stamps.zones:
        notes.append(f"the clock goes back by an hour after {shown}: taken as the end of summer time and corrected")
        times[place + 1 :] += HOUR
        return
    notes.append(f"the clock goes back by {back:.6g} s after {shown}: taken as a clock that was reset and corrected")
    times[place + 1 :] += back + usual


def _plain_time(time: float, kind: Kind) -> str:
    return Clock(kind, 0.0, 1.0, 0, 0.0, 0.0).shown(time)


def _without_doubles(times: Array, flow: Array, notes: list[str]) -> Rows:
    same = np.flatnonzero(np.diff(times) == 0) + 1
    if not len(same) or len(same) > _MANY_DOUBLE * len(times):
        return np.arange(len(times))
    equal = (flow[same] == flow[same - 1]) | (np.isnan(flow[same]) & np.isnan(flow[same - 1]))
    notes.append(
        f"{count_of(len(same), 'duplicate time stamp')}; {count_of(int(np.count_nonzero(equal)), 'line')} with the "
        "same reading left out"
    )
    kept = np.ones(len(times), bool)
    kept[same[equal]] = False
    return np.flatnonzero(kept)


def _spread(times: Array, notes: list[str]) -> Array:
    """Spread lines that share a stamp evenly up to the next one, if most lines of the log do."""
    steps = np.diff(times)
    double = int(np.count_nonzero(steps == 0))
    if double <= _MANY_DOUBLE * len(times):
        return times
    firsts = np.flatnonzero(np.concatenate(([True], steps > 0)))
    if len(firsts) < 3:
        notes.append("nearly all lines have the same time stamp; nothing that depends on time can be analysed")
        return times
    notes.append("several lines share each time stamp; they are spread evenly up to the next one")
    counts = np.diff(np.append(firsts, len(times)))
    lengths = np.diff(times[firsts])
    lengths = np.minimum(np.append(lengths, lengths[-1]), np.median(lengths))
    within = np.arange(len(times)) - np.repeat(firsts, counts)
    return np.asarray(times + within * np.repeat(lengths / counts, counts), np.float64)


def _clock(times: Array, kind: Kind, stamps: TimeStamps, notes: list[str]) -> Clock:
    steps = np.diff(times)
    usual = _usual(steps)
    gaps = steps[steps > GAP * usual]
    rest = steps[steps <= GAP * usual]
    irregular = float(np.mean(np.abs(rest - usual) > 0.2 * usual)) if len(rest) else 0.0
    offset = float(stamps.zones.most_common(1)[0][0]) if stamps.zones else 0.0
    if len(stamps.zones) > 1:
        notes.append("the time zone of the stamps changes (summer time); times are shown in the commoner one")
    if kind == "calendar" and not stamps.zones and stamps.scale is None:
        _spring(times, steps, usual, notes)
    if irregular > 0.05:
        notes.append(f"{irregular:.0%} of the steps differ from the usual {usual:g} s")
    return Clock(kind, offset, usual, len(gaps), float(gaps.max()) if len(gaps) else 0.0, irregular)


def _spring(times: Array, steps: Array, usual: float, notes: list[str]) -> None:
    """Note a missing hour on a Sunday night in spring: not a gap, but the clock put forward."""
    for place in np.flatnonzero(np.abs(steps - usual - HOUR) < 0.5 * usual)[:3]:
        moment = datetime.fromtimestamp(float(times[place]), UTC)
        after = datetime.fromtimestamp(float(times[place + 1]), UTC)
        if after.weekday() == 6 and after.month in (3, 4, 9, 10) and after.hour <= 4:
            notes.append(f"the hour missing after {moment:%Y-%m-%d %H:%M} is the beginning of summer time")
