"""A step of the means of days: in which hour, how large, and from which level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.days import HOUR, Days, days_of
from diagnose.trends.lasting_step import LastingStep, beside_step, lasting_step, of_weekends
from diagnose.trends.series import Series

NEAR_DAYS = 14
"""Days on either side from which the size of a step is taken."""


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
    rest = days.means - of_weekends(days.means, beside_step(len(kept), days.weekend), place)
    before, behind = rest[max(0, place - NEAR_DAYS) : place], rest[place : place + NEAR_DAYS]
    before = before[kept[max(0, place - NEAR_DAYS) : place]]
    level = float(np.median(before)) if len(before) else float(rest[0])
    size = float(np.median(behind)) - level if len(behind) else 0.0
    moment = float(days.starts[min(max(day, 0), len(kept) - 1)]) + within * HOUR
    return StepOfDays(found, int(kept.sum()), moment - HOUR / 2, moment + HOUR / 2, size, level)


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
