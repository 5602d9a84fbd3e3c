"""Steady but real: stretches that look stuck but vary in their last digits; and readings with a coarse resolution."""

from __future__ import annotations

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.days import DAY, HOUR, days_of
from diagnose.trends.plant import stands
from diagnose.trends.series import Detection, Flags, Indices, SeriesView, covered, marks_of, so_often, stretches
from diagnose.trends.stuck import level_and_real, stands_still

WIDTH = 10
"""Readings over which the noise is averaged."""

QUIET = 0.12
"""Share of the usual noise below which ten noisy readings fall by chance less than once in ten million."""

COARSE = 1.5
"""Ratio of resolution to noise from which the resolution is coarse (estimate)."""

RATHER_QUIET, OTHER_DAYS = 0.36, 0.2
"""Share of the usual noise below which other days are calm as well, and share of them that is usual (estimate)."""

FEWEST = 40

OFTEN_CALM = 3
"""Most calm stretches that are told: what is calm again and again is what the plant does (estimate)."""


def steady_but_real(seen: SeriesView) -> Detection:
    """Detect steady stretches that vary in the last digits, or that the second meter shows as well."""
    data = seen.data
    if len(data.values) < FEWEST:
        return Detection(id="steady-but-real", untested=f"needs {FEWEST} readings")
    steps = np.abs(np.diff(data.values))
    usual = float(np.median(steps))
    agreed = level_and_real(seen)
    fine = usual > 4 * data.noise.resolution
    if not fine and not agreed.any():
        return Detection(id="steady-but-real", untested="the resolution of the readings is as coarse as their noise")
    usual_there = usual * _share_of_level(data.values)
    calm = _calm(steps, QUIET * usual_there) if fine else np.zeros(len(data.values), bool)
    moving = ~(stands(seen) | (stands_still(seen) & ~agreed) | _at_the_top(data.values))
    starts, ends = stretches((calm | agreed) & moving)
    daily = _recurs(seen, _calm(steps, RATHER_QUIET * usual_there), starts, ends)
    starts, ends = starts[~daily], ends[~daily]
    pairs = list(zip(starts, ends, strict=True))
    kept = np.array([agreed[a:b].any() or len(np.unique(data.values[a:b])) > 2 for a, b in pairs], bool)
    statistic = "longest stretch with less than an eighth of the usual noise, in readings"
    longest = float((ends - starts)[kept].max(initial=0)) if pairs else 0.0
    if not kept.any() or np.count_nonzero(kept) > OFTEN_CALM:
        return Detection(id="steady-but-real", statistic=statistic, value=min(longest, WIDTH), limit=float(WIDTH))
    starts, ends = starts[kept], ends[kept]
    levels = np.array([np.median(data.values[a:b]) for a, b in zip(starts, ends, strict=True)])
    largest = int(np.argmax(ends - starts))
    same = bool(agreed[starts[largest] : ends[largest]].any())
    return Detection(
        id="steady-but-real",
        present=True,
        statistic=statistic,
        value=longest,
        limit=float(WIDTH),
        marks=marks_of(data, starts, ends, levels),
        parameters={"count": float(len(starts)), "level": float(levels[largest])},
        because=f"{so_often(len(starts))}, the longest for {longest:.0f} readings; "
        + ("the second meter is steady as well" if same else "calm, but not dead"),
    )


def _share_of_level(values: Array) -> Array:
    """Return the level of each step over the usual one, from a half to 1: at low flow a meter is calmer."""
    sizes = np.abs(values)
    level = float(np.median(sizes)) or 1.0
    return np.asarray(np.clip(np.maximum(sizes[1:], sizes[:-1]) / level, 0.5, 1.0), np.float64)


def _at_the_top(values: Array) -> Flags:
    """Return which readings are at a highest value that comes again: the end of a range."""
    top = values == values.max()
    return top if np.count_nonzero(top) >= OFTEN_CALM else np.zeros(len(values), bool)


def _recurs(seen: SeriesView, calm: Flags, starts: Indices, ends: Indices) -> Flags:
    """Return which stretches are at hours at which other days, weekends or not, are often calm as well."""
    found = np.zeros(len(starts), bool)
    days = days_of(seen.data)
    if days is None:
        return found
    hour = (seen.data.times % DAY // HOUR).astype(np.int64)
    day = np.floor(seen.data.times / DAY)
    weekend = np.isin(day, days.starts[days.weekend] / DAY)
    for number, (start, end) in enumerate(zip(starts, ends, strict=True)):
        alike = np.isin(hour, hour[start:end]) & (weekend == weekend[start]) & ~np.isin(day, day[start:end])
        found[number] = alike.any() and float(calm[alike].mean()) >= OTHER_DAYS
    return found


def _calm(steps: Array, least: Array) -> Flags:
    """Return which readings belong to a window of small steps; there is one more reading than steps."""
    sums = np.concatenate(([0.0], np.cumsum(steps)))
    means = (sums[WIDTH - 1 :] - sums[: -(WIDTH - 1)]) / (WIDTH - 1)
    small = np.flatnonzero(means < least[: len(means)])
    return covered(small, small + WIDTH, len(steps) + 1)


def quantised(seen: SeriesView) -> Detection:
    """Detect readings whose resolution is coarser than their noise."""
    noise = seen.data.noise
    statistic = "resolution of the readings over their noise"
    if len(seen.data.values) < FEWEST:
        return Detection(id="quantised", untested=f"needs {FEWEST} readings")
    if noise.resolution == 0.0 or noise.sd == 0.0:
        return Detection(id="quantised", statistic=statistic, value=0.0, limit=COARSE)
    ratio = noise.resolution / noise.sd
    if ratio <= COARSE:
        return Detection(id="quantised", statistic=statistic, value=ratio, limit=COARSE)
    return Detection(
        id="quantised",
        present=True,
        statistic=statistic,
        value=ratio,
        limit=COARSE,
        parameters={"step": noise.resolution, "noise": noise.sd},
        because=f"readings have a resolution of {noise.resolution:.3g}, {ratio:.2g} times their noise",
    )
