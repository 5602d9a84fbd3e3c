"""The loop current beside the readings, held against NAMUR NE 43: fault level, and the end of the range."""

from __future__ import annotations

import math

import numpy as np

from diagnose.analyses.amounts import Array
from diagnose.analyses.trend_series import Flags, Seen, Sign, marks_of, so_often, stretches

FAULT_LOW, FAULT_HIGH = 3.6, 21.0
"""Currents [mA] at and beyond which a signal means a fault (NAMUR NE 43)."""

END_OF_RANGE = 20.5
"""Current [mA] at which the measuring range ends (NAMUR NE 43)."""

NEAR = 0.05
"""How near [mA] to the end of the range a current counts as there."""

LASTING = 2
"""Readings that make a plateau at least."""

SECONDS = 4.0
"""How long a fault current lasts at least (NAMUR NE 43); what is shorter may be a start or a disturbance."""

AT_END = 3
"""Readings in a row at the end of the range that are no passing peak."""

FEWEST = 10
"""Readings from which it counts that nothing was seen."""

NO_CURRENT = "no loop current beside the readings"


def fault_current(seen: Seen) -> Sign:
    """Return whether the loop current stays at its fault level.

    >>> import numpy as np
    >>> from diagnose.analyses.trend_series import series
    >>> data = series(np.arange(6.0) * 10, np.zeros(6), 10.0)
    >>> found = fault_current(Seen(data=data, current=np.array([12.0, 12.1, 3.5, 3.5, 3.5, 12.0])))
    >>> found.present, found.value
    (True, 3.0)
    """
    if seen.current is None:
        return Sign(id="fault-current", untested=NO_CURRENT)
    low, high = seen.current <= FAULT_LOW, seen.current >= FAULT_HIGH
    statistic = f"readings in a row at or below {FAULT_LOW:g} mA, or at or above {FAULT_HIGH:g} mA"
    least = max(LASTING, math.ceil(SECONDS / seen.data.step)) if seen.data.step > 0 else LASTING
    return _plateaus(seen, low | high, "fault-current", statistic, least, seen.current, "mA")


def saturated(seen: Seen) -> Sign:
    """Return whether the current stays at the end of its range, or the reading beyond URV."""
    if seen.current is not None:
        at_end = (seen.current >= END_OF_RANGE - NEAR) & (seen.current < FAULT_HIGH)
        statistic = f"readings in a row with {END_OF_RANGE:g} mA, where the range ends"
        return _plateaus(seen, at_end, "saturated", statistic, AT_END, seen.current, "mA")
    if seen.upper is None:
        return Sign(id="saturated", untested=f"{NO_CURRENT}, and URV is not said")
    statistic = "readings in a row at URV or beyond"
    return _plateaus(seen, seen.data.values >= seen.upper, "saturated", statistic, AT_END, seen.data.values)


def _plateaus(seen: Seen, there: Flags, id: str, statistic: str, least: int, column: Array, unit: str = "") -> Sign:
    starts, ends = stretches(there)
    lengths = ends - starts
    longest = float(lengths.max(initial=0))
    kept = lengths >= least
    if not kept.any() and len(column) < FEWEST:
        return Sign(id=id, untested=f"needs {FEWEST} readings")
    if not kept.any():
        return Sign(id=id, statistic=statistic, value=longest, limit=float(least))
    starts, ends = starts[kept], ends[kept]
    seconds = seen.data.times[ends - 1] - seen.data.times[starts] + seen.data.step
    longest_one = int(np.argmax(ends - starts))
    level = float(np.median(column[starts[longest_one] : ends[longest_one]]))
    return Sign(
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
