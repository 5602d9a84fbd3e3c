"""A lasting step of a daily series, beside weekends and a line.

It is tested by regression with an unknown position (Quandt 1960; its limit by Bonferroni), after prewhitening (Cochrane
and Orcutt 1949), and has to be sudden: a smooth curve must not explain the days better.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.series import MAD_TO_SD, Flags, autocorrelation, limit, scale, student

LINE_FROM = 14
"""Days from which a line may run beside a step; in fewer it takes the step's place."""

FEWEST_KEPT = 6
"""Fewest days when the one in which a step happens is left out."""

ODD = 4.0
"""Standard deviations from its week beyond which a single day counts no more."""

EDGE = 3
"""Fewest days on either side of a step."""

VISIBLE = 2.0
"""Multiple of the scatter of days from which a person sees a step in them (estimate)."""

LONG, WEEK, SUDDEN = 30, 5, 4.5
"""Days from which a step must stand out of what five days differ from the next five elsewhere, and by how many times
their usual difference (as for long logs of readings)."""

APART = 0.5
"""Share of the step that the days next to it must show: a step is sudden."""

COSINES = 2
"""Cosines of the smooth curve that a step must beat, besides one for every month."""

PARTS = (24, 12, 8)
"""Numbers of parts whose means show the memory that is left."""

MOST_RHO = 0.95


@dataclass(frozen=True, slots=True)
class LastingStep:
    """The best step of a series: index of the first day behind it, size, Student's t and its limit."""

    place: int
    size: float
    value: float
    least: float

    @property
    def found(self) -> bool:
        """Whether it is significant."""
        return self.value > self.least


def lasting_step(values: Array, weekend: Flags) -> LastingStep | None:
    """Return the best step of a daily series beside weekends and a line; None if there are too few days for one."""
    count = len(values)
    if count < FEWEST_KEPT or not np.ptp(values):
        return None
    values = _without_odd_days(values)
    beside = beside_step(count, weekend)
    edge = max(EDGE, count // 10)
    places = np.arange(edge, count - edge + 1)
    steps = (np.arange(count)[:, None] >= places).astype(float)
    best, _ = _best(values, beside, steps)
    # The memory of a few days cannot be told from a step in them; a smooth change is compared below.
    known = count >= LINE_FROM
    rho = max(0.0, autocorrelation(_rest(values, np.column_stack((beside, steps[:, best]))))) if known else 0.0
    rho = min(MOST_RHO, rho)
    white = [each[1:] - rho * each[:-1] if rho else each for each in (values, beside, steps)]
    best, value = _best(white[0], white[1], white[2])
    freedom = max(1.0, count - beside.shape[1] - 2.0)
    left = _rest(white[0], np.column_stack((white[1], white[2][:, best])))
    least = student(limit(len(places)), freedom) * _memory_left(left)
    with_step = np.column_stack((beside, steps[:, best]))
    size = float(np.linalg.lstsq(with_step, values, rcond=None)[0][-1])
    place = int(places[best])
    seen = abs(size) > VISIBLE * scale(_rest(values, with_step))
    if not seen or not _is_sudden(values, beside, place, size) or _is_smooth(values, beside, with_step):
        value = min(value, least)
    return LastingStep(place, size, value, least)


def _without_odd_days(values: Array) -> Array:
    """Return daily values in which single odd days, as those of a storm, are no further from their week than others."""
    if len(values) < LINE_FROM:
        return values
    usual = np.median(np.lib.stride_tricks.sliding_window_view(np.pad(values, 2, mode="edge"), 5), axis=1)
    apart = values - usual
    most = ODD * scale(apart)
    return np.asarray(usual + np.clip(apart, -most, most), np.float64) if most else values


def _memory_left(white: Array) -> float:
    """Return by which factor means of parts vary more than those of white noise: memory beyond the first order."""
    sums, square = np.concatenate(([0.0], np.cumsum(white))), float(np.mean(white**2))
    found = 1.0
    for width in (len(white) // parts for parts in PARTS):
        if width > 2 and square > 0:
            means = (sums[width:] - sums[:-width]) / width
            found = max(found, math.sqrt(width * float(np.mean(means**2)) / square))
    return found


def beside_step(count: int, weekend: Flags) -> Array:
    """Return what stands beside a step of so many days, as columns: a level, a line, weekends."""
    columns = [np.ones(count), *([np.linspace(-1, 1, count)] if count >= LINE_FROM else [])]
    if 2 <= np.count_nonzero(weekend) <= count - 2:
        columns.append(weekend.astype(float))
    return np.column_stack(columns)


def _rest(values: Array, design: Array) -> Array:
    return np.asarray(values - design @ np.linalg.lstsq(design, values, rcond=None)[0], np.float64)


def _best(values: Array, beside: Array, steps: Array) -> tuple[int, float]:
    """Return the step that explains most beside other columns, and Student's t of its size."""
    rest, left = _rest(values, beside), _rest(steps, beside)
    square = np.maximum((left**2).sum(axis=0), 1e-9)
    explained = (left.T @ rest) ** 2 / square
    best = int(np.argmax(explained))
    unexplained = max(float(rest @ rest) - float(explained[best]), 1e-12 * float(rest @ rest), 1e-300)
    freedom = max(1, len(values) - beside.shape[1] - 1)
    return best, math.sqrt(float(explained[best]) * freedom / unexplained)


def _is_sudden(values: Array, beside: Array, place: int, size: float) -> bool:
    """Check whether the days next to a step show a good part of it; weekends are taken out first."""
    values = values - of_weekends(values, beside, place)
    before, behind = values[max(0, place - 4) : place], values[place : place + 4]
    apart = float(np.median(behind) - np.median(before)) * math.copysign(1.0, size)
    return apart > APART * abs(size) and (len(values) < LONG or _stands_out(values, place))


def _stands_out(values: Array, place: int) -> bool:
    """Check whether the means of five days before and after differ more at a step than anywhere a slow flow wanders."""
    sums = np.concatenate(([0.0], np.cumsum(values)))
    means = (sums[WEEK:] - sums[:-WEEK]) / WEEK
    apart = np.abs(means[WEEK:] - means[:-WEEK])
    usual = MAD_TO_SD * float(np.median(apart))
    return float(apart[max(0, place - WEEK - 1) : place - WEEK + 2].max(initial=0.0)) > SUDDEN * usual


def _is_smooth(values: Array, beside: Array, with_step: Array) -> bool:
    """Check whether a smooth curve with more freedom than a step explains the days better."""
    count = len(values)
    along = (np.arange(count) + 0.5) / count
    smooth = [np.cos(np.pi * each * along) for each in range(1, min(COSINES + count // 30, count // 5) + 1)]
    curved = _rest(values, np.column_stack([beside, *smooth]))
    stepped = _rest(values, with_step)
    more = count ** ((len(smooth) - 2) / count)  # Schwarz 1978: a step has two parameters, its size and its place
    return bool(float(curved @ curved) * more < float(stepped @ stepped))


def of_weekends(values: Array, beside: Array, place: int) -> Array:
    """Return what weekends make of daily values, beside a step."""
    with_step = np.column_stack((beside, (np.arange(len(values)) >= place).astype(float)))
    line = 2 if len(values) >= LINE_FROM else 1
    if beside.shape[1] == line:
        return np.zeros(len(values))
    return np.asarray(beside[:, line] * np.linalg.lstsq(with_step, values, rcond=None)[0][line], np.float64)
