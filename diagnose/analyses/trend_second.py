"""A second meter beside the readings: whose unrest it is, and whether both show the same."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from diagnose.analyses.amounts import Array
from diagnose.analyses.trend_series import (
    MAD_TO_SD,
    Flags,
    Seen,
    Sign,
    limit,
    resolution_of,
    scale,
    sd_of_steps,
    student,
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

OF_A_MEDIAN = 1.2533
"""Standard error of a median over that of a mean, √(π/2), for a normal spread."""

OF_A_MAD = 1.166
"""Relative standard error of a median absolute deviation, times √n, for a normal spread (efficiency 37 %)."""

LAGS = 10
"""Neighbours whose likeness is counted for the unrest: differences forget quickly."""

AT_ONCE = 1 << 16
"""Readings whose memory is worked out at once; longer logs by means of some together."""

WIDE = 1.2
"""Highest flows over lowest from which both ends are looked at on their own, and a line has an offset."""

IN_A_BLOCK = 20
"""Readings in a row whose means are sorted by flow: single readings would be sorted by their noise."""


@dataclass(frozen=True, slots=True)
class Apart:
    """A typical difference, a share of the flow, its limit, and how many readings without memory it is worth."""

    middle: float
    least: float
    worth: float


def noise(seen: Seen) -> Sign:
    """Return whether the readings are far more restless than the second meter, which sees the same liquid."""
    own = seen.data.noise.sd
    if seen.second is None:
        figure = f"the fast unrest is {own:.2g}"
        return Sign(id="noise", untested=f"{NO_SECOND}; {figure}", because=figure, parameters={"own_noise": own})
    told = _both(seen, seen.second)
    there = np.isfinite(seen.second)
    resolution = resolution_of(seen.second[there])
    pairs = told[1:] & told[:-1] & ~seen.data.gap_before[1:]
    if not resolution:
        # Written finely, equal neighbours are one reading held: they tell nothing of the liquid.
        pairs &= np.diff(seen.second) != 0
    if int(np.count_nonzero(pairs)) < FEWEST:
        return Sign(id="noise", untested=f"needs {FEWEST} readings of both meters, the second one moving")
    steps, others_steps = np.diff(seen.data.values)[pairs], np.diff(seen.second)[pairs]
    own = sd_of_steps(steps, seen.data.noise.resolution)
    # A second meter written coarsely hides its unrest below a third of its step.
    others = max(sd_of_steps(others_steps, resolution), resolution / 3, 1e-9 * seen.data.level, 1e-300)
    ratio = own / others
    least = TWICE * math.exp(_error_of_ratio(steps, others_steps))
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


def _error_of_ratio(one: Array, other: Array) -> float:
    """Return how far chance takes the logarithm of a ratio of two deviations, by what differences are worth each."""
    worth = [len(each) / _likeness(each) for each in (one, other)]
    error = OF_A_MAD * math.sqrt(1 / worth[0] + 1 / worth[1])
    return student(limit(1), max(2.0, min(worth))) * error


def _likeness(steps: Array) -> float:
    """Return 1 + 2 Σ r², by which squares of values with memory are worth less (Bartlett 1946)."""
    drawn = np.clip(steps, -3.5 * scale(steps), 3.5 * scale(steps)) if scale(steps) else steps
    drawn = drawn - drawn.mean()
    square = float(drawn @ drawn)
    if not square:
        return 1.0
    likes = [float(drawn[lag:] @ drawn[:-lag]) / square for lag in range(1, min(LAGS, len(drawn) - 1) + 1)]
    return 1 + 2 * sum(each**2 for each in likes)


def second_meter(seen: Seen) -> Sign:
    """Return whether the second meter shows something else, and by which factor and amount."""
    if seen.second is None:
        return Sign(id="second-meter", untested=NO_SECOND)
    flowing = _flowing(seen, seen.second)
    if int(np.count_nonzero(flowing)) < FEWEST:
        return Sign(id="second-meter", untested=f"needs {FEWEST} readings of both meters at flow")
    own, others = seen.data.values[flowing], seen.second[flowing]
    ends = _ends(own, others)
    tests = 1 + len(ends)
    every = apart_by(own / others - 1, tests)
    found = {"": every} | {name: apart_by((own / others - 1)[part], tests) for name, part in ends.items()}
    where, most = max(found.items(), key=lambda each: abs(each[1].middle) / each[1].least)
    statistic = "typical difference from the second meter, a share of the flow" + (f", at {where}" if where else "")
    if abs(most.middle) <= most.least:
        return Sign(id="second-meter", statistic=statistic, value=abs(most.middle), limit=most.least)
    offset, factor, error = line(others, own)
    return Sign(
        id="second-meter",
        present=True,
        statistic=statistic,
        value=abs(most.middle),
        limit=most.least,
        parameters={
            "difference_percent": 100 * every.middle,
            **{f"difference_percent_at_{name.replace(' ', '_')}": 100 * found[name].middle for name in ends},
            "offset": offset,
            "factor": factor,
            "standard_error_of_factor": error,
            "readings_without_memory": most.worth,
        },
        because=f"{100 * most.middle:+.2g} % typically{f' at {where}' if where else ''}; by a line {factor:.4g} times "
        f"the second meter {offset:+.2g} (the factor within {2 * error:.1g}, k = 2)",
    )


def _both(seen: Seen, second: Array) -> Flags:
    there = np.isfinite(second)
    if seen.running is not None:
        there &= seen.running != 0
    return np.asarray(there, bool)


def _flowing(seen: Seen, second: Array) -> Flags:
    """Return where both meters show a flow that can be held against each other: the pump runs, and something flows."""
    sizes, there = np.abs(second), _both(seen, second)
    if not there.any():
        return there
    usual = float(np.quantile(sizes[there], OFTEN))
    return np.asarray(there & (sizes > FLOWS * usual), bool)


def _ends(own: Array, others: Array) -> dict[str, Flags]:
    """Return which readings are at the lowest and the highest third of flows, where these lie apart."""
    blocks = len(own) // IN_A_BLOCK
    if blocks < 6:
        return {}
    places = np.minimum(np.arange(len(own)) // IN_A_BLOCK, blocks - 1)
    # Both meters together: sorting by one alone would take its noise for a difference.
    flow = np.bincount(places, np.abs(own + others)) / np.bincount(places)
    low, high = np.quantile(flow, (1 / 3, 2 / 3))
    ends = {"low flow": flow <= low, "high flow": flow >= high}
    if float(np.median(flow[ends["high flow"]])) < WIDE * float(np.median(flow[ends["low flow"]])):
        return {}
    return {name: np.asarray(each[places], bool) for name, each in ends.items()}


def apart_by(shares: Array, tests: int) -> Apart:
    """Return the median of differences, and from where on it is neither chance nor as meters on site agree."""
    spread = MAD_TO_SD * float(np.median(np.abs(shares - np.median(shares))))
    worth = worth_of(shares)
    # What the readings are worth is itself uncertain: half of it counts as freedom (measured on logs with memory).
    chance = student(limit(tests), max(1.0, (worth - 1) / 2)) * OF_A_MEDIAN * spread / math.sqrt(worth)
    return Apart(float(np.median(shares)), max(AGREE, chance), worth)


def worth_of(values: Array) -> float:
    """Return how many values without memory a mean of these is worth: n over 1 + 2 Σ r, up to the first pair below 0.

    Pairs as in Geyer (1992). What lies far out is drawn in first; the bias of short series is counted, about
    -(1 + 2 Σ r)/n a lag.
    """
    count = len(values)
    together = math.ceil(count / AT_ONCE)
    middle, far = float(np.median(values)), 3.5 * scale(values)
    drawn = np.clip(values, middle - far, middle + far) if far else values
    drawn = drawn[: count // together * together].reshape(-1, together).mean(axis=1)
    likes = _likes(drawn)
    memory = 1.0
    for _ in range(3):
        sums = likes + memory / len(drawn)
        pairs = sums[0 : len(sums) // 2 * 2 : 2] + sums[1 : len(sums) // 2 * 2 : 2]
        below = np.flatnonzero(pairs <= 0)
        memory = max(1.0, 2 * float(np.sum(pairs[: below[0] if len(below) else None])) - 1)
    return max(1.0, len(drawn) / memory)


def _likes(values: Array) -> Array:
    """Return the correlation of values with those some places on, up to a third of their number."""
    apart = values - values.mean()
    count = len(apart)
    spectrum = np.fft.rfft(apart, 1 << (2 * count - 1).bit_length())
    sums = np.fft.irfft(np.abs(spectrum) ** 2)[: max(2, count // 3)]
    return np.asarray(sums / sums[0] if sums[0] > 0 else np.eye(1, len(sums))[0], np.float64)


def line(x: Array, y: Array) -> tuple[float, float, float]:
    """Return offset, factor and the factor's standard error of a line through the readings that lie together.

    What lies far from a line through the thirds is left out; least squares through the rest, memory counted.

    >>> [round(each, 6) for each in line(np.arange(60.0), 2 + 3 * np.arange(60.0))]
    [2.0, 3.0, 0.0]
    """
    offset, factor = line_through_thirds(x, y)
    rest = y - offset - factor * x
    spread = scale(rest)
    kept = np.abs(rest - np.median(rest)) <= 3.5 * spread
    x, y, rest = x[kept], y[kept], rest[kept]
    along = x - x.mean()
    square = float(along @ along)
    level = abs(float(np.median(x))) or 1.0
    # Where flow varies little beside the noise, a slope would tell of the noise: the factor alone is told.
    if offset == 0.0 or not spread or square <= 25 * float(np.sum((rest - rest.mean()) ** 2)):
        if offset and spread:
            offset, factor = 0.0, float(np.median(y) / np.median(x))
        return offset, factor, OF_A_MEDIAN * spread / level / math.sqrt(worth_of(rest))
    factor = float(along @ y) / square
    offset = float(y.mean() - factor * x.mean())
    rest = y - offset - factor * x
    return offset, factor, math.sqrt(float(rest @ rest) / worth_of(rest) / square)


def line_through_thirds(x: Array, y: Array) -> tuple[float, float]:
    """Return offset and factor of a line through the medians of the lowest and the highest third (Brown and Mood 1951).

    Where ``x`` hardly varies the factor alone is told.

    >>> line_through_thirds(np.arange(9.0), 2 + 3 * np.arange(9.0))
    (2.0, 3.0)
    """
    ordered = np.argsort(x, kind="stable")
    third = max(1, len(x) // 3)
    low, high = ordered[:third], ordered[-third:]
    apart = float(np.median(x[high]) - np.median(x[low]))
    if apart <= (WIDE - 1) * abs(float(np.median(x))):
        return 0.0, float(np.median(y) / np.median(x))
    factor = float(np.median(y[high]) - np.median(y[low])) / apart
    return float(np.median(y - factor * x)), factor
