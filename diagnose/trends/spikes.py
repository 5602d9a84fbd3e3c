"""Spikes and drop-outs: single readings far from their neighbours on both sides."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.plant import near, stands, stops_usually
from diagnose.trends.series import (
    MAD_TO_SD,
    Detection,
    Flags,
    Series,
    SeriesView,
    covered,
    limit,
    marks_of,
    so_often,
    stretches,
)

SIDE = 7
"""Readings on each side; their medians are not affected by a spike of up to three readings."""

LOCAL = 21
"""Readings for a local scale; the largest of five neighbouring ones is used, so that a noisy hour or the minutes
between two stops have a scale of their own."""

LEAST = 5.0
"""Least size of a spike in standard deviations, however short the log (estimate)."""

BACK = 0.5
"""Share of its distance by which the readings next to a spike are back (estimate)."""

NEAR_ZERO = 0.03
"""Share of the local level within which a reading counts as a drop to zero (estimate)."""

_CHUNK = 200_000


def side_medians(values: Array) -> Array:
    """Return the medians of `SIDE` readings from every position, in bounded memory."""
    view = np.lib.stride_tricks.sliding_window_view(values, SIDE)
    pieces = [
        np.partition(view[start : start + _CHUNK], SIDE // 2, axis=1)[:, SIDE // 2]
        for start in range(0, len(view), _CHUNK)
    ]
    return np.concatenate(pieces)


def deviations(data: Series) -> tuple[Array, Array, Array]:
    """Return the distance of each reading from both sides, the local scale, and the local level.

    The distance is the smaller of those from the medians before and after, 0 if they have different signs: the edge of
    a step is not a spike. It never exceeds the distance from their mean, to which the scale refers (Hampel 1974).
    """
    values = data.values
    medians = side_medians(values)
    left, right = medians[: -SIDE - 1], medians[SIDE + 1 :]
    inner = values[SIDE:-SIDE]
    to_left, to_right = inner - left, inner - right
    smaller = np.where(np.abs(to_left) < np.abs(to_right), to_left, to_right)
    distance = np.where(to_left * to_right > 0, smaller, 0.0)
    level = (left + right) / 2
    residuals = np.abs(inner - level)
    return _padded(distance), np.maximum(_padded(_scales(residuals)), _floor(data)), _padded(level)


def _padded(inner: Array) -> Array:
    return np.pad(inner, SIDE, mode="constant")


def _floor(data: Series) -> float:
    return max(data.noise.resolution, 1e-9 * data.level) or 1.0


def _scales(residuals: Array) -> Array:
    """Return the larger of the global and the local scale, as standard deviations."""
    moving = residuals[residuals > 0]
    whole = MAD_TO_SD * float(np.median(residuals)) or (MAD_TO_SD * float(np.median(moving)) if len(moving) else 0.0)
    count = len(residuals) // LOCAL
    if count < 2:
        return np.full(len(residuals), whole)
    local = MAD_TO_SD * np.median(residuals[: count * LOCAL].reshape(count, LOCAL), axis=1)
    around = np.lib.stride_tricks.sliding_window_view(np.pad(local, 2, mode="edge"), 5).max(axis=1)
    each = np.minimum(np.arange(len(residuals)) // LOCAL, count - 1)
    return np.asarray(np.maximum(whole, around[each]), np.float64)


def spikes(seen: SeriesView) -> Detection:
    """Detect single readings far from their neighbours, other than zeros."""
    return _without_stops(seen, _detections(seen.data)[0])


def drop_outs(seen: SeriesView) -> Detection:
    """Detect readings that drop to zero and come back."""
    return _without_stops(seen, _detections(seen.data)[1])


def _without_stops(seen: SeriesView, sign: Detection) -> Detection:
    """Return what is left of a sign without what the stops and starts of a plant explain."""
    stopped = stands(seen)
    if not sign.present or not stops_usually(stopped):
        return sign
    switching = near(stopped, SIDE)
    places = np.searchsorted(seen.data.times, [mark.start for mark in sign.marks])
    left = [mark for mark, place in zip(sign.marks, places, strict=True) if not switching[place]]
    if len(left) == len(sign.marks):
        return sign
    if not left:
        return Detection(id=sign.id, statistic=sign.statistic, value=min(sign.value, sign.limit), limit=sign.limit)
    largest = max(left, key=lambda mark: abs(mark.size)).size
    return replace(
        sign,
        marks=tuple(left),
        parameters={**sign.parameters, "count": float(len(left)), "largest": largest},
        because=f"{so_often(len(left))}, up to {abs(largest):.3g} away from the readings before and after",
    )


@lru_cache(maxsize=1)
def _detections(data: Series) -> tuple[Detection, Detection]:
    """Detect spikes and drop-outs in one pass."""
    count = len(data.values)
    if count < 4 * SIDE:
        reason = f"needs {4 * SIDE} readings"
        return Detection(id="spikes", untested=reason), Detection(id="drop-outs", untested=reason)
    distance, size, level = _standardised(data)
    least = _least(count)
    out = size > least
    dropped = _drop_out_readings(data, out, distance, level)
    alone = _alone(data, out & ~dropped, distance)
    return _sign(data, "spikes", alone, size, least, distance), _sign(data, "drop-outs", dropped, size, least, distance)


def _alone(data: Series, out: Flags, distance: Array) -> Flags:
    """Return the outliers from which the reading comes back at once: the crest of a storm has its like beside it."""
    starts, ends = stretches(out)
    if not len(starts):
        return out
    values, last = data.values, len(data.values) - 1
    peaks = np.array([start + np.argmax(np.abs(distance[start:end])) for start, end in zip(starts, ends, strict=True)])
    sides = (np.maximum(starts - 1, 0), np.minimum(ends, last))
    far = [np.abs(values[peaks] - values[side]) >= BACK * np.abs(distance[peaks]) for side in sides]
    kept = far[0] & far[1]
    return covered(starts[kept], ends[kept], len(out))


def _drop_out_readings(data: Series, out: Flags, distance: Array, level: Array) -> Flags:
    """Return the readings of drop-outs: outliers at zero, and their neighbours that are at zero as well.

    Of four readings or more only the middle is an outlier from both sides. Zero is so beside what the log usually shows
    as well: dry weather between two storms is not.
    """
    near_zero = np.abs(data.values) <= NEAR_ZERO * np.minimum(np.abs(level), data.level)
    middle = out & near_zero & (distance * level < 0)
    starts, ends = stretches(middle | (np.abs(data.values) <= NEAR_ZERO * data.level))
    counts = np.concatenate(([0], np.cumsum(middle)))
    kept = (counts[ends] > counts[starts]) & (ends - starts <= SIDE)
    return np.asarray(middle | covered(starts[kept], ends[kept], len(middle)))


@lru_cache(maxsize=1)
def _standardised(data: Series) -> tuple[Array, Array, Array]:
    """Return the distance of each reading from both sides, the same in standard deviations, and the local level."""
    distance, scales, level = deviations(data)
    # What lies on the other side of a gap is another time.
    distance[near(data.gap_before, SIDE)] = 0.0
    return distance, np.maximum(np.abs(distance) - data.noise.resolution, 0.0) / scales, level


def _least(count: int) -> float:
    return max(LEAST, limit(count, 1.6 / math.sqrt(count)))


def without_spikes(data: Series) -> Series:
    """Return the series with spikes and drop-outs replaced by the local level."""
    if len(data.values) < 4 * SIDE:
        return data
    distance, size, level = _standardised(data)
    out = size > _least(len(size))
    dropped = _drop_out_readings(data, out, distance, level)
    out = _alone(data, out & ~dropped, distance) | (out & dropped)
    values = np.where(out, level, data.values)
    beside = dropped & ~out
    values[beside] = np.interp(np.flatnonzero(beside), np.flatnonzero(~beside), values[~beside])
    return Series(data.times, values, data.gap_before, data.step, data.noise)


def _sign(data: Series, id: str, out: Flags, size: Array, least: float, distance: Array) -> Detection:
    starts, ends = stretches(out)
    statistic = (
        "largest distance from the neighbours on both sides, in standard deviations of the log's own noise (Hampel)"
    )
    if not len(starts):
        return Detection(id=id, statistic=statistic, value=min(float(size.max(initial=0.0)), least), limit=least)
    peaks = np.array([start + np.argmax(np.abs(distance[start:end])) for start, end in zip(starts, ends, strict=True)])
    sizes = distance[peaks]
    lengths = data.times[ends - 1] - data.times[starts] + data.step
    return Detection(
        id=id,
        present=True,
        statistic=statistic,
        value=float(size[out].max()),
        limit=least,
        marks=marks_of(data, starts, ends, sizes),
        parameters={"count": float(len(starts)), "largest": float(sizes[np.argmax(np.abs(sizes))])}
        | {"longest_seconds": float(lengths.max())},
        because=f"{so_often(len(starts))}, up to {np.abs(sizes).max():.3g} away from the readings before and after",
    )
