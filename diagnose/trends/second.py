"""Comparison with a second meter in the log: typical difference, at all flows and at any time; and noise."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.drift import Growth, growth_beside
from diagnose.trends.plant import OFTEN, comparable_with, flowing_with
from diagnose.trends.restless import grown, noise_share
from diagnose.trends.series import (
    MAD_TO_SD,
    Detection,
    Flags,
    Mark,
    SeriesView,
    limit,
    resolution_of,
    scale,
    sd_of_steps,
    student,
)

NO_SECOND = "no second meter in the log"
FEWEST = 30
"""Fewest readings of both meters."""

TWICE = 2.0
"""Ratio of noise to that of the second meter from which it is the meter's rather than the liquid's (estimate)."""

AGREE = 0.02
"""Difference up to which two meters on site agree (common practice: about 2 %)."""

ZERO = 0.005
"""Share of the usual flow by which good zeros may differ (estimate); it counts for more at low flow."""

SURE = 0.03
"""Difference beyond which, chance included, a second meter that agrees would not have hidden it."""

RESTLESS = 0.02
"""Noise beyond the second meter's, as a share of the flow, from which it is more than other damping (estimate)."""

PEAKS, PEAK_BLOCKS = 0.05, 6
"""Share of the blocks with the highest flows that are looked at by themselves, and fewest of them."""

MORE = 1.5
"""Factor by which a part must differ more than the whole for the part to be told instead."""

SPLITS = 20.0
"""Independent ways to split a log in two, for its limit (estimate)."""

IN_A_PART = 4
"""Fewest blocks in a part of a log."""

DISPLAYED = 10.0
"""Seconds between readings up to which a log shows the unrest that people see at a display (estimate)."""

SE_OF_MEDIAN = 1.2533
"""Standard error of a median over that of a mean, √(π/2), for a normal distribution."""

SE_OF_MAD = 1.166
"""Relative standard error of a median absolute deviation, times √n, for a normal distribution (efficiency 37 %)."""

LAGS = 10
"""Lags of the autocorrelation of differences that are taken into account."""

AT_ONCE = 1 << 16
"""Most readings for one autocorrelation; longer logs are averaged in blocks."""

WIDE = 1.2
"""Ratio of high to low flows from which both ends are tested separately, and a line has an offset."""

IN_A_BLOCK = 20
"""Readings in a block; block means are sorted by flow, for single readings would be sorted by their noise."""


@dataclass(frozen=True, slots=True)
class TypicalDifference:
    """The median relative difference, its limit, and the effective number of independent readings."""

    middle: float
    least: float
    effective: float
    chance: float = 0.0


def noise(seen: SeriesView) -> Detection:
    """Detect readings that are much noisier than the second meter, which measures the same liquid, or than before."""
    more = grown(seen)
    if more.present:
        return more
    own = seen.data.noise.sd
    if seen.second is None:
        figure = f"the noise is {own:.2g}, and has not grown"
        return Detection(id="noise", untested=f"{NO_SECOND}; {figure}", because=figure, parameters={"own_noise": own})
    comparable = comparable_with(seen, seen.second)
    there = np.isfinite(seen.second)
    resolution = resolution_of(seen.second[there])
    pairs = comparable[1:] & comparable[:-1] & ~seen.data.gap_before[1:]
    if not resolution:
        # At a fine resolution, equal neighbours are a held reading and say nothing about the liquid.
        pairs &= np.diff(seen.second) != 0
    if int(np.count_nonzero(pairs)) < FEWEST:
        return Detection(id="noise", untested=f"needs {FEWEST} readings of both meters while the second one varies")
    steps, others_steps = np.diff(seen.data.values)[pairs], np.diff(seen.second)[pairs]
    own = sd_of_steps(steps, seen.data.noise.resolution)
    # A coarse resolution of the second meter hides noise below a third of it.
    others = max(sd_of_steps(others_steps, resolution), resolution / 3, 1e-9 * seen.data.level, 1e-300)
    ratio = own / others
    least = TWICE * math.exp(_error_of_ratio(steps, others_steps))
    statistic = "noise over that of the second meter"
    share = noise_share(seen.data.values[comparable], math.sqrt(max(0.0, own**2 - others**2)))
    if ratio <= least or share < RESTLESS:
        calm = share < RESTLESS / 2 and seen.data.step <= DISPLAYED
        return Detection(id="noise", statistic=statistic, value=min(ratio, least), limit=least, excludes=calm)
    return Detection(
        id="noise",
        present=True,
        statistic=statistic,
        value=ratio,
        limit=least,
        marks=(Mark(float(seen.data.times[0]), float(seen.data.times[-1]), own),),
        parameters={"own_noise": own, "noise_of_second": others, "ratio": ratio, "share_of_flow": share},
        because=f"its noise ({own:.2g}) is {ratio:.2g} times that of the second meter ({others:.2g})",
    )


def _error_of_ratio(one: Array, other: Array) -> float:
    """Return the limit by chance of the log ratio of two noises, from their effective sample sizes."""
    effective = [len(each) / _variance_inflation(each) for each in (one, other)]
    error = SE_OF_MAD * math.sqrt(1 / effective[0] + 1 / effective[1])
    return student(limit(1), max(2.0, min(effective))) * error


def _variance_inflation(steps: Array) -> float:
    """Return 1 + 2 Σ r², by which autocorrelation reduces the effective number of squares (Bartlett 1946)."""
    drawn = np.clip(steps, -3.5 * scale(steps), 3.5 * scale(steps)) if scale(steps) else steps
    drawn = drawn - drawn.mean()
    square = float(drawn @ drawn)
    if not square:
        return 1.0
    correlations = [float(drawn[lag:] @ drawn[:-lag]) / square for lag in range(1, min(LAGS, len(drawn) - 1) + 1)]
    return 1 + 2 * sum(each**2 for each in correlations)


NEARLY_ALWAYS, APART = 0.95, 0.1
"""Share of the readings in which two meters that agree are no further apart than that (estimate)."""


def second_meter(seen: SeriesView) -> Detection:
    """Detect a difference from the second meter at all or some flows or times, and estimate factor and offset."""
    if seen.second is None:
        return Detection(id="second-meter", untested=NO_SECOND)
    flowing = flowing_with(seen, seen.second)
    if int(np.count_nonzero(flowing)) < FEWEST:
        return Detection(id="second-meter", untested=f"needs {FEWEST} readings of both meters with flow")
    own, others = seen.data.values[flowing], seen.second[flowing]
    shares = own / others - 1
    ends, since = _ends(own, others), _since(shares)
    tests = 1 + len(ends) + (SPLITS if since else 0)
    parts = {"": np.ones(len(own), bool), **ends, **since}
    usual = float(np.quantile(np.abs(others), OFTEN))
    found = {name: _allowed(shares[part], others[part], usual, tests) for name, part in parts.items()}
    every = found[""]
    where, most = max(found.items(), key=lambda each: abs(each[1].middle) / each[1].least)
    if abs(every.middle) > every.least and abs(most.middle) < MORE * abs(every.middle):
        where, most = "", every
    statistic = "typical difference from the second meter, relative to the flow" + (f", {where}" if where else "")
    grown = growth_beside(seen) if abs(most.middle) <= most.least else None
    if grown and grown.is_sure and abs(grown.most) > AGREE + ZERO:
        return _growing(seen, grown, 100 * every.middle)
    if abs(most.middle) <= most.least:
        sure = all(abs(each.middle) + each.chance <= SURE for each in found.values())
        sure = sure and float(np.quantile(np.abs(shares), NEARLY_ALWAYS)) <= APART
        return Detection(
            id="second-meter", statistic=statistic, value=abs(most.middle), limit=most.least, excludes=sure
        )
    marked = parts[where] if where in since else parts[""]
    places = seen.data.times[flowing][marked]
    offset, factor, error = fit_line(others[marked], own[marked])
    return Detection(
        id="second-meter",
        present=True,
        statistic=statistic,
        value=abs(most.middle),
        limit=most.least,
        marks=(Mark(float(places[0]), float(places[-1]), most.middle * float(np.median(others[parts[where]]))),),
        parameters={
            "difference_percent": 100 * every.middle,
            **{f"difference_percent_{name.replace(' ', '_')}": 100 * found[name].middle for name in (*ends, *since)},
            "offset": offset,
            "factor": factor,
            "standard_error_of_factor": error,
            "readings_without_memory": most.effective,
        },
        because=f"{100 * most.middle:+.2g} % typically{f' {where}' if where else ''}; a line gives {factor:.4g} "
        f"times the second meter {offset:+.2g} (factor ± {2 * error:.1g}, k = 2)",
    )


def _growing(seen: SeriesView, grown: Growth, typical: float) -> Detection:
    """Return a difference that grows: typically it is within what chance or two good meters make, at one end not."""
    at = "at the end" if grown.most == grown.last else "at the beginning"
    return Detection(
        id="second-meter",
        present=True,
        statistic="trend of the difference from the second meter (Mann-Kendall, in standard deviations)",
        value=abs(grown.value),
        limit=grown.least,
        marks=(Mark(*grown.between, grown.most * seen.data.level),),
        parameters={
            "difference_percent": typical,
            "difference_percent_at_the_beginning": 100 * grown.first,
            "difference_percent_at_the_end": 100 * grown.last,
        },
        because=f"it creeps away, from {100 * grown.first:+.2g} % at the beginning to {100 * grown.last:+.2g} % at the "
        f"end of the log; {at} that is more than good meters differ",
    )


def _allowed(shares: Array, others: Array, usual: float, tests: float) -> TypicalDifference:
    """Return the typical difference with the limit at these flows: a zero counts for more at low flow."""
    found = typical_difference(shares, tests)
    flow = float(np.median(np.abs(others))) or usual
    return TypicalDifference(
        found.middle, max(found.least, AGREE + ZERO * max(0.0, usual / flow - 1)), found.effective, found.chance
    )


def _since(shares: Array) -> dict[str, Flags]:
    """Return the readings before and after the moment at which the difference changes most (Page 1955, by ranks)."""
    blocks = len(shares) // IN_A_BLOCK
    if blocks < 2 * IN_A_PART:
        return {}
    middles = np.median(shares[: blocks * IN_A_BLOCK].reshape(blocks, IN_A_BLOCK), axis=1)
    ranks = np.argsort(np.argsort(middles)) - (blocks - 1) / 2
    before = np.arange(IN_A_PART, blocks - IN_A_PART + 1)
    sums = np.abs(np.cumsum(ranks)[before - 1]) / np.sqrt(before * (blocks - before))
    later = np.arange(len(shares)) >= int(before[np.argmax(sums)]) * IN_A_BLOCK
    return {"in the earlier part": ~later, "in the later part": later}


def _ends(own: Array, others: Array) -> dict[str, Flags]:
    """Return which readings are in the lowest and the highest third of flows, if these differ enough."""
    blocks = len(own) // IN_A_BLOCK
    if blocks < 6:
        return {}
    places = np.minimum(np.arange(len(own)) // IN_A_BLOCK, blocks - 1)
    # By the sum of both meters: sorting by only one would turn its noise into a difference.
    flow = np.bincount(places, np.abs(own + others)) / np.bincount(places)
    low, high = np.quantile(flow, (1 / 3, 2 / 3))
    ends = {"at low flow": flow <= low, "at high flow": flow >= high}
    if float(np.median(flow[ends["at high flow"]])) < WIDE * float(np.median(flow[ends["at low flow"]])):
        return {}
    peaks = flow >= np.quantile(flow, 1 - PEAKS)
    if np.count_nonzero(peaks) >= PEAK_BLOCKS:
        ends["at the peaks"] = peaks
    return {name: np.asarray(each[places], bool) for name, each in ends.items()}


def typical_difference(shares: Array, tests: float) -> TypicalDifference:
    """Return the median difference and its limit: the larger of chance and what two meters on site may differ by."""
    spread = MAD_TO_SD * float(np.median(np.abs(shares - np.median(shares))))
    effective = effective_size(shares)
    # The effective size is itself uncertain: half of it counts as freedom (measured on autocorrelated logs).
    chance = student(limit(tests), max(1.0, (effective - 1) / 2)) * SE_OF_MEDIAN * spread / math.sqrt(effective)
    return TypicalDifference(float(np.median(shares)), max(AGREE, chance), effective, chance)


def effective_size(values: Array) -> float:
    """Return the effective sample size for a mean: n over 1 + 2 Σ r, up to the first negative pair of lags.

    Pairs as in Geyer (1992). Outliers are clipped first; the bias of short series, about -(1 + 2 Σ r)/n at each lag, is
    corrected.
    """
    count = len(values)
    together = math.ceil(count / AT_ONCE)
    middle, far = float(np.median(values)), 3.5 * scale(values)
    drawn = np.clip(values, middle - far, middle + far) if far else values
    drawn = drawn[: count // together * together].reshape(-1, together).mean(axis=1)
    correlations = _autocorrelations(drawn)
    inflation = 1.0
    for _ in range(3):
        sums = correlations + inflation / len(drawn)
        pairs = sums[0 : len(sums) // 2 * 2 : 2] + sums[1 : len(sums) // 2 * 2 : 2]
        below = np.flatnonzero(pairs <= 0)
        inflation = max(1.0, 2 * float(np.sum(pairs[: below[0] if len(below) else None])) - 1)
    return max(1.0, len(drawn) / inflation)


def _autocorrelations(values: Array) -> Array:
    """Return the autocorrelation function up to a third of the length."""
    centred = values - values.mean()
    count = len(centred)
    spectrum = np.fft.rfft(centred, 1 << (2 * count - 1).bit_length())
    sums = np.fft.irfft(np.abs(spectrum) ** 2)[: max(2, count // 3)]
    return np.asarray(sums / sums[0] if sums[0] > 0 else np.eye(1, len(sums))[0], np.float64)


def fit_line(x: Array, y: Array) -> tuple[float, float, float]:
    """Return offset, factor and standard error of the factor of a robust line.

    Outliers from a line through the thirds are left out; least squares for the rest, corrected for autocorrelation.

    >>> [round(each, 6) for each in fit_line(np.arange(60.0), 2 + 3 * np.arange(60.0))]
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
    # If the flow varies little compared with the noise, a slope would only show the noise: no offset then.
    if offset == 0.0 or not spread or square <= 25 * float(np.sum((rest - rest.mean()) ** 2)):
        if offset and spread:
            offset, factor = 0.0, float(np.median(y) / np.median(x))
        return offset, factor, SE_OF_MEDIAN * spread / level / math.sqrt(effective_size(rest))
    factor = float(along @ y) / square
    offset = float(y.mean() - factor * x.mean())
    rest = y - offset - factor * x
    return offset, factor, math.sqrt(float(rest @ rest) / effective_size(rest) / square)


def line_through_thirds(x: Array, y: Array) -> tuple[float, float]:
    """Return offset and factor of a line through the medians of lowest and highest third (Brown and Mood 1951).

    If ``x`` hardly varies, the offset is zero.

    >>> line_through_thirds(np.arange(9.0), 2 + 3 * np.arange(9.0))
    (2.0, 3.0)
    """
    ordered = np.argsort(x, kind="stable")
    third = max(1, len(x) // 3)
    low, high = ordered[:third], ordered[-third:]
    distance = float(np.median(x[high]) - np.median(x[low]))
    if distance <= (WIDE - 1) * abs(float(np.median(x))):
        return 0.0, float(np.median(y) / np.median(x))
    factor = float(np.median(y[high]) - np.median(y[low])) / distance
    return float(np.median(y - factor * x)), factor
