"""Healthy plants, all invented: what their meters show is right, so that no sign may be held against them.

Each takes a random generator and returns a log of some 2000 to 4000 readings. Levels, noise, hours and lengths are
drawn anew for every seed from ranges that plants of the kind have (estimates; nothing is measured).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from diagnose.tables.arrays import Array
from tests.trends.logs import DAY, InventedLog, ar1, without_islands

MONDAY = 1_772_409_600.0
"""2026-03-02 00:00, a Monday, in seconds since 1970."""

HOUR = 3600.0


def grid(days: float, step: float) -> Array:
    """Return times from a Monday on."""
    return MONDAY + np.arange(round(days * DAY / step)) * step


def demand(times: Array, random: np.random.Generator, night: float = 0.2) -> Array:
    """Return a district's demand with mean near 1: low at night, peaks in the morning and the evening."""
    hour = times % DAY / HOUR
    morning, evening = random.uniform(6.5, 8.5), random.uniform(18, 20.5)
    shape = night + 0.9 * np.exp(-0.5 * ((hour - morning) / 1.5) ** 2)
    shape += 0.8 * np.exp(-0.5 * ((hour - evening) / 2.0) ** 2) + 0.45 * ((hour > 6) & (hour < 22.5))
    day = (times // DAY).astype(int)
    of_day = 1 + 0.04 * random.normal(size=day.max() - day.min() + 1)[day - day.min()]
    return np.asarray(shape / shape.mean() * of_day, np.float64)


def district(random: np.random.Generator, days: float = 14, step: float = 600.0, night: float = 0.25) -> InventedLog:
    """Return a district's inflow with its day, its weekend and demand that wanders."""
    times = grid(days, step)
    level = random.uniform(20, 200)
    shape = demand(times, random, night)
    weekend = (times - MONDAY) // DAY % 7 >= 5
    flow = shape * np.where(weekend, random.uniform(0.85, 1.15), 1.0)
    flow *= 1 + random.uniform(0.02, 0.05) * ar1(random, len(times), 0.9)
    return InventedLog(times, level * flow * (1 + random.uniform(0.002, 0.008) * random.normal(size=len(times))))


def switching(random: np.random.Generator, times: Array, on: tuple[float, float], off: tuple[float, float]) -> Array:
    """Return 1 and 0 in turn for as long as drawn from these ranges of seconds."""
    running = np.zeros(len(times))
    at, state = times[0] + random.uniform(0, off[1]), 1
    while at < times[-1]:
        length = random.uniform(*(on if state else off))
        running[(times >= at) & (times < at + length)] = state
        at, state = at + length, 1 - state
    return running


def on_off_station(random: np.random.Generator) -> InventedLog:
    """Return a pumping station that starts and stops by level; no column tells of the pump."""
    step = float(random.choice([60.0, 120.0, 300.0]))
    times = grid(2880 * step / DAY, step)
    least = 4 * step
    running = switching(random, times, (least, 5 * least), (least, 9 * least))
    level = random.uniform(20, 200)
    flow = running * level * (1 + random.uniform(0.003, 0.01) * ar1(random, len(times), 0.5))
    started = np.diff(running, prepend=running[0]) > 0
    flow[started] *= random.uniform(0.3, 0.9, int(started.sum()))
    return InventedLog(times, flow)


def regular_station(random: np.random.Generator) -> InventedLog:
    """Return a station whose steady inflow makes it pump in a steady rhythm; no column tells of the pump."""
    times = grid(2, 60.0)
    period = random.uniform(900, 3600)
    phase = np.cumsum(60.0 / period * (1 + 0.03 * ar1(random, len(times), 0.99)))
    running = phase % 1 < random.uniform(0.2, 0.6)
    level = random.uniform(20, 200)
    return InventedLog(times, running * level * (1 + 0.005 * ar1(random, len(times), 0.5)))


def told_station(random: np.random.Generator) -> InventedLog:
    """Return a station with the pump's state beside the flow; the zero is right within noise."""
    times = grid(2, 60.0)
    running = without_islands(switching(random, times, (1200, 7200), (1200, 5400)), 5)
    level = random.uniform(20, 200)
    flow = running * level * (1 + 0.01 * ar1(random, len(times), 0.6))
    flow += level * random.uniform(0.0002, 0.001) * random.normal(size=len(times))
    stopped = np.flatnonzero(np.diff(running) < 0) + 1
    flow[stopped] += level * random.uniform(0.05, 0.4, len(stopped))
    return InventedLog(times, flow, running=running)


def nights_at_zero(random: np.random.Generator) -> InventedLog:
    """Return a small network at zero every night, behind the meter's cut-off."""
    log = district(random, step=300.0, night=0.02)
    hour = log.times % DAY / HOUR
    quiet = np.clip((hour - random.uniform(4.5, 5.5)) / 1.0, 0, 1) * np.clip((23.5 - hour) / 1.0, 0, 1)
    flow = log.flow * quiet
    flow[flow < 0.02 * flow.max()] = 0.0
    return InventedLog(log.times, flow)


def weekends(random: np.random.Generator) -> InventedLog:
    """Return a factory that works five days a week in two shifts, and hardly draws water otherwise."""
    times = grid(28, 900.0)
    day, hour = (times - MONDAY) // DAY % 7, times % DAY / HOUR
    works = (day < 5) & (hour >= 6) & (hour < 22)
    level = random.uniform(20, 200)
    base = random.choice([0.0, 0.05, 0.15])
    flow = level * np.where(works, 1 + 0.08 * ar1(random, len(times), 0.7), base)
    return InventedLog(times, np.maximum(flow * (1 + 0.01 * random.normal(size=len(times))), 0.0))


def seasons(random: np.random.Generator) -> InventedLog:
    """Return two to twelve months of a water work with its season and its day."""
    step = 3 * HOUR
    times = grid(random.uniform(60, 365), step)
    season = 1 + random.uniform(0.1, 0.3) * np.sin(2 * np.pi * times / (365 * DAY) + random.uniform(0, 6.3))
    shape = demand(times, random, 0.4)
    wander = 1 + 0.03 * ar1(random, len(times), 0.98)
    return InventedLog(times, random.uniform(20, 200) * season * shape * wander)


def batches(random: np.random.Generator) -> InventedLog:
    """Return a dosing line: batches at one of three rates, and pauses at zero."""
    times = grid(1, 30.0)
    running = switching(random, times, (300, 2400), (300, 1800))
    number = np.cumsum(np.diff(running, prepend=0) > 0)
    level = random.uniform(5, 50)
    rates = level * random.choice([0.5, 0.8, 1.0], size=int(number.max()) + 1)
    flow = running * rates[number] * (1 + random.uniform(0.002, 0.01) * ar1(random, len(times), 0.5))
    return InventedLog(times, flow)


def gaps(random: np.random.Generator) -> InventedLog:
    """Return a district whose logger was off several times, from an hour to two days."""
    log = district(random, days=21)
    kept = np.ones(len(log.times), bool)
    for _ in range(int(random.integers(3, 9))):
        start = int(random.integers(0, len(kept)))
        kept[start : start + int(random.integers(6, 288))] = False
    return InventedLog(log.times[kept], log.flow[kept])


def on_change(random: np.random.Generator) -> InventedLog:
    """Return what a historian keeps of a district: a reading when it has changed by a dead-band, or after an hour."""
    log = district(random, days=10, step=60.0)
    band = random.uniform(0.01, 0.05) * float(log.flow.mean())
    kept, last, at = [], np.inf, -np.inf
    for place, (time, value) in enumerate(zip(log.times.tolist(), log.flow.tolist(), strict=True)):
        if abs(value - last) > band or time - at >= HOUR:
            kept.append(place)
            last, at = value, time
    return InventedLog(log.times[kept], log.flow[kept])


def held_historian(random: np.random.Generator) -> InventedLog:
    """Return the same read out again at even times: between two changes the last value stands."""
    dense = district(random, days=10, step=60.0)
    band = random.uniform(0.03, 0.1) * float(dense.flow.mean())
    held, last = np.empty(len(dense.flow)), np.inf
    for place, value in enumerate(dense.flow.tolist()):
        if abs(value - last) > band:
            last = value
        held[place] = last
    return InventedLog(dense.times[::5], np.round(held[::5], 2))


def coarse(random: np.random.Generator) -> InventedLog:
    """Return a district written in coarse steps."""
    log = district(random)
    step = float(log.flow.max()) * random.uniform(0.01, 0.05)
    return InventedLog(log.times, np.round(log.flow / step) * step)


def quality(random: np.random.Generator) -> InventedLog:
    """Return a district with a column of quality: what is marked bad holds zero, the last value, or nonsense."""
    log = district(random)
    marks = np.full(len(log.flow), "Good", object)
    for _ in range(int(random.integers(3, 12))):
        start = int(random.integers(1, len(marks) - 60))
        part = slice(start, start + int(random.integers(1, 50)))
        marks[part] = random.choice(["Bad", "Bad [no data]", "Uncertain", "Comm fail"])
        log.flow[part] = random.choice([0.0, log.flow[start - 1], -999.0, 5 * log.flow.max()])
    return InventedLog(log.times, log.flow, quality=marks)


def end_of_range(random: np.random.Generator) -> InventedLog:
    """Return a district whose peaks lie beyond the range: the signal stays at its end; half of them tell URV."""
    log = district(random)
    end = float(np.quantile(log.flow, random.uniform(0.9, 0.97)))
    return InventedLog(log.times, np.minimum(log.flow, end), upper=end if random.random() < 0.5 else None)


def fault_shown_as_flow(random: np.random.Generator) -> InventedLog:
    """Return a flow scaled from 4-20 mA whose meter told its fault a few times with 3.5 mA; half with the current."""
    log = district(random)
    return _at_current(random, log, random.choice([3.5, 3.55, 3.6]))


def current_lost(random: np.random.Generator) -> InventedLog:
    """Return the same with a loop that was open now and then: zero current, minus a quarter of the range."""
    return _at_current(random, district(random), 0.0)


def _at_current(random: np.random.Generator, log: InventedLog, level: float) -> InventedLog:
    end = float(log.flow.max()) * random.uniform(1.05, 2.0)
    current = 4 + 16 * log.flow / end
    for _ in range(int(random.integers(1, 5))):
        start = int(random.integers(10, len(current) - 60))
        current[start : start + int(random.integers(2, 40))] = level
    flow = end * (current - 4) / 16
    return InventedLog(
        log.times,
        flow,
        current=current if random.random() < 0.5 else None,
        upper=end if random.random() < 0.6 else None,
    )


def steady_process(random: np.random.Generator) -> InventedLog:
    """Return a process line at one flow for days."""
    times = grid(3, 120.0)
    level = random.uniform(20, 200)
    flow = level * (1 + random.uniform(0.002, 0.02) * ar1(random, len(times), random.uniform(0, 0.9)))
    return InventedLog(times, flow)


def set_points(random: np.random.Generator) -> InventedLog:
    """Return a controlled flow whose set point is changed several times a day."""
    times = grid(2, 60.0)
    wanted = np.empty(len(times))
    at = 0
    level = random.uniform(20, 200)
    while at < len(times):
        length = int(random.integers(60, 400))
        wanted[at : at + length] = level * random.uniform(0.4, 1.0)
        at += length
    flow, last, pull = np.empty(len(times)), wanted[0], random.uniform(0.2, 0.9)
    for place, each in enumerate(wanted.tolist()):
        last += pull * (each - last)
        flow[place] = last
    return InventedLog(times, flow + level * random.uniform(0.002, 0.01) * ar1(random, len(times), 0.5))


def two_meters(random: np.random.Generator) -> InventedLog:
    """Return two good meters at one district, one of them livelier; each within one per cent."""
    log = district(random, step=300.0)
    return _second(random, log)


def _second(random: np.random.Generator, log: InventedLog) -> InventedLog:
    level = float(np.median(log.flow))
    flow = log.flow * (1 + 0.003 * random.normal()) + level * random.uniform(0.003, 0.015) * random.normal(
        size=len(log.flow)
    )
    quiet = level * random.uniform(0.001, 0.003) * random.normal(size=len(log.flow))
    return InventedLog(log.times, flow, second=log.flow * (1 + 0.003 * random.normal()) + quiet)


def two_damped(random: np.random.Generator) -> InventedLog:
    """Return two good meters of which the second is damped and lags by a few readings."""
    log = set_points(random)
    damped, last = np.empty(len(log.flow)), log.flow[0]
    pull = random.uniform(0.15, 0.5)
    for place, each in enumerate(log.flow.tolist()):
        last += pull * (each - last)
        damped[place] = last
    return InventedLog(log.times, log.flow, second=damped * (1 + 0.003 * random.normal()))


def one_week(random: np.random.Generator) -> InventedLog:
    """Return a district for seven days, which begin on any day of the week."""
    log = district(random, days=14)
    start = int(random.integers(0, 7)) * 144
    part = slice(start, start + 7 * 144)
    return InventedLog(log.times[part], log.flow[part])


def storm_inflow(random: np.random.Generator) -> InventedLog:
    """Return the inflow of a sewage works: dry weather with its day, and storms of ten to thirty times as much."""
    log = district(random, step=300.0, night=0.3)
    flow = log.flow
    for _ in range(int(random.integers(1, 5))):
        peak, start = random.uniform(10, 40) * float(flow.mean()), random.uniform(0, 13) * DAY + log.times[0]
        rises, falls = random.uniform(300, 3600), random.uniform(900, 14400)
        for burst in range(int(random.integers(1, 4))):
            since = np.maximum(log.times - start - burst * random.uniform(1800, 7200), 0.0)
            flow = flow + peak * (1 - np.exp(-since / rises)) * np.exp(-since / falls)
    return InventedLog(log.times, flow)


def flushed(random: np.random.Generator) -> InventedLog:
    """Return a water main that is flushed, or at which a hydrant is opened, once or twice."""
    log = district(random, step=300.0)
    for _ in range(int(random.integers(1, 3))):
        start = int(random.integers(20, len(log.flow) - 20))
        log.flow[start : start + int(random.integers(1, 6))] += random.uniform(1, 4) * float(log.flow.mean())
    return log


def read_late(random: np.random.Generator) -> InventedLog:
    """Return a total whose outstation could not be reached now and then: it stands, and catches up."""
    log = district(random)
    seconds = np.diff(log.times, prepend=log.times[0])
    total = 4321.0 + np.cumsum(log.flow * seconds / HOUR)
    for _ in range(int(random.integers(1, 5))):
        start = int(random.integers(10, len(total) - 60))
        end = start + int(random.integers(2, 40))
        total[start:end] = total[start]
    return InventedLog(log.times, np.floor(total * 10) / 10, total=True)


def tidal(random: np.random.Generator) -> InventedLog:
    """Return a flow between two basins that wanders slowly through zero and back."""
    times = grid(7, 300.0)
    level = random.uniform(20, 200)
    hours = random.uniform(11, 60)
    slow = np.sin(2 * np.pi * (times - times[0]) / (hours * HOUR) + random.uniform(0, 6.3)) + random.uniform(0.1, 0.8)
    return InventedLog(times, level * (slow + 0.02 * ar1(random, len(times), 0.9)))


HEALTHY: Mapping[str, Callable[[np.random.Generator], InventedLog]] = {
    "district": district,
    "on/off station": on_off_station,
    "regular station": regular_station,
    "station, pump told": told_station,
    "nights at zero": nights_at_zero,
    "weekends": weekends,
    "seasons": seasons,
    "batches": batches,
    "gaps": gaps,
    "on change": on_change,
    "held historian": held_historian,
    "coarse steps": coarse,
    "quality column": quality,
    "end of range": end_of_range,
    "fault current": fault_shown_as_flow,
    "current lost": current_lost,
    "steady process": steady_process,
    "set points": set_points,
    "two meters": two_meters,
    "two, one damped": two_damped,
    "one week": one_week,
    "storm inflow": storm_inflow,
    "flushed main": flushed,
    "read late": read_late,
    "through zero": tidal,
}
"""Healthy plants by name."""

RIGHTLY: frozenset[tuple[str, str]] = frozenset(
    {
        ("coarse steps", "quantised"),
        ("on change", "quantised"),
        ("held historian", "quantised"),
        ("end of range", "saturated"),
        ("end of range", "clipped"),
        ("fault current", "fault-current"),
        ("current lost", "no-current"),
        ("quantised", "quantised"),
        ("heavy tails", "spikes"),
        ("flushed main", "spikes"),
        ("through zero", "swings"),
        ("uneven noise", "noise"),
    }
)
"""Plant and sign that a person sees in the picture too: it is in the record, or in the loop, and no false alarm."""
