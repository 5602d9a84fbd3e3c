"""Level, but real, and coarse: stretches that look stuck and live in their last digits, and readings in large steps."""

from __future__ import annotations

import numpy as np

from diagnose.analyses.amounts import Array
from diagnose.analyses.trend_series import Flags, Seen, Sign, marks_of, stretches

WIDTH = 10
"""Readings over which the unrest is taken."""

QUIET = 0.12
"""Share of the usual unrest below which ten readings of noise do not fall by chance (less than once in ten million)."""

COARSE = 1.5
"""Times the noise that a step of writing is coarse from (estimate)."""

FEWEST = 40


def steady_but_real(seen: Seen) -> Sign:
    """Return whether the log has stretches far calmer than it is as a rule in which the last digits still live."""
    data = seen.data
    if len(data.values) < FEWEST:
        return Sign(id="steady-but-real", untested=f"needs {FEWEST} readings")
    steps = np.abs(np.diff(data.values))
    usual = float(np.median(steps))
    if usual <= 4 * data.noise.resolution:
        return Sign(id="steady-but-real", untested="readings are written in steps as large as the unrest")
    calm = _calm(steps, usual)
    if seen.running is not None:
        calm &= seen.running != 0
    starts, ends = stretches(calm)
    lives = np.array([len(np.unique(data.values[a:b])) > 2 for a, b in zip(starts, ends, strict=True)], bool)
    statistic = "readings in the longest stretch with less than an eighth of the usual unrest"
    longest = float((ends - starts)[lives].max(initial=0)) if len(starts) else 0.0
    if not lives.any():
        return Sign(id="steady-but-real", statistic=statistic, value=longest, limit=float(WIDTH))
    starts, ends = starts[lives], ends[lives]
    levels = np.array([np.median(data.values[a:b]) for a, b in zip(starts, ends, strict=True)])
    return Sign(
        id="steady-but-real",
        present=True,
        statistic=statistic,
        value=longest,
        limit=float(WIDTH),
        marks=marks_of(data, starts, ends, levels),
        parameters={"count": float(len(starts)), "level": float(levels[np.argmax(ends - starts)])},
        because=f"{len(starts)} stretches, the longest of {longest:.0f} readings, calm but not dead",
    )


def _calm(steps: Array, usual: float) -> Flags:
    """Return which readings belong to a window of small steps, one reading more than there are steps."""
    sums = np.concatenate(([0.0], np.cumsum(steps)))
    means = (sums[WIDTH - 1 :] - sums[: -(WIDTH - 1)]) / (WIDTH - 1)
    found = np.zeros(len(steps) + 1, np.int64)
    small = np.flatnonzero(means < QUIET * usual)
    np.add.at(found, small, 1)
    ends = small + WIDTH
    np.add.at(found, ends[ends < len(found)], -1)
    return np.asarray(np.cumsum(found) > 0)


def quantised(seen: Seen) -> Sign:
    """Return whether readings are written in steps larger than their noise."""
    noise = seen.data.noise
    statistic = "step in which readings are written, over their noise"
    if len(seen.data.values) < FEWEST:
        return Sign(id="quantised", untested=f"needs {FEWEST} readings")
    if noise.resolution == 0.0 or noise.sd == 0.0:
        return Sign(id="quantised", statistic=statistic, value=0.0, limit=COARSE)
    ratio = noise.resolution / noise.sd
    if ratio <= COARSE:
        return Sign(id="quantised", statistic=statistic, value=ratio, limit=COARSE)
    return Sign(
        id="quantised",
        present=True,
        statistic=statistic,
        value=ratio,
        limit=COARSE,
        parameters={"step": noise.resolution, "noise": noise.sd},
        because=f"readings go in steps of {noise.resolution:.3g}, {ratio:.2g} times their noise",
    )
