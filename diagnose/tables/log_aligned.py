"""Two channels with clocks of their own, brought to the times of one of them."""

from __future__ import annotations

import numpy as np

from diagnose.tables.arrays import Array

REACH = 2.0
"""Usual steps over which a value between two readings is still known."""


def at_times(wanted: Array, step: float, times: Array, values: Array) -> Array:
    """Return a channel at other times: means where it is read more often, a line between readings where it is not.

    Times further than `REACH` usual steps from a reading have none.

    >>> at_times(np.array([0.0, 5.0, 60.0]), 5.0, np.array([0.0, 10.0]), np.array([1.0, 2.0])).tolist()
    [1.0, 1.5, nan]
    """
    there = np.isfinite(values)
    times, values = times[there], values[there]
    if len(times) < 2:
        return np.full(len(wanted), np.nan)
    usual = float(np.median(np.diff(times)))
    found = _means(wanted, step, times, values) if usual < 0.6 * step else np.interp(wanted, times, values)
    behind = np.clip(np.searchsorted(times, wanted), 1, len(times) - 1)
    nearest = np.minimum(np.abs(times[behind] - wanted), np.abs(times[behind - 1] - wanted))
    return np.where(nearest <= REACH * max(usual, step) / 2, found, np.nan)


def _means(wanted: Array, step: float, times: Array, values: Array) -> Array:
    """Return the means of the readings within half a step of each time."""
    sums = np.concatenate(([0.0], np.cumsum(values)))
    first, last = np.searchsorted(times, wanted - step / 2), np.searchsorted(times, wanted + step / 2)
    counts = last - first
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray((sums[last] - sums[first]) / counts, np.float64)


def held_at(wanted: Array, times: Array, values: Array) -> Array:
    """Return a state at other times: it holds until it is written anew.

    >>> held_at(np.array([0.0, 5.0, 20.0]), np.array([3.0, 10.0]), np.array([1.0, 0.0])).tolist()
    [nan, 1.0, 0.0]
    """
    place = np.searchsorted(times, wanted, side="right") - 1
    return np.where(place >= 0, values[np.maximum(place, 0)], np.nan)
