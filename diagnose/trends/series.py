"""Common basis of the detectors: the series with its gaps and noise, and limits for a given false-alarm rate.

A limit applies to a whole log: of a hundred clean logs of any length, one may raise a false alarm (`RATE`). The
exception is spikes in noise with heavy tails, where single far readings are part of the noise. `python -m
tests.benchmarks false-alarms` checks the detectors.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from diagnose.tables.arrays import Array
from diagnose.tables.log_total import Total

Flags = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.intp]

RATE = 0.01
"""False alarms per clean log and detector."""

MAD_TO_SD = 1.482602218505602
"""1/Φ⁻¹(0.75): ratio of standard deviation to median absolute deviation of a normal distribution."""

_NORMAL = NormalDist()
NODES, _RAW_WEIGHTS = np.polynomial.hermite_e.hermegauss(21)
WEIGHTS = _RAW_WEIGHTS / _RAW_WEIGHTS.sum()
"""Values of a standard normal variable, and their weights in a mean over it (Gauss and Hermite)."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A marked part of a log: start and end (seconds), and a size in the unit of the readings."""

    start: float
    end: float
    size: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Detection:
    """The result of a detector: its statistic and limit, and where and how large the sign is.

    ``untested`` is the reason if the log cannot be tested, ``unit`` that of the sizes if not that of the readings.
    ``excludes`` says that a sign that was not seen is not there: the log would have shown it, had it mattered.
    """

    id: str
    present: bool = False
    statistic: str = ""
    value: float = 0.0
    limit: float = 0.0
    marks: tuple[Mark, ...] = ()
    parameters: Mapping[str, float | str] = field(default_factory=dict)
    because: str = ""
    untested: str = ""
    unit: str = ""
    excludes: bool = False

    @property
    def strength(self) -> float:
        """The statistic over its limit; 1 is just significant."""
        return abs(self.value / self.limit) if self.limit and math.isfinite(self.value) else 0.0


@dataclass(frozen=True, slots=True)
class Noise:
    """The short-term noise of a log: its standard deviation, and the resolution of the readings."""

    sd: float
    resolution: float


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """The readings without missing ones, their times, and whether there is a gap before each."""

    times: Array
    values: Array
    gap_before: Flags
    step: float
    noise: Noise

    @property
    def level(self) -> float:
        """The median of the absolute readings."""
        return float(np.median(np.abs(self.values)))


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesView:
    """The input of the detectors: the readings and, if logged, the other channels.

    ``current`` is in mA, ``running`` 1 or 0 (NaN: unknown), ``second`` and ``upper`` (URV) in the unit of the readings.
    ``total`` is there if the log is that of a totaliser, whose differences the readings are.
    """

    data: Series
    current: Array | None = None
    running: Array | None = None
    second: Array | None = None
    upper: float | None = None
    total: Total | None = None


def kept_of(seen: SeriesView, kept: Flags) -> SeriesView:
    """Return a part of the readings with what stands beside them; what is left out is a gap."""
    if kept.all():
        return seen
    data = seen.data
    before = data.gap_before.copy()
    before[1:] |= ~kept[:-1]
    columns = (None if each is None else each[kept] for each in (seen.current, seen.running, seen.second))
    values, gaps = data.values[kept], before[kept]
    current, running, second = columns
    return SeriesView(
        data=Series(data.times[kept], values, gaps, data.step, noise_of(values, gaps)),
        current=current,
        running=running,
        second=second,
        upper=seen.upper,
        total=seen.total,
    )


def series(times: Array, values: Array, step: float, gap: float = 5.0) -> Series:
    """Return a series; steps longer than ``gap`` usual ones are gaps."""
    before = np.zeros(len(values), bool)
    before[1:] = np.diff(times) > gap * step
    return Series(times, values, before, step, noise_of(values, before))


def scale(values: Array) -> float:
    """Return a robust standard deviation, from the median absolute deviation.

    >>> scale(np.array([1.0, 2.0, 3.0, 4.0, 1000.0])) / MAD_TO_SD
    1.0
    """
    return MAD_TO_SD * float(np.median(np.abs(values - np.median(values))))


def noise_of(values: Array, gap_before: Flags) -> Noise:
    """Return the noise from differences of neighbours: sd/√2, corrected for rounding (resolution²/12)."""
    steps = np.diff(values)[~gap_before[1:]]
    if not len(steps):
        return Noise(0.0, 0.0)
    resolution = resolution_of(values)
    return Noise(sd_of_steps(steps, resolution), resolution)


def sd_of_steps(steps: Array, resolution: float) -> float:
    """Return the standard deviation of the noise from differences of neighbours, robust against jumps and spikes."""
    spread = MAD_TO_SD * float(np.median(np.abs(steps)))
    if spread < 3 * resolution:
        # Rounded differences have few distinct values and no useful median: use their mean square, outliers clipped.
        spread = max(spread, resolution)
        for _ in range(3):
            spread = max(float(np.sqrt(np.mean(np.minimum(np.abs(steps), 3.5 * spread) ** 2))), 0.3 * resolution)
    return math.sqrt(max(0.0, spread**2 / 2 - resolution**2 / 12))


def resolution_of(values: Array, most: int = 60_000) -> float:
    """Return the resolution of the readings, 0 if there is none.

    >>> round(resolution_of(np.array([1.25, 1.5, 2.0, 1.75, 3.25, 1.25, 1.5])), 6)
    0.25
    """
    third = most // 3
    middle = len(values) // 2
    if len(values) > most:
        values = np.concatenate((values[:third], values[middle : middle + third], values[-third:]))
    different = np.unique(values)
    if len(different) < 2:
        return 0.0
    spacings = np.diff(different)
    tiny = 1e-9 * float(np.max(np.abs(different)))
    spacings = spacings[spacings > tiny]
    least = float(spacings.min()) if len(spacings) else 0.0
    if least == 0.0:
        return 0.0
    times = spacings / least
    fits = np.abs(times - np.round(times)) < 0.02 * np.maximum(1.0, np.minimum(times, 5.0))
    if fits.mean() < 0.98 or len(different) > 0.9 * len(values) > 100:
        return 0.0
    return float(np.median(spacings[times < 1.5]))


def limit(tests: float, error: float = 0.0) -> float:
    """Return the two-sided limit, in standard deviations, that any of ``tests`` exceeds with probability `RATE`.

    ``error`` is the relative standard error of the standard deviation itself; it raises the limit.

    >>> round(limit(1), 3), round(limit(1000), 2)
    (2.576, 4.42)
    """
    return _limit(round(tests, 3), round(min(error, 0.35), 4))


@lru_cache(maxsize=4096)
def _limit(tests: float, error: float) -> float:
    share = RATE / (2 * max(tests, 1.0))
    bare = -_NORMAL.inv_cdf(share)
    if not error:
        return bare
    low, high = bare, 60.0
    for _ in range(50):
        middle = (low + high) / 2
        # Average over the true standard deviation, log-normal around the estimate.
        passed = sum(
            weight * math.erfc(middle * math.exp(error * node) / math.sqrt(2)) / 2
            for node, weight in zip(NODES.tolist(), WEIGHTS.tolist(), strict=True)
        )
        low, high = (middle, high) if passed > share else (low, middle)
    return high


def so_often(count: int) -> str:
    """Format a number of times in words.

    >>> so_often(1), so_often(3)
    ('once', '3 times')
    """
    return "once" if count == 1 else f"{count} times"


def student(normal: float, freedom: float) -> float:
    """Return the quantile of Student's t at the probability of a normal quantile (Wallace 1959, inverted).

    >>> round(student(2.5758, 9), 1)
    3.2
    """
    widened = normal * (8 * freedom + 3) / (8 * freedom + 1)
    return math.sqrt(freedom * math.expm1(widened**2 / freedom))


def autocorrelation(values: Array) -> float:
    """Return the lag-1 autocorrelation, corrected for the bias of short series (Kendall 1954: -(1 + 3 r)/n)."""
    centred = values - values.mean()
    square = float(centred @ centred)
    if square == 0.0 or len(values) < 4:
        return 0.0
    found = float(centred[1:] @ centred[:-1]) / square
    return min(0.99, found + (1 + 3 * found) / len(values))


def von_neumann(values: Array) -> float:
    """Return von Neumann's ratio, mean squared difference over variance: about 2 for white noise (von Neumann 1941).

    >>> von_neumann(np.array([1.0, 2.0, 3.0, 4.0, 5.0])), round(von_neumann(np.array([1.0, -1.0] * 3)), 4)
    (0.4, 3.3333)
    """
    variance = float(np.var(values, ddof=1))
    return float(np.mean(np.diff(values) ** 2)) / variance if variance else 0.0


def stretches(flags: Flags) -> tuple[Indices, Indices]:
    """Return start and end (exclusive) of each stretch of true flags.

    >>> [list(map(int, each)) for each in stretches(np.array([True, True, False, True]))]
    [[0, 3], [2, 4]]
    """
    edges = np.diff(np.concatenate(([0], flags.astype(np.int8), [0])))
    return np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)


def covered(starts: Indices, ends: Indices, count: int) -> Flags:
    """Return which of ``count`` readings are in one of the stretches (end exclusive): the inverse of `stretches`.

    >>> covered(np.array([0, 3]), np.array([2, 4]), 5).tolist()
    [True, True, False, True, False]
    """
    edges = np.zeros(count + 1, np.int64)
    np.add.at(edges, starts, 1)
    np.add.at(edges, ends, -1)
    return np.asarray(np.cumsum(edges[:-1]) > 0)


def marks_of(data: Series, starts: Indices, ends: Indices, sizes: Array, most: int = 200) -> tuple[Mark, ...]:
    """Return marks of stretches (end exclusive), in order; the largest ones if there are very many."""
    order = np.sort(np.argsort(-np.abs(sizes), kind="stable")[:most])
    return tuple(
        Mark(float(data.times[starts[each]]), float(data.times[ends[each] - 1]), float(sizes[each])) for each in order
    )
