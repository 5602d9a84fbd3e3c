"""A second meter beside the readings: whose unrest it is, and whether both show the same."""

from __future__ import annotations

import math

import numpy as np

from diagnose.analyses.amounts import Array
from diagnose.analyses.trend_series import (
    MAD_TO_SD,
    Flags,
    Seen,
    Sign,
    autocorrelation,
    limit,
    noise_of,
    sd_of_steps,
)

NO_SECOND = "no second meter beside the readings"
FEWEST = 30
"""Readings of both meters that tell anything."""

TWICE = 2.0
"""Times the second meter's unrest from which a meter's own unrest is more than the liquid's (estimate)."""

AGREE = 0.02
"""Difference up to which two meters on site agree (common practice: about 2 %)."""

FLOWS = 0.1
"""Share of the usual flow from which it flows."""

OFTEN = 0.95
"""Share of the readings below the usual flow: a pump may stand most of the time."""

OUTSIDE = 3.5
"""Standard deviations from which a reading is left out of the line between both meters."""


def noise(seen: Seen) -> Sign:
    """Return whether the readings are far more restless than the second meter, which sees the same liquid."""
    own = seen.data.noise.sd
    if seen.second is None:
        return Sign(id="noise", untested=f"{NO_SECOND}; the fast unrest is {own:.2g}")
    told = np.isfinite(seen.second)
    if seen.running is not None:
        told &= seen.running != 0
    both = told[1:] & told[:-1] & ~seen.data.gap_before[1:]
    count = int(np.count_nonzero(both))
    if count < FEWEST:
        return Sign(id="noise", untested=f"needs {FEWEST} readings of both meters")
    other = noise_of(seen.second[np.isfinite(seen.second)], np.zeros(int(np.isfinite(seen.second).sum()), bool))
    own = sd_of_steps(np.diff(seen.data.values)[both], seen.data.noise.resolution)
    others = max(
        sd_of_steps(np.diff(seen.second)[both], other.resolution), other.resolution / 3, 1e-9 * seen.data.level
    )
    ratio = own / others
    least = TWICE * math.exp(limit(1) * 1.7 / math.sqrt(count))
    statistic = "fast unrest over that of the second meter"
    if ratio <= least:
        return Sign(id="noise", statistic=statistic, value=ratio, limit=least)
    return Sign(
        id="noise",
        present=True,
        statistic=statistic,
        value=ratio,
        limit=least,
        parameters={"own_noise": own, "noise_of_second": others, "ratio": ratio},
        because=f"its fast unrest ({own:.2g}) is {ratio:.2g} times that of the second meter ({others:.2g})",
    )


def second_meter(seen: Seen) -> Sign:
    """Return whether the second meter shows something else, and by which factor and amount."""
    if seen.second is None:
        return Sign(id="second-meter", untested=NO_SECOND)
    flowing = _flowing(seen, seen.second)
    count = int(np.count_nonzero(flowing))
    if count < FEWEST:
        return Sign(id="second-meter", untested=f"needs {FEWEST} readings of both meters at flow")
    own, others = seen.data.values[flowing], seen.second[flowing]
    apart = own / others - 1
    middle = float(np.median(apart))
    least = max(AGREE, limit(1) * _error(apart))
    statistic = "typical difference from the second meter, a share of the flow"
    if abs(middle) <= least:
        return Sign(id="second-meter", statistic=statistic, value=abs(middle), limit=least)
    offset, factor, error = line(others, own)
    return Sign(
        id="second-meter",
        present=True,
        statistic=statistic,
        value=abs(middle),
        limit=least,
        parameters={
            "difference_percent": 100 * middle,
            "offset": offset,
            "factor": factor,
            "standard_error_of_factor": error,
        },
        because=f"{100 * middle:+.2g} % typically; by a line {factor:.4g} times the second meter {offset:+.2g} "
        f"(the factor within {2 * error:.1g}, k = 2)",
    )


def _flowing(seen: Seen, second: Array) -> Flags:
    """Return where both meters show a flow that can be held against each other: the pump runs, and something flows."""
    sizes = np.abs(second)
    there = np.isfinite(second)
    if seen.running is not None:
        there &= seen.running != 0
    if not there.any():
        return there
    return np.asarray(there & (sizes > FLOWS * float(np.quantile(sizes[there], OFTEN))), bool)


def _error(apart: Array) -> float:
    spread = MAD_TO_SD * float(np.median(np.abs(apart - np.median(apart))))
    memory = max(0.0, autocorrelation(apart))
    return 1.2533 * spread * math.sqrt((1 + memory) / (1 - memory) / len(apart))


def line(x: Array, y: Array) -> tuple[float, float, float]:
    """Return offset, factor and the factor's standard error of a line through the readings that lie together.

    What lies far from a line through the thirds is left out; least squares through the rest, memory counted.

    >>> [round(each, 6) for each in line(np.arange(60.0), 2 + 3 * np.arange(60.0))]
    [2.0, 3.0, 0.0]
    """
    offset, factor = line_through_thirds(x, y)
    rest = y - offset - factor * x
    spread = MAD_TO_SD * float(np.median(np.abs(rest - np.median(rest))))
    kept = np.abs(rest - np.median(rest)) <= OUTSIDE * spread
    x, y = x[kept], y[kept]
    along = x - x.mean()
    square = float(along @ along)
    if offset == 0.0 or square == 0.0 or not spread:
        level = abs(float(np.median(x))) or 1.0
        return offset, factor, 1.2533 * spread / level / math.sqrt(len(x))
    factor = float(along @ y) / square
    offset = float(y.mean() - factor * x.mean())
    rest = y - offset - factor * x
    memory = max(0.0, autocorrelation(rest))
    return offset, factor, math.sqrt(float(rest @ rest) / len(x) / square * (1 + memory) / (1 - memory))


def line_through_thirds(x: Array, y: Array) -> tuple[float, float]:
    """Return offset and factor of a line through the medians of the lowest and the highest third (Brown and Mood 1951).

    Where ``x`` hardly varies the factor alone is told.

    >>> line_through_thirds(np.arange(9.0), 2 + 3 * np.arange(9.0))
    (2.0, 3.0)
    """
    order = np.argsort(x, kind="stable")
    third = max(1, len(x) // 3)
    low, high = order[:third], order[-third:]
    apart = float(np.median(x[high]) - np.median(x[low]))
    if apart <= 0.1 * abs(float(np.median(x))):
        return 0.0, float(np.median(y) / np.median(x))
    factor = float(np.median(y[high]) - np.median(y[low])) / apart
    return float(np.median(y - factor * x)), factor
