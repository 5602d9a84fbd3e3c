"""Plants with one fault, all invented: each fault in several sizes, with the signs that tell it.

The faulty log is a healthy one of :mod:`tests.trends.plants` to which the fault is added.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from tests.trends.logs import DAY, InventedLog
from tests.trends.plants import _second, district, nights_at_zero, one_week, steady_process, told_station

Random = np.random.Generator


@dataclass(frozen=True)
class Fault:
    """A fault: how it is added at a size, the sizes that are tried, and the signs of which one must be seen."""

    planted: Callable[[Random, float], InventedLog]
    sizes: tuple[float, ...]
    signs: frozenset[str]


def _from(random: Random, log: InventedLog, early: float = 0.3, late: float = 0.7) -> int:
    """Return the place from which a fault is there."""
    return int(len(log.times) * random.uniform(early, late))


def _two(random: Random) -> InventedLog:
    return _second(random, district(random, step=300.0))


def second_steps_away(random: Random, size: float) -> InventedLog:
    """A meter that reads a share more than the second one from some day on."""
    log = _two(random)
    log.flow[_from(random, log) :] *= 1 + size
    return log


def second_differs(random: Random, size: float) -> InventedLog:
    """A meter that reads a share more than the second one all the time."""
    log = _two(random)
    return replace(log, flow=log.flow * (1 + size))


def second_drifts(random: Random, size: float) -> InventedLog:
    """A meter that creeps away from the second one."""
    log = _two(random)
    return replace(log, flow=log.flow * (1 - size * np.linspace(0, 1, len(log.flow))))


def pulse_loss(random: Random, size: float) -> InventedLog:
    """Pulses lost above two thirds of the highest flow; the second meter is right."""
    log = _two(random)
    knee = 0.67 * float(np.quantile(log.flow, 0.99))
    top = float(log.flow.max())
    lost = size * np.clip((log.flow - knee) / (top - knee), 0, 1)
    return replace(log, flow=log.flow * (1 - lost))


def pulses_lost_everywhere(random: Random, size: float) -> InventedLog:
    """A share of the pulses lost from some day on, now more and now less; the second meter is right."""
    log = _two(random)
    start = _from(random, log)
    log.flow[start:] *= 1 - size * random.uniform(0.5, 1.5, len(log.flow) - start)
    return log


def negative(random: Random, size: float) -> InventedLog:
    """A whole log with the sign turned round."""
    log = nights_at_zero(random) if random.random() < 0.5 else district(random)
    return replace(log, flow=-size * log.flow)


def offset_at_standstill(random: Random, size: float) -> InventedLog:
    """A zero that is off by a share of the usual flow; the pump's state is told."""
    log = told_station(random)
    return replace(log, flow=log.flow + size * float(np.median(log.flow[log.running == 1])))


def noisier(random: Random, size: float) -> InventedLog:
    """Noise so many times as large from some time on."""
    log = steady_process(random)
    start = _from(random, log)
    level = float(np.median(log.flow))
    log.flow[start:] = level + size * (log.flow[start:] - level)
    return log


def noisier_district(random: Random, size: float) -> InventedLog:
    """Noise of so many per cent of the flow added from some time on."""
    log = district(random, step=300.0)
    start = _from(random, log)
    log.flow[start:] *= 1 + size * random.normal(size=len(log.flow) - start)
    return log


def noisier_than_second(random: Random, size: float) -> InventedLog:
    """Noise of a share of the flow that the second meter does not have."""
    log = _two(random)
    return replace(log, flow=log.flow * (1 + size * random.normal(size=len(log.flow))))


def night_flow(random: Random, size: float) -> InventedLog:
    """Flow at all hours more by a share of the mean, from one night on."""
    log = district(random, days=21)
    start = int(random.uniform(0.4, 0.7) * 21) * DAY + log.times[0]
    return replace(log, flow=log.flow + size * float(log.flow.mean()) * (log.times >= start))


def profile(random: Random, size: float) -> InventedLog:
    """The day of the plant shifted by so many hours, from one day on."""
    log = district(random, days=21)
    later = int(random.uniform(0.4, 0.7) * 21) * 144
    log.flow[later:] = np.roll(log.flow, round(size * 6))[later:]
    return log


def frozen(random: Random, size: float) -> InventedLog:
    """So many readings of one value by day."""
    log = district(random, step=300.0)
    start = int(random.integers(2, 12)) * 288 + 100
    log.flow[start : start + int(size)] = log.flow[start]
    return log


def dropped(random: Random, size: float) -> InventedLog:
    """So many single readings at zero."""
    log = steady_process(random)
    log.flow[random.choice(np.arange(20, len(log.flow) - 20), int(size), replace=False)] = 0.0
    return log


def dropped_district(random: Random, size: float) -> InventedLog:
    """The same in a district."""
    log = district(random, step=300.0)
    log.flow[random.choice(np.arange(20, len(log.flow) - 20), int(size), replace=False)] = 0.0
    return log


def spiked(random: Random, size: float) -> InventedLog:
    """Three single readings far up by a share of the flow."""
    log = steady_process(random)
    log.flow[random.choice(np.arange(20, len(log.flow) - 20), 3, replace=False)] *= 1 + size
    return log


def swinging(random: Random, size: float) -> InventedLog:
    """A swing of a share of the flow with a period of five to sixty readings."""
    log = steady_process(random)
    period = random.uniform(5, 60)
    wave = np.sin(2 * np.pi * np.arange(len(log.flow)) / period)
    return replace(log, flow=log.flow * (1 + size * wave))


def drifting(random: Random, size: float) -> InventedLog:
    """A level that creeps down by a share in three weeks; nothing stands beside it."""
    log = district(random, days=21)
    return replace(log, flow=log.flow * (1 - size * np.linspace(0, 1, len(log.flow))))


def stepping(random: Random, size: float) -> InventedLog:
    """A steady process whose level steps up by a share."""
    log = steady_process(random)
    log.flow[_from(random, log) :] *= 1 + size
    return log


def stepping_district(random: Random, size: float) -> InventedLog:
    """A district whose readings are a factor larger from one moment on."""
    log = district(random, days=21)
    log.flow[_from(random, log) :] *= 1 + size
    return log


def fault_level(random: Random, size: float) -> InventedLog:
    """A current at 21.5 mA for so many readings."""
    log = district(random)
    end = 1.3 * float(log.flow.max())
    current = 4 + 16 * log.flow / end
    start = _from(random, log)
    current[start : start + int(size)] = 21.5
    return InventedLog(log.times, end * (current - 4) / 16, current=current)


def clipped(random: Random, size: float) -> InventedLog:
    """Readings cut off at a share of the highest."""
    log = district(random, step=300.0)
    return replace(log, flow=np.minimum(log.flow, size * float(np.quantile(log.flow, 0.999))))


def zero_running(random: Random, size: float) -> InventedLog:
    """So many readings at zero while the pump runs."""
    log = told_station(random)
    assert log.running is not None
    runs = np.flatnonzero(log.running == 1)
    start = int(random.choice(runs[(runs > 50) & (runs < len(log.flow) - 100)]))
    part = slice(start, start + int(size))
    log.running[max(0, start - 10) : start + int(size)] = 1
    log.flow[part] = 0.0
    return log


def runs_back(random: Random, size: float) -> InventedLog:
    """Liquid that runs back by a share of the flow for five minutes after each stop."""
    log = told_station(random)
    assert log.running is not None
    level = float(np.median(log.flow[log.running == 1]))
    for stop in np.flatnonzero(np.diff(log.running) < 0) + 1:
        log.flow[stop + 1 : stop + 6] -= size * level
    return log


def total_of(log: InventedLog, step: float = 0.1) -> InventedLog:
    """Return the log of a totaliser that a flow drives, in steps of so many cubic metres."""
    seconds = np.diff(log.times, prepend=log.times[0])
    total = 12_345.0 + np.cumsum(log.flow * seconds / 3600)
    return replace(log, flow=np.floor(total / step) * step, total=True)


def total_stops(random: Random, size: float) -> InventedLog:
    """A totaliser that stands for so many readings by day."""
    log = district(random)
    start = int(random.integers(2, 12)) * 144 + 50
    log.flow[start : start + int(size)] = 0.0
    return total_of(log)


def total_back(random: Random, size: float) -> InventedLog:
    """A totaliser that jumps back by so many cubic metres."""
    log = total_of(district(random))
    log.flow[_from(random, log) :] -= size
    return log


def week_second_steps(random: Random, size: float) -> InventedLog:
    """A meter that reads a share more than the second one from some moment of one week on."""
    log = _second(random, one_week(random))
    log.flow[_from(random, log) :] *= 1 + size
    return log


def week_night_flow(random: Random, size: float) -> InventedLog:
    """Flow at all hours more by a share of the mean, from the fourth or the fifth night of one week on."""
    log = one_week(random)
    start = int(random.integers(3, 5)) * DAY + log.times[0]
    return replace(log, flow=log.flow + size * float(log.flow.mean()) * (log.times >= start))


def week_steps(random: Random, size: float) -> InventedLog:
    """A district whose readings are a share larger from some moment of one week on; nothing stands beside it."""
    log = one_week(random)
    log.flow[_from(random, log, 0.4, 0.6) :] *= 1 + size
    return log


def zero_for_hours(random: Random, size: float) -> InventedLog:
    """A district that never stands at zero for so many hours."""
    log = district(random, step=600.0)
    start = _from(random, log)
    log.flow[start : start + round(size * 6)] = 0.0
    return log


def loop_open(random: Random, size: float) -> InventedLog:
    """A flow scaled from a loop that carried nothing for so many readings; neither its current nor URV are told."""
    log = district(random)
    end = float(log.flow.max()) * random.uniform(1.05, 2.5)
    start = _from(random, log)
    log.flow[start : start + int(size)] = -end / 4
    return log


FAULTS: Mapping[str, Fault] = {
    "second steps away": Fault(second_steps_away, (0.03, 0.06, 0.2), frozenset({"second-meter"})),
    "second differs": Fault(second_differs, (0.03, 0.06, 0.2), frozenset({"second-meter"})),
    "second drifts": Fault(second_drifts, (0.03, 0.06, 0.12), frozenset({"drift", "second-meter"})),
    "pulse loss at peaks": Fault(pulse_loss, (0.05, 0.1, 0.2), frozenset({"second-meter"})),
    "pulses lost": Fault(pulses_lost_everywhere, (0.03, 0.06, 0.2), frozenset({"second-meter"})),
    "whole log negative": Fault(negative, (0.3, 1.0), frozenset({"negative"})),
    "offset at standstill": Fault(offset_at_standstill, (0.01, 0.02, 0.05), frozenset({"zero-at-standstill"})),
    "noise grown": Fault(noisier, (2.0, 5.0, 10.0), frozenset({"noise"})),
    "noise in a district": Fault(noisier_district, (0.03, 0.06, 0.15), frozenset({"noise"})),
    "noise beside second": Fault(noisier_than_second, (0.03, 0.06, 0.15), frozenset({"noise"})),
    "night flow risen": Fault(night_flow, (0.1, 0.2, 0.5), frozenset({"night-flow"})),
    "day shifted, hours": Fault(profile, (1.0, 3.0, 6.0), frozenset({"profile"})),
    "frozen, readings": Fault(frozen, (6.0, 12.0, 36.0), frozenset({"stuck"})),
    "drop-outs": Fault(dropped, (1.0, 5.0), frozenset({"drop-outs"})),
    "drop-outs, district": Fault(dropped_district, (1.0, 5.0), frozenset({"drop-outs"})),
    "spikes": Fault(spiked, (0.1, 0.3, 1.0), frozenset({"spikes"})),
    "swings": Fault(swinging, (0.005, 0.02, 0.05), frozenset({"swings"})),
    "drift alone": Fault(drifting, (0.1, 0.2, 0.4), frozenset({"drift"})),
    "step": Fault(stepping, (0.03, 0.1, 0.3), frozenset({"steps"})),
    "step in a district": Fault(stepping_district, (0.1, 0.3, 1.0), frozenset({"steps", "night-flow", "profile"})),
    "fault level": Fault(fault_level, (1.0, 2.0, 10.0), frozenset({"fault-current"})),
    "clipped": Fault(clipped, (0.95, 0.85, 0.7), frozenset({"clipped"})),
    "zero while pumping": Fault(zero_running, (8.0, 15.0, 60.0), frozenset({"zero-while-flowing"})),
    "runs back": Fault(runs_back, (0.02, 0.05, 0.2), frozenset({"reverse-at-stop"})),
    "total stands": Fault(total_stops, (3.0, 12.0, 48.0), frozenset({"total-stands"})),
    "total jumps back": Fault(total_back, (5.0, 500.0, 12_000.0), frozenset({"total-back"})),
    "week, second steps": Fault(week_second_steps, (0.03, 0.06, 0.2), frozenset({"second-meter"})),
    "week, night flow": Fault(week_night_flow, (0.1, 0.2, 0.5), frozenset({"night-flow"})),
    "week, step": Fault(week_steps, (0.2, 0.5, 1.0), frozenset({"steps", "night-flow"})),
    "zero for hours": Fault(zero_for_hours, (2.0, 6.0, 20.0), frozenset({"stands-once"})),
    "loop open": Fault(loop_open, (1.0, 3.0, 30.0), frozenset({"no-current"})),
}
"""Faults by name."""
