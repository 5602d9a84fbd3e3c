"""Steps: the level changes from one reading to the next and stays there.

There are two tests, each with half of the false-alarm rate. In long logs the means of m readings before and after each
position are compared, for m = 4, 8, 16 …, with and without correction for slopes on both sides; the scale of each
contrast is taken from the log itself, so that it includes slow changes of the flow, autocorrelated noise and rounding.
In shorter logs a step is compared with a straight line and a smooth curve, allowing for autocorrelated noise
(:mod:`diagnose.trends.one_step`); in longer ones slow changes can pass for a step there, so that from `SHORT`
readings on it must also be sudden.
Spikes, drop-outs and stuck stretches are signs of their own, stops are the plant's: they are removed first. A log of
days is judged by its days (:mod:`diagnose.trends.days`), for a plant steps every morning; and a level that steps again
and again is a plant that is switched.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from typing import NamedTuple

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.days import DAY
from diagnose.trends.days import FEWEST as FEWEST_RUNS
from diagnose.trends.lasting_step import lasting_step
from diagnose.trends.one_step import StepCandidate, one_by_one
from diagnose.trends.plant import stands, stops_usually
from diagnose.trends.series import (
    MAD_TO_SD,
    Detection,
    Indices,
    Mark,
    Series,
    SeriesView,
    limit,
    so_often,
    stretches,
)
from diagnose.trends.spikes import without_spikes
from diagnose.trends.step_of_days import StepOfDays, step_of_days
from diagnose.trends.stuck import stands_still

LEAST_STEP = 0.05
"""Least step of the mean, as a share of it, that a person sees in days (estimate)."""

SHORT, MIDDLING = 1500, 12_000
"""Log lengths up to which the test for short logs counts by itself, and up to which it needs a sudden step."""

LEAST_REACH = 32
"""Fewest readings for the local noise."""

SUDDEN = 4.5
"""Least size of a sudden step, in standard deviations of the widest contrasts (chosen on clean logs)."""

LEAST_BLOCKS = 24
"""Fewest windows in a log for its own scale to be used."""

CORNERS = 24.0
"""Most independent contrasts per window length: the contrast has a corner at the step."""

MOST = 20
FAR, CLOSE = 200, 12
"""Readings on each side for the size of a step."""

SURELY = 6.0
"""Most standard deviations of noise by which both sizes differ if the level lasts."""

UNEVEN = 1.2
"""Factor on the limit in long logs, whose noise is not uniform (measured on clean logs)."""

STARTING = 3
"""Readings after a pump start that are ignored."""

SWITCHED = 3
"""Most steps of a log that are told; a level that steps more often is switched or set by the plant (estimate)."""

ALIKE = 3600.0
"""Seconds within which steps of different days are at the same time of day."""

_STATISTIC = "change of the mean, in standard deviations of such changes in this log"


def contrasts(values: Array, width: int, sloped: bool) -> Array:
    """Return the mean after less the mean before, for each position with ``width`` readings on both sides.

    ``sloped`` corrects for the slopes within both sides.
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
    """Return the window widths for a log of ``count`` readings."""
    return [4 * 2**power for power in range(20) if 4 * 2**power * LEAST_BLOCKS <= count]


def steps(seen: SeriesView) -> Detection:
    """Detect steps of the level while the plant runs; of a log of days, from one day to the next."""
    by_days = step_of_days(seen.data)
    if by_days is not None:
        return _of_days(by_days)
    if stops_usually(stands(seen)):
        return _of_runs(seen)
    data = without_spikes(moving_readings(seen))
    count = len(data.values)
    if count < 20:
        return Detection(id="steps", untested="needs 20 readings")
    found = _candidates(data)
    if count <= MIDDLING:
        sure = [each for each in found if each[1] > 1]
        more = one_by_one(data.values - data.values.mean())
        if count > SHORT:
            sudden = _suddenness(data)
            more = [each for each in more if sudden[max(0, each[0] - 4) : each[0] + 5].max() > SUDDEN]
        found += [each for each in more if all(abs(each[0] - other[0]) > 4 for other in sure)]
    strongest = max(found, key=lambda each: each[1], default=(0, 0.0, 0.0))
    if strongest[1] <= 1.0:
        return Detection(
            id="steps",
            statistic=_STATISTIC,
            value=strongest[2],
            limit=strongest[2] / strongest[1] if strongest[1] else 1.0,
        )
    sure = sorted(each for each in found if each[1] > 1)
    if len(sure) > SWITCHED or _every_day(data, sure):
        because = f"the level steps {len(sure)} times: the plant is switched or set"
        return Detection(id="steps", untested=because, parameters={"count": float(len(sure))})
    return _sign(data, sure, strongest)


def _of_runs(seen: SeriesView) -> Detection:
    """Compare runs of a plant that stops and starts: each has one level, and the levels may step."""
    data = seen.data
    starts, ends = stretches(~stands(seen))
    long = ends - starts > 2 * STARTING
    pairs = list(zip((starts + STARTING)[long], ends[long], strict=True))
    levels = np.array([np.median(data.values[a:b]) for a, b in pairs])
    found = lasting_step(levels, np.zeros(len(levels), bool)) if pairs else None
    if found is None:
        return Detection(id="steps", untested=f"the plant stops and starts; needs {FEWEST_RUNS} runs that differ")
    statistic = "step of the level of a run (Student's t, beside a line)"
    level = abs(float(np.median(levels)))
    if not found.found or abs(found.size) < LEAST_STEP * level:
        return Detection(id="steps", statistic=statistic, value=min(found.value, found.least), limit=found.least)
    before, start = float(data.times[pairs[found.place - 1][1] - 1]), float(data.times[pairs[found.place][0]])
    return Detection(
        id="steps",
        present=True,
        statistic=statistic,
        value=found.value,
        limit=found.least,
        marks=(Mark(before, start, found.size),),
        parameters={"count": 1.0, "largest": found.size, "at": start, "runs": float(len(levels))},
        because=f"the level of a run, by {found.size:+.3g} ({100 * found.size / level:+.2g} %) from this one on",
    )


def _of_days(step: StepOfDays) -> Detection:
    statistic = "step of the mean of a day (Student's t, beside weekends and a line)"
    found = step.found
    same_way = step.size * found.size > 0
    if not found.found or not same_way or abs(step.size) < LEAST_STEP * abs(step.before):
        return Detection(id="steps", statistic=statistic, value=min(found.value, found.least), limit=found.least)
    share = f" ({100 * step.size / abs(step.before):+.2g} %)" if step.before else ""
    return Detection(
        id="steps",
        present=True,
        statistic=statistic,
        value=found.value,
        limit=found.least,
        marks=(Mark(step.since, step.until, step.size),),
        parameters={"count": 1.0, "largest": step.size, "at": step.until, "days": float(step.days)},
        because=f"the mean of a day, by {step.size:+.3g}{share} from then on",
    )


def _every_day(data: Series, found: list[StepCandidate]) -> bool:
    """Check whether steps of different days are at the same time of day."""
    times = np.array([data.times[each[0]] for each in found])
    apart = np.abs(times[:, None] - times)
    within = np.minimum(apart % DAY, DAY - apart % DAY) < ALIKE
    return bool((within & (apart > DAY / 2)).any())


def moving_readings(seen: SeriesView) -> Series:
    """Return the readings while the plant runs and the reading moves; stops and stuck stretches become gaps."""
    data = seen.data
    kept = ~stands_still(seen)
    runs = ~stands(seen)
    for start, _ in zip(*stretches(runs), strict=True):
        runs[start : start + STARTING if start else start] = False
    kept &= runs
    if kept.all():
        return data
    before = data.gap_before.copy()
    before[1:] |= ~kept[:-1]
    return Series(data.times[kept], data.values[kept], before[kept], data.step, data.noise)


class _Peak(NamedTuple):
    """A local maximum, and the number of readings on each side that were compared."""

    found: StepCandidate
    width: int


def _candidates(data: Series) -> list[StepCandidate]:
    """Return the candidate steps of a long log at any width."""
    count = len(data.values)
    all_widths = widths(count)
    tests = 2 * 2 * sum(min(count, CORNERS * count / width) for width in all_widths)
    peaks: list[_Peak] = []
    for width in all_widths:
        error = 1.2 / math.sqrt(count / width)
        least = UNEVEN * limit(tests, error)
        for sloped in (False, True):
            peaks += _peaks(_standardised(data, width, sloped), least, width)
    return _distinct(peaks)


def _standardised(data: Series, width: int, sloped: bool) -> Array:
    """Return the contrasts over their scale in this log, 0 over a gap."""
    contrast = contrasts(data.values, width, sloped)
    spread = max(MAD_TO_SD * float(np.median(np.abs(contrast))), _rounding(data, width))
    if not spread:
        return 0 * contrast
    return np.where(_over_gap(data, width), 0.0, np.abs(contrast)) / (spread * _local_noise(data.values, width))


def _local_noise(values: Array, width: int) -> Array:
    """Return the local noise over the usual noise, on the noisier side of each position; at least 1."""
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
    """Return for each reading the larger of its two widest contrasts."""
    found = np.zeros(len(data.values))
    for width in widths(len(data.values))[-2:]:
        inner = found[width : len(found) - width + 1]
        for sloped in (False, True):
            np.maximum(inner, _standardised(data, width, sloped)[: len(inner)], out=inner)
    return found


def _rounding(data: Series, width: int) -> float:
    """Return the least scale of a contrast, which rounding alone causes."""
    return data.noise.resolution / math.sqrt(6 * width) + 1e-9 * data.level


def _over_gap(data: Series, width: int) -> Array:
    """Return 1 for positions whose windows include a gap: what happened there is unknown."""
    gaps = np.concatenate(([0], np.cumsum(data.gap_before)))
    inside = gaps[2 * width :] - gaps[1 : len(gaps) - 2 * width + 1]
    return np.asarray(inside > 0, np.float64)


def _peaks(sizes: Array, least: float, width: int) -> list[_Peak]:
    """Return the local maxima above the limit, or the global maximum if there are none."""
    over = np.flatnonzero(sizes > least)
    parts = np.split(over, np.flatnonzero(np.diff(over) > max(2, width // 4)) + 1)
    tops = [int(part[np.argmax(sizes[part])]) for part in parts] if len(over) else [int(np.argmax(sizes))]
    return [_Peak((top + width, float(sizes[top] / least), float(sizes[top])), width) for top in tops]


def _distinct(peaks: list[_Peak]) -> list[StepCandidate]:
    """Return the distinct steps: the strongest of those that are the same step at several widths.

    A contrast whose window includes a stronger step shows that one: anything else there is a side lobe.
    """
    kept: list[StepCandidate] = []
    places: list[int] = []
    for each in sorted(peaks, key=lambda one: -one.found[1]):
        at = bisect_left(places, each.found[0])
        if all(abs(each.found[0] - other) > each.width for other in places[max(0, at - 1) : at + 1]):
            kept.append(each.found)
            places.insert(at, each.found[0])
    return kept


def _sign(data: Series, found: list[StepCandidate], strongest: StepCandidate) -> Detection:
    marks = _marks(data, np.array([each[0] for each in found], np.intp))
    strongest_marks = sorted(sorted(marks, key=lambda mark: -abs(mark.size))[:MOST], key=lambda mark: mark.start)
    largest = max(strongest_marks, key=lambda mark: abs(mark.size))
    return Detection(
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
    """Return each step with its size, from the medians of the stretches before and after it, up to the next steps.

    If the level does not last that long, the nearest readings are used.
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
