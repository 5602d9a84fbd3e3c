"""Stuck and clipped: readings that repeat themselves more often than the log's own noise allows.

With noise of standard deviation s and readings written in steps of q, the next reading falls on the same value with a
probability of at most p = 2 Φ(q/2s) - 1, whatever flow and noise did before: the middle of the step is where it is most
probable. Noise with memory has a larger s for one step ahead than neighbours differ by, so that p is on the safe side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from diagnose.analyses.amounts import Array
from diagnose.analyses.trend_series import RATE, Flags, Indices, Seen, Series, Sign, covered, marks_of, sd_of_steps

BLOCK = 64
QUIET = 0.1
"""Share of the log's blocks that may be quieter than the noise that is reckoned with."""

EMPIRICAL = 0.99
"""Share of the runs, shortest first, that tell how often this log repeats itself."""

LEAST_RUN = 10
"""Equal readings in a row that are called stuck at least (estimate); a logger may repeat one or the other."""

LEAST_VISITS = 3

FEWEST_RUNS = 8
"""Runs of equal readings from which a log's own noise can be told."""

MOVES = 0.1
"""Share of its level by which a second meter moves for sure."""

CALM = 6.0
"""Times its noise within which the second meter moves while nothing happens."""


def runs(data: Series) -> tuple[Indices, Indices]:
    """Return first and one-behind-last index of each run of equal readings; gaps part runs."""
    change = np.ones(len(data.values), bool)
    change[1:] = (np.diff(data.values) != 0) | data.gap_before[1:]
    starts = np.flatnonzero(change)
    return starts, np.append(starts[1:], len(data.values))


def quiet_noise(data: Series) -> float:
    """Return the noise of the quieter parts of a log, blocks that stand still left out."""
    steps = np.diff(data.values)
    count = len(steps) // BLOCK
    if count < 4:
        return sd_of_steps(steps[steps != 0], data.noise.resolution) if np.any(steps) else 0.0
    blocks = steps[: count * BLOCK].reshape(count, BLOCK)
    moving = blocks[np.count_nonzero(blocks, axis=1) > BLOCK // 8]
    if len(moving) < 0.2 * count:
        return 0.0
    found = [sd_of_steps(block, data.noise.resolution) for block in moving[:: max(1, len(moving) // 400)]]
    return float(np.quantile(found, QUIET))


def chance_of_repeating(data: Series, lengths: Indices) -> float:
    """Return the greatest probability with which the next reading is the same, by noise and by the log's own habit."""
    sd, step = quiet_noise(data), data.noise.resolution
    by_noise = math.erf(step / (2 * math.sqrt(2) * sd)) if sd > 0 else 1.0
    if step == 0 and sd > 0:
        by_noise = 1e-6
    # A logger that is faster than its source repeats readings too: runs of the usual lengths tell how often.
    usual = np.sort(lengths)[: max(1, math.floor(EMPIRICAL * len(lengths)))]
    usual = usual[: len(usual) - 2] if len(usual) > 6 else usual
    by_habit = 1 - 1 / float(usual.mean())
    return min(max(by_noise, by_habit), 1 - 1e-12)


def longest_by_chance(chance: float, count: int) -> float:
    """Return the run that is passed somewhere in ``count`` readings in a share `RATE` of clean logs."""
    return 1 + math.log(RATE / count) / math.log(chance) if 0 < chance < 1 - 1e-9 else math.inf


def stuck(seen: Seen) -> Sign:
    """Return whether a run of equal readings is longer than noise allows.

    A run while the pump stands, or while the second meter stays where it is as well, is real and no sign. Where the
    noise cannot tell, a run is one in which what stands beside the readings moves.
    """
    data = seen.data
    found = _held(seen)
    statistic = "readings in the longest run of equal ones"
    if not found.kept.any():
        if not found.by_noise:
            return Sign(id="stuck", untested="the noise is smaller than the steps in which readings are written")
        return Sign(id="stuck", statistic=statistic, value=found.longest, limit=found.most)
    starts, ends = found.starts[found.kept], found.ends[found.kept]
    because = f"its own noise lets no more than {found.most:.0f} be so" if found.by_noise else "what is beside it moves"
    return Sign(
        id="stuck",
        present=True,
        statistic=statistic,
        value=found.longest,
        limit=found.most,
        marks=marks_of(data, starts, ends, data.values[starts]),
        parameters={"count": float(len(starts)), "value": float(data.values[starts[np.argmax(ends - starts)]])}
        | {"longest_seconds": float((data.times[ends - 1] - data.times[starts]).max())},
        because=f"{found.longest:.0f} readings in a row are equal; {because}",
    )


@dataclass(frozen=True, slots=True)
class _Runs:
    """Runs of equal readings, which are stuck, which real, and the limit; ``by_noise`` unless that cannot tell."""

    starts: Indices
    ends: Indices
    kept: Flags
    real: Flags
    longest: float
    most: float
    by_noise: bool


def _held(seen: Seen) -> _Runs:
    data = seen.data
    starts, ends = runs(data)
    lengths = ends - starts
    real = _real(seen, starts, ends)
    allowed = ~real
    most = math.inf
    if len(starts) >= FEWEST_RUNS:
        most = longest_by_chance(chance_of_repeating(data, lengths), len(data.values))
    by_noise = math.isfinite(most)
    most = max(most if by_noise else 0.0, LEAST_RUN - 1.0)
    kept = lengths > most
    real &= kept & by_noise
    if by_noise:
        kept &= allowed
    else:
        for number in np.flatnonzero(kept):
            kept[number] = _moves_beside(seen, int(starts[number]), int(ends[number]))
            allowed[number] = kept[number]
    longest = float(lengths[allowed].max()) if allowed.any() else 0.0
    return _Runs(starts, ends, kept, real, longest, most, by_noise)


def stands_still(seen: Seen) -> Flags:
    """Return which readings belong to runs that are stuck."""
    found = _held(seen)
    return covered(found.starts[found.kept], found.ends[found.kept], len(seen.data.values))


def level_and_real(seen: Seen) -> Flags:
    """Return which readings are equal for longer than noise allows while the second meter stays where it is as well."""
    found = _held(seen)
    return covered(found.starts[found.real], found.ends[found.real], len(seen.data.values))


def _moves_beside(seen: Seen, start: int, end: int) -> bool:
    """Tell whether the pump starts or stops, or the second meter moves, while the reading stays where it is."""
    if seen.running is not None:
        state = seen.running[start:end]
        if min(np.count_nonzero(state == 0), np.count_nonzero(state == 1)) >= LEAST_RUN:
            return True
    part = np.zeros(0) if seen.second is None else seen.second[start:end]
    part = part[np.isfinite(part)]
    if len(part) < LEAST_RUN:
        return False
    low, high = np.quantile(part, (0.1, 0.9))
    level = float(np.median(np.abs(part)))
    return bool(high - low > max(CALM * _unrest(part), MOVES * level, 2 * seen.data.noise.resolution))


def _unrest(column: Array) -> float:
    """Return the noise of a column without the places where it has no figure."""
    column = column[np.isfinite(column)]
    return sd_of_steps(np.diff(column), 0.0) if len(column) > 1 else 0.0


def _real(seen: Seen, starts: Indices, ends: Indices) -> Flags:
    """Return which runs are explained: the pump stands, or the second meter does not move beyond its noise."""
    real = np.zeros(len(starts), bool)
    if seen.running is not None:
        standing = np.concatenate(([0], np.cumsum(seen.running == 0)))
        real |= standing[ends] - standing[starts] > 0.5 * (ends - starts)
    if seen.second is not None:
        unrest = _unrest(seen.second)
        for number in np.flatnonzero(ends - starts >= LEAST_RUN):
            part = seen.second[starts[number] : ends[number]]
            part = part[np.isfinite(part)]
            real[number] |= len(part) > 1 and bool(np.ptp(part) <= CALM * unrest)
    return real


def clipped(seen: Seen) -> Sign:
    """Return whether readings pile up at the highest or the lowest value (0 excepted: a low-flow cut-off does that)."""
    data = seen.data
    statistic = "improbability of so many repeats at the end value, in decades"
    starts, ends = runs(data)
    if len(starts) < FEWEST_RUNS:
        return Sign(id="clipped", untested="the log has too few different readings")
    values = data.values[starts]
    between = (values != values.max()) & (values != values.min())
    if not between.any():
        return Sign(id="clipped", untested="the log has only two different readings")
    chance = chance_of_repeating(data, (ends - starts)[between])
    if chance > 1 - 1e-9:
        return Sign(id="clipped", untested="the noise is smaller than the steps in which readings are written")
    found = []
    for value in (float(values.max()), float(values.min())):
        here = values == value
        visits = int(here.sum())
        readings = int((ends - starts)[here].sum())
        if visits < LEAST_VISITS or value == 0.0:
            continue
        found.append((_decades(readings - visits, readings, chance), value, here, readings))
    least = -math.log10(RATE / 2)
    best = max(found, key=lambda each: each[0], default=None)
    if best is None or best[0] <= least:
        return Sign(id="clipped", statistic=statistic, value=best[0] if best else 0.0, limit=least)
    decades, value, here, readings = best
    share = readings / len(data.values)
    return Sign(
        id="clipped",
        present=True,
        statistic=statistic,
        value=decades,
        limit=least,
        marks=marks_of(data, starts[here], ends[here], values[here]),
        parameters={"value": value, "share": share, "visits": float(here.sum())},
        because=f"{readings} readings ({share:.1%}) stand at exactly {value:g}, the end of all that were logged",
    )


def _decades(repeats: int, chances: int, chance: float) -> float:
    """Return how improbable ``repeats`` or more of ``chances`` are, as -log10 of an upper bound (Chernoff 1952)."""
    share = repeats / chances
    if share <= chance:
        return 0.0
    rest = (1 - share) * math.log((1 - share) / (1 - chance)) if share < 1 else 0.0
    return chances * (share * math.log(share / chance) + rest) / math.log(10)
