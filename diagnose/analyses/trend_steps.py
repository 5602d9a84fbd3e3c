"""Steps: the level changes from one reading to the next and stays there.

Two tests, each on half of the allowed false alarms. In long logs the means of m readings before and after each place
are compared, for m = 4, 8, 16 …, once as they are and once less what slopes on both sides explain; the scale of each
comparison is taken from the log itself, so that slow changes of the flow, noise with memory and rounding are all in it.
In shorter logs a step is weighed against a straight line and a smooth curve, with noise of the memory that is left
(:mod:`diagnose.analyses.trend_one_step`); the longer the log, the more slow wandering passes for a step there, so that
from `SHORT` readings on it must be sudden as well.
Spikes, drop-outs and stretches that stood still are signs of their own: they are taken out first, and make no steps.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from diagnose.analyses.amounts import Array
from diagnose.analyses.trend_one_step import Found, one_by_one
from diagnose.analyses.trend_series import (
    MAD_TO_SD,
    Indices,
    Mark,
    Seen,
    Series,
    Sign,
    limit,
    so_often,
    stretches,
)
from diagnose.analyses.trend_spikes import without_spikes
from diagnose.analyses.trend_stuck import stands_still

SHORT, MIDDLING = 1500, 12_000
"""Readings up to which a step of the whole log counts by itself, and up to which it counts if it is sudden as well."""

LEAST_REACH = 32
"""Readings over which the fast unrest around a place is taken at least."""

SUDDEN = 4.5
"""Standard deviations of the widest comparisons by which a sudden step stands out (chosen on clean logs)."""

LEAST_BLOCKS = 24
"""Windows that must fit into a log for its own scale to be taken from it."""

CORNERS = 24.0
"""Independent comparisons in one window's length of a log, at most: the comparison has a corner at the step."""

MOST = 20
FAR, CLOSE = 200, 12
"""Readings on each side from which a step is sized."""

SURELY = 6.0
"""Standard deviations of the noise that both sizes do not differ by when the level lasts."""

UNEVEN = 1.2
"""What the limit in long logs is raised by: their unrest is not the same all along (measured on clean logs)."""

STARTING = 3
"""Readings after a start that do not count."""

_STATISTIC = "change of the mean, in standard deviations of such changes in this log"


def contrasts(values: Array, width: int, sloped: bool) -> Array:
    """Return, for each place with ``width`` readings on both sides, the mean behind less the mean before.

    ``sloped``: less what the slopes within both sides explain.
    """
    sums = np.concatenate(([0.0], np.cumsum(values - np.median(values))))
    means = (sums[width:] - sums[:-width]) / width
    found = means[width:] - means[:-width]
    if sloped:
        half = width // 2
        halves = (sums[half:] - sums[:-half]) / half
        within = halves[half : half + len(means)] - halves[: len(means)]
        found = found - (within[width:] + within[:-width])
    return np.asarray(found, np.float64)


def widths(count: int) -> list[int]:
    """Return the windows that are looked through in a log of so many readings."""
    return [4 * 2**power for power in range(20) if 4 * 2**power * LEAST_BLOCKS <= count]


def steps(seen: Seen) -> Sign:
    """Return where the level steps; of a pump beside the readings only the time when it runs counts."""
    data = without_spikes(while_living(seen))
    count = len(data.values)
    if count < 20:
        return Sign(id="steps", untested="needs 20 readings")
    found = _many(data)
    if count <= MIDDLING:
        sure = [each for each in found if each[1] > 1]
        more = one_by_one(data.values - data.values.mean())
        if count > SHORT:
            sudden = _suddenness(data)
            more = [each for each in more if sudden[max(0, each[0] - 4) : each[0] + 5].max() > SUDDEN]
        found += [each for each in more if all(abs(each[0] - other[0]) > 4 for other in sure)]
    strongest = max(found, key=lambda each: each[1], default=(0, 0.0, 0.0))
    if strongest[1] <= 1.0:
        return Sign(
            id="steps",
            statistic=_STATISTIC,
            value=strongest[2],
            limit=strongest[2] / strongest[1] if strongest[1] else 1.0,
        )
    return _sign(data, sorted(each for each in found if each[1] > 1), strongest)


def while_living(seen: Seen) -> Series:
    """Return the readings while the pump runs and the reading moves; stops, and stretches stuck, are gaps."""
    data = seen.data
    kept = ~stands_still(seen)
    if seen.running is not None:
        runs = seen.running != 0
        for start, _ in zip(*stretches(runs), strict=True):
            runs[start : start + STARTING if start else start] = False
        kept &= runs
    if kept.all():
        return data
    before = data.gap_before.copy()
    before[1:] |= ~kept[:-1]
    return Series(data.times[kept], data.values[kept], before[kept], data.step, data.noise)


class _Peak(NamedTuple):
    """A place that stands out, and the readings on each side that were compared."""

    found: Found
    width: int


def _many(data: Series) -> list[Found]:
    """Return places that stand out among all places of the log, at any width."""
    count = len(data.values)
    all_widths = widths(count)
    tests = 2 * 2 * sum(min(count, CORNERS * count / width) for width in all_widths)
    peaks: list[_Peak] = []
    for width in all_widths:
        error = 1.2 / math.sqrt(count / width)
        least = UNEVEN * limit(tests, error)
        for sloped in (False, True):
            peaks += _peaks(_in_own_scale(data, width, sloped), least, width)
    return _apart(peaks)


def _in_own_scale(data: Series, width: int, sloped: bool) -> Array:
    """Return the size of each contrast over what such contrasts are in this log, 0 over a gap."""
    apart = contrasts(data.values, width, sloped)
    spread = max(MAD_TO_SD * float(np.median(np.abs(apart))), _rounding(data, width))
    if not spread:
        return 0 * apart
    return np.where(_over_gap(data, width), 0.0, np.abs(apart)) / (spread * _unrest_around(data.values, width))


def _unrest_around(values: Array, width: int) -> Array:
    """Return for each place how many times the usual fast unrest is on the more restless of its sides; 1 at least."""
    count = len(values)
    reach = min(max(width, LEAST_REACH), count // 2)
    sums = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(values)))))
    means = (sums[reach:] - sums[:-reach]) / reach
    usual = float(np.median(means)) or 1.0
    places = np.arange(width, count - width + 1)
    before = means[np.clip(places - 1 - reach, 0, len(means) - 1)]
    behind = means[np.clip(places, 0, len(means) - 1)]
    return np.asarray(np.maximum(np.maximum(before, behind) / usual, 1.0), np.float64)


def _suddenness(data: Series) -> Array:
    """Return for each reading the largest of its two widest comparisons."""
    found = np.zeros(len(data.values))
    for width in widths(len(data.values))[-2:]:
        inner = found[width : len(found) - width + 1]
        for sloped in (False, True):
            np.maximum(inner, _in_own_scale(data, width, sloped)[: len(inner)], out=inner)
    return found


def _rounding(data: Series, width: int) -> float:
    """Return the least scale of a change of means: rounding alone moves them so much."""
    return data.noise.resolution / math.sqrt(6 * width) + 1e-9 * data.level


def _over_gap(data: Series, width: int) -> Array:
    """Return 1 for places whose windows reach over a gap: what happened in it is nobody's step."""
    gaps = np.concatenate(([0], np.cumsum(data.gap_before)))
    inside = gaps[2 * width :] - gaps[1 : len(gaps) - 2 * width + 1]
    return np.asarray(inside > 0, np.float64)


def _peaks(sizes: Array, least: float, width: int) -> list[_Peak]:
    """Return the highest place of each neighbourhood; without any above the limit, only the highest of all."""
    over = np.flatnonzero(sizes > least)
    parts = np.split(over, np.flatnonzero(np.diff(over) > max(2, width // 4)) + 1)
    tops = [int(part[np.argmax(sizes[part])]) for part in parts] if len(over) else [int(np.argmax(sizes))]
    return [_Peak((top + width, float(sizes[top] / least), float(sizes[top])), width) for top in tops]


def _apart(peaks: list[_Peak]) -> list[Found]:
    """Return the strongest of those that are the same step seen at several widths.

    A comparison that takes in a stronger step speaks of that one: what it shows beside it are its side lobes.
    """
    kept: list[Found] = []
    for each in sorted(peaks, key=lambda one: -one.found[1]):
        if all(abs(each.found[0] - other[0]) > each.width for other in kept):
            kept.append(each.found)
    return kept


def _sign(data: Series, found: list[Found], strongest: Found) -> Sign:
    marks = _marks(data, np.array([each[0] for each in found], np.intp))
    strongest_marks = sorted(sorted(marks, key=lambda mark: -abs(mark.size))[:MOST], key=lambda mark: mark.start)
    largest = max(strongest_marks, key=lambda mark: abs(mark.size))
    return Sign(
        id="steps",
        present=True,
        statistic=_STATISTIC,
        value=strongest[2],
        limit=strongest[2] / strongest[1],
        marks=tuple(strongest_marks),
        parameters={"count": float(len(found)), "largest": largest.size, "at": largest.start},
        because=f"{so_often(len(found))}, the largest by {largest.size:+.3g}",
    )


def _marks(data: Series, places: Indices) -> list[Mark]:
    """Return each step with its size: the medians of the stretches before and behind it, up to the next ones.

    Where the level does not last so long, those of the nearest readings.
    """
    edges = np.concatenate(([0], places, [len(data.values)]))
    found = []
    for number, place in enumerate(places, 1):
        far, near = (
            float(
                np.median(data.values[place : min(edges[number + 1], place + reach)])
                - np.median(data.values[max(edges[number - 1], place - reach) : place])
            )
            for reach in (FAR, CLOSE)
        )
        size = near if abs(near - far) > SURELY * data.noise.sd else far
        found.append(Mark(float(data.times[place - 1]), float(data.times[place]), size))
    return found
