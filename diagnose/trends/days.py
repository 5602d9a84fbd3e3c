"""Days of a log: what changes from one day on, as distinct from what changes every day, at weekends or with the season.

A plant's flow follows the clock, so that one day is compared with other days and not one hour with the next. From the
days come three series: their means, their nights (the lowest hours), and their shapes (hourly means over the day's
mean).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.series import Flags, Series

DAY, HOUR = 86400.0, 3600.0

FEWEST = 7
"""Fewest whole days."""

PER_DAY = 8
"""Fewest readings a day for its shape."""

FILLED = 0.75
"""Least share of a day's hours, or of its usual readings, for the day to count."""

NIGHT = 3
"""Hours of the night: the lowest ones in a row."""


@dataclass(frozen=True, slots=True, eq=False)
class Days:
    """The whole days of a log: their starts, hourly means (NaN if none), and which are weekends."""

    starts: Array
    hours: Array
    weekend: Flags

    @property
    def means(self) -> Array:
        """The mean of each day."""
        return np.asarray(np.nanmean(self.hours, axis=1), np.float64)

    @property
    def nights(self) -> Array:
        """The mean of the lowest hours in a row of each day."""
        both = np.concatenate((self.hours, self.hours[:, : NIGHT - 1]), axis=1)
        windows = np.lib.stride_tricks.sliding_window_view(both, NIGHT, axis=1).mean(axis=2)
        return np.asarray(np.nanmin(windows, axis=1), np.float64)


@lru_cache(maxsize=2)
def days_of(data: Series, calendar: bool = True) -> Days | None:
    """Return the whole days of a log, or None if it has too few, or too few readings a day."""
    if not len(data.times) or data.times[-1] - data.times[0] < (FEWEST - 1) * DAY or data.step > DAY / PER_DAY:
        return None
    first = math.floor(data.times[0] / DAY)
    hour = np.floor(data.times / HOUR).astype(np.int64) - first * 24
    count = int(hour[-1]) // 24 + 1
    filled = np.bincount(hour, minlength=count * 24)
    sums = np.bincount(hour, data.values, minlength=count * 24)
    with np.errstate(invalid="ignore"):
        hours = (sums / filled).reshape(count, 24)
    if data.step > HOUR:
        hours = _interpolated(hours)
    whole = np.isfinite(hours).mean(axis=1) >= FILLED
    days = first + np.flatnonzero(whole)
    if len(days) < FEWEST:
        return None
    # 1970-01-01 was a Thursday; elapsed times have no weekends.
    weekend = (days + 3) % 7 >= 5 if calendar and days[0] > 3650 else np.zeros(len(days), bool)
    return Days(days * DAY, hours[whole], weekend)


def _interpolated(hours: Array) -> Array:
    """Return hours with those between readings further apart filled in; days without any stay empty."""
    flat = hours.ravel()
    there = np.flatnonzero(np.isfinite(flat))
    full = np.interp(np.arange(len(flat)), there, flat[there]).reshape(hours.shape)
    full[~np.isfinite(hours).any(axis=1)] = np.nan
    return np.asarray(full, np.float64)
