"""Steps: the level changes from one reading to the next and stays there.

Two tests, each on half of the allowed false alarms. In long logs the means of m readings before and after each place
are compared, for m = 4, 8, 16 …, once as they are and once less what slopes on both sides explain; the scale of each
comparison is taken from the log itself, so that slow changes of the flow, noise with memory and rounding are all in it.
In short logs a step is weighed against a straight line and a smooth curve, with noise of the memory that is left.
Spikes, drop-outs and stretches that stood still are signs of their own: they are taken out first, and make no steps.
"""

from __future__ import annotations

import math

import numpy as np

from diagnose.analyses.amounts import Array
from diagnose.analyses.trend_series import (
    MAD_TO_SD,
    Indices,
    Mark,
    Seen,
    Series,
    Sign,
    autocorrelation,
    limit,
    so_often,
    stretches,
)
from diagnose.analyses.trend_spikes import without_spikes
from diagnose.analyses.trend_stuck import stands_still

SHORT = 1500
"""Readings up to which the whole log is weighed at once."""

LEAST_BLOCKS = 24
"""Windows that must fit into a log for its own scale to be taken from it."""

CORNERS = 24.0
"""Independent comparisons in one window's length of a log, at most: the comparison has a corner at the step."""

COSINES = 4
"""Half-waves of the smooth curve that a step must fit better than."""

MOST = 20
FEWEST_IN_PART = 20
FAR, CLOSE = 200, 12
"""Readings on each side from which a step is sized."""

SURELY = 6.0
"""Standard deviations of the noise that both sizes do not differ by when the level lasts."""

UNEVEN = 1.12
"""What the limit in long logs is raised by: their unrest is not the same all along (measured on clean logs)."""

PARTS = (24, 12, 8)
"""Parts of a short log whose means tell how much memory is left."""

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
    if count <= SHORT:
        sure = [each for each in found if each[1] > 1]
        more = _one_by_one(data.values - data.values.mean())
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


Found = tuple[int, float, float]
"""Place, statistic over its limit, statistic."""


def _many(data: Series) -> list[Found]:
    """Return places that stand out among all places of the log, at any width."""
    values, count = data.values, len(data.values)
    all_widths = widths(count)
    tests = 2 * 2 * sum(min(count, CORNERS * count / width) for width in all_widths)
    found: list[Found] = []
    for width in all_widths:
        error = 1.2 / math.sqrt(count / width)
        least = UNEVEN * limit(tests, error)
        for sloped in (False, True):
            apart = contrasts(values, width, sloped)
            spread = MAD_TO_SD * float(np.median(np.abs(apart)))
            spread = max(spread, _rounding(data, width))
            sizes = np.where(_over_gap(data, width), 0.0, np.abs(apart)) / spread if spread else 0 * apart
            found += _peaks(sizes, least, width)
    return _apart(found, 4)


def _rounding(data: Series, width: int) -> float:
    """Return the least scale of a change of means: rounding alone moves them so much."""
    return data.noise.resolution / math.sqrt(6 * width) + 1e-9 * data.level


def _over_gap(data: Series, width: int) -> Array:
    """Return 1 for places whose windows reach over a gap: what happened in it is nobody's step."""
    gaps = np.concatenate(([0], np.cumsum(data.gap_before)))
    inside = gaps[2 * width :] - gaps[1 : len(gaps) - 2 * width + 1]
    return np.asarray(inside > 0, np.float64)


def _peaks(sizes: Array, least: float, width: int) -> list[Found]:
    """Return the highest place of each neighbourhood; without any above the limit, only the highest of all."""
    over = np.flatnonzero(sizes > least)
    if not len(over):
        best = int(np.argmax(sizes))
        return [(best + width, float(sizes[best] / least), float(sizes[best]))]
    parts = np.split(over, np.flatnonzero(np.diff(over) > max(2, width // 4)) + 1)
    tops = [int(part[np.argmax(sizes[part])]) for part in parts]
    return [(top + width, float(sizes[top] / least), float(sizes[top])) for top in tops]


def _apart(found: list[Found], least: int) -> list[Found]:
    """Return the strongest of those that are the same step seen at several widths."""
    kept: list[Found] = []
    for each in sorted(found, key=lambda one: -one[1]):
        if all(abs(each[0] - other[0]) > least for other in kept):
            kept.append(each)
    return kept


def _one_by_one(values: Array, start: int = 0) -> list[Found]:
    """Return the steps of a short log: the best one, and where that is sure, those of the parts on both sides of it."""
    place, strength, size = _one(values)
    if strength <= 1:
        return [(start + place, strength, size)]
    found = [(start + place, strength, size)]
    for first, part in ((start, values[:place]), (start + place, values[place:])):
        if len(part) >= FEWEST_IN_PART:
            found += [each for each in _one_by_one(part - part.mean(), first) if each[1] > 1]
    return found


def _one(values: Array) -> Found:
    """Return the best step of readings around nothing, if it explains more than a line and a smooth curve do."""
    count = len(values)
    place, _ = _best_step(values)
    with_step = _residuals(values, _design(count, place))
    memory = max(0.0, autocorrelation(with_step))
    white = values[1:] - memory * values[:-1]
    place, size = _best_step(white, memory)
    smooth = _residuals(values, np.column_stack([_design(count), _cosines(count)]))
    least = limit(8 * math.log(count), 2.2 / math.sqrt(count * (1 - memory) / (1 + memory)))
    least *= _memory_left(white, place - 1, memory)
    if float(smooth @ smooth) <= float(with_step @ with_step):
        size = min(size, least)
    return place, size / least, size


def _memory_left(white: Array, place: int, memory: float) -> float:
    """Return how many times more the means of parts move than those of readings without memory; 1 at least."""
    count = len(white)
    step = (np.arange(count) >= place) * (1 - memory)
    step[max(place - 1, 0)] = 1.0
    left = _residuals(white, np.column_stack([_design(count), step]))
    sums, square = np.concatenate(([0.0], np.cumsum(left))), float(np.mean(left**2))
    found = 1.0
    for width in (count // parts for parts in PARTS):
        if width > 2 and square > 0:
            means = (sums[width:] - sums[:-width]) / width
            found = max(found, math.sqrt(width * float(np.mean(means**2)) / square))
    return found


def _design(count: int, place: int | None = None) -> Array:
    along = np.linspace(-1, 1, count)
    columns = [np.ones(count), along]
    if place is not None:
        columns.append((np.arange(count) >= place).astype(float))
    return np.column_stack(columns)


def _cosines(count: int) -> Array:
    along = (np.arange(count) + 0.5) / count
    return np.column_stack([np.cos(np.pi * each * along) for each in range(1, COSINES + 1)])


def _residuals(values: Array, design: Array) -> Array:
    return np.asarray(values - design @ np.linalg.lstsq(design, values, rcond=None)[0], np.float64)


def _best_step(values: Array, memory: float = 0.0) -> tuple[int, float]:
    """Return the best place of a step beside a straight line, and Student's t of its size.

    All places at once: what the line leaves of the step against what it leaves of the readings. After whitening with
    ``memory`` a step's first reading stands out by more than the rest.
    """
    count = len(values)
    along = np.linspace(-1, 1, count)
    left = _residuals(values, _design(count))
    edge = max(4, count // 20)
    places = np.arange(edge, count - edge + 1)
    behind = np.cumsum(left[::-1])[::-1]
    first = 1 / (1 - memory) - 1
    along_step = behind[places] + first * left[places]
    norm = count - places + (1 + first) ** 2 - 1
    ones = count - places + first
    line = (np.cumsum(along[::-1])[::-1][places] + first * along[places]) / math.sqrt(float(along @ along))
    norm = norm - ones**2 / count - line**2
    explained = along_step**2 / np.maximum(norm, 1e-9)
    best = int(np.argmax(explained))
    rest = max(float(left @ left) - float(explained[best]), 1e-300)
    return int(places[best]) + (1 if memory else 0), math.sqrt(float(explained[best]) * (count - 3) / rest)


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
