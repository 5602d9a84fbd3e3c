"""Drift: the level changes slowly over the whole log, as distinct from daily cycles, the flow itself and a single step.

Medians of whole days take out the daily cycle of a plant; with a second meter, which takes out the flow itself, shorter
stretches are enough. The test is Mann-Kendall (Mann 1945, Kendall 1975), the slope Theil-Sen (Theil 1950, Sen 1968);
autocorrelation inflates the variance (Yue and Wang 2004).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.plant import flowing_with, stands
from diagnose.trends.series import Detection, Mark, SeriesView, autocorrelation, limit

DAY = 86400.0
FEWEST = 7
"""Fewest means for a test; no order of six is rarer than one in a hundred."""

FEWEST_DAYS = 10
"""Fewest days when nothing stands beside the flow: in a week, its weekend at one end looks like a drift."""

MOST = 200
"""Most means that are compared with each other."""

IN_A_STRETCH = 20
"""Readings per mean when there is a second meter."""

LEAST_FILLED = 0.75
"""Least share of a usual day's readings for a day to count: half a day has a different median from a whole one."""

STEP_COSTS = 2.0
"""Additional parameters of a step over a line: its position, counted twice (Bayesian information criterion)."""

NORMAL_95 = 1.96
"""Normal quantile of the confidence interval (95 %)."""

SEASON = 0.005
"""Share of the level a day by which the flow of a healthy plant may change for weeks: a season of a year that goes up
and down by three tenths changes by 2 pi 0.3 / 365 = 0.5 % a day. What is slower is told only beside a second meter."""

STATISTIC = "trend of the means (Mann-Kendall, in standard deviations)"


@dataclass(frozen=True, slots=True)
class StretchMeans:
    """Means of stretches of a log, their mean times, and the flow by the second meter, if any."""

    times: Array
    values: Array
    flow: Array | None = None


def drift(seen: SeriesView) -> Detection:
    """Detect a drift of the level over the whole log."""
    means = _means(seen)
    beside = growth_beside(seen)
    fewest = FEWEST if seen.second is not None else FEWEST_DAYS
    if len(means.values) < fewest:
        wanted = "stretches with both meters" if seen.second is not None else "days of readings, or a second meter"
        return Detection(id="drift", untested=f"needs {fewest} {wanted}: a daily cycle looks like a drift")
    least = limit(1 if beside is None else 2)
    values = means.values if means.flow is None else means.values - _scaled(means)
    value = order(means.times, values)
    if means.flow is not None:
        value = _weaker_if_concordant(
            value, order(residuals_on(means.flow, means.times), residuals_on(means.flow, means.values))
        )
    if beside and abs(beside.value) > abs(value):
        means, values, value = beside.means, beside.means.values * seen.data.level, beside.value
    slow = means.flow is None and abs(theil_sen(means.times, values)[0]) * DAY <= SEASON * seen.data.level
    if abs(value) <= least or slow or is_step(means.times, values):
        return Detection(id="drift", statistic=STATISTIC, value=min(abs(value), least), limit=least)
    return _detected(seen, means, values, abs(value), least)


@dataclass(frozen=True, slots=True)
class Growth:
    """How the difference from the second meter, as a share of the flow, changes over the log: from first to last."""

    means: StretchMeans
    value: float
    first: float
    last: float
    least: float

    @property
    def is_sure(self) -> bool:
        """Whether it is more than chance, and grows rather than steps."""
        return abs(self.value) > self.least and not is_step(self.means.times, self.means.values)

    @property
    def most(self) -> float:
        """The larger difference of both ends."""
        return max(self.first, self.last, key=abs)

    @property
    def between(self) -> tuple[float, float]:
        """The times of both ends."""
        return float(self.means.times[0]), float(self.means.times[-1])


def growth_beside(seen: SeriesView) -> Growth | None:
    """Return how the difference from the second meter grows; None without one, or with too few readings.

    As a share of the flow, what creeps by a factor does so at every hour of the day. What a fixed amount between both
    makes of a flow that rises, c / Q, is taken out as well.
    """
    if seen.second is None:
        return None
    flowing = flowing_with(seen, seen.second)
    own, others = seen.data.values[flowing], seen.second[flowing]
    means = _of_stretches(seen.data.times[flowing], own / others - 1, 1 / others)
    if len(means.values) < FEWEST or means.flow is None:
        return None
    times, shares = means.times, means.values
    value = _weaker_if_concordant(
        order(times, shares), order(residuals_on(means.flow, times), residuals_on(means.flow, shares))
    )
    slope, middle = theil_sen(times, shares)[0], float(np.median(times))
    first, last = (float(np.median(shares)) + slope * (float(end) - middle) for end in (times[0], times[-1]))
    return Growth(means, value, first, last, limit(2))


def _detected(seen: SeriesView, means: StretchMeans, values: Array, value: float, least: float) -> Detection:
    slope, low, high = theil_sen(means.times, values)
    span = float(means.times[-1] - means.times[0])
    level = seen.data.level
    what = "the difference to the second meter" if means.flow is not None else "the median of a day"
    percent = {"change_percent": 100 * slope * span / level} if level else {}
    return Detection(
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


def _weaker_if_concordant(one: float, other: float) -> float:
    """Return the smaller of two statistics with the same sign, otherwise 0."""
    return math.copysign(min(abs(one), abs(other)), one) if one * other > 0 else 0.0


def order(times: Array, values: Array) -> float:
    """Return the Mann-Kendall statistic in standard deviations, corrected for autocorrelation."""
    slope = theil_sen(times, values)[0]
    return mann_kendall(times, values) / math.sqrt(variance_inflation(values - slope * times))


def variance_inflation(rest: Array) -> float:
    """Return the factor by which autocorrelation inflates the variance; insignificant autocorrelation is ignored."""
    rho = autocorrelation(rest)
    # It is corrected for the bias of short series already; below this it is what white noise shows by chance.
    return (1 + rho) / (1 - rho) if rho > 1 / math.sqrt(len(rest)) else 1.0


def mann_kendall(times: Array, values: Array) -> float:
    """Return Kendall's S over its standard deviation, corrected for ties: var S = n(n-1)(2n+5)/18 without ties.

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
    """Return the Theil-Sen slope and its 95 % confidence limits (Sen 1968), corrected for autocorrelation.

    >>> theil_sen(np.arange(5.0), np.array([1.0, 2.0, 3.0, 4.0, 50.0]))[0]
    1.0
    """
    one, other = np.triu_indices(len(values), 1)
    spacings = times[other] - times[one]
    distinct = spacings != 0
    if not distinct.any():
        return 0.0, 0.0, 0.0
    slopes = np.sort((values[other] - values[one])[distinct] / spacings[distinct])
    slope = float(np.median(slopes))
    count, pairs = len(values), len(slopes)
    wide = NORMAL_95 * math.sqrt(
        count * (count - 1) * (2 * count + 5) / 18 * variance_inflation(values - slope * times)
    )
    low = max(0, math.floor((pairs - wide) / 2))
    return slope, float(slopes[low]), float(slopes[pairs - 1 - low])


def residuals_on(flow: Array, values: Array) -> Array:
    """Return the residuals of values from a least-squares line on the flow."""
    along = flow - flow.mean()
    square = float(along @ along)
    rest = values - values.mean()
    return np.asarray(rest - float(along @ rest) / square * along if square else rest, np.float64)


def _scaled(means: StretchMeans) -> Array:
    """Return the flow scaled by the ratio of the medians: a factor alone is not a drift."""
    if means.flow is None:
        return np.zeros_like(means.values)
    middle = float(np.median(means.flow))
    return means.flow * (float(np.median(means.values)) / middle if middle else 1.0)


def is_step(times: Array, values: Array) -> bool:
    """Check whether a single step fits the means better than a straight line: then it is not a drift.

    >>> is_step(np.arange(20.0), (np.arange(20) > 8) * 1.0), is_step(np.arange(20.0), np.arange(20.0))
    (True, False)
    """
    line = residuals_on(times, values)
    count = len(values)
    before = np.arange(2, count - 1)
    if not len(before):
        return False
    centred = values - values.mean()
    sums = np.cumsum(centred)[before - 1]
    by_step = float(centred @ centred - np.max(sums**2 * count / (before * (count - before))))
    return bool(by_step * count ** (STEP_COSTS / count) < float(line @ line))


def _means(seen: SeriesView) -> StretchMeans:
    times, values = seen.data.times, seen.data.values
    used = ~stands(seen)
    if seen.second is None:
        return _of_days(times[used], values[used], seen.data.step)
    used &= np.isfinite(seen.second)
    return _of_stretches(times[used], values[used], seen.second[used])


def _of_stretches(times: Array, values: Array, second: Array) -> StretchMeans:
    """Return the means of stretches of equal length."""
    count = min(MOST, len(values) // IN_A_STRETCH)
    if count < 1:
        return StretchMeans(times[:0], values[:0], second[:0])
    ends = np.linspace(0, len(values), count + 1).astype(np.intp)
    sizes = np.diff(ends)
    return StretchMeans(*(np.add.reduceat(column, ends[:-1]) / sizes for column in (times, values, second)))


def _of_days(times: Array, values: Array, step: float) -> StretchMeans:
    """Return the medians of whole days, or of groups of days if there are many; days with gaps are left out."""
    if not len(times):
        return StretchMeans(times, values)
    length = max(DAY, step)
    length *= max(1, math.ceil((times[-1] - times[0]) / length / MOST))
    places = ((times - times[0]) // length).astype(np.intp)
    starts = np.flatnonzero(np.diff(places, prepend=-1))
    ends = np.append(starts[1:], len(places))
    full = ends - starts >= LEAST_FILLED * float(np.median(ends - starts))
    kept = [(a, b) for a, b, whole in zip(starts, ends, full, strict=True) if whole]
    return StretchMeans(
        np.array([times[a:b].mean() for a, b in kept]), np.array([np.median(values[a:b]) for a, b in kept])
    )
