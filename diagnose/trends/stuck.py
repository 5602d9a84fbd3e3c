"""Stuck and clipped: readings that repeat more often than the noise of the log allows.

With noise of standard deviation s and a resolution q, the next reading has the same value with a probability of at most
p = 2 Φ(q/2s) - 1, whatever flow and noise were before: it is largest in the middle of a step. For autocorrelated noise
s is larger one step ahead than differences of neighbours show, so that p is on the safe side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.loop import RANGE_ENDS
from diagnose.trends.series import (
    RATE,
    Detection,
    Flags,
    Indices,
    Series,
    SeriesView,
    covered,
    marks_of,
    sd_of_steps,
)

BLOCK = 64
QUIET = 0.1
"""Quantile of the noise of blocks that is used as the noise of the log."""

EMPIRICAL = 0.99
"""Share of the runs, shortest first, that show how often this log repeats readings."""

LEAST_RUN = 10
"""Fewest equal readings in a row that count as stuck (estimate); a logger may repeat a few."""

HOLDS = 0.05
"""Share of the runs that repeat a reading from which the record holds readings: a dead band, a slow source."""

FAR = 2.0
"""Multiple of the longest usual hold of such a record from which a hold is none of its own (estimate)."""

SEVERAL = 3
"""Holds of such a record that may be stuck and do not count for what is usual."""

AT_EXTREME = 1e-9
BRIEF, MANY = 3.0, 100
"""Longest run, and fewest readings, of a log that shows that nothing is stuck."""

COARSE = 0.008
"""Share of the span of a log from which its steps are so coarse that it is level at both ends by itself (estimate)."""

NEXT = 3
"""Values next to an extreme that show how often readings repeat there."""

LEAST_VISITS = 3

FEWEST_RUNS = 8
"""Fewest runs of equal readings for the noise of a log to be known."""

MOVES = 0.1
"""Share of its level by which a second meter certainly moves."""

CALM = 6.0
"""Multiple of its noise within which the second meter counts as steady."""


def runs(data: Series) -> tuple[Indices, Indices]:
    """Return start and end (exclusive) of each run of equal readings; gaps separate runs."""
    change = np.ones(len(data.values), bool)
    change[1:] = (np.diff(data.values) != 0) | data.gap_before[1:]
    starts = np.flatnonzero(change)
    return starts, np.append(starts[1:], len(data.values))


def quiet_noise(data: Series) -> float:
    """Return the noise of the quieter parts of a log, ignoring blocks that stand still."""
    steps = np.diff(data.values)
    count = len(steps) // BLOCK
    if count < 4:
        return sd_of_steps(steps[steps != 0], data.noise.resolution) if np.any(steps) else 0.0
    blocks = steps[: count * BLOCK].reshape(count, BLOCK)
    moving = blocks[np.count_nonzero(blocks, axis=1) > BLOCK // 8]
    if len(moving) < 0.2 * count:
        return 0.0
    found = [_sd_of_moving(block, data.noise.resolution) for block in moving[:: max(1, len(moving) // 400)]]
    return float(np.quantile(found, QUIET))


def _sd_of_moving(block: Array, resolution: float) -> float:
    """Return the noise of a block; where most of it stands still at a fine resolution, that of the rest."""
    return sd_of_steps(block, resolution) or sd_of_steps(block[block != 0], resolution)


def chance_of_repeating(data: Series, lengths: Indices) -> float:
    """Return the largest probability that the next reading is the same, by noise and by how often this log repeats."""
    sd, step = quiet_noise(data), data.noise.resolution
    by_noise = math.erf(step / (2 * math.sqrt(2) * sd)) if sd > 0 else 1.0
    if step == 0 and sd > 0:
        by_noise = 1e-6
    # A logger that is faster than its source repeats readings too: runs of usual length show how often.
    usual = np.sort(lengths)[: max(1, math.floor(EMPIRICAL * len(lengths)))]
    usual = usual[: len(usual) - 2] if len(usual) > 6 else usual
    by_habit = 1 - 1 / float(usual.mean())
    return min(max(by_noise, by_habit), 1 - 1e-12)


def run_limit(chance: float, count: int) -> float:
    """Return the run length that is exceeded somewhere in ``count`` readings with probability `RATE`."""
    return 1 + math.log(RATE / count) / math.log(chance) if 0 < chance < 1 - 1e-9 else math.inf


def stuck(seen: SeriesView) -> Detection:
    """Detect a run of equal readings that is longer than noise allows.

    A run while the pump stands, or while the second meter is steady as well, is real and not a sign. If the noise
    cannot decide, a run counts if another channel moves meanwhile.
    """
    data = seen.data
    found = _stuck_runs(seen)
    statistic = "longest run of equal readings"
    if not found.kept.any():
        if not found.by_noise:
            return Detection(id="stuck", untested="the noise is smaller than the resolution of the readings")
        moves = found.longest <= BRIEF and len(data.values) >= MANY
        return Detection(id="stuck", statistic=statistic, value=found.longest, limit=found.most, excludes=moves)
    starts, ends = found.starts[found.kept], found.ends[found.kept]
    because = (
        f"its own noise allows no more than {found.most:.0f}" if found.by_noise else "another channel moves meanwhile"
    )
    return Detection(
        id="stuck",
        present=True,
        statistic=statistic,
        value=found.longest,
        limit=found.most,
        marks=marks_of(data, starts, ends, data.values[starts]),
        parameters={"count": float(len(starts)), "value": float(data.values[starts[np.argmax(ends - starts)]])}
        | {"longest_seconds": float((data.times[ends - 1] - data.times[starts]).max())},
        because=f"{found.longest:.0f} equal readings in a row; {because}",
    )


@dataclass(frozen=True, slots=True)
class _Runs:
    """Runs of equal readings: which are stuck, real, or at an end, and the limit; ``by_noise`` if noise gives it."""

    starts: Indices
    ends: Indices
    kept: Flags
    real: Flags
    ended: Flags
    longest: float
    most: float
    by_noise: bool


def _stuck_runs(seen: SeriesView) -> _Runs:
    data = seen.data
    starts, ends = runs(data)
    lengths = ends - starts
    real = _explained(seen, starts, ends)
    allowed = ~real
    most = math.inf
    if len(starts) >= FEWEST_RUNS:
        most = run_limit(chance_of_repeating(data, lengths), len(data.values))
    by_noise = math.isfinite(most)
    ended = _at_an_end(seen, starts, ends) if by_noise else np.zeros(len(starts), bool)
    allowed &= ~ended
    most = max(most if by_noise else 0.0, LEAST_RUN - 1.0, _by_habit(lengths))
    kept = lengths > most
    real &= kept & by_noise
    ended &= kept
    if by_noise:
        kept &= allowed
    else:
        for number in np.flatnonzero(kept):
            kept[number] = _moves_beside(seen, int(starts[number]), int(ends[number]))
            allowed[number] = kept[number]
    longest = float(lengths[allowed].max()) if allowed.any() else 0.0
    return _Runs(starts, ends, kept, real, ended, longest, most, by_noise)


def _by_habit(lengths: Indices) -> float:
    """Return the longest hold that a record which holds its readings has by itself; 0 if it does not hold them.

    The tail of holds is taken from the log itself without its longest few: by night a dead band holds longer than by
    day, so that no one chance of a repeat fits them all.
    """
    holds = np.sort(lengths[lengths > 1])[:-SEVERAL]
    if len(holds) < FEWEST_RUNS or len(holds) < HOLDS * len(lengths):
        return 0.0
    return FAR * float(holds[-1])


def _at_an_end(seen: SeriesView, starts: Indices, ends: Indices) -> Flags:
    """Return which runs are at zero, at the end of the range, or at a highest value that the log comes back to."""
    values = seen.data.values[starts]
    usual = float(np.quantile(np.abs(seen.data.values), 0.95))
    ended = np.abs(values) <= AT_EXTREME * usual
    if seen.upper is not None:
        ended |= values >= seen.upper
    if seen.current is not None:
        ended |= (seen.current[starts] >= RANGE_ENDS) & (seen.current[ends - 1] >= RANGE_ENDS)
    highest = values == values.max()
    if np.count_nonzero(highest & (ends - starts > 1)) >= LEAST_VISITS:
        ended |= highest
    return np.asarray(ended, bool)


def stands_still(seen: SeriesView) -> Flags:
    """Return which readings belong to stuck runs, or stay at zero or at the end of the range."""
    found = _stuck_runs(seen)
    still = found.kept | found.ended
    return covered(found.starts[still], found.ends[still], len(seen.data.values))


def level_and_real(seen: SeriesView) -> Flags:
    """Return which readings are equal for longer than noise allows while the second meter is steady as well."""
    found = _stuck_runs(seen)
    return covered(found.starts[found.real], found.ends[found.real], len(seen.data.values))


def _moves_beside(seen: SeriesView, start: int, end: int) -> bool:
    """Check whether the pump starts or stops, or the second meter moves, while the reading is constant."""
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
    return bool(high - low > max(CALM * _noise(part), MOVES * level, 2 * seen.data.noise.resolution))


def _noise(column: Array) -> float:
    """Return the noise of a channel, ignoring missing values."""
    column = column[np.isfinite(column)]
    return sd_of_steps(np.diff(column), 0.0) if len(column) > 1 else 0.0


def _explained(seen: SeriesView, starts: Indices, ends: Indices) -> Flags:
    """Return which runs are explained: the pump stands, or the second meter stays within its noise."""
    real = np.zeros(len(starts), bool)
    if seen.running is not None:
        standing = np.concatenate(([0], np.cumsum(seen.running == 0)))
        real |= standing[ends] - standing[starts] > 0.5 * (ends - starts)
    if seen.second is not None:
        noise = _noise(seen.second)
        for number in np.flatnonzero(ends - starts >= LEAST_RUN):
            part = seen.second[starts[number] : ends[number]]
            part = part[np.isfinite(part)]
            real[number] |= len(part) > 1 and bool(np.ptp(part) <= CALM * noise)
    return real


def clipped(seen: SeriesView) -> Detection:
    """Detect readings that pile up at the highest or lowest value (except 0: that is the low-flow cut-off)."""
    data = seen.data
    statistic = "improbability of so many repeats at the extreme value, in decades"
    starts, ends = runs(data)
    if len(starts) < FEWEST_RUNS:
        return Detection(id="clipped", untested="the log has too few different readings")
    values = data.values[starts]
    between = (values != values.max()) & (values != values.min())
    if not between.any():
        return Detection(id="clipped", untested="the log has only two different readings")
    if data.noise.resolution > COARSE * float(np.ptp(values)):
        return Detection(id="clipped", untested="readings are written in steps too coarse to tell")
    chance = chance_of_repeating(data, (ends - starts)[between])
    if chance > 1 - 1e-9:
        return Detection(id="clipped", untested="the noise is smaller than the resolution of the readings")
    found = []
    for value in (float(values.max()), float(values.min())):
        here = values == value
        visits = int(here.sum())
        readings = int((ends - starts)[here].sum())
        if visits < LEAST_VISITS or value == 0.0:
            continue
        own = max(chance, _repeats_beside(values, ends - starts, value))
        found.append((_decades(readings - visits, readings, own), value, here, readings))
    least = -math.log10(RATE / 2)
    best = max(found, key=lambda each: each[0], default=None)
    if best is None or best[0] <= least:
        return Detection(id="clipped", statistic=statistic, value=best[0] if best else 0.0, limit=least)
    decades, value, here, readings = best
    share = readings / len(data.values)
    return Detection(
        id="clipped",
        present=True,
        statistic=statistic,
        value=decades,
        limit=least,
        marks=marks_of(data, starts[here], ends[here], values[here]),
        parameters={"value": value, "share": share, "visits": float(here.sum())},
        because=f"{readings} readings ({share:.1%}) are at exactly {value:g}, the extreme of the log",
    )


def _repeats_beside(values: Array, lengths: Indices, extreme: float) -> float:
    """Return how often readings repeat at the values next to an extreme: a slow flow in coarse steps does there too."""
    beside = np.unique(values)
    beside = beside[1 : 1 + NEXT] if extreme == beside[0] else beside[-1 - NEXT : -1]
    near = np.isin(values, beside)
    visits = int(near.sum())
    return 1 - visits / float(lengths[near].sum()) if visits else 0.0


def _decades(repeats: int, chances: int, chance: float) -> float:
    """Return -log10 of an upper bound on the probability of at least ``repeats`` of ``chances`` (Chernoff 1952)."""
    share = repeats / chances
    if share <= chance:
        return 0.0
    rest = (1 - share) * math.log((1 - share) / (1 - chance)) if share < 1 else 0.0
    return chances * (share * math.log(share / chance) + rest) / math.log(10)
