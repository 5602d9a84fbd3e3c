"""Healthy plants and plants with a fault, all invented: false alarms of each sign, and what is seen at what size."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import cache
from itertools import repeat

import numpy as np

from diagnose.rule_book.cache import load_rule_book
from diagnose.shipped import shipped_folder
from diagnose.tables.arrays import Array
from diagnose.tables.log_quality import is_good
from diagnose.tables.log_total import flow_of, total_of
from diagnose.trends.series import RATE, SeriesView, series
from diagnose.trends.trend import DETECTORS, detections
from tests.trends import faults
from tests.trends.faults import FAULTS
from tests.trends.logs import CLEAN, InventedLog, ar1
from tests.trends.plants import HEALTHY, RIGHTLY

NAME = 20

_NOTE = (
    "All plants and faults are invented. Sizes are shares of the flow, factors, hours, readings or cubic metres, as\n"
    "tests/trends/faults.py has them; denied: a sign of the fault was taken to be absent."
)
SEED = 20260302

PLANTS: Mapping[str, Callable[[np.random.Generator], InventedLog]] = {**HEALTHY, **CLEAN}
"""Healthy plants, and bare noise of several kinds."""


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


def _empty(random: np.random.Generator) -> InventedLog:
    return faults.zero_for_hours(random, 20.0)


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
    "stands-once": _empty,
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


@dataclass(frozen=True)
class Missed:
    """A fault at one size: in how many of ``logs`` it was seen, its finding denied, and another sign seen as well."""

    fault: str
    size: float
    logs: int
    seen: int
    denied: int
    others: Counter[str]


@cache
def denying() -> frozenset[str]:
    """Return the detectors whose sign denies a finding where a log would have shown it."""
    signs = load_rule_book(shipped_folder("rules")).signs.values()
    return frozenset(each.detector for each in signs if each.denies)


def healthy(plant: str, size: int) -> Counter[str]:
    """Return, for each detector, in how many logs of a healthy plant it saw something."""
    found: Counter[str] = Counter()
    for number in range(size):
        log = seen(PLANTS[plant](np.random.default_rng((SEED, number))))
        found.update(name for name, sign in detections(log).items() if sign.present)
    return found


def faulty(fault: str, size: float, logs: int) -> Missed:
    """Return in how many logs with a fault it is seen, and in how many a sign of it is taken to be absent."""
    known = FAULTS[fault]
    hit = denied = 0
    others: Counter[str] = Counter()
    for number in range(logs):
        found = detections(seen(known.planted(np.random.default_rng((SEED, number)), size)))
        hit += any(found[name].present for name in known.signs)
        denied += any(found[name].excludes and not found[name].present for name in known.signs & denying())
        others.update(name for name, sign in found.items() if sign.present and name not in known.signs)
    return Missed(fault, size, logs, hit, denied, others)


def report(size: int = 100) -> str:
    """Return two tables: false alarms in ``size`` logs of every healthy plant; faults seen in half as many."""
    sizes = [(fault, each) for fault, known in FAULTS.items() for each in known.sizes]
    with ProcessPoolExecutor(2) as pool:
        alarms = dict(zip(PLANTS, pool.map(healthy, PLANTS, repeat(size)), strict=True))
        missed = list(pool.map(faulty, *zip(*sizes, strict=True), repeat(max(1, size // 2)), chunksize=4))
        alone = [each for each in DETECTORS if not _told_by(each)]
        seen_alone = dict(zip(alone, pool.map(planted, alone, repeat(max(1, size // 2))), strict=True))
    shares = _sensitivities(missed, seen_alone, max(1, size // 2))
    return "\n".join((*_alarms(alarms, size), "", *_missed(missed), _NOTE, "", *shares))


def _told_by(detector: str) -> list[str]:
    """Return the faults that this detector tells, and no other."""
    return [fault for fault, known in FAULTS.items() if known.signs == {detector}]


def _sensitivities(missed: list[Missed], alone: Mapping[str, int], logs: int) -> list[str]:
    """Return the share of faults that each detector sees, all sizes but the smallest, which is there to be missed.

    By Laplace's rule of succession, (seen + 1) of (logs + 2): no detector sees every fault. Detectors for which no
    fault has sizes are shown by what is planted for them.
    """
    lines = ["sensitivity of each sign: all sizes but the smallest, with one more log seen and one missed"]
    for name in DETECTORS:
        told = [each for each in missed if each.fault in _told_by(name) and each.size != FAULTS[each.fault].sizes[0]]
        hit, of = (alone[name], logs) if name in alone else (sum(e.seen for e in told), sum(e.logs for e in told))
        lines.append(f"{name:{NAME}}{(hit + 1) / (of + 2):>9.2f}  {hit} of {of}")
    return lines


def _alarms(alarms: Mapping[str, Counter[str]], size: int) -> list[str]:
    names = list(DETECTORS)
    lines = [f"Logs of {size} of each healthy plant in which a sign is seen; stated: {100 * RATE:g} of a hundred"]
    lines += [f"{number:>3} {name}" for number, name in enumerate(names, 1)]
    lines.append(f"{'plant':{NAME}}" + "".join(f"{number:>5}" for number in range(1, len(names) + 1)))
    for plant, found in alarms.items():
        cells = (f"{found[name] or '.'}{'*' if found[name] and (plant, name) in RIGHTLY else ''}" for name in names)
        lines.append(f"{plant:{NAME}}" + "".join(f"{cell:>5}" for cell in cells))
    return [*lines, "*: it is in the record or in the loop, and a person sees it too"]


def _missed(missed: list[Missed]) -> list[str]:
    lines = [f"{'fault':{NAME}}{'size':>9}{'seen':>8}{'denied':>8}  other signs in these logs"]
    for each in missed:
        others = ", ".join(f"{name} {count}" for name, count in each.others.most_common())
        shares = (f"{100 * count / each.logs:.0f} %" for count in (each.seen, each.denied))
        lines.append(f"{each.fault:{NAME}}{each.size:>9g}" + "".join(f"{share:>8}" for share in shares) + f"  {others}")
    return lines
