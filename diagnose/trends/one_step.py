"""Steps of a short log: compared with a line and a smooth curve, allowing for autocorrelated noise."""

from __future__ import annotations

import math

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.series import autocorrelation, limit

StepCandidate = tuple[int, float, float]
"""Position, statistic over its limit, statistic."""

FEWEST_IN_PART = 20
COSINES = 4
"""Number of cosines in the smooth curve that a step must beat."""

PARTS = (24, 12, 8)
"""Numbers of parts of a short log whose means show the remaining autocorrelation."""


def one_by_one(values: Array, start: int = 0) -> list[StepCandidate]:
    """Return the steps of a short log: the best one and, if it is significant, those of the parts before and after."""
    place, strength, size = _one(values)
    if strength <= 1:
        return [(start + place, strength, size)]
    found = [(start + place, strength, size)]
    for first, part in ((start, values[:place]), (start + place, values[place:])):
        if len(part) >= FEWEST_IN_PART:
            found += [each for each in one_by_one(part - part.mean(), first) if each[1] > 1]
    return found


def _one(values: Array) -> StepCandidate:
    """Return the best step of readings with mean zero, if it explains more than a line and a smooth curve."""
    count = len(values)
    place, _ = _best_step(values)
    with_step = _residuals(values, _design(count, place))
    rho = max(0.0, autocorrelation(with_step))
    white = values[1:] - rho * values[:-1]
    place, size = _best_step(white, rho)
    smooth = _residuals(values, np.column_stack([_design(count), _cosines(count)]))
    least = limit(8 * math.log(count), 2.2 / math.sqrt(count * (1 - rho) / (1 + rho)))
    least *= _remaining_autocorrelation(white, place - 1, rho) * _heteroscedasticity(with_step, place)
    if float(smooth @ smooth) <= float(with_step @ with_step):
        size = min(size, least)
    return place, size / least, size


def _remaining_autocorrelation(white: Array, place: int, rho: float) -> float:
    """Return by which factor means of parts vary more than those of white noise; at least 1."""
    count = len(white)
    step = (np.arange(count) >= place) * (1 - rho)
    step[max(place - 1, 0)] = 1.0
    left = _residuals(white, np.column_stack([_design(count), step]))
    sums, square = np.concatenate(([0.0], np.cumsum(left))), float(np.mean(left**2))
    found = 1.0
    for width in (count // parts for parts in PARTS):
        if width > 2 and square > 0:
            means = (sums[width:] - sums[:-width]) / width
            found = max(found, math.sqrt(width * float(np.mean(means**2)) / square))
    return found


def _heteroscedasticity(left: Array, place: int) -> float:
    """Return by which factor unequal variances inflate the standard error of a step; at least 1.

    The residuals are weighted as they count for the step beside a line (White 1980), and taken for each side by itself
    (Welch 1947): noise that is larger around the step, or on the shorter side, passes for one.
    """
    count = len(left)
    before, behind = left[:place], left[place:]
    if min(len(before), len(behind)) < 2:
        return 1.0
    variance = float(left.var())
    if not variance > 0:
        return 1.0
    separate = float(before.var()) / len(before) + float(behind.var()) / len(behind)
    common = variance * (1 / len(before) + 1 / len(behind))
    weights = _residuals((np.arange(count) >= place).astype(float), _design(count)) ** 2
    weighted = float(weights @ left**2) / (variance * float(weights.sum()))
    return math.sqrt(max(1.0, separate / common, weighted))


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


def _best_step(values: Array, rho: float = 0.0) -> tuple[int, float]:
    """Return the best position of a step in addition to a straight line, and Student's t of its size.

    All positions at once, from the residuals of step and readings from the line. After prewhitening with ``rho`` the
    first reading of a step is larger than the rest.
    """
    count = len(values)
    along = np.linspace(-1, 1, count)
    left = _residuals(values, _design(count))
    edge = max(4, count // 20)
    places = np.arange(edge, count - edge + 1)
    behind = np.cumsum(left[::-1])[::-1]
    first = 1 / (1 - rho) - 1
    along_step = behind[places] + first * left[places]
    norm = count - places + (1 + first) ** 2 - 1
    ones = count - places + first
    line = (np.cumsum(along[::-1])[::-1][places] + first * along[places]) / math.sqrt(float(along @ along))
    norm = norm - ones**2 / count - line**2
    explained = along_step**2 / np.maximum(norm, 1e-9)
    best = int(np.argmax(explained))
    rest = max(float(left @ left) - float(explained[best]), 1e-300)
    return int(places[best]) + (1 if rho else 0), math.sqrt(float(explained[best]) * (count - 3) / rest)
