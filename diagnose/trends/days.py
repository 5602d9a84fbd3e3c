"""Days of a log: what changes from one day on, as distinct from what changes every day, at weekends or with the season.

A plant's flow follows the clock, so that one day is compared with other days and not one hour with the next. From the
days come three series: their means, their nights (the lowest hours), and their shapes (hourly means over the day's
mean). A lasting step of means or nights is tested by regression with an unknown position (Quandt 1960; its limit by
Bonferroni), beside weekends and a line, after prewhitening (Cochrane and Orcutt 1949); a change of shape by permutation
of whole days (Anderson 2001).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.series import (
    MAD_TO_SD,
    RATE,
    Detection,
    Flags,
    Mark,
    Series,
    SeriesView,
    autocorrelation,
    limit,
    scale,
    student,
)

DAY, HOUR = 86400.0, 3600.0
FEWEST = 7
"""Fewest whole days."""

PER_DAY = 8
"""Fewest readings a day for its shape."""

FILLED = 0.75
"""Least share of a day's hours, or of its usual readings, for the day to count."""

LINE_FROM = 14
"""Days from which a line may run beside a step; in fewer it takes the step's place."""

FEWEST_KEPT = 6
"""Fewest days when the one in which a step happens is left out."""

ODD = 4.0
"""Standard deviations from its week beyond which a single day counts no more."""

NEAR_DAYS = 14
"""Days on either side from which the size of a step is taken."""

EDGE = 3
"""Fewest days on either side of a step."""

NIGHT = 3
"""Hours of the night: the lowest ones in a row."""

LEAST_STEP = 0.05
"""Least step of the mean, as a share of it, that a person sees in days (estimate)."""

LEAST_NIGHT = 0.03
"""Least rise of the night flow as a share of the mean (estimate)."""

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
PERMUTATIONS = 999
LEAST_CHANGE = 0.15
"""Least root mean square change of the shape, as a share of the mean, that a person sees (estimate)."""

SHAPE_DAYS = 5
"""Fewest days of a kind on either side of a change of shape."""


@dataclass(frozen=True, slots=True, eq=False)
class Days:
    """The whole days of a log: their starts, hourly means (NaN if none), and which are weekends."""

    starts: Array
    hours: Array
    weekend: Flags

    @property
    def means(self) -> Array:
        """The mean of each day."""
        return np.asarray(np.nanmean(self.hours, axis=1), np.float64)

    @property
    def nights(self) -> Array:
        """The mean of the lowest hours in a row of each day."""
        both = np.concatenate((self.hours, self.hours[:, : NIGHT - 1]), axis=1)
        windows = np.lib.stride_tricks.sliding_window_view(both, NIGHT, axis=1).mean(axis=2)
        return np.asarray(np.nanmin(windows, axis=1), np.float64)


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


@lru_cache(maxsize=2)
def days_of(data: Series, calendar: bool = True) -> Days | None:
    """Return the whole days of a log, or None if it has too few, or too few readings a day."""
    if not len(data.times) or data.times[-1] - data.times[0] < (FEWEST - 1) * DAY or data.step > DAY / PER_DAY:
        return None
    first = math.floor(data.times[0] / DAY)
    hour = np.floor(data.times / HOUR).astype(np.int64) - first * 24
    count = int(hour[-1]) // 24 + 1
    filled = np.bincount(hour, minlength=count * 24)
    sums = np.bincount(hour, data.values, minlength=count * 24)
    with np.errstate(invalid="ignore"):
        hours = (sums / filled).reshape(count, 24)
    if data.step > HOUR:
        hours = _interpolated(hours)
    whole = np.isfinite(hours).mean(axis=1) >= FILLED
    days = first + np.flatnonzero(whole)
    if len(days) < FEWEST:
        return None
    # 1970-01-01 was a Thursday; elapsed times have no weekends.
    weekend = (days + 3) % 7 >= 5 if calendar and days[0] > 3650 else np.zeros(len(days), bool)
    return Days(days * DAY, hours[whole], weekend)


def _interpolated(hours: Array) -> Array:
    """Return hours with those between readings further apart filled in; days without any stay empty."""
    flat = hours.ravel()
    there = np.flatnonzero(np.isfinite(flat))
    full = np.interp(np.arange(len(flat)), there, flat[there]).reshape(hours.shape)
    full[~np.isfinite(hours).any(axis=1)] = np.nan
    return np.asarray(full, np.float64)


def lasting_step(values: Array, weekend: Flags) -> LastingStep | None:
    """Return the best step of a daily series beside weekends and a line; None if there are too few days for one."""
    count = len(values)
    if count < FEWEST_KEPT or not np.ptp(values):
        return None
    values = _without_odd_days(values)
    beside = _beside(count, weekend)
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


def _beside(count: int, weekend: Flags) -> Array:
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
    values = values - _of_weekends(values, beside, place)
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


@dataclass(frozen=True, slots=True)
class StepOfDays:
    """A step of the mean of a day: between which moments, how large, and the level before it."""

    found: LastingStep
    days: int
    since: float
    until: float
    size: float
    before: float


def step_of_days(data: Series) -> StepOfDays | None:
    """Return the best step of the means of days; None if the log has no days to compare.

    A step within a day leaves a mean between both levels, which is left out.
    """
    days = days_of(data)
    found = None if days is None else lasting_step(days.means, days.weekend)
    if days is None or found is None:
        return None
    hour = _hour_of_step(days, found.place)
    day, within = found.place - 2 + hour // 24, hour % 24
    place = day + 1 if within else day
    kept = np.ones(len(days.starts), bool)
    if within and 0 < day < len(kept) - 1:
        kept[day] = False
    if not kept.all():
        again = lasting_step(days.means[kept], days.weekend[kept])
        if again is not None and again.found and again.place == day:
            found = again
    rest = days.means - _of_weekends(days.means, _beside(len(kept), days.weekend), place)
    before, behind = rest[max(0, place - NEAR_DAYS) : place], rest[place : place + NEAR_DAYS]
    before = before[kept[max(0, place - NEAR_DAYS) : place]]
    level = float(np.median(before)) if len(before) else float(rest[0])
    size = float(np.median(behind)) - level if len(behind) else 0.0
    moment = float(days.starts[min(max(day, 0), len(kept) - 1)]) + within * HOUR
    return StepOfDays(found, int(kept.sum()), moment - HOUR / 2, moment + HOUR / 2, size, level)


def _of_weekends(values: Array, beside: Array, place: int) -> Array:
    """Return what weekends make of daily values, beside a step."""
    with_step = np.column_stack((beside, (np.arange(len(values)) >= place).astype(float)))
    line = 2 if len(values) >= LINE_FROM else 1
    if beside.shape[1] == line:
        return np.zeros(len(values))
    return np.asarray(beside[:, line] * np.linalg.lstsq(with_step, values, rcond=None)[0][line], np.float64)


def _hour_of_step(days: Days, place: int) -> int:
    """Return in which hour, counted from two days before a step, the hours change from those before to those behind."""
    hours = days.hours[max(0, place - 2) : place + 2]
    before = _usual_day(days.hours[max(0, place - 2 - NEAR_DAYS) : place - 1])
    behind = _usual_day(days.hours[place + 1 : place + 1 + NEAR_DAYS])
    old, new = ((hours - each) ** 2 for each in (before, behind))
    gain = np.nan_to_num((old - new).ravel())
    # The hour from which on the new day fits better: all gain behind it, none before.
    return int(np.argmax(np.cumsum(gain[::-1])[::-1]))


def _usual_day(hours: Array) -> Array:
    """Return the median of each hour over some days, NaN for hours without readings."""
    found, known = np.full(hours.shape[1], np.nan), np.isfinite(hours).any(axis=0)
    found[known] = np.nanmedian(hours[:, known], axis=0)
    return found


def night_flow(seen: SeriesView) -> Detection:
    """Detect a flow that has risen by night from one day on, by more than the day has in proportion."""
    days = days_of(seen.data)
    if days is None:
        return Detection(id="night-flow", untested=f"needs {FEWEST} whole days with {PER_DAY} readings each")
    nights, mean = days.nights, abs(float(np.median(days.means)))
    found = lasting_step(nights, days.weekend)
    if found is None:
        return Detection(id="night-flow", untested="the nights are all the same")
    statistic = "step of the lowest three hours of each day (Student's t, beside weekends and a line)"
    sign = Detection(id="night-flow", statistic=statistic, value=min(found.value, found.least), limit=found.least)
    before = float(np.median(nights[: found.place]))
    whole = float(np.median(days.means[found.place :])) / (float(np.median(days.means[: found.place])) or 1.0)
    in_proportion = before * max(whole, 1.0)
    risen = float(np.median(nights[found.place :])) - in_proportion
    if not found.found or before < 0 or found.size < LEAST_NIGHT * mean or risen < 0.5 * found.size:
        return sign
    start = float(days.starts[found.place])
    return Detection(
        id="night-flow",
        present=True,
        statistic=statistic,
        value=found.value,
        limit=found.least,
        marks=(Mark(start, float(days.starts[-1] + DAY), found.size),),
        parameters={"before": before, "rise": found.size, "share_of_mean": found.size / mean, "days": len(nights)},
        because=f"from {before:.3g} to {before + found.size:.3g} in the lowest three hours, "
        f"{100 * found.size / mean:.2g} % of the mean flow",
    )


def profile(seen: SeriesView) -> Detection:
    """Detect a shape of the day that is another one from one day on."""
    days = days_of(seen.data)
    if days is None:
        return Detection(id="profile", untested=f"needs {FEWEST} whole days with {PER_DAY} readings each")
    kind = ~days.weekend if np.count_nonzero(~days.weekend) >= np.count_nonzero(days.weekend) else days.weekend
    shapes, starts = _shapes(days, kind)
    if len(shapes) < 2 * SHAPE_DAYS:
        return Detection(id="profile", untested=f"needs {2 * SHAPE_DAYS} days of a kind (weekdays) with flow")
    contrast, place, share = _change_of_shape(shapes)
    change = _distance(shapes, place)
    statistic = "share of shuffled orders of the days that differ as much (permutation), in decades"
    value, least = -math.log10(share), -math.log10(RATE)
    if value <= least or change < LEAST_CHANGE or not _lasts(shapes, place):
        return Detection(id="profile", statistic=statistic, value=min(value, least), limit=least)
    moved = _shift(shapes, place)
    by = f"; it fits best moved by {moved:+d} h" if moved else ""
    return Detection(
        id="profile",
        present=True,
        statistic=statistic,
        value=value,
        limit=least,
        marks=(Mark(float(starts[place]), float(days.starts[-1] + DAY), change),),
        parameters={"change": change, "shift_hours": float(moved), "days": float(len(shapes)), "contrast": contrast},
        because=f"hours differ by {100 * change:.2g} % of the mean from the days before{by}",
        unit="of the mean",
    )


def _shapes(days: Days, kind: Flags) -> tuple[Array, Array]:
    """Return the hourly shares of the mean of days of one kind that have flow; missing hours are those of the kind."""
    hours, means = days.hours[kind], days.means[kind]
    usual = float(np.median(np.abs(means)))
    flows = (np.abs(means) > 0.2 * usual) & (usual > 0)
    shapes = hours[flows] / means[flows, None]
    if len(shapes):
        typical = np.nanmedian(shapes, axis=0)
        shapes = np.where(np.isfinite(shapes), shapes, np.where(np.isfinite(typical), typical, 1.0))
    return shapes, days.starts[kind][flows]


def _contrasts(sums: Array, total: Array, count: int) -> Array:
    """Return the square of the difference of means at each position, weighted by the days on both sides."""
    before = np.arange(SHAPE_DAYS, count - SHAPE_DAYS + 1)
    apart = sums[before - 1] / before[:, None] - (total - sums[before - 1]) / (count - before)[:, None]
    return np.asarray((apart**2).sum(axis=1) * before * (count - before) / count, np.float64)


def _change_of_shape(shapes: Array) -> tuple[float, int, float]:
    """Return the largest contrast, its position, and how many shuffled orders reach it.

    Days are shuffled in weeks of five where there are many, for neighbours are alike.
    """
    count, total = len(shapes), shapes.sum(axis=0)
    own = _contrasts(np.cumsum(shapes, axis=0), total, count)
    place = SHAPE_DAYS + int(np.argmax(own))
    random, block = np.random.default_rng(0), 1 if count < 60 else 5
    reached = 1
    for _ in range(PERMUTATIONS):
        firsts = random.permutation(math.ceil(count / block)) * block
        order = (firsts[:, None] + np.arange(block)).ravel()
        shuffled = shapes[order[order < count]]
        reached += bool(_contrasts(np.cumsum(shuffled, axis=0), total, count).max() >= own.max())
    return float(own.max()), place, reached / (PERMUTATIONS + 1)


def _distance(shapes: Array, place: int) -> float:
    apart = np.median(shapes[place:], axis=0) - np.median(shapes[:place], axis=0)
    return float(np.sqrt(np.mean(apart**2)))


def _lasts(shapes: Array, place: int) -> bool:
    """Check whether nearly every day is nearer to the shape of its own side: a few odd days are not a change."""
    sides = [np.median(each, axis=0) for each in (shapes[:place], shapes[place:])]
    nearer = ((shapes - sides[0]) ** 2).sum(axis=1) < ((shapes - sides[1]) ** 2).sum(axis=1)
    return bool(nearer[:place].mean() >= 0.8 and (~nearer[place:]).mean() >= 0.8)


def _shift(shapes: Array, place: int) -> int:
    """Return by how many hours the day is moved, 0 if moving it does not explain most of the change."""
    before, behind = np.median(shapes[:place], axis=0), np.median(shapes[place:], axis=0)
    left = {by: float(((np.roll(before, by) - behind) ** 2).sum()) for by in range(-11, 13)}
    best = min(left, key=lambda by: left[by])
    return best if left[best] < 0.5 * left[0] else 0
