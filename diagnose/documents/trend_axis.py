"""The axis of time of a log: dates and times of day at even places, as people read them."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

from diagnose.tables.log_clock import Clock

MINUTE, HOUR, DAY = 60.0, 3600.0, 86400.0
_SIZES = {1.0: (1, 2, 5, 10, 30), MINUTE: (1, 2, 5, 10, 15, 30), HOUR: (1, 2, 3, 6, 12), DAY: (1, 2, 7, 14, 28)}
_STEPS = tuple(unit * each for unit, sizes in _SIZES.items() for each in sizes)
_MONTHS = (1, 2, 3, 6, 12, 24, 60, 120, 240, 600)


def ticks(start: float, end: float, clock: Clock, most: int = 8) -> tuple[tuple[float, str], ...]:
    """Return places on the axis with their labels, no more than ``most``.

    >>> clock = Clock("calendar", 0.0, 300.0, 0, 0.0, 0.0)
    >>> ticks(0.0, 3 * 86400.0, clock, 5)
    ((0.0, '1 Jan'), (86400.0, '2 Jan'), (172800.0, '3 Jan'), (259200.0, '4 Jan'))
    >>> [label for _, label in ticks(0.0, 7200.0, clock, 3)]
    ['00:00', '01:00', '02:00']
    >>> [label for _, label in ticks(0.0, 600 * 86400.0, clock, 4)]
    ['1970', '1971']
    """
    if clock.kind == "elapsed":
        return _elapsed(start, end, most)
    step = next((each for each in _STEPS if (end - start) / each <= most - 1), 0.0)
    if not step:
        return _months(start, end, clock, most)
    own = start + clock.offset
    first = math.ceil(own / step) * step
    if step >= 7 * DAY:  # weeks begin on Mondays; 1970-01-05 was one
        first = math.ceil((own - 4 * DAY) / step) * step + 4 * DAY
    count = int((end + clock.offset - first) / step + 1e-9) + 1
    places = [first + number * step for number in range(count)]
    return tuple((place - clock.offset, _label(place, step, clock)) for place in places)


def _label(place: float, step: float, clock: Clock) -> str:
    moment = datetime.fromtimestamp(0, UTC) + timedelta(seconds=place)
    if clock.kind == "clock" and step >= DAY:
        return f"day {int(place // DAY) + 1}"
    if step >= DAY or (place % DAY == 0 and step >= 3 * HOUR and clock.kind == "calendar"):
        return f"{moment.day} {moment:%b}"
    return f"{moment:%H:%M:%S}" if step < MINUTE else f"{moment:%H:%M}"


def _months(start: float, end: float, clock: Clock, most: int) -> tuple[tuple[float, str], ...]:
    zero = datetime.fromtimestamp(0, UTC)
    first, last = (zero + timedelta(seconds=each + clock.offset) for each in (start, end))
    span = (last.year - first.year) * 12 + last.month - first.month
    step = next((each for each in _MONTHS if span / each <= most - 1), _MONTHS[-1])
    begin = math.ceil((first.year * 12 + first.month - 1) / step) * step
    found = []
    for month in range(begin, last.year * 12 + last.month, step):
        moment = datetime(month // 12, month % 12 + 1, 1, tzinfo=UTC)
        place = (moment - zero).total_seconds() - clock.offset
        if start <= place <= end:
            found.append((place, f"{moment:%Y}" if step >= 12 else f"{moment:%b %Y}"))
    return tuple(found)


def _elapsed(start: float, end: float, most: int) -> tuple[tuple[float, str], ...]:
    span = end - start
    size, unit = next(((s, u) for s, u in ((DAY, "d"), (HOUR, "h"), (MINUTE, "min")) if span >= 2 * s), (1.0, "s"))
    raw = span / size / (most - 1)
    power = 10.0 ** math.floor(math.log10(raw)) if raw > 0 else 1.0
    step = next(each * power for each in (1, 2, 5, 10) if each * power >= raw * (1 - 1e-9)) if raw > 0 else 1.0
    first = math.ceil(start / size / step - 1e-9)
    count = int(span / size / step + 1e-9) + 1
    places = [(first + number) * step for number in range(count)]
    return tuple((place * size, f"{place:.6g} {unit}") for place in places if place * size <= end * (1 + 1e-12))
