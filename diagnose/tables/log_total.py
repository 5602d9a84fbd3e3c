"""Logs of totalisers: what a total tells of the flow, where it rolls over, and where it stands lower than before."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from diagnose.tables.arrays import Array

Flags = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.intp]

HOUR = 3600.0
FULL, EMPTY = 0.9, 0.1
"""Shares of a power of ten before and after which a total has rolled over there."""

MOST_AT_ONCE = 50.0
"""Multiple of the usual increment that a roll-over may hide (estimate); more is a jump."""

CAUGHT = 5.0
"""Least increment of a total that catches up, in its smallest steps: a coarse total stands now and then by itself."""

AROUND = 6
"""Readings on either side that tell what was due while it stood."""

AS_DUE, AT_ONCE = 3.0, 1.5
"""Factor within which it has caught up what was due, and by which more came at once than around it (estimate)."""

MOST_LATE = 0.2
"""Largest share of a log that may be late; a total that is late more often is written so, and its steps are told."""

RISING = 0.99
"""Least share of the increments that do not fall, for a column to be a total."""


@dataclass(frozen=True, slots=True, eq=False)
class Total:
    """What a totaliser showed: times, totals with roll-overs undone, and the first position after each jump back.

    ``late`` are the positions of the intervals in which it stood and then caught up: it was read late, and how the flow
    went meanwhile is not known. ``delays`` is how often. ``unit`` is empty where a flow stands beside the total.
    """

    times: Array
    values: Array
    back: Rows
    rolled: int
    unit: str
    late: Rows = field(default_factory=lambda: np.zeros(0, np.intp))
    delays: int = 0


def total_of(times: Array, values: Array, unit: str) -> Total:
    """Return the total in a log; missing readings are left out.

    >>> found = total_of(np.arange(5.0), np.array([99_990.0, 99_996.0, 2.0, 8.0, 3.0]), "m3")
    >>> found.values.tolist(), found.back.tolist(), found.rolled
    ([99990.0, 99996.0, 100002.0, 100008.0, 100003.0], [4], 1)
    """
    there = np.isfinite(times) & np.isfinite(values)
    times, values = times[there], values[there].copy()
    steps = np.diff(values)
    usual = float(np.median(steps[steps > 0])) if np.any(steps > 0) else 0.0
    back, rolled = [], 0
    for at in (np.flatnonzero(steps < 0) + 1).tolist():
        before, behind = float(values[at - 1]), float(values[at])
        over = 10.0 ** np.ceil(np.log10(before % 1e15)) if before > 1 else 0.0
        full = over and before % over >= FULL * over and behind % over <= EMPTY * over
        if full and 0 <= over + behind - before <= MOST_AT_ONCE * usual:
            values[at:] += over
            rolled += 1
        else:
            back.append(at)
    late, delays = _late(values)
    return Total(times, values, np.array(back, np.intp), rolled, unit, late, delays)


def _late(values: Array) -> tuple[Rows, int]:
    """Return the intervals in which a total stood and then caught up what was due, and how often it did.

    >>> _late(np.cumsum([0.0] + [2.0, 3.0] * 5 + [0.0] * 3 + [10.0] + [2.0, 3.0] * 5))[0].tolist()
    [10, 11, 12, 13]
    """
    steps = np.diff(values)
    apart = np.diff(np.unique(steps))
    step = float(apart[apart > 1e-9 * max(1.0, float(np.abs(steps).max(initial=0.0)))].min(initial=np.inf))
    edges = np.diff(np.concatenate(([0], (steps == 0).astype(np.int8), [0])))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    kept = (starts > 0) & (ends < len(steps))
    starts, ends = starts[kept], ends[kept]
    if not len(starts):
        return np.zeros(0, np.intp), 0
    first, last = np.maximum(starts - AROUND, 0), np.minimum(ends + 1 + AROUND, len(values) - 1)
    before = (values[starts] - values[first]) / (starts - first)
    behind = (values[last] - values[ends + 1]) / np.maximum(last - ends - 1, 1)
    caught, usual = steps[ends], np.maximum(before, behind)
    due = caught / (ends - starts + 1)
    kept = (caught >= CAUGHT * step) & (caught > AT_ONCE * usual)
    kept &= (due <= AS_DUE * usual) & (due * AS_DUE >= np.minimum(before, behind))
    starts, ends = starts[kept], ends[kept]
    found = [np.arange(start, end + 1) for start, end in zip(starts.tolist(), ends.tolist(), strict=True)]
    late = np.concatenate(found) if found else np.zeros(0, np.intp)
    return (late, len(found)) if len(late) <= MOST_LATE * len(steps) else (late[:0], 0)


def flow_of(total: Total) -> tuple[Array, Array, Flags]:
    """Return times, flows in units an hour, and which of them are one: none over a jump back, or while it was late.

    >>> times, flow, there = flow_of(total_of(np.arange(3.0) * 3600, np.array([5.0, 7.0, 4.0]), "m3"))
    >>> times.tolist(), flow.tolist(), there.tolist()
    ([3600.0, 7200.0], [2.0, nan], [True, False])
    """
    spent = np.diff(total.times)
    with np.errstate(divide="ignore", invalid="ignore"):
        flow = np.diff(total.values) / spent * HOUR
    flow[total.back - 1] = np.nan
    flow[total.late] = np.nan
    return total.times[1:], flow, np.isfinite(flow)


def rises(values: Array) -> bool:
    """Check whether a column only rises but for a few jumps, as a total does.

    >>> rises(np.array([5.0, 5.0, 7.0, 9.0])), rises(np.array([5.0, 7.0, 6.0, 8.0, 5.0]))
    (True, False)
    """
    steps = np.diff(values[np.isfinite(values)])
    return bool(len(steps) and np.any(steps > 0) and np.mean(steps >= 0) >= RISING)
