"""The shape of the day, another one from one day on: tested by permutation of whole days (Anderson 2001)."""

from __future__ import annotations

import math

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.days import DAY, FEWEST, PER_DAY, Days, days_of
from diagnose.trends.series import RATE, Detection, Flags, Mark, SeriesView

PERMUTATIONS = 999

LEAST_CHANGE = 0.15
"""Least root mean square change of the shape, as a share of the mean, that a person sees (estimate)."""

SHAPE_DAYS = 5
"""Fewest days of a kind on either side of a change of shape."""


def profile(seen: SeriesView) -> Detection:
    """Detect a shape of the day that is another one from one day on."""
    days = days_of(seen.data)
    if days is None:
        return Detection(id="profile", untested=f"needs {FEWEST} whole days with {PER_DAY} readings each")
    kind = ~days.weekend if np.count_nonzero(~days.weekend) >= np.count_nonzero(days.weekend) else days.weekend
    shapes, starts = _shapes(days, kind)
    if len(shapes) < 2 * SHAPE_DAYS:
        return Detection(id="profile", untested=f"needs {2 * SHAPE_DAYS} days of a kind (weekdays) with flow")
    contrast, place, share = _change_of_shape(shapes)
    change = _distance(shapes, place)
    statistic = "share of shuffled orders of the days that differ as much (permutation), in decades"
    value, least = -math.log10(share), -math.log10(RATE)
    if value <= least or change < LEAST_CHANGE or not _lasts(shapes, place):
        return Detection(id="profile", statistic=statistic, value=min(value, least), limit=least)
    moved = _shift(shapes, place)
    by = f"; it fits best moved by {moved:+d} h" if moved else ""
    return Detection(
        id="profile",
        present=True,
        statistic=statistic,
        value=value,
        limit=least,
        marks=(Mark(float(starts[place]), float(days.starts[-1] + DAY), change),),
        parameters={"change": change, "shift_hours": float(moved), "days": float(len(shapes)), "contrast": contrast},
        because=f"hours differ by {100 * change:.2g} % of the mean from the days before{by}",
        unit="of the mean",
    )


def _shapes(days: Days, kind: Flags) -> tuple[Array, Array]:
    """Return the hourly shares of the mean of days of one kind that have flow; missing hours are those of the kind."""
    hours, means = days.hours[kind], days.means[kind]
    usual = float(np.median(np.abs(means)))
    flows = (np.abs(means) > 0.2 * usual) & (usual > 0)
    shapes = hours[flows] / means[flows, None]
    if len(shapes):
        typical = np.nanmedian(shapes, axis=0)
        shapes = np.where(np.isfinite(shapes), shapes, np.where(np.isfinite(typical), typical, 1.0))
    return shapes, days.starts[kind][flows]


def _contrasts(sums: Array, total: Array, count: int) -> Array:
    """Return the square of the difference of means at each position, weighted by the days on both sides."""
    before = np.arange(SHAPE_DAYS, count - SHAPE_DAYS + 1)
    apart = sums[before - 1] / before[:, None] - (total - sums[before - 1]) / (count - before)[:, None]
    return np.asarray((apart**2).sum(axis=1) * before * (count - before) / count, np.float64)


def _change_of_shape(shapes: Array) -> tuple[float, int, float]:
    """Return the largest contrast, its position, and how many shuffled orders reach it.

    Days are shuffled in weeks of five where there are many, for neighbours are alike.
    """
    count, total = len(shapes), shapes.sum(axis=0)
    own = _contrasts(np.cumsum(shapes, axis=0), total, count)
    place = SHAPE_DAYS + int(np.argmax(own))
    random, block = np.random.default_rng(0), 1 if count < 60 else 5
    reached = 1
    for _ in range(PERMUTATIONS):
        firsts = random.permutation(math.ceil(count / block)) * block
        order = (firsts[:, None] + np.arange(block)).ravel()
        shuffled = shapes[order[order < count]]
        reached += bool(_contrasts(np.cumsum(shuffled, axis=0), total, count).max() >= own.max())
    return float(own.max()), place, reached / (PERMUTATIONS + 1)


def _distance(shapes: Array, place: int) -> float:
    apart = np.median(shapes[place:], axis=0) - np.median(shapes[:place], axis=0)
    return float(np.sqrt(np.mean(apart**2)))


def _lasts(shapes: Array, place: int) -> bool:
    """Check whether nearly every day is nearer to the shape of its own side: a few odd days are not a change."""
    sides = [np.median(each, axis=0) for each in (shapes[:place], shapes[place:])]
    nearer = ((shapes - sides[0]) ** 2).sum(axis=1) < ((shapes - sides[1]) ** 2).sum(axis=1)
    return bool(nearer[:place].mean() >= 0.8 and (~nearer[place:]).mean() >= 0.8)


def _shift(shapes: Array, place: int) -> int:
    """Return by how many hours the day is moved, 0 if moving it does not explain most of the change."""
    before, behind = np.median(shapes[:place], axis=0), np.median(shapes[place:], axis=0)
    left = {by: float(((np.roll(before, by) - behind) ** 2).sum()) for by in range(-11, 13)}
    best = min(left, key=lambda by: left[by])
    return best if left[best] < 0.5 * left[0] else 0
