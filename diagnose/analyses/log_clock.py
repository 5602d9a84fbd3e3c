"""The clock of a log put right: days and months told apart, wraps at midnight, doubles, jumps back, summer time, gaps.

Whatever is done to the stamps is told. The order of the lines is kept unless single lines stand in the wrong place.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
import numpy.typing as npt

from diagnose.analyses.amounts import Array
from diagnose.analyses.log_times import DAY, Kind, Stamps
from diagnose.errors import BadInput

Rows = npt.NDArray[np.intp]

GAP = 5.0
"""Usual steps without a line that count as a gap."""

HOUR = 3600.0
EARLIEST, LATEST = -2.2e9, 4.2e9
"""Seconds since 1970 of the years 1900 and 2103; a stamp beyond was read wrong, by the logger or here."""

_STRAY = 5
"""Lines after a jump back within which the clock must be where it was, if single lines stand in wrong order."""

_MANY_DOUBLE = 0.2
_MANY_BACK = 0.05


@dataclass(frozen=True, slots=True)
class Clock:
    """What the stamps of a log are: their kind, the zone's offset for showing them, the usual step, and gaps."""

    kind: Kind
    offset: float
    step: float
    gaps: int
    longest_gap: float
    irregular: float
    """Share of the steps, gaps left out, that are a fifth or more from the usual one."""

    def shown(self, time: float) -> str:
        """Return a time as people read it.

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


def so_many(count: int, what: str) -> str:
    """Return a number of things as people say it.

    >>> so_many(1, "line"), so_many(4, "line")
    ('one line', '4 lines')
    """
    return f"one {what}" if count == 1 else f"{count} {what}s"


def duration(seconds: float) -> str:
    """Return a length of time as people say it.

    >>> duration(300), duration(5400), duration(0.5), duration(200000)
    ('5 min', '1.5 h', '0.5 s', '2.31 days')
    """
    for size, word in ((86400.0, "days"), (3600.0, "h"), (60.0, "min")):
        if seconds >= size:
            return f"{seconds / size:.3g} {word}"
    return f"{seconds:.3g} s"


def put_in_order(
    times: Array, other: Array | None, stamps: Stamps, flow: Array
) -> tuple[Rows, Array, Clock, list[str]]:
    """Return the rows that are kept in their order, their times, the clock, and what was done.

    Raises BadInput when no stamp could be read, or stamps contradict each other.
    """
    told: list[str] = []
    if other is not None:
        times = _day_or_month(times, other, stamps, told)
    kind: Kind = max(("calendar", "clock", "elapsed"), key=lambda each: stamps.kinds[each])
    if kind == "calendar":
        times = np.where((times > EARLIEST) & (times < LATEST), times, np.nan)
    rows = np.flatnonzero(np.isfinite(times))
    lost = len(times) - len(rows)
    if not len(rows):
        seen = ", ".join(f"`{text}`" for text, _ in stamps.unread.seen.most_common(3))
        raise BadInput(f"no time stamp of the log can be read{f' ({seen})' if seen else ''}; write 2024-03-31 12:00:00")
    if lost:
        told.append(f"{so_many(lost, 'line')} without a readable time stamp left out")
    times = times[rows]
    if len(stamps.kinds) > 1:
        told.append("time stamps of several kinds are mixed; those of the commonest kind are right, others may not be")
    order = _ordered(times, kind, stamps, told)
    rows, times = rows[order.rows], order.times
    kept = _without_doubles(times, flow[rows], told)
    rows, times = rows[kept], times[kept]
    times = _spread(times, told)
    return rows, times, _clock(times, kind, stamps, told), told


def _day_or_month(day_first: Array, month_first: Array, stamps: Stamps, told: list[str]) -> Array:
    """Return the times in the reading of day and month that holds."""
    sure = np.isnan(month_first) & np.isfinite(day_first) & ~stamps.either
    month_first = np.where(np.isnan(month_first) & sure, day_first, month_first)
    if not stamps.day_first and not stamps.month_first:
        raise BadInput("the dates mix day/month and month/day: some have a first figure above 12, some a second one")
    if stamps.day_first != stamps.month_first:
        return day_first if stamps.day_first else month_first
    scores = [_disorder(each) for each in (day_first, month_first)]
    if abs(scores[0] - scores[1]) > 1:
        name = "day/month" if scores[0] < scores[1] else "month/day"
        told.append(f"dates are read as {name}: only so do they follow each other")
        return day_first if scores[0] < scores[1] else month_first
    told.append(
        "dates may be day/month or month/day, and nothing in the log decides it; read as day/month "
        "(--dates mdy reads the other way; spans of time within a day are the same)"
    )
    return day_first


def _disorder(times: Array) -> int:
    steps = np.diff(times[np.isfinite(times)])
    if not len(steps):
        return 0
    usual = float(np.median(np.abs(steps)))
    return int(np.count_nonzero((steps < 0) | (steps > max(GAP * usual, DAY))))


@dataclass(frozen=True, slots=True)
class _Ordered:
    rows: Rows
    times: Array


def _ordered(times: Array, kind: Kind, stamps: Stamps, told: list[str]) -> _Ordered:
    """Return times that never go back, and the order of the lines."""
    order = np.arange(len(times))
    steps = np.diff(times)
    if len(steps) and np.count_nonzero(steps < 0) > 0.6 * np.count_nonzero(steps != 0):
        told.append("the newest line stands first; the log is read from its end")
        order, times = order[::-1], times[::-1]
        steps = np.diff(times)
    if kind == "clock" and np.any(steps < -DAY / 2):
        times = times + DAY * np.concatenate(([0], np.cumsum(steps < -DAY / 2)))
        steps = np.diff(times)
    back = np.flatnonzero(steps < 0)
    if not len(back):
        return _Ordered(order, times)
    usual = _usual(steps)
    if len(back) > max(3, _MANY_BACK * len(steps)) or all(_is_stray(times, int(each), usual) for each in back):
        told.append(f"{so_many(len(back), 'time stamp')} that go backward: lines in the wrong order, sorted")
        by_time = np.argsort(times, kind="stable")
        return _Ordered(order[by_time], times[by_time])
    times = times.copy()
    for place in back:
        _set_forward(times, int(place), usual, kind, stamps, told)
    by_time = np.argsort(times, kind="stable")
    return _Ordered(order[by_time], times[by_time])


def _usual(steps: Array) -> float:
    forward = steps[steps > 0]
    return float(np.median(forward)) if len(forward) else 1.0


def _is_stray(times: Array, place: int, usual: float) -> bool:
    """Tell whether the clock is soon after a jump back where it would have been: then single lines are misplaced."""
    ahead = times[place + 1 : place + 1 + _STRAY + 1]
    return bool(len(ahead) > 1 and np.any(ahead[1:] >= times[place]) and times[place] - times[place + 1] > 0) and not (
        np.all(np.abs(np.diff(ahead) - usual) < 0.5 * usual)
    )


def _set_forward(times: Array, place: int, usual: float, kind: Kind, stamps: Stamps, told: list[str]) -> None:
    """Let the clock run on after it was set back."""
    back = times[place] - times[place + 1]
    if back <= 0:
        return
    whole_hour = abs(back + usual - HOUR) <= max(usual, 1.0)
    shown = _plain_time(float(times[place]), kind)
    if whole_hour and kind != "elapsed" and not stamps.zones:
        told.append(f"the clock goes back by an hour after {shown}: taken for the end of summer time, and run on")
        times[place + 1 :] += HOUR
        return
    told.append(f"the clock goes back by {back:.6g} s after {shown}: taken for a clock that was set, and run on")
    times[place + 1 :] += back + usual


def _plain_time(time: float, kind: Kind) -> str:
    return Clock(kind, 0.0, 1.0, 0, 0.0, 0.0).shown(time)


def _without_doubles(times: Array, flow: Array, told: list[str]) -> Rows:
    same = np.flatnonzero(np.diff(times) == 0) + 1
    if not len(same) or len(same) > _MANY_DOUBLE * len(times):
        return np.arange(len(times))
    equal = (flow[same] == flow[same - 1]) | (np.isnan(flow[same]) & np.isnan(flow[same - 1]))
    told.append(
        f"{so_many(len(same), 'time stamp')} written twice; {so_many(int(np.count_nonzero(equal)), 'line')} that "
        "say no more left out"
    )
    kept = np.ones(len(times), bool)
    kept[same[equal]] = False
    return np.flatnonzero(kept)


def _spread(times: Array, told: list[str]) -> Array:
    """Return times in which lines that share a stamp are spread to the next one, if that is the rule in the log."""
    steps = np.diff(times)
    double = int(np.count_nonzero(steps == 0))
    if double <= _MANY_DOUBLE * len(times):
        return times
    firsts = np.flatnonzero(np.concatenate(([True], steps > 0)))
    if len(firsts) < 3:
        told.append("nearly all lines have the same time stamp; nothing that hangs on time can be told")
        return times
    told.append("several lines share each time stamp; they are spread evenly to the next one")
    counts = np.diff(np.append(firsts, len(times)))
    lengths = np.diff(times[firsts])
    lengths = np.minimum(np.append(lengths, lengths[-1]), np.median(lengths))
    within = np.arange(len(times)) - np.repeat(firsts, counts)
    return np.asarray(times + within * np.repeat(lengths / counts, counts), np.float64)


def _clock(times: Array, kind: Kind, stamps: Stamps, told: list[str]) -> Clock:
    steps = np.diff(times)
    usual = _usual(steps)
    gaps = steps[steps > GAP * usual]
    rest = steps[steps <= GAP * usual]
    irregular = float(np.mean(np.abs(rest - usual) > 0.2 * usual)) if len(rest) else 0.0
    offset = float(stamps.zones.most_common(1)[0][0]) if stamps.zones else 0.0
    if len(stamps.zones) > 1:
        told.append("the zone in the time stamps changes (summer time); times are shown in the commoner one")
    if kind == "calendar" and not stamps.zones and stamps.scale is None:
        _spring(times, steps, usual, told)
    if irregular > 0.05:
        told.append(f"{irregular:.0%} of the steps are not the usual {usual:g} s")
    return Clock(kind, offset, usual, len(gaps), float(gaps.max()) if len(gaps) else 0.0, irregular)


def _spring(times: Array, steps: Array, usual: float, told: list[str]) -> None:
    """Tell of a missing hour on a Sunday night in spring: no gap, but the clock put forward."""
    for place in np.flatnonzero(np.abs(steps - usual - HOUR) < 0.5 * usual)[:3]:
        moment = datetime.fromtimestamp(float(times[place]), UTC)
        after = datetime.fromtimestamp(float(times[place + 1]), UTC)
        if after.weekday() == 6 and after.month in (3, 4, 9, 10) and after.hour <= 4:
            told.append(f"the hour that is missing after {moment:%Y-%m-%d %H:%M} is the beginning of summer time")
