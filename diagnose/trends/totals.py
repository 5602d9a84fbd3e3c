"""Totalisers: a total that jumps back, and one that stands while others days it counts."""

from __future__ import annotations

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.series import Detection, Mark, SeriesView, so_often, stretches

NO_TOTAL = "no total in the log"
HOUR = 3600.0
STEPS = 20.0
"""Steps of the total that were due while it stood: by chance (Poisson) less than once in a hundred million logs."""

LASTING = 2
"""Fewest readings of a stand."""

MOST = 3
"""Most stands; a plant that stops more often does so by itself (estimate)."""


def total_back(seen: SeriesView) -> Detection:
    """Detect a total that is lower than before and has not rolled over."""
    total = seen.total
    if total is None:
        return Detection(id="total-back", untested=NO_TOTAL)
    statistic = "jumps back of the total"
    if not len(total.back):
        return Detection(id="total-back", statistic=statistic, value=0.0, limit=1.0)
    sizes = total.values[total.back] - total.values[total.back - 1]
    largest = float(sizes.min())
    return Detection(
        id="total-back",
        present=True,
        statistic=statistic,
        value=float(len(sizes)),
        limit=1.0,
        marks=tuple(
            Mark(float(total.times[at - 1]), float(total.times[at]), float(size))
            for at, size in zip(total.back.tolist(), sizes.tolist(), strict=True)
        ),
        parameters={"count": float(len(sizes)), "largest": largest},
        because=f"{so_often(len(sizes))}, by up to {-largest:.4g} {total.unit}",
        unit=total.unit,
    )


def total_stands(seen: SeriesView) -> Detection:
    """Detect a total that stands for a while at hours at which it counts on other days."""
    total = seen.total
    if total is None:
        return Detection(id="total-stands", untested=NO_TOTAL)
    data = seen.data
    steps = np.diff(np.unique(total.values))
    step = float(steps.min()) if len(steps) else 0.0
    if not step or len(data.values) < 10:
        return Detection(id="total-stands", untested="the total hardly moves")
    starts, ends = stretches(data.values <= 0)
    long = ends - starts >= LASTING
    starts, ends = starts[long], ends[long]
    spent = np.diff(data.times, prepend=data.times[0] - data.step)
    due = np.concatenate(([0.0], np.cumsum(_usual(data.times, data.values) * spent / HOUR)))
    missed = (due[ends] - due[starts]) / step
    kept = missed >= STEPS
    statistic = "steps of the total that were due while it stood"
    most = float(missed.max(initial=0.0))
    if not kept.any() or np.count_nonzero(kept) > MOST:
        return Detection(id="total-stands", statistic=statistic, value=min(most, STEPS), limit=STEPS)
    starts, ends = starts[kept], ends[kept]
    marks = tuple(
        Mark(float(data.times[a]), float(data.times[b - 1]), float(step * count))
        for a, b, count in zip(starts, ends, missed[kept], strict=True)
    )
    lost = step * float(missed[kept].sum())
    return Detection(
        id="total-stands",
        present=True,
        statistic=statistic,
        value=most,
        limit=STEPS,
        marks=marks,
        parameters={"count": float(len(marks)), "missed": lost},
        because=f"{so_often(len(marks))}, at hours at which it counts on other days; "
        f"about {lost:.3g} {total.unit} missed",
        unit=total.unit,
    )


def _usual(times: Array, values: Array) -> Array:
    """Return the flow that is usual at each reading's hour of the day: the lower quartile of the days."""
    hours = (times % 86400.0 // HOUR).astype(np.int64)
    usual = np.zeros(24)
    for hour in np.unique(hours):
        usual[hour] = float(np.quantile(values[hours == hour], 0.25))
    return np.maximum(usual[hours], 0.0)
