"""What a plant does by itself: its stops, seen in the flow where no column tells of them, are no fault of a meter."""

from __future__ import annotations

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.series import Flags, SeriesView, covered, stretches

STOPPED = 0.02
"""Share of the usual flow up to which a plant stands (estimate: what a cut-off hides, and a zero a little off)."""

BLIP = 0.05
"""Share of the usual flow up to which single readings do not end a stop (estimate)."""

OFTEN = 0.95
"""Quantile that is the usual flow: a pump may stand most of the time."""

FLOWS = 0.1
"""Share of the usual flow from which there is flow."""

LEAST_STOP = 3
"""Fewest readings of a stop; fewer are a drop-out."""

USUAL_STOPS, USUAL_SHARE = 3, 0.05
"""Number of longer stops, or their share of the log, from which standing is part of what the plant does (estimate)."""

LONG_STOP = 7
"""Readings from which a stop is longer than what passes for a drop-out."""


def stands(seen: SeriesView) -> Flags:
    """Return where the plant stands: as told, otherwise where the flow falls to zero and comes back.

    A flow that falls to zero once and stays there is not taken for a stop.

    >>> import numpy as np
    >>> from diagnose.trends.series import series
    >>> flow = np.array([8.0, 9.0, 0.0, 0.0, 0.0, 8.0, 9.0])
    >>> stands(SeriesView(data=series(np.arange(7.0), flow, 1.0))).astype(int).tolist()
    [0, 0, 1, 1, 1, 0, 0]
    """
    if seen.running is not None:
        return np.asarray(seen.running == 0, bool)
    sizes = np.abs(seen.data.values)
    usual = float(np.quantile(sizes, OFTEN))
    # A reading or two of noise do not end a stop.
    moves, stops = stretches(sizes > STOPPED * usual)
    blips = [a for a, b in zip(moves, stops, strict=True) if b - a < LEAST_STOP and sizes[a:b].max() <= BLIP * usual]
    low = sizes <= STOPPED * usual
    for start in blips:
        low[start : start + LEAST_STOP - 1] |= sizes[start : start + LEAST_STOP - 1] <= BLIP * usual
    starts, ends = stretches(low)
    long = ends - starts >= LEAST_STOP
    starts, ends = starts[long], ends[long]
    if not ((starts > 0) & (ends < len(sizes))).any():
        return np.zeros(len(sizes), bool)
    return covered(starts, ends, len(sizes))


def stops_usually(stopped: Flags) -> bool:
    """Check whether stops are part of what the plant does."""
    starts, ends = stretches(stopped)
    often = int(np.count_nonzero(ends - starts > LONG_STOP)) >= USUAL_STOPS
    return often or float(stopped.mean()) > USUAL_SHARE


def near(flags: Flags, reach: int) -> Flags:
    """Return which readings are within so many readings of a flag.

    >>> near(np.array([False, False, True, False, False]), 1).astype(int).tolist()
    [0, 1, 1, 1, 0]
    """
    starts, ends = stretches(flags)
    return covered(np.maximum(starts - reach, 0), np.minimum(ends + reach, len(flags)), len(flags))


def comparable_with(seen: SeriesView, second: Array) -> Flags:
    """Return where both meters have a reading and the pump runs."""
    there = np.isfinite(second)
    return np.asarray(there & ~stands(seen), bool)


def flowing_with(seen: SeriesView, second: Array) -> Flags:
    """Return where the two meters can be compared: the pump runs and there is flow."""
    sizes, there = np.abs(second), comparable_with(seen, second)
    if not there.any():
        return there
    usual = float(np.quantile(sizes[there], OFTEN))
    return np.asarray(there & (sizes > FLOWS * usual), bool)
