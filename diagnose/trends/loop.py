"""Loop current compared with the signal levels of NAMUR NE 43: failure signal and end of the range."""

from __future__ import annotations

import math

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.series import Detection, Flags, SeriesView, marks_of, so_often, stretches

FAULT_LOW, FAULT_HIGH = 3.6, 21.0
"""Currents [mA] at and beyond which the signal means a failure (NAMUR NE 43)."""

END_OF_RANGE = 20.5
"""Current [mA] at which the measuring range ends (NAMUR NE 43)."""

NEAR = 0.05
"""Tolerance [mA] for a current to be at the end of the range."""

LASTING = 2
"""Fewest readings of a plateau."""

SECONDS = 4.0
"""Least duration [s] of a failure signal (NAMUR NE 43); a shorter one may be a start-up or a disturbance."""

AT_END = 3
"""Fewest readings in a row at the end of the range that are more than a passing peak."""

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
    if seen.current is None:
        return Detection(id="fault-current", untested=NO_CURRENT)
    low, high = seen.current <= FAULT_LOW, seen.current >= FAULT_HIGH
    statistic = f"readings in a row at or below {FAULT_LOW:g} mA, or at or above {FAULT_HIGH:g} mA"
    least = max(LASTING, math.ceil(SECONDS / seen.data.step)) if seen.data.step > 0 else LASTING
    return _plateaus(seen, low | high, "fault-current", statistic, least, seen.current, "mA")


def saturated(seen: SeriesView) -> Detection:
    """Detect a current that stays at the end of its range, or a reading that stays at or beyond URV."""
    if seen.current is not None:
        at_end = (seen.current >= END_OF_RANGE - NEAR) & (seen.current < FAULT_HIGH)
        statistic = f"readings in a row at {END_OF_RANGE:g} mA, the end of the range"
        return _plateaus(seen, at_end, "saturated", statistic, AT_END, seen.current, "mA")
    if seen.upper is None:
        return Detection(id="saturated", untested=f"{NO_CURRENT}, and URV is not given")
    statistic = "readings in a row at URV or beyond"
    return _plateaus(seen, seen.data.values >= seen.upper, "saturated", statistic, AT_END, seen.data.values)


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
        return Detection(id=id, statistic=statistic, value=longest, limit=float(least))
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
