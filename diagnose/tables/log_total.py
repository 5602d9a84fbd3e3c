"""Logs of totalisers: what a total tells of the flow, where it rolls over, and where it stands lower than before."""

from __future__ import annotations

from dataclasses import dataclass

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

RISING = 0.99
"""Least share of the increments that do not fall, for a column to be a total."""


@dataclass(frozen=True, slots=True, eq=False)
class Total:
    """What a totaliser showed: times, totals with roll-overs undone, and the first position after each jump back."""

    times: Array
    values: Array
    back: Rows
    rolled: int
    unit: str


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
    return Total(times, values, np.array(back, np.intp), rolled, unit)


def flow_of(total: Total) -> tuple[Array, Array, Flags]:
    """Return times, flows in units an hour, and which of them are one: none over a jump back.

    >>> times, flow, there = flow_of(total_of(np.arange(3.0) * 3600, np.array([5.0, 7.0, 4.0]), "m3"))
    >>> times.tolist(), flow.tolist(), there.tolist()
    ([3600.0, 7200.0], [2.0, nan], [True, False])
    """
    spent = np.diff(total.times)
    with np.errstate(divide="ignore", invalid="ignore"):
        flow = np.diff(total.values) / spent * HOUR
    flow[total.back - 1] = np.nan
    return total.times[1:], flow, np.isfinite(flow)


def rises(values: Array) -> bool:
    """Check whether a column only rises but for a few jumps, as a total does.

    >>> rises(np.array([5.0, 5.0, 7.0, 9.0])), rises(np.array([5.0, 7.0, 6.0, 8.0, 5.0]))
    (True, False)
    """
    steps = np.diff(values[np.isfinite(values)])
    return bool(len(steps) and np.any(steps > 0) and np.mean(steps >= 0) >= RISING)
