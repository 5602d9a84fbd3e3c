"""Swings in a steady rhythm: a line that stands out of the spectrum around it.

The power at each frequency is held against the middle of its neighbours', which follows noise with memory, slow changes
and rounding; long logs are cut into stretches whose spectra are averaged (Welch 1967). The plant's day is no sign.
"""

from __future__ import annotations

import math

import numpy as np

from diagnose.analyses.amounts import Array
from diagnose.analyses.trend_series import RATE, Mark, Seen, Sign, limit

DAY = 86400.0
FEWEST = 64
LONGEST = 1 << 15
"""Readings of a stretch, at most."""

FEWEST_CYCLES = 6
"""Swings in a stretch that a rhythm has at least."""

LEAST_SHARE = 0.02
"""Share of the variance that a swing has at least (estimate)."""

MOST_HOLES = 0.2
"""Share of even times that may be filled in between readings."""

BIAS = math.log(2.0)
"""Median of an exponential spread over its mean: what a median of single spectra is too low by."""


def swings(seen: Seen) -> Sign:
    """Return whether the readings swing in a rhythm, its period and size."""
    even = _even(seen)
    if even is None:
        return Sign(id="swings", untested=f"needs {FEWEST} readings at even times, without long gaps")
    if not np.ptp(even[0]):
        return Sign(id="swings", untested="all readings are equal")
    values, step = even
    power, stretches, length = _spectrum(values)
    background = _background(power, stretches)
    ratio = np.divide(power, background, out=np.zeros_like(power), where=background > 0)
    ratio[:FEWEST_CYCLES] = 0.0
    ratio[_of_the_day(len(power), length * step)] = 0.0
    ratio[-2:] = 0.0
    best = int(np.argmax(ratio))
    least = _least(len(power), stretches)
    statistic = "power of the rhythm over that of the frequencies around it"
    share, size = _size(power, background, best, values)
    if ratio[best] <= least or share < LEAST_SHARE:
        return Sign(id="swings", statistic=statistic, value=min(float(ratio[best]), least), limit=least)
    period = length * step / best
    return Sign(
        id="swings",
        present=True,
        statistic=statistic,
        value=float(ratio[best]),
        limit=least,
        marks=(Mark(float(seen.data.times[0]), float(seen.data.times[-1]), size),),
        parameters={"period_seconds": period, "amplitude": size, "share_of_variance": share},
        because=f"a swing every {period:.4g} s of {size:.3g} up and down, {100 * share:.0f} % of all unrest"
        + ("; if the readings are too few for it, a faster one may stand behind" if best > 0.8 * len(power) else ""),
    )


def _even(seen: Seen) -> tuple[Array, float] | None:
    """Return readings at even times, holes filled in; None where that would be too much of them."""
    data = seen.data
    count = round(float(data.times[-1] - data.times[0]) / data.step) + 1 if data.step > 0 else 0
    if not FEWEST <= count <= (1 + MOST_HOLES) * len(data.values):
        return None
    times = data.times[0] + data.step * np.arange(count)
    return np.interp(times, data.times, data.values), data.step


def _spectrum(values: Array) -> tuple[Array, int, int]:
    """Return mean power of stretches at each frequency, how many stretches, and their length."""
    length = min(LONGEST, len(values))
    count = len(values) // length
    window = np.hanning(length + 1)[:-1]
    along = np.linspace(-1, 1, length)
    total = np.zeros(length // 2 + 1)
    for number in range(count):
        part = values[number * length : (number + 1) * length]
        slope = float(along @ part) / float(along @ along)
        total += np.abs(np.fft.rfft((part - part.mean() - slope * along) * window)) ** 2
    return total / count / float(window @ window), count, length


def _background(power: Array, stretches: int) -> Array:
    """Return the middle of the power around each frequency, over a band that widens with it."""
    count = len(power)
    logs = np.log(np.maximum(power, 1e-300))
    found = np.empty(count)
    start = 0
    while start < count:
        half = max(8, min(start // 3, 400))
        end = min(count, start + max(1, half // 4))
        around = logs[max(1, start - half) : min(count, end + half)]
        found[start:end] = float(np.median(around))
        start = end
    bias = BIAS if stretches == 1 else (1 - 1 / (9 * stretches)) ** 3
    return np.asarray(np.exp(found) / bias, np.float64)


def _least(count: int, stretches: int) -> float:
    """Return the ratio that one of ``count`` frequencies passes in a share `RATE` of clean logs.

    The mean of spectra is spread as chi-squared with two degrees of freedom each (Wilson and Hilferty 1931; exact for
    one); the background's own error and its slope raise it (measured on clean logs).
    """
    if stretches == 1:
        bare = math.log(count / RATE)
    else:
        freedom = 2 * stretches
        bare = (1 - 2 / (9 * freedom) + limit(count) * math.sqrt(2 / (9 * freedom))) ** 3
    return 1.6 * bare


def _of_the_day(count: int, span: float) -> Array:
    """Return the frequencies of a day, of half of it, and so on, as indices."""
    found: list[int] = []
    for part in range(1, 9):
        middle = span * part / DAY
        found += range(int(middle * 0.94) - 1, math.ceil(middle * 1.06) + 2)
    return np.array([each for each in found if 0 <= each < count], np.intp)


def _size(power: Array, background: Array, best: int, values: Array) -> tuple[float, float]:
    """Return the share of the variance within the line, and the amplitude that makes it."""
    near = slice(max(1, best - 2), best + 3)
    above = float(np.sum(np.maximum(power[near] - background[near], 0.0)))
    every = float(np.sum(power[1:])) or 1.0
    share = above / every
    return share, math.sqrt(2 * share * float(np.var(values)))
