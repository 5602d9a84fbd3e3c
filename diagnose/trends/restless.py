"""Noise that has grown: from some moment on every stretch is noisier than nearly all before."""

from __future__ import annotations

import math

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.plant import near, stands
from diagnose.trends.series import Detection, Indices, Mark, SeriesView, sd_of_steps

IN_A_BLOCK = 32
"""Readings in a block, whose noise is one value."""

FEWEST = 12
"""Fewest blocks."""

IN_A_PART = 4
"""Fewest blocks before and after."""

GROWN = 3.0
"""Factor from which noise has grown beyond what flow and liquid do (estimate)."""

RESTLESS = 0.01
"""Noise as a share of the flow from which people call a reading restless (estimate)."""

SEPARATE = 0.9
"""Least share of pairs of blocks, one before and one after, of which the later is noisier (Mann and Whitney 1947)."""

HIGH = 0.3
"""Share of the usual flow from which blocks are compared: near zero any noise is a large share."""

STATISTIC = "noise over that before, relative to the flow"


def noise_share(values: Array, sd: float) -> float:
    """Return a noise as a share of the flow.

    >>> noise_share(np.array([50.0, 50.0, 50.0]), 1.0)
    0.02
    """
    level = float(np.median(np.abs(values))) if len(values) else 0.0
    return sd / level if level else math.inf


def grown(seen: SeriesView) -> Detection:
    """Detect noise that is larger from some moment on."""
    starts, shares = _blocks(seen)
    count = len(shares)
    if count < FEWEST:
        return Detection(id="noise", untested=f"needs {FEWEST} stretches of {IN_A_BLOCK} readings with flow")
    ranks = np.argsort(np.argsort(shares)) - (count - 1) / 2
    before = np.arange(IN_A_PART, count - IN_A_PART + 1)
    place = int(before[np.argmin(np.cumsum(ranks)[before - 1] / np.sqrt(before * (count - before)))])
    old, new = shares[:place], shares[place:]
    ratio = float(np.median(new) / np.median(old))
    apart = float((new[:, None] > old).mean())
    if ratio <= GROWN or apart < SEPARATE or float(np.median(new)) < RESTLESS:
        return Detection(id="noise", statistic=STATISTIC, value=min(ratio, GROWN), limit=GROWN)
    start, share = float(seen.data.times[starts[place]]), float(np.median(new))
    return Detection(
        id="noise",
        present=True,
        statistic=STATISTIC,
        value=ratio,
        limit=GROWN,
        marks=(Mark(start, float(seen.data.times[-1]), share * seen.data.level),),
        parameters={"ratio": ratio, "share_of_flow": share, "before": float(np.median(old)), "at": start},
        because=f"its noise is {ratio:.2g} times what it was, {100 * share:.2g} % of the flow",
    )


def _blocks(seen: SeriesView) -> tuple[Indices, Array]:
    """Return first reading and relative noise of each block with flow and without a stop or a gap."""
    data = seen.data
    count = len(data.values) // IN_A_BLOCK
    if not count:
        return np.zeros(0, np.intp), np.zeros(0)
    shape = (count, IN_A_BLOCK)
    values = np.abs(data.values[: count * IN_A_BLOCK]).reshape(shape)
    spoilt = (near(stands(seen), 2) | data.gap_before)[: count * IN_A_BLOCK].reshape(shape)
    usual = float(np.quantile(np.abs(data.values), 0.95))
    levels = np.median(values, axis=1)
    kept = np.flatnonzero(~spoilt[:, 1:].any(axis=1) & ~spoilt[:, 0] & (levels > HIGH * usual))
    kept = kept[:: max(1, len(kept) // 2000)]
    floor = max(data.noise.resolution / 3, 1e-6 * usual, 1e-300)
    sds = [max(sd_of_steps(np.diff(values[each]), data.noise.resolution), floor) for each in kept]
    return kept * IN_A_BLOCK, np.array(sds) / levels[kept]
