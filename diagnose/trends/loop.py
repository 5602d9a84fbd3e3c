"""Loop current compared with the signal levels of NAMUR NE 43: failure signal and end of the range.

A receiver that scales 4 to 20 mA to a flow shows a current below that as a negative flow: 3.6 mA as minus 2.5 % of URV,
no current at all as minus a quarter of it. That is no flow, forwards or backwards, and taken out before other detectors
look.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.series import Detection, Flags, SeriesView, marks_of, so_often, stretches

FAULT_LOW, FAULT_HIGH = 3.6, 21.0
"""Currents [mA] at and beyond which the signal means a failure (NAMUR NE 43)."""

END_OF_RANGE = 20.5
"""Current [mA] at which the measuring range ends (NAMUR NE 43)."""

NEAR = 0.05
"""Tolerance [mA] for a current to be at the end of the range."""

RANGE_ENDS = END_OF_RANGE - NEAR
"""Current [mA] from which a reading is at the end of its range."""

LASTING = 2
"""Fewest readings of a plateau."""

SECONDS = 4.0
"""Least duration [s] of a failure signal (NAMUR NE 43); a shorter one may be a start-up or a disturbance."""

AT_END = 3
"""Fewest readings in a row at the end of the range that are more than a passing peak."""

NO_LOOP = 0.5
"""Current [mA] up to which the loop carries none (estimate: a receiver's own error)."""

MANY = 100
"""Fewest readings of a current that deny a fault current among them."""

FLAT = 0.001
"""Share of URV (or of the value) within which readings are one and the same level."""

LEAST_SHARE = 0.01
"""Share of the usual flow from which one negative value again and again is a level and no noise."""

QUARTER = 0.25
"""Share of the range below zero at which a flow scaled from 4 to 20 mA stands without any current."""

LEAST_USED = 0.1
"""Least share of its range that the flow of a meter in use reaches (estimate; larger ranges are set by mistake)."""

MOSTLY = 0.9
"""Share of the readings below zero that a level must be of, so that it is one and no flow."""

MOST_CODED = 0.5
"""Most of a log that may be coded."""

FEWEST = 10
"""Fewest readings for a negative result to count."""

NO_CURRENT = "no loop current in the log"


def fault_current(seen: SeriesView) -> Detection:
    """Detect a loop current that stays at the failure level.

    >>> import numpy as np
    >>> from diagnose.trends.series import series
    >>> data = series(np.arange(6.0) * 10, np.zeros(6), 10.0)
    >>> found = fault_current(SeriesView(data=data, current=np.array([12.0, 12.1, 3.5, 3.5, 3.5, 12.0])))
    >>> found.present, found.value
    (True, 3.0)
    """
    current = shown_current(seen)
    if current is None:
        return Detection(id="fault-current", untested=NO_CURRENT)
    low, high = (current <= FAULT_LOW) & (current > NO_LOOP), current >= FAULT_HIGH
    statistic = f"readings in a row at or below {FAULT_LOW:g} mA, or at or above {FAULT_HIGH:g} mA"
    return _plateaus(seen, low | high, "fault-current", statistic, _lasting(seen), current, "mA")


def no_current(seen: SeriesView) -> Detection:
    """Detect a loop that carries no current for a while: broken, or without supply.

    >>> import numpy as np
    >>> from diagnose.trends.series import series
    >>> flow = np.array([50.0, 51.0, -25.0, -25.0, 50.0, 52.0])
    >>> no_current(SeriesView(data=series(np.arange(6.0) * 10, flow, 10.0), upper=100.0)).present
    True
    """
    current = shown_current(seen)
    if current is None:
        return Detection(id="no-current", untested=NO_CURRENT)
    statistic = f"readings in a row at or below {NO_LOOP:g} mA"
    found = _plateaus(seen, current <= NO_LOOP, "no-current", statistic, _lasting(seen), current, "mA")
    upper = range_told(seen)
    if not found.present or seen.current is not None or upper is None:
        return found
    shown = f"; shown as a flow of {-QUARTER * upper:.4g}, a quarter of the range (URV {upper:.4g}) below zero"
    return replace(found, because=found.because + shown)


def _lasting(seen: SeriesView) -> int:
    return max(LASTING, math.ceil(SECONDS / seen.data.step)) if seen.data.step > 0 else LASTING


def shown_current(seen: SeriesView) -> Array | None:
    """Return the loop current as logged, or what a flow beyond the range tells of it (NaN elsewhere), or None."""
    if seen.current is not None:
        return seen.current
    coded = coded_readings(seen)
    upper = range_told(seen)
    if upper is None or not coded.any():
        return None
    return np.where(coded, 4 + 16 * seen.data.values / upper, np.nan)


def range_told(seen: SeriesView) -> float | None:
    """Return URV; where nobody tells it, the one by which a level below zero is a quarter of it: no current.

    That needs a flow that fits this range: it does not exceed it, and uses a good part of it.

    >>> import numpy as np
    >>> from diagnose.trends.series import series
    >>> flow = np.array([50.0, 51.0, -25.0, -25.0, 50.0, 52.0])
    >>> range_told(SeriesView(data=series(np.arange(6.0) * 10, flow, 10.0)))
    100.0
    """
    if seen.upper is not None:
        return seen.upper
    coded = coded_readings(seen)
    if not coded.any() or coded.all():
        return None
    upper = -float(np.median(seen.data.values[coded])) / QUARTER
    used = float(seen.data.values[~coded].max()) / upper
    return upper if LEAST_USED <= used <= 1 + FLAT else None


def coded_readings(seen: SeriesView) -> Flags:
    """Return which readings are no flow but what a receiver makes of a fault current, or of none.

    With the loop current, by that; with URV, level stretches beyond the signal range (or a quarter of it below zero);
    with neither, one and the same negative value again and again, the lowest of all.
    """
    values = seen.data.values
    if seen.current is not None:
        return np.asarray((seen.current <= FAULT_LOW) | (seen.current >= FAULT_HIGH), bool)
    if seen.upper is not None:
        current = 4 + 16 * values / seen.upper
        none = np.abs(current) <= NO_LOOP / 10
        flat = _flat(values, FLAT * seen.upper)
        low = (current <= FAULT_LOW + 0.005) & (current >= 3.2)
        high = (current >= FAULT_HIGH) & (current <= 23.0)
        return np.asarray(none | (flat & (low | high)), bool)
    low = values < -LEAST_SHARE * float(np.quantile(np.abs(values), 0.95))
    if not low.any() or low.mean() > MOST_CODED:
        return np.zeros(len(values), bool)
    for level in (float(np.median(values[low])), float(values.min())):
        same = np.abs(values - level) <= FLAT * abs(level)
        flat = same & _flat(values, FLAT * abs(level))
        if flat.any() and np.count_nonzero(same) >= max(LASTING, MOSTLY * np.count_nonzero(low)):
            return np.asarray(same, bool)
        if flat.any() and _is_far_below(values, level):
            return np.asarray(flat, bool)
    return np.zeros(len(values), bool)


def _is_far_below(values: Array, level: float) -> bool:
    """Check whether a level is so far below everything else that the flow never comes near it."""
    rest = values[values > level + FLAT * abs(level)]
    return len(rest) > 0 and float(rest.min()) > level / 2 and level < -QUARTER * float(np.quantile(rest, 0.99)) / 1.5


def _flat(values: Array, within: float) -> Flags:
    """Return which readings are at the level of a neighbour."""
    same = np.abs(np.diff(values)) <= within
    return np.concatenate(([False], same)) | np.concatenate((same, [False]))


def saturated(seen: SeriesView) -> Detection:
    """Detect a current that stays at the end of its range, or a reading that stays at or beyond URV."""
    if seen.current is not None:
        at_end = (seen.current >= RANGE_ENDS) & (seen.current < FAULT_HIGH)
        statistic = f"readings in a row at {END_OF_RANGE:g} mA, the end of the range"
        return _plateaus(seen, at_end, "saturated", statistic, AT_END, seen.current, "mA")
    if seen.upper is None:
        return Detection(id="saturated", untested=f"{NO_CURRENT}, and URV is not given")
    statistic = "readings in a row at URV or beyond"
    return _plateaus(
        seen, (seen.data.values >= seen.upper) & ~coded_readings(seen), "saturated", statistic, AT_END, seen.data.values
    )


def _plateaus(
    seen: SeriesView, there: Flags, id: str, statistic: str, least: int, column: Array, unit: str = ""
) -> Detection:
    starts, ends = stretches(there)
    lengths = ends - starts
    longest = float(lengths.max(initial=0))
    kept = lengths >= least
    if not kept.any() and len(column) < FEWEST:
        return Detection(id=id, untested=f"needs {FEWEST} readings")
    if not kept.any():
        sure = longest == 0 and seen.current is not None and len(column) >= MANY
        return Detection(id=id, statistic=statistic, value=longest, limit=float(least), excludes=sure)
    starts, ends = starts[kept], ends[kept]
    seconds = seen.data.times[ends - 1] - seen.data.times[starts] + seen.data.step
    longest_one = int(np.argmax(ends - starts))
    level = float(np.median(column[starts[longest_one] : ends[longest_one]]))
    return Detection(
        id=id,
        present=True,
        statistic=statistic,
        value=longest,
        limit=float(least),
        marks=marks_of(seen.data, starts, ends, column[starts]),
        parameters={"count": float(len(starts)), "longest_seconds": float(seconds.max()), "level": level},
        because=f"{so_often(len(starts))}, the longest for {longest:.0f} readings in a row, "
        f"at {f'{level:.4g} {unit}'.rstrip()}",
        unit=unit,
    )
