"""Drift: the level creeps over the whole log, told from a plant's day, from the flow itself and from a single step.

A plant has its days, so that medians of whole days are taken. A second meter takes the flow itself out, and shorter
stretches do. Mann (1945) and Kendall (1975) test, Theil (1950) and Sen (1968) size it; memory widens the limit
(Yue and Wang 2004).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from diagnose.analyses.amounts import Array
from diagnose.analyses.trend_series import Mark, Seen, Sign, autocorrelation, limit

DAY = 86400.0
FEWEST = 7
"""Means that a drift is told from; no order of six is rarer than one in a hundred."""

MOST = 200
"""Means that are held against each other, at most."""

IN_A_STRETCH = 20
"""Readings of both meters whose mean counts as one."""

FILLED = 0.75
"""Share of a usual day's readings that a day must have to count: half a day has another median than a whole one."""

STEP_COSTS = 2.0
"""Amounts that a step has more to choose than a line has to: where it is, counted twice (Bayesian criterion)."""

SIDES = 1.96
"""Standard deviations of the interval that is told (95 %)."""

STATISTIC = "order of the means from first to last (Mann-Kendall, in standard deviations)"


@dataclass(frozen=True, slots=True)
class Means:
    """Means of stretches of a log, times in their middle, and the flow beside them where a second meter tells it."""

    times: Array
    values: Array
    flow: Array | None = None


def drift(seen: Seen) -> Sign:
    """Return whether the level creeps from the beginning of a log to its end."""
    means = _means(seen)
    if len(means.values) < FEWEST:
        wanted = "stretches with both meters" if seen.second is not None else "days of readings, or a second meter"
        return Sign(id="drift", untested=f"needs {FEWEST} {wanted}: a plant's day looks like a drift")
    least = limit(1)
    values = means.values if means.flow is None else means.values - _scaled(means)
    value = order(means.times, values)
    if means.flow is not None:
        value = _surely(value, order(without(means.flow, means.times), without(means.flow, means.values)))
    if abs(value) <= least or is_step(means.times, values):
        return Sign(id="drift", statistic=STATISTIC, value=min(abs(value), least), limit=least)
    return _told(seen, means, values, abs(value), least)


def _told(seen: Seen, means: Means, values: Array, value: float, least: float) -> Sign:
    slope, low, high = theil_sen(means.times, values)
    span = float(means.times[-1] - means.times[0])
    level = seen.data.level
    what = "the difference to the second meter" if means.flow is not None else "the median of a day"
    percent = {"change_percent": 100 * slope * span / level} if level else {}
    return Sign(
        id="drift",
        present=True,
        statistic=STATISTIC,
        value=value,
        limit=least,
        marks=(Mark(float(means.times[0]), float(means.times[-1]), slope * span),),
        parameters={
            "change": slope * span,
            "change_at_lowest": low * span,
            "change_at_highest": high * span,
            "change_per_day": slope * DAY,
            **percent,
            "means": float(len(values)),
        },
        because=f"{what} changes by {slope * span:+.3g} over the log ({low * span:+.3g} to {high * span:+.3g}), "
        f"{slope * DAY:+.2g} a day",
    )


def _surely(one: float, other: float) -> float:
    """Return the lesser of two statistics that agree in their direction, 0 where they do not."""
    return math.copysign(min(abs(one), abs(other)), one) if one * other > 0 else 0.0


def order(times: Array, values: Array) -> float:
    """Return Mann and Kendall's statistic in standard deviations, less where values remember those before them."""
    slope = theil_sen(times, values)[0]
    return mann_kendall(times, values) / math.sqrt(widened(values - slope * times))


def widened(rest: Array) -> float:
    """Return by how much memory widens the variance of means; memory that chance makes is not counted."""
    memory = autocorrelation(rest)
    # The bias of short series is in it already: what is left below this is what white noise shows by chance.
    return (1 + memory) / (1 - memory) if memory > 1 / math.sqrt(len(rest)) else 1.0


def mann_kendall(times: Array, values: Array) -> float:
    """Return Kendall's S over its standard deviation, ties of values counted: var S = n(n-1)(2n+5)/18 without them.

    >>> round(mann_kendall(np.arange(5.0), np.array([1.0, 2.0, 3.0, 4.0, 50.0])), 4)
    2.2045
    """
    count = len(values)
    one, other = np.triu_indices(count, 1)
    s = float(np.sum(np.sign(times[other] - times[one]) * np.sign(values[other] - values[one])))
    _, ties = np.unique(values, return_counts=True)
    tied = float(np.sum(ties * (ties - 1) * (2 * ties + 5)))
    variance = (count * (count - 1) * (2 * count + 5) - tied) / 18
    return 0.0 if s == 0 or variance <= 0 else (s - math.copysign(1, s)) / math.sqrt(variance)


def theil_sen(times: Array, values: Array) -> tuple[float, float, float]:
    """Return the median of the slopes of all pairs, and the ends of its interval of 95 % (Sen 1968), memory counted.

    >>> theil_sen(np.arange(5.0), np.array([1.0, 2.0, 3.0, 4.0, 50.0]))[0]
    1.0
    """
    one, other = np.triu_indices(len(values), 1)
    apart = times[other] - times[one]
    told = apart != 0
    if not told.any():
        return 0.0, 0.0, 0.0
    slopes = np.sort((values[other] - values[one])[told] / apart[told])
    slope = float(np.median(slopes))
    count, pairs = len(values), len(slopes)
    wide = SIDES * math.sqrt(count * (count - 1) * (2 * count + 5) / 18 * widened(values - slope * times))
    low = max(0, math.floor((pairs - wide) / 2))
    return slope, float(slopes[low]), float(slopes[pairs - 1 - low])


def without(flow: Array, values: Array) -> Array:
    """Return what is left of values when a line through the flow is taken out."""
    along = flow - flow.mean()
    square = float(along @ along)
    rest = values - values.mean()
    return np.asarray(rest - float(along @ rest) / square * along if square else rest, np.float64)


def _scaled(means: Means) -> Array:
    """Return the flow as the meter would show it, by the ratio of the medians: the factor alone is no drift."""
    if means.flow is None:
        return np.zeros_like(means.values)
    middle = float(np.median(means.flow))
    return means.flow * (float(np.median(means.values)) / middle if middle else 1.0)


def is_step(times: Array, values: Array) -> bool:
    """Tell whether one step explains the means better than a straight line: then it is no drift.

    >>> is_step(np.arange(20.0), (np.arange(20) > 8) * 1.0), is_step(np.arange(20.0), np.arange(20.0))
    (True, False)
    """
    line = without(times, values)
    count = len(values)
    before = np.arange(2, count - 1)
    if not len(before):
        return False
    centred = values - values.mean()
    sums = np.cumsum(centred)[before - 1]
    by_step = float(centred @ centred - np.max(sums**2 * count / (before * (count - before))))
    return bool(by_step * count ** (STEP_COSTS / count) < float(line @ line))


def _means(seen: Seen) -> Means:
    times, values = seen.data.times, seen.data.values
    used = np.ones(len(values), bool) if seen.running is None else seen.running != 0
    if seen.second is None:
        return _of_days(times[used], values[used], seen.data.step)
    used &= np.isfinite(seen.second)
    return _of_stretches(times[used], values[used], seen.second[used])


def _of_stretches(times: Array, values: Array, second: Array) -> Means:
    """Return means of even stretches."""
    count = min(MOST, len(values) // IN_A_STRETCH)
    if count < 1:
        return Means(times[:0], values[:0], second[:0])
    ends = np.linspace(0, len(values), count + 1).astype(np.intp)
    sizes = np.diff(ends)
    return Means(*(np.add.reduceat(column, ends[:-1]) / sizes for column in (times, values, second)))


def _of_days(times: Array, values: Array, step: float) -> Means:
    """Return medians of whole days, or of several together where there are many; those with holes are left out."""
    if not len(times):
        return Means(times, values)
    length = max(DAY, step)
    length *= max(1, math.ceil((times[-1] - times[0]) / length / MOST))
    places = ((times - times[0]) // length).astype(np.intp)
    starts = np.flatnonzero(np.diff(places, prepend=-1))
    ends = np.append(starts[1:], len(places))
    full = ends - starts >= FILLED * float(np.median(ends - starts))
    kept = [(a, b) for a, b, whole in zip(starts, ends, full, strict=True) if whole]
    return Means(np.array([times[a:b].mean() for a, b in kept]), np.array([np.median(values[a:b]) for a, b in kept]))
