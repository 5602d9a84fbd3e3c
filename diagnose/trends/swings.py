"""Periodic swings: a line in the spectrum above its background.

The power at each frequency is compared with a sloped median of its neighbours, which follows autocorrelated noise, slow
changes and rounding. Long logs are cut into segments whose spectra are averaged (Welch 1967); gaps are interpolated.
The plant's daily cycle is reported, but neither it nor its harmonics are a sign.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import islice

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.plant import stands
from diagnose.trends.series import NODES, RATE, WEIGHTS, Detection, Flags, Mark, Series, SeriesView, stretches

DAY = 86400.0
FEWEST = 64
LONGEST = 1 << 15
"""Largest length of a segment."""

FEWEST_CYCLES = 6
"""Fewest cycles in a segment."""

LEAST_SHARE = 0.02
"""Least share of a swing in the variance that is searched (estimate)."""

FILLED = 0.4
"""Least share of a segment's samples that have readings."""

HARMONICS = 8
"""Harmonics of the daily cycle that are always left out."""

COMB = 0.25
"""Relative size of a sideband at a multiple of the daily frequency from which a line belongs to the day (estimate)."""

LEAST_SHIFT = 4
"""Frequency bins beyond which a line does not leak (Hann window)."""

LEAST_NEIGHBOURS = 12
"""Fewest neighbours on either side for the background."""

BACKGROUND_ERROR = 2.2
"""Relative standard error of a background from n neighbours, times √n (median of exponentials: 1.44; window and slope
add to it; measured on clean logs)."""

REFINED_SEGMENTS, REFINEMENTS = 4, 5
"""Most segments for refining a period, and number of refinements, each by a factor of four."""

CYCLES = 8
"""Cycles of a stretch in which a swing must show: it goes on, as distinct from edges that come back."""

FEWEST_STRETCHES, MOST_STRETCHES = 4, 400
GOES_ON = 0.6
"""Least share of the stretches in which it is larger than at both neighbouring frequencies; by chance a third."""

ALL_SORTS = 0.12
"""Share of the steps in time that are more than twice or less than half of the usual one."""

STANDS_OFTEN, A_STOP_OF_CYCLES = 0.1, 0.15
"""Share of the time in which a plant stands, and stops for each cycle (or harmonic of it), from which the rhythm is its
own (estimate)."""

QUICK, MANY = 5.0, 600
"""Seconds between readings up to which, and readings from which a log shows any swing that people see (estimate)."""

STATISTIC = "power of the swing over that of the neighbouring frequencies"


@dataclass(frozen=True, slots=True)
class Spectrum:
    """Mean power spectrum of segments, their number, and their length in samples."""

    power: Array
    count: int
    length: int


@dataclass(frozen=True, slots=True)
class Segment:
    """A segment of evenly spaced, detrended readings, and which samples are not interpolated."""

    times: Array
    values: Array
    there: Flags


def swings(seen: SeriesView) -> Detection:
    """Detect a periodic swing with its period and amplitude; the daily cycle is reported as well."""
    data = seen.data
    if not np.ptp(data.values):
        return Detection(id="swings", untested="all readings are equal")
    if _comes_when_it_changes(data):
        return Detection(id="swings", untested="readings were written only when they changed")
    kept = ~stands(seen)
    found = _spectrum(data, kept)
    if found is None:
        return Detection(id="swings", untested=f"needs {FEWEST} readings without long gaps")
    day = _day(data)
    background, errors = _background(found)
    least = np.array([_least(len(found.power), found.count, each) for each in errors.tolist()])
    searched = _searched(found, background, data.step, least)
    over = np.where(searched, found.power / background / least, 0.0)
    best = int(np.argmax(over))
    sign = Detection(id="swings", statistic=STATISTIC, value=min(float(over[best]), 1.0) * float(least[best]),
                limit=float(least[best]), parameters=day)  # fmt: skip
    share = _share(found, background, searched, best)
    period = _period(data, kept, found, best) if over[best] > 1 and share >= LEAST_SHARE else 0.0
    if not period or not _goes_on(data, kept, period):
        # What people see as a swing takes seconds: a slower log cannot deny it.
        excludes = data.step <= QUICK and len(data.values) >= MANY
        return replace(sign, value=min(sign.value, sign.limit), excludes=excludes)
    if _stops_in_this_rhythm(data, kept, period):
        return Detection(id="swings", untested="the plant itself stops and starts in a rhythm")
    size = _amplitude(data, kept, found, period)
    fastest = best > 0.8 * len(found.power)
    return Detection(
        id="swings",
        present=True,
        statistic=STATISTIC,
        value=float(over[best] * least[best]),
        limit=float(least[best]),
        marks=(Mark(float(data.times[0]), float(data.times[-1]), size),),
        parameters={"period_seconds": period, "amplitude": size, "share_of_variance": share, **day},
        because=f"a period of {period:.4g} s, an amplitude of ±{size:.3g}, {100 * share:.0f} % of the variance"
        + ("; a faster swing may be behind it, sampled too slowly" if fastest else ""),
    )


def _stops_in_this_rhythm(data: Series, kept: Flags, period: float) -> bool:
    """Tell whether it is the plant that comes and goes: batches, fillings, a pump that starts by level."""
    starts, _ = stretches(~kept)
    cycles = float(data.times[-1] - data.times[0]) / period
    return float(np.mean(~kept)) >= STANDS_OFTEN and len(starts) >= A_STOP_OF_CYCLES * cycles


def _segments(data: Series, kept: Flags, length: int) -> Iterator[Segment]:
    """Yield the segments with enough readings, resampled evenly; only one segment is in memory at a time."""
    first = float(data.times[0])
    parts = np.floor((data.times - first) / data.step + 0.5).astype(np.int64)
    starts = np.flatnonzero(np.diff(parts // length, prepend=-1))
    for start, end in zip(starts, np.append(starts[1:], len(parts)), strict=True):
        using = kept[start:end]
        cells = (parts[start:end] % length)[using]
        if len(cells) < FILLED * length:
            continue
        counts = np.bincount(cells, minlength=length).astype(np.float64)
        sums = np.bincount(cells, data.values[start:end][using], minlength=length).astype(np.float64)
        segment = _interpolated(sums, counts)
        if segment is not None:
            times = first + data.step * (parts[start] // length * length + np.arange(length))
            yield Segment(times, *segment)


def _interpolated(sums: Array, counts: Array) -> tuple[Array, Flags] | None:
    """Return the mean of each sample, gaps interpolated linearly, detrended, and which samples have readings."""
    places = np.arange(len(counts))
    there = counts > 0
    known = np.flatnonzero(there)
    if len(known) < FILLED * len(counts):
        return None
    # Left empty, periodic gaps would turn slow changes into lines.
    values = np.interp(places, known, sums[known] / counts[known])
    along = places - places.mean()
    rest = values - values.mean()
    return np.asarray(rest - float(along @ rest) / float(along @ along) * along, np.float64), there


def _spectrum(data: Series, kept: Flags) -> Spectrum | None:
    places = int((data.times[-1] - data.times[0]) / data.step + 0.5) + 1 if data.step > 0 else 0
    if places < FEWEST:
        return None
    length = places // math.ceil(places / LONGEST)
    window = np.hanning(length + 1)[:-1]
    power, count = np.zeros(length // 2 + 1), 0
    for each in _segments(data, kept, length):
        seen_by = window * each.there
        power += np.abs(np.fft.rfft(each.values * window)) ** 2 / float(seen_by @ seen_by)
        count += 1
    return Spectrum(power / count, count, length) if count and power[1:].any() else None


def _background(found: Spectrum) -> tuple[Array, Array]:
    """Return the sloped median of the power around each frequency, and its relative standard error."""
    count = len(found.power)
    logs = np.log(np.maximum(found.power, 1e-12 * float(found.power.max())))
    along = np.log(np.maximum(np.arange(count), 1))
    middle, errors = np.empty(count), np.empty(count)
    start = 0
    while start < count:
        half = max(LEAST_NEIGHBOURS, min(start // 3, 400))
        end = min(count, start + max(1, half // 4))
        near = slice(max(1, start - half), min(count, end + half))
        away = along[near] - along[near].mean()
        slope = float(away @ logs[near]) / float(away @ away)
        level = float(np.median(logs[near] - slope * away))
        middle[start:end] = level + slope * (along[start:end] - along[near].mean())
        errors[start:end] = BACKGROUND_ERROR / math.sqrt((near.stop - near.start) * found.count)
        start = end
    bias = math.log(2.0) if found.count == 1 else (1 - 1 / (9 * found.count)) ** 3
    return np.asarray(np.exp(middle) / bias, np.float64), errors


def _least(count: int, spectra: int, error: float) -> float:
    return _ratio_limit(count, spectra, round(min(error, 0.6), 2))


@lru_cache(maxsize=4096)
def _ratio_limit(count: int, spectra: int, error: float) -> float:
    """Return the ratio that any of ``count`` frequencies exceeds with probability `RATE`.

    The mean of k spectra is chi-squared with 2 k degrees of freedom, whose tail is a sum of k terms.
    """
    places = np.arange(spectra, dtype=float)
    factorials = np.array([math.lgamma(each + 1) for each in range(spectra)])
    low, high = 1.0, 1e3
    for _ in range(40):
        middle = math.sqrt(low * high)
        ratios = np.minimum(spectra * middle * np.exp(error * NODES), 1e6)[:, None]
        tails = np.exp(places * np.log(ratios) - ratios - factorials).sum(axis=1)
        low, high = (middle, high) if float(WEIGHTS @ tails) > RATE / count else (low, middle)
    return high


def _searched(found: Spectrum, background: Array, step: float, least: Array) -> Flags:
    """Return the frequencies that are searched: without the daily cycle, its harmonics and sidebands."""
    count, span = len(found.power), found.length * step
    searched = np.ones(count, bool)
    searched[:FEWEST_CYCLES] = searched[-2:] = False
    for part in range(1, HARMONICS + 1):
        middle = span * part / DAY
        searched[max(0, int(middle * 0.94) - 1) : math.ceil(middle * 1.06) + 2] = False
    ratio = found.power / background
    bins_per_day = span / DAY
    shift = bins_per_day * math.ceil(LEAST_SHIFT / bins_per_day) if bins_per_day >= 1 else math.inf
    if shift < count // 4:
        beside = np.maximum(_moved(ratio, round(shift)), _moved(ratio, round(2 * shift)))
        searched &= ~((beside > COMB * ratio) & (ratio > least / 4))
    return searched


def _moved(ratio: Array, by: int) -> Array:
    """Return the largest of the three bins around the one ``by`` bins below each."""
    widest = np.maximum(ratio, np.maximum(np.roll(ratio, 1), np.roll(ratio, -1)))
    moved = np.zeros_like(ratio)
    moved[by:] = widest[:-by]
    return moved


def _share(found: Spectrum, background: Array, searched: Flags, best: int) -> float:
    """Return the share of the line in the power of all frequencies searched."""
    near = slice(max(1, best - 2), best + 3)
    above = float(np.sum(np.maximum(found.power[near] - background[near], 0.0)))
    return min(1.0, above / (float(np.sum(found.power[searched])) or 1.0))


def _period(data: Series, kept: Flags, found: Spectrum, best: int) -> float:
    """Return the period with the highest power near a line, by successive refinement."""
    near = np.arange(max(1, best - 3), min(len(found.power), best + 4))
    middle, half = float(near[np.argmax(found.power[near])]), 1.0
    window = np.hanning(found.length + 1)[:-1]
    parts = list(islice(_segments(data, kept, found.length), REFINED_SEGMENTS))
    for _ in range(REFINEMENTS):
        trial = middle + half * np.linspace(-1, 1, 9)
        power = np.zeros(len(trial))
        for each in parts:
            turn = 2j * np.pi * np.arange(found.length) / found.length
            power += [abs(np.vdot(np.exp(turn * cycles), each.values * window)) ** 2 for cycles in trial.tolist()]
        middle, half = float(trial[np.argmax(power)]), half / 4
    return found.length * data.step / middle


def _amplitude(data: Series, kept: Flags, found: Spectrum, period: float) -> float:
    """Return the amplitude: root mean square of least-squares fits to each segment, whose phases may differ."""
    squares = []
    for each in _segments(data, kept, found.length):
        turn = 2 * np.pi * each.times[each.there] / period
        squares.append(_square(turn, each.values[each.there]))
    return math.sqrt(float(np.mean(squares)))


def _comes_when_it_changes(data: Series) -> bool:
    """Check whether the times between readings are all sorts, as of a recorder with a dead band."""
    steps = np.diff(data.times)
    return bool(np.mean((steps > 2.01 * data.step) | (steps < 0.5 * data.step)) > ALL_SORTS)


def _goes_on(data: Series, kept: Flags, period: float) -> bool:
    """Check whether a swing shows in most stretches of a log.

    A plant's mornings and evenings have power at every frequency, but only for as long as they last.
    """
    times, values = data.times[kept], data.values[kept]
    stretch = ((times - times[0]) / (CYCLES * period)).astype(np.int64)
    firsts = np.flatnonzero(np.diff(stretch, prepend=-1))
    lasts = np.append(firsts[1:], len(times))
    full = np.flatnonzero(lasts - firsts >= max(12, 0.7 * CYCLES * period / data.step))
    if len(full) < FEWEST_STRETCHES:
        return True
    larger = [
        _is_larger(times[firsts[each] : lasts[each]], values[firsts[each] : lasts[each]], period)
        for each in full[:: math.ceil(len(full) / MOST_STRETCHES)]
    ]
    return float(np.mean(larger)) >= GOES_ON


def _is_larger(times: Array, values: Array, period: float) -> bool:
    along = times - times.mean()
    rest = values - values.mean()
    square = float(along @ along)
    rest = rest - (float(along @ rest) / square if square else 0.0) * along
    other = CYCLES + 2 if len(times) / 2 > CYCLES + 3 else CYCLES - 4
    own, *others = (
        _square(2 * np.pi * along / period * cycles / CYCLES, rest) for cycles in (CYCLES, CYCLES - 2, other)
    )
    return own > max(others)


def _square(turn: Array, values: Array) -> float:
    along = np.column_stack((np.cos(turn), np.sin(turn), np.ones_like(turn)))
    both = np.linalg.lstsq(along, values, rcond=None)[0]
    return float(both[0] ** 2 + both[1] ** 2)


def _day(data: Series) -> dict[str, float]:
    """Return the amplitude of the daily cycle if the log has two days and it makes up a tenth of the variance."""
    if data.times[-1] - data.times[0] + data.step < 2 * DAY:
        return {}
    every = max(1, len(data.values) // LONGEST)
    times, values = data.times[::every], data.values[::every]
    square = _square(2 * np.pi * (times - times[0]) / DAY, values)
    return {"amplitude_of_the_day": math.sqrt(square)} if square / 2 > 0.1 * float(np.var(values)) else {}
