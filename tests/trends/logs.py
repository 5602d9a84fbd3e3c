"""Invented logs: clean ones of several kinds, and clean ones with one fault put in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from diagnose.tables.arrays import Array
from diagnose.trends.series import stretches

DAY = 86400.0


@dataclass(frozen=True)
class InventedLog:
    """A log as it would be read: seconds, readings, and what stands beside them."""

    times: Array
    flow: Array
    current: Array | None = None
    running: Array | None = None
    second: Array | None = None
    quality: npt.NDArray[np.object_] | None = None
    upper: float | None = None
    total: bool = False
    """Whether ``flow`` is what a totaliser shows, in cubic metres."""


def ar1(random: np.random.Generator, count: int, memory: float) -> Array:
    """Return noise of standard deviation 1 in which each value keeps a share ``memory`` of the one before."""
    fresh = random.normal(size=count)
    if not memory:
        return fresh
    fresh[1:] *= np.sqrt(1 - memory**2)
    found = np.empty(count)
    last = 0.0
    for place, each in enumerate(fresh.tolist()):
        last = memory * last + each
        found[place] = last
    return found


def lengths(random: np.random.Generator) -> int:
    """Return a length between 60 and 6000 readings, short ones as often as long ones."""
    return int(np.exp(random.uniform(np.log(60), np.log(6000))))


def white(random: np.random.Generator) -> InventedLog:
    """Return a steady flow with noise without memory."""
    count = lengths(random)
    level = random.uniform(20, 200)
    flow = level * (1 + random.uniform(0.001, 0.03) * random.normal(size=count))
    return InventedLog(np.arange(count) * float(random.choice([1.0, 10.0, 60.0])), flow)


def with_memory(random: np.random.Generator) -> InventedLog:
    """Return a steady flow with noise of some memory (0.3 to 0.95)."""
    count = lengths(random)
    level = random.uniform(20, 200)
    flow = level * (1 + random.uniform(0.001, 0.03) * ar1(random, count, random.uniform(0.3, 0.95)))
    return InventedLog(np.arange(count) * float(random.choice([1.0, 10.0, 60.0])), flow)


def daily(random: np.random.Generator) -> InventedLog:
    """Return a flow with a daily cycle, slow wandering and noise of the meter."""
    count = max(200, lengths(random))
    step = float(random.choice([60.0, 300.0, 600.0, 900.0]))
    times = np.arange(count) * step + random.uniform(0, DAY)
    level = random.uniform(20, 200)
    cycle = 1 + random.uniform(0.03, 0.3) * np.sin(2 * np.pi * times / DAY)
    cycle += random.uniform(0, 0.1) * np.sin(4 * np.pi * times / DAY + random.uniform(0, 6))
    wander = random.uniform(0, 0.01) * ar1(random, count, random.uniform(0.9, 0.99))
    noise = random.uniform(0.001, 0.02) * ar1(random, count, random.choice([0.0, 0.5]))
    return InventedLog(times, level * (cycle + wander + noise * cycle))


def quantised(random: np.random.Generator) -> InventedLog:
    """Return one of the others, written in steps of a tenth to three times its noise."""
    of = [white, with_memory, daily][int(random.integers(3))]
    clean = of(random)
    noise = float(np.std(np.diff(clean.flow))) / np.sqrt(2)
    step = noise * float(np.exp(random.uniform(np.log(0.1), np.log(3.0))))
    return replace(clean, flow=np.round(clean.flow / step) * step)


def without_islands(running: Array, least: int = 20) -> Array:
    """Return a pump's state in which it never runs for less than ``least`` readings."""
    starts, ends = stretches(running > 0)
    for start, end in zip(starts, ends, strict=True):
        if end - start < least:
            running[start:end] = 0
    return running


def with_pump(random: np.random.Generator) -> InventedLog:
    """Return a flow with pump stops, a second meter and the loop current beside it; both meters are right."""
    count = max(300, lengths(random))
    times = np.arange(count) * 10.0
    running = np.ones(count)
    for _ in range(int(random.integers(1, 6))):
        start = int(random.integers(0, count - 30))
        running[start : start + int(random.integers(30, 30 + count // 10))] = 0
    running = without_islands(running)
    level = random.uniform(20, 200)
    true = running * level * (1 + 0.02 * ar1(random, count, random.uniform(0.5, 0.95)))
    noise = random.uniform(0.001, 0.01) * level
    flow = true + noise * ar1(random, count, random.choice([0.0, 0.5, 0.9]))
    second = true * (1 + random.normal() * 0.003) + noise * random.uniform(0.7, 1.4) * random.normal(size=count)
    current = 4 + 16 * flow / (2 * level) + 0.005 * random.normal(size=count)
    return InventedLog(times, flow, current, running, second)


def uneven(random: np.random.Generator) -> InventedLog:
    """Return a steady flow with noise whose size changes up to fourfold, at once or slowly."""
    count = lengths(random)
    noise = ar1(random, count, random.uniform(0, 0.9))
    times = random.uniform(1.5, 4)
    along = np.arange(count) / count
    change = along > random.uniform(0.2, 0.8) if random.random() < 0.5 else np.sin(np.pi * along)
    level = random.uniform(20, 200)
    flow = level * (1 + random.uniform(0.001, 0.01) * noise * (1 + (times - 1) * change))
    return InventedLog(np.arange(count) * float(random.choice([1.0, 10.0, 60.0])), flow)


def heavy_tails(random: np.random.Generator) -> InventedLog:
    """Return a steady flow with noise in which large values are commoner than normal ones (Student's t, five)."""
    count = lengths(random)
    level = random.uniform(20, 200)
    flow = level * (1 + random.uniform(0.001, 0.02) * random.standard_t(5, size=count) / np.sqrt(5 / 3))
    return InventedLog(np.arange(count) * float(random.choice([1.0, 10.0, 60.0])), flow)


CLEAN: dict[str, Callable[[np.random.Generator], InventedLog]] = {
    "white noise": white,
    "noise with memory": with_memory,
    "daily cycle": daily,
    "quantised": quantised,
    "pump, second meter": with_pump,
    "uneven noise": uneven,
    "heavy tails": heavy_tails,
}
