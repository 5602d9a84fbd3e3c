"""Drift: the level creeps over the whole log, told from a daily cycle and from a single step.

A plant has its days, so that means of whole days are taken; a second meter beside the readings takes the flow itself
out of them, and then shorter stretches do. Mann (1945) and Kendall (1975) test, Theil (1950) and Sen (1968) size it;
the memory of the means widens the limit (Yue and Wang 2004).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from diagnose.analyses.amounts import Array
from diagnose.analyses.trend_series import Mark, Seen, Sign, autocorrelation, limit

DAY = 86400.0
FEWEST = 7
"""Means of days, or of shorter stretches, that a drift is told from; no order of six is rarer than one in a hundred."""

MOST = 200
"""Means that are held against each other, at most."""

FILLED = 0.25
"""Share of the usual number of readings that a day must have to count."""


@dataclass(frozen=True, slots=True)
class Means:
    """Means of stretches of a log, and their times in the middle."""

    times: Array
    values: Array


def drift(seen: Seen) -> Sign:
    """Return whether the level creeps from the beginning of a log to its end."""
    against_second = seen.second is not None
    means = _means(seen)
    if len(means.values) < FEWEST:
        wanted = "stretches with both meters" if against_second else "days of readings, or a second meter beside them"
        return Sign(id="drift", untested=f"needs {FEWEST} {wanted}")
    slope = theil_sen(means.times, means.values)
    rest = means.values - slope * means.times
    memory = max(0.0, autocorrelation(rest))
    value = abs(mann_kendall(means.values)) / math.sqrt((1 + memory) / (1 - memory))
    least, statistic = limit(1), "order of the means from first to last (Mann-Kendall, in standard deviations)"
    span = float(means.times[-1] - means.times[0])
    change = slope * span
    if value <= least or _is_step(means, slope):
        return Sign(id="drift", statistic=statistic, value=min(value, least), limit=least)
    what = "the difference to the second meter" if against_second else "the mean of a day"
    return Sign(
        id="drift",
        present=True,
        statistic=statistic,
        value=value,
        limit=least,
        marks=(Mark(float(means.times[0]), float(means.times[-1]), change),),
        parameters={"change": change, "change_per_day": slope * DAY, "means": float(len(means.values))},
        because=f"{what} changes by {change:+.3g} over the log, {slope * DAY:+.2g} a day",
    )


def mann_kendall(values: Array) -> float:
    """Return Kendall's S over its standard deviation, ties counted: var S = n(n-1)(2n+5)/18 without ties.

    >>> round(mann_kendall(np.array([1.0, 2.0, 3.0, 4.0, 50.0])), 4)
    2.2045
    """
    count = len(values)
    s = float(np.sign(values[None, :] - values[:, None])[np.triu_indices(count, 1)].sum())
    _, ties = np.unique(values, return_counts=True)
    tied = float(np.sum(ties * (ties - 1) * (2 * ties + 5)))
    variance = (count * (count - 1) * (2 * count + 5) - tied) / 18
    return 0.0 if s == 0 or variance <= 0 else (s - math.copysign(1, s)) / math.sqrt(variance)


def theil_sen(times: Array, values: Array) -> float:
    """Return the median of the slopes of all pairs.

    >>> theil_sen(np.arange(5.0), np.array([1.0, 2.0, 3.0, 4.0, 50.0]))
    1.0
    """
    one, other = np.triu_indices(len(values), 1)
    apart = times[other] - times[one]
    told = apart != 0
    if not told.any():
        return 0.0
    return float(np.median((values[other] - values[one])[told] / apart[told]))


def _means(seen: Seen) -> Means:
    times, values = seen.data.times, seen.data.values
    if seen.second is not None:
        both = np.isfinite(seen.second)
        return _of_stretches(times[both], values[both] - seen.second[both], seen.data.step)
    return _of_days(times, values, seen.data.step)


def _of_stretches(times: Array, values: Array, step: float) -> Means:
    """Return means of even stretches, twenty readings or more in each."""
    count = min(MOST, len(values) // 20)
    if count < 1:
        return Means(times[:0], values[:0])
    parts = np.array_split(np.arange(len(values)), count)
    return Means(*(np.array([column[part].mean() for part in parts]) for column in (times, values)))


def _of_days(times: Array, values: Array, step: float) -> Means:
    """Return medians of whole days, or of several together where there are many; those with holes are left out."""
    length = max(DAY, step)
    length *= max(1, math.ceil((times[-1] - times[0]) / length / MOST))
    places = ((times - times[0]) // length).astype(np.intp)
    starts = np.flatnonzero(np.diff(places, prepend=-1))
    ends = np.append(starts[1:], len(places))
    full = ends - starts >= FILLED * max(1.0, length / step)
    kept = [(a, b) for a, b, whole in zip(starts, ends, full, strict=True) if whole]
    return Means(np.array([times[a:b].mean() for a, b in kept]), np.array([np.median(values[a:b]) for a, b in kept]))


def _is_step(means: Means, slope: float) -> bool:
    """Tell whether one step explains the means better than a straight line: then it is no drift."""
    values = means.values
    line = values - slope * means.times
    by_line = float(np.sum((line - line.mean()) ** 2))
    places = range(2, len(values) - 1)
    by_step = min(
        (float(values[:at].var() * at + values[at:].var() * (len(values) - at)) for at in places), default=math.inf
    )
    return by_step < by_line
