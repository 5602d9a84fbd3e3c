"""Clean logs of several kinds, and a planted fault for each detector: false alarms beside the stated rate, finds."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.tables.log_quality import is_good
from diagnose.tables.log_total import flow_of, total_of
from diagnose.trends.series import RATE, SeriesView, series
from diagnose.trends.trend import DETECTORS
from tests.trends import faults
from tests.trends.logs import CLEAN, InventedLog, ar1

NAME = 20

_NOTE = (
    "Of 0: nothing beside the readings that it needs. Logs that are quantised on purpose are written in steps of up to "
    "three\ntimes their noise: that they are `quantised` is then no false alarm, nor are `spikes` in noise with "
    "heavy tails,\nwhich has them. The planted step is two and a half "
    "standard deviations."
)
SEED = 20260302


def seen(log: InventedLog, upper: float | None = None) -> SeriesView:
    """Return an invented log as detectors look at it."""
    times, flow, total = log.times, log.flow, None
    kept = np.ones(len(times), bool) if log.quality is None else np.array([is_good(each) for each in log.quality])
    if log.total:
        total = total_of(times, flow, "m3")
        times, flow, kept = flow_of(total)
    step = float(np.median(np.diff(times)))

    def beside(column: Array | None) -> Array | None:
        return None if column is None else column[kept]

    return SeriesView(
        data=series(times[kept], flow[kept], step),
        current=beside(log.current),
        running=beside(log.running),
        second=beside(log.second),
        upper=log.upper if upper is None else upper,
        total=total,
    )


def false_alarms(kind: str, size: int) -> dict[str, tuple[int, int]]:
    """Return, for each detector, in how many clean logs of a kind it saw something, and in how many it looked."""
    found = dict.fromkeys(DETECTORS, (0, 0))
    for number in range(size):
        log = seen(CLEAN[kind](np.random.default_rng((SEED, number, sorted(CLEAN).index(kind)))))
        for name, detector in DETECTORS.items():
            sign = detector(log)
            alarms, looked = found[name]
            found[name] = (alarms + sign.present, looked + (not sign.untested))
    return found


def _steady(random: np.random.Generator, count: int = 3000) -> InventedLog:
    flow = 80 * (1 + 0.01 * ar1(random, count, 0.6))
    return InventedLog(np.arange(count) * 10.0, flow)


def _pumped(random: np.random.Generator, count: int = 3000) -> InventedLog:
    running = np.ones(count)
    running[700:1000] = running[1900:2200] = 0
    true = 80 * running * (1 + 0.01 * ar1(random, count, 0.6))
    flow = true + 0.2 * random.normal(size=count)
    return InventedLog(
        np.arange(count) * 10.0, flow, 4 + 16 * flow / 100, running, true + 0.2 * random.normal(size=count)
    )


def _stuck(random: np.random.Generator) -> InventedLog:
    log = _steady(random)
    log.flow[1000:1060] = log.flow[1000]
    return log


def _calm(random: np.random.Generator) -> InventedLog:
    log = _steady(random)
    log.flow[1000:1100] = 24.2 + 0.01 * random.normal(size=100)
    return log


def _fault(random: np.random.Generator) -> InventedLog:
    log = _pumped(random)
    assert log.current is not None
    log.current[1500:1510] = 3.55
    return log


def _saturated(random: np.random.Generator) -> InventedLog:
    log = _pumped(random)
    assert log.current is not None
    return replace(log, current=np.minimum(log.current + 4.0 * (np.arange(len(log.flow)) > 2500), 20.5))


def _clipped(random: np.random.Generator) -> InventedLog:
    log = _steady(random)
    return replace(log, flow=np.minimum(log.flow, 81.0))


def _dropped(random: np.random.Generator) -> InventedLog:
    log = _steady(random)
    log.flow[[400, 401, 1700]] = 0.0
    return log


def _spiked(random: np.random.Generator) -> InventedLog:
    log = _steady(random)
    log.flow[[400, 1700]] += 15.0
    return log


def _stepped(random: np.random.Generator) -> InventedLog:
    log = _steady(random)
    log.flow[1800:] += 2.0
    return log


def _crept(random: np.random.Generator) -> InventedLog:
    return faults.second_drifts(random, 0.04)


def _open(random: np.random.Generator) -> InventedLog:
    log = _pumped(random)
    assert log.current is not None
    log.current[1500:1510] = 0.0
    return log


def _turned(random: np.random.Generator) -> InventedLog:
    return faults.negative(random, 1.0)


def _set_back(random: np.random.Generator) -> InventedLog:
    return faults.total_back(random, 500.0)


def _stood(random: np.random.Generator) -> InventedLog:
    return faults.total_stops(random, 48.0)


def _leaking(random: np.random.Generator) -> InventedLog:
    return faults.night_flow(random, 0.3)


def _shifted(random: np.random.Generator) -> InventedLog:
    return faults.profile(random, 3.0)


def _zero(random: np.random.Generator) -> InventedLog:
    log = _pumped(random)
    return replace(log, flow=log.flow + 1.0)


def _nothing(random: np.random.Generator) -> InventedLog:
    log = _pumped(random)
    log.flow[1200:1260] = 0.0
    return log


def _back(random: np.random.Generator) -> InventedLog:
    log = _pumped(random)
    log.flow[700:720] -= 12.0
    return log


def _swinging(random: np.random.Generator) -> InventedLog:
    log = _steady(random)
    return replace(log, flow=log.flow + 0.6 * np.sin(2 * np.pi * log.times / 130.0))


def _restless(random: np.random.Generator) -> InventedLog:
    log = _pumped(random)
    return replace(log, flow=log.flow + 2.5 * random.normal(size=len(log.flow)))


def _other(random: np.random.Generator) -> InventedLog:
    log = _pumped(random)
    return replace(log, flow=1.04 * log.flow)


def _coarse(random: np.random.Generator) -> InventedLog:
    log = _steady(random)
    return replace(log, flow=np.round(log.flow / 3.0) * 3.0)


PLANTED: Mapping[str, Callable[[np.random.Generator], InventedLog]] = {
    "stuck": _stuck,
    "steady-but-real": _calm,
    "fault-current": _fault,
    "no-current": _open,
    "negative": _turned,
    "total-back": _set_back,
    "total-stands": _stood,
    "night-flow": _leaking,
    "profile": _shifted,
    "saturated": _saturated,
    "clipped": _clipped,
    "drop-outs": _dropped,
    "spikes": _spiked,
    "steps": _stepped,
    "drift": _crept,
    "zero-while-flowing": _nothing,
    "zero-at-standstill": _zero,
    "reverse-at-stop": _back,
    "swings": _swinging,
    "noise": _restless,
    "second-meter": _other,
    "quantised": _coarse,
}
"""Detector → a log with what it looks for."""


def planted(name: str, size: int) -> int:
    """Return in how many logs with its fault planted a detector sees it."""
    logs = (PLANTED[name](np.random.default_rng((SEED, number))) for number in range(size))
    return sum(DETECTORS[name](seen(log)).present for log in logs)


def report(size: int = 100) -> str:
    """Return a table: false alarms of each detector in ``size`` clean logs of every kind, and planted faults found."""
    found = {kind: false_alarms(kind, size) for kind in CLEAN}
    head = f"{'detector':{NAME}}" + "".join(f"{kind:>20}" for kind in CLEAN) + f"{'all':>14}{'planted, found':>18}"
    lines = [f"False alarms (of logs tested) in {size} clean logs of each kind; stated: {100 * RATE:g} %", head]
    for name in DETECTORS:
        each = [found[kind][name] for kind in CLEAN]
        alarms, looked = sum(a for a, _ in each), sum(b for _, b in each)
        cells = "".join(f"{f'{a} of {b}':>20}" for a, b in each)
        share = f"{100 * alarms / looked:.1f} %" if looked else "-"
        lines.append(f"{name:{NAME}}{cells}{share:>14}{f'{planted(name, size // 2)} of {size // 2}':>18}")
    return "\n".join([*lines, _NOTE])
