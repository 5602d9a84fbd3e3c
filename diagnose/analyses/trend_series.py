"""What every detector starts from: readings in order, where gaps are, the noise of the log, limits for a false alarm.

A limit is set for a whole log: of a hundred clean logs, whatever their length, one may raise a false alarm (`RATE`).
Noise with heavy tails is the exception for spikes: single readings that far away are then part of the noise.
`python -m tests.benchmarks false-alarms` holds the detectors to it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from diagnose.analyses.amounts import Array

Flags = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.intp]

RATE = 0.01
"""False alarms a clean log and detector."""

MAD_TO_SD = 1.482602218505602
"""1/Φ⁻¹(0.75): the median absolute deviation of a normal spread, times this, is its standard deviation."""

_NORMAL = NormalDist()
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(21)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


@dataclass(frozen=True, slots=True)
class Mark:
    """A place in a log: from when to when (seconds), and a size in the unit of the readings."""

    start: float
    end: float
    size: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """What a detector has to say: its statistic against its limit; where, and how big.

    ``untested`` says why when a log gives nothing to test, ``unit`` what sizes are in when not in that of the readings.
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

    @property
    def strength(self) -> float:
        """Return the statistic over its limit; 1 is just enough."""
        return abs(self.value / self.limit) if self.limit and math.isfinite(self.value) else 0.0


@dataclass(frozen=True, slots=True)
class Noise:
    """The fast unrest of a log: its standard deviation, and the smallest step in which readings are written."""

    sd: float
    resolution: float


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """Readings without those that are missing, their times, and whether a gap lies before each."""

    times: Array
    values: Array
    gap_before: Flags
    step: float
    noise: Noise

    @property
    def level(self) -> float:
        """Return the median of the readings' sizes."""
        return float(np.median(np.abs(self.values)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What detectors look at: the readings, and what stands beside each of them, where it does.

    ``current`` is in mA, ``running`` 1 or 0 (NaN: not known), ``second`` and ``upper`` (URV) in the readings' unit.
    """

    data: Series
    current: Array | None = None
    running: Array | None = None
    second: Array | None = None
    upper: float | None = None


def series(times: Array, values: Array, step: float, gap: float = 5.0) -> Series:
    """Return a series; steps longer than ``gap`` usual ones are gaps."""
    before = np.zeros(len(values), bool)
    before[1:] = np.diff(times) > gap * step
    return Series(times, values, before, step, noise_of(values, before))


def scale(values: Array) -> float:
    """Return a standard deviation that outliers do not move, from the median absolute deviation.

    >>> scale(np.array([1.0, 2.0, 3.0, 4.0, 1000.0])) / MAD_TO_SD
    1.0
    """
    return MAD_TO_SD * float(np.median(np.abs(values - np.median(values))))


def noise_of(values: Array, gap_before: Flags) -> Noise:
    """Return the noise from differences of neighbours: sd/√2, less what rounding adds (resolution²/12)."""
    steps = np.diff(values)[~gap_before[1:]]
    if not len(steps):
        return Noise(0.0, 0.0)
    resolution = resolution_of(values)
    return Noise(sd_of_steps(steps, resolution), resolution)


def sd_of_steps(steps: Array, resolution: float) -> float:
    """Return the noise's standard deviation from differences of neighbours, robust against jumps and spikes."""
    spread = MAD_TO_SD * float(np.median(np.abs(steps)))
    if spread < 3 * resolution:
        # Rounded differences have few values and no useful median: their mean square, with the far ones drawn in.
        spread = max(spread, resolution)
        for _ in range(3):
            spread = max(float(np.sqrt(np.mean(np.minimum(np.abs(steps), 3.5 * spread) ** 2))), 0.3 * resolution)
    return math.sqrt(max(0.0, spread**2 / 2 - resolution**2 / 12))


def resolution_of(values: Array, most: int = 60_000) -> float:
    """Return the step in which readings are written, 0 when there is none.

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
    apart = np.diff(different)
    tiny = 1e-9 * float(np.max(np.abs(different)))
    apart = apart[apart > tiny]
    least = float(apart.min()) if len(apart) else 0.0
    if least == 0.0:
        return 0.0
    times = apart / least
    fits = np.abs(times - np.round(times)) < 0.02 * np.maximum(1.0, np.minimum(times, 5.0))
    if fits.mean() < 0.98 or len(different) > 0.9 * len(values) > 100:
        return 0.0
    return float(np.median(apart[times < 1.5]))


def limit(tests: float, error: float = 0.0) -> float:
    """Return the size, in standard deviations, that one of ``tests`` passes in a share `RATE` of clean logs, two-sided.

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
        # The mean over what the standard deviation may really be, log-normal around what was found.
        passed = sum(
            weight * math.erfc(middle * math.exp(error * node) / math.sqrt(2)) / 2
            for node, weight in zip(_NODES.tolist(), _WEIGHTS.tolist(), strict=True)
        )
        low, high = (middle, high) if passed > share else (low, middle)
    return high


def so_often(count: int) -> str:
    """Return how often something was seen, in words.

    >>> so_often(1), so_often(3)
    ('once', '3 times')
    """
    return "once" if count == 1 else f"{count} times"


def student(normal: float, freedom: float) -> float:
    """Return the quantile of Student's t at the probability of a normal quantile (Wallace 1959, turned round).

    >>> round(student(2.5758, 9), 1)
    3.2
    """
    widened = normal * (8 * freedom + 3) / (8 * freedom + 1)
    return math.sqrt(freedom * math.expm1(widened**2 / freedom))


def autocorrelation(values: Array) -> float:
    """Return the correlation of neighbours, corrected for the bias of short series (Kendall 1954: -(1 + 3 r)/n)."""
    apart = values - values.mean()
    square = float(apart @ apart)
    if square == 0.0 or len(values) < 4:
        return 0.0
    found = float(apart[1:] @ apart[:-1]) / square
    return min(0.99, found + (1 + 3 * found) / len(values))


def von_neumann(values: Array) -> float:
    """Return the mean squared difference of neighbours over the variance: about 2 for white noise (von Neumann 1941).

    >>> von_neumann(np.array([1.0, 2.0, 3.0, 4.0, 5.0])), round(von_neumann(np.array([1.0, -1.0] * 3)), 4)
    (0.4, 3.3333)
    """
    variance = float(np.var(values, ddof=1))
    return float(np.mean(np.diff(values) ** 2)) / variance if variance else 0.0


def stretches(flags: Flags) -> tuple[Indices, Indices]:
    """Return first and one-behind-last index of each stretch of true flags.

    >>> [list(map(int, each)) for each in stretches(np.array([True, True, False, True]))]
    [[0, 3], [2, 4]]
    """
    edges = np.diff(np.concatenate(([0], flags.astype(np.int8), [0])))
    return np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)


def covered(starts: Indices, ends: Indices, count: int) -> Flags:
    """Return which of so many readings lie in one of the stretches (end one behind the last): `stretches` turned round.

    >>> covered(np.array([0, 3]), np.array([2, 4]), 5).tolist()
    [True, True, False, True, False]
    """
    edges = np.zeros(count + 1, np.int64)
    np.add.at(edges, starts, 1)
    np.add.at(edges, ends, -1)
    return np.asarray(np.cumsum(edges[:-1]) > 0)


def marks_of(data: Series, starts: Indices, ends: Indices, sizes: Array, most: int = 200) -> tuple[Mark, ...]:
    """Return marks of stretches (end one behind the last), the biggest ones if there are very many, in order."""
    order = np.sort(np.argsort(-np.abs(sizes), kind="stable")[:most])
    return tuple(
        Mark(float(data.times[starts[each]]), float(data.times[ends[each] - 1]), float(sizes[each])) for each in order
    )
