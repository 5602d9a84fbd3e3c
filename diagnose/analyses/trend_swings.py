"""Swings in a steady rhythm: a line that stands out of the spectrum around it.

The power at each frequency is held against the middle of its neighbours', along a slope, which follows noise with
memory, slow changes and rounding. Long logs are cut into stretches whose spectra are averaged (Welch 1967), holes are
bridged. The plant's day is told; it, and what comes of it, is no sign.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice

import numpy as np

from diagnose.analyses.amounts import Array
from diagnose.analyses.trend_series import RATE, Flags, Mark, Seen, Series, Sign

DAY = 86400.0
FEWEST = 64
LONGEST = 1 << 15
"""Places of a stretch, at most."""

FEWEST_CYCLES = 6
"""Swings in a stretch that a rhythm has at least."""

LEAST_SHARE = 0.02
"""Share of the unrest looked through that a swing has at least (estimate)."""

FILLED = 0.4
"""Share of the places of a stretch with readings that it needs."""

HARMONICS = 8
"""Parts of a day that are left out whatever stands there."""

COMB = 0.25
"""Of its size, what a line has a whole number of days' rhythms away from it if it comes of the day (estimate)."""

LEAST_SHIFT = 4
"""Places in a spectrum beyond which a line does not reach (Hann's window)."""

ROUND_IT = 12
"""Neighbours either side that a background is taken from, at least."""

LIKE_EACH_OTHER = 2.2
"""Relative error of a background from n neighbours, times √n (median of exponentials 1.44, window and slope more;
measured on clean logs)."""

CLOSELY, LOOKS = 4, 5
"""Stretches that a period is sought in closely, at most, and how often; each look is four times as close."""

STATISTIC = "power of the rhythm over that of the frequencies around it"
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(21)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


@dataclass(frozen=True, slots=True)
class Spectrum:
    """Mean power of stretches at each frequency, how many they are, and their length in places."""

    power: Array
    count: int
    length: int


@dataclass(frozen=True, slots=True)
class Stretch:
    """Readings at even places, less their line, and which places have one."""

    times: Array
    values: Array
    there: Flags


def swings(seen: Seen) -> Sign:
    """Return whether the readings swing in a rhythm, its period and size; a plant's day is told beside it."""
    data = seen.data
    if not np.ptp(data.values):
        return Sign(id="swings", untested="all readings are equal")
    kept = np.ones(len(data.values), bool) if seen.running is None else seen.running != 0
    found = _spectrum(data, kept)
    if found is None:
        return Sign(id="swings", untested=f"needs {FEWEST} readings without long gaps between them")
    day = _day(data)
    background, errors = _background(found)
    least = np.array([_least(len(found.power), found.count, each) for each in errors.tolist()])
    looked = _looked(found, background, data.step, least)
    over = np.where(looked, found.power / background / least, 0.0)
    best = int(np.argmax(over))
    sign = Sign(id="swings", statistic=STATISTIC, value=min(float(over[best]), 1.0) * float(least[best]),
                limit=float(least[best]), parameters=day)  # fmt: skip
    share = _share(found, background, looked, best)
    if over[best] <= 1 or share < LEAST_SHARE:
        return sign
    period = _period(data, kept, found, best)
    size = _amplitude(data, kept, found, period)
    fastest = best > 0.8 * len(found.power)
    return Sign(
        id="swings",
        present=True,
        statistic=STATISTIC,
        value=float(over[best] * least[best]),
        limit=float(least[best]),
        marks=(Mark(float(data.times[0]), float(data.times[-1]), size),),
        parameters={"period_seconds": period, "amplitude": size, "share_of_variance": share, **day},
        because=f"a swing every {period:.4g} s of {size:.3g} up and down, {100 * share:.0f} % of the unrest"
        + ("; if the readings are too few for it, a faster one may stand behind" if fastest else ""),
    )


def _stretches(data: Series, kept: Flags, length: int) -> Iterator[Stretch]:
    """Go through stretches of even places that have readings enough; places are never more than a stretch at once."""
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
        stretch = _bridged(sums, counts)
        if stretch is not None:
            times = first + data.step * (parts[start] // length * length + np.arange(length))
            yield Stretch(times, *stretch)


def _bridged(sums: Array, counts: Array) -> tuple[Array, Flags] | None:
    """Return means at each place less their line, holes bridged straight, and which places have readings."""
    places = np.arange(len(counts))
    there = counts > 0
    known = np.flatnonzero(there)
    if len(known) < FILLED * len(counts):
        return None
    # Left empty, holes in a rhythm of their own would repeat slow changes there.
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
    for each in _stretches(data, kept, length):
        seen_by = window * each.there
        power += np.abs(np.fft.rfft(each.values * window)) ** 2 / float(seen_by @ seen_by)
        count += 1
    return Spectrum(power / count, count, length) if count and power[1:].any() else None


def _background(found: Spectrum) -> tuple[Array, Array]:
    """Return the middle of the power around each frequency, along its slope, and the relative error of that."""
    count = len(found.power)
    logs = np.log(np.maximum(found.power, 1e-12 * float(found.power.max())))
    along = np.log(np.maximum(np.arange(count), 1))
    middle, errors = np.empty(count), np.empty(count)
    start = 0
    while start < count:
        half = max(ROUND_IT, min(start // 3, 400))
        end = min(count, start + max(1, half // 4))
        near = slice(max(1, start - half), min(count, end + half))
        away = along[near] - along[near].mean()
        slope = float(away @ logs[near]) / float(away @ away)
        level = float(np.median(logs[near] - slope * away))
        middle[start:end] = level + slope * (along[start:end] - along[near].mean())
        errors[start:end] = LIKE_EACH_OTHER / math.sqrt((near.stop - near.start) * found.count)
        start = end
    bias = math.log(2.0) if found.count == 1 else (1 - 1 / (9 * found.count)) ** 3
    return np.asarray(np.exp(middle) / bias, np.float64), errors


def _least(count: int, spectra: int, error: float) -> float:
    return _passed(count, spectra, round(min(error, 0.6), 2))


@lru_cache(maxsize=4096)
def _passed(count: int, spectra: int, error: float) -> float:
    """Return the ratio that one of ``count`` frequencies passes in a share `RATE` of clean logs.

    The mean of k spectra is spread as chi-squared with 2 k degrees of freedom, whose tail is a sum of k terms.
    """
    places = np.arange(spectra, dtype=float)
    factorials = np.array([math.lgamma(each + 1) for each in range(spectra)])
    low, high = 1.0, 1e3
    for _ in range(40):
        middle = math.sqrt(low * high)
        ratios = np.minimum(spectra * middle * np.exp(error * _NODES), 1e6)[:, None]
        tails = np.exp(places * np.log(ratios) - ratios - factorials).sum(axis=1)
        low, high = (middle, high) if float(_WEIGHTS @ tails) > RATE / count else (low, middle)
    return high


def _looked(found: Spectrum, background: Array, step: float, least: Array) -> Flags:
    """Return at which frequencies a line would be a swing: not the plant's day, nor what comes of it."""
    count, span = len(found.power), found.length * step
    looked = np.ones(count, bool)
    looked[:FEWEST_CYCLES] = looked[-2:] = False
    for part in range(1, HARMONICS + 1):
        middle = span * part / DAY
        looked[max(0, int(middle * 0.94) - 1) : math.ceil(middle * 1.06) + 2] = False
    ratio = found.power / background
    apart = span / DAY
    shift = apart * math.ceil(LEAST_SHIFT / apart) if apart >= 1 else math.inf
    if shift < count // 4:
        beside = np.maximum(_moved(ratio, round(shift)), _moved(ratio, round(2 * shift)))
        looked &= ~((beside > COMB * ratio) & (ratio > least / 4))
    return looked


def _moved(ratio: Array, by: int) -> Array:
    """Return the highest of three neighbours so many places below each place."""
    widest = np.maximum(ratio, np.maximum(np.roll(ratio, 1), np.roll(ratio, -1)))
    moved = np.zeros_like(ratio)
    moved[by:] = widest[:-by]
    return moved


def _share(found: Spectrum, background: Array, looked: Flags, best: int) -> float:
    """Return the share of the line in the power of all frequencies looked at."""
    near = slice(max(1, best - 2), best + 3)
    above = float(np.sum(np.maximum(found.power[near] - background[near], 0.0)))
    return min(1.0, above / (float(np.sum(found.power[looked])) or 1.0))


def _period(data: Series, kept: Flags, found: Spectrum, best: int) -> float:
    """Return the period whose power is highest near a line, by closer and closer looks between its neighbours."""
    near = np.arange(max(1, best - 3), min(len(found.power), best + 4))
    middle, half = float(near[np.argmax(found.power[near])]), 1.0
    window = np.hanning(found.length + 1)[:-1]
    parts = list(islice(_stretches(data, kept, found.length), CLOSELY))
    for _ in range(LOOKS):
        trial = middle + half * np.linspace(-1, 1, 9)
        power = np.zeros(len(trial))
        for each in parts:
            turn = 2j * np.pi * np.arange(found.length) / found.length
            power += [abs(np.vdot(np.exp(turn * cycles), each.values * window)) ** 2 for cycles in trial.tolist()]
        middle, half = float(trial[np.argmax(power)]), half / 4
    return found.length * data.step / middle


def _amplitude(data: Series, kept: Flags, found: Spectrum, period: float) -> float:
    """Return the amplitude by least squares in each stretch, whose phases need not agree; mean of the squares."""
    squares = []
    for each in _stretches(data, kept, found.length):
        turn = 2 * np.pi * each.times[each.there] / period
        squares.append(_square(turn, each.values[each.there]))
    return math.sqrt(float(np.mean(squares)))


def _square(turn: Array, values: Array) -> float:
    along = np.column_stack((np.cos(turn), np.sin(turn), np.ones_like(turn)))
    both = np.linalg.lstsq(along, values, rcond=None)[0]
    return float(both[0] ** 2 + both[1] ** 2)


def _day(data: Series) -> dict[str, float]:
    """Return the amplitude of the plant's day where a log has two of them and it makes a tenth of the variance."""
    if data.times[-1] - data.times[0] + data.step < 2 * DAY:
        return {}
    every = max(1, len(data.values) // LONGEST)
    times, values = data.times[::every], data.values[::every]
    square = _square(2 * np.pi * (times - times[0]) / DAY, values)
    return {"amplitude_of_the_day": math.sqrt(square)} if square / 2 > 0.1 * float(np.var(values)) else {}
