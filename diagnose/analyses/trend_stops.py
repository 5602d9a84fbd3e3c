"""What a log shows beside a pump: the zero while it stands, liquid running back after stops, nothing while it flows."""

from __future__ import annotations

import math

import numpy as np

from diagnose.analyses.amounts import Array
from diagnose.analyses.trend_series import (
    MAD_TO_SD,
    Flags,
    Seen,
    Sign,
    autocorrelation,
    limit,
    marks_of,
    so_often,
    stretches,
    student,
)

SETTLING = 120.0
"""Seconds after a stop until the liquid stands (estimate)."""

SETTLING_READINGS = 3
FEWEST = 10
"""Readings at standstill that tell a zero."""

LEAST_ZERO = 0.005
"""Share of the usual flow up to which a zero does not matter (estimate; a cut-off is set to about 1 % of the range)."""

DOUBT, MOST_MEMORY = 1.5, 0.97
"""Standard errors by which memory is taken as more than it was found, and its most."""

RUN_BACK = 3
"""Readings in a row that are no disturbance."""

LEAST_BACK = 0.02
"""Share of the usual flow that liquid running back has at least (estimate)."""

NOTHING = 0.01
"""Share of the usual flow up to which a reading shows nothing (estimate; about what a cut-off is set to)."""

FLOWS = 0.1
"""Share of the second meter's usual flow from which it flows for sure."""

OFTEN = 0.95
"""Share of the readings below a usual flow, so that long stops do not count."""

NO_PUMP = "no state of a pump beside the readings"
NEVER_STANDS = "the pump never stands long enough"


def standing(seen: Seen) -> Flags:
    """Return where the pump stands and the liquid has had time to come to rest."""
    assert seen.running is not None
    return _settled(seen, seen.running == 0)


def _settled(seen: Seen, state: Flags) -> Flags:
    """Return where a state has lasted long enough."""
    rest = np.zeros(len(state), bool)
    for start, end in zip(*stretches(state), strict=True):
        later = np.searchsorted(seen.data.times, seen.data.times[start] + SETTLING)
        rest[max(int(later), int(start) + SETTLING_READINGS) : end] = True
    return rest


def usual_flow(seen: Seen) -> float:
    """Return the median of the readings while the pump runs, of all where that is not known."""
    runs = seen.data.values if seen.running is None else seen.data.values[seen.running == 1]
    return float(np.median(np.abs(runs))) if len(runs) else seen.data.level


def zero_at_standstill(seen: Seen) -> Sign:
    """Return whether the meter shows flow while the pump stands: more than noise, and more than does not matter."""
    if seen.running is None:
        return Sign(id="zero-at-standstill", untested=NO_PUMP)
    rest = standing(seen)
    values = seen.data.values[rest]
    if len(values) < FEWEST:
        return Sign(id="zero-at-standstill", untested=NEVER_STANDS)
    zero = float(np.median(values))
    matters = LEAST_ZERO * usual_flow(seen) + seen.data.noise.resolution / 2
    least = max(_least_by_chance(values), matters)
    statistic = "size of the median at standstill, against what noise makes or what does not matter"
    if abs(zero) <= least:
        return Sign(id="zero-at-standstill", statistic=statistic, value=abs(zero), limit=least)
    starts, ends = stretches(rest)
    share = abs(zero) / usual_flow(seen) if usual_flow(seen) else math.inf
    return Sign(
        id="zero-at-standstill",
        present=True,
        statistic=statistic,
        value=abs(zero),
        limit=least,
        marks=marks_of(
            seen.data,
            starts,
            ends,
            np.array([np.median(seen.data.values[a:b]) for a, b in zip(starts, ends, strict=True)]),
        ),
        parameters={"zero": zero, "share_of_usual_flow": share, "readings": float(len(values))},
        because=f"{zero:.3g} in {len(values)} readings at standstill, {100 * share:.2g} % of the usual flow",
    )


def zero_while_flowing(seen: Seen) -> Sign:
    """Return whether the meter shows nothing while the pump runs or the second meter shows a flow."""
    flows = _flows(seen)
    if flows is None:
        return Sign(id="zero-while-flowing", untested=f"{NO_PUMP}, and no second meter")
    if int(flows.sum()) < FEWEST:
        return Sign(id="zero-while-flowing", untested="it never flows long enough")
    values = np.abs(seen.data.values)
    usual = max(float(np.quantile(values, OFTEN)), seen.upper or 0.0)
    if seen.second is not None:
        usual = max(usual, float(np.nanquantile(np.abs(seen.second), OFTEN)))
    starts, ends = stretches(flows & (values <= NOTHING * usual))
    lengths = ends - starts
    longest = float(lengths.max(initial=0))
    statistic = "readings in a row that show nothing while it flows"
    if longest < FEWEST:
        return Sign(id="zero-while-flowing", statistic=statistic, value=longest, limit=float(FEWEST))
    starts, ends = starts[lengths >= FEWEST], ends[lengths >= FEWEST]
    count = int((ends - starts).sum())
    what = "the pump runs" if seen.second is None else "the second meter shows a flow"
    return Sign(
        id="zero-while-flowing",
        present=True,
        statistic=statistic,
        value=longest,
        limit=float(FEWEST),
        marks=marks_of(seen.data, starts, ends, np.zeros(len(starts))),
        parameters={
            "count": float(len(starts)),
            "readings": float(count),
            "longest_seconds": float((seen.data.times[ends - 1] - seen.data.times[starts]).max()),
        },
        because=f"{so_often(len(starts))}, in {count} readings, while {what}",
    )


def _flows(seen: Seen) -> Flags | None:
    """Return where it flows for sure: by the second meter where there is one, else while the pump runs."""
    if seen.second is not None:
        sizes = np.abs(seen.second)
        least = FLOWS * float(np.nanquantile(sizes, OFTEN))
        return _settled(seen, np.asarray((sizes > least) & (least > 0), bool))
    return None if seen.running is None else _settled(seen, seen.running == 1)


def _least_by_chance(values: Array) -> float:
    """Return the size that the median of noise with memory passes in a share `RATE` of clean logs, either way.

    A few readings tell their memory badly, and as much less of the spread as they have memory: it is taken as one and
    a half standard errors more (Bartlett 1946), and the limit from Student's t with the readings that are left.
    """
    spread = MAD_TO_SD * float(np.median(np.abs(values - np.median(values))))
    memory = max(0.0, autocorrelation(values))
    memory = min(MOST_MEMORY, memory + DOUBT * math.sqrt((1 - memory**2) / len(values)))
    left = len(values) * (1 - memory) / (1 + memory)
    return student(limit(1), max(left - 1, 1.0)) * 1.2533 * spread / math.sqrt(left)


def reverse_at_stop(seen: Seen) -> Sign:
    """Return whether it runs backwards for a while after stops, and then comes to rest.

    Without the state of a pump, any lasting negative flow counts where the flow is positive as a rule.
    """
    values = seen.data.values
    usual = usual_flow(seen)
    if np.median(values) < 0 or usual == 0.0:
        return Sign(id="reverse-at-stop", untested="the flow is negative, or nothing, as a rule")
    rest = _level_at_rest(seen)
    least = max(limit(len(values) / RUN_BACK) * seen.data.noise.sd, LEAST_BACK * usual)
    depth = rest - values
    there = depth > least
    if seen.running is not None:
        there &= seen.running == 0
    starts, ends = stretches(there)
    long = ends - starts >= RUN_BACK
    statistic = f"depth below nothing over {RUN_BACK} readings or more"
    if not long.any():
        return Sign(id="reverse-at-stop", statistic=statistic, value=max(0.0, _sustained(depth)), limit=least)
    starts, ends = starts[long], ends[long]
    depths = np.array([depth[a:b].max() for a, b in zip(starts, ends, strict=True)])
    seconds = seen.data.times[ends - 1] - seen.data.times[starts]
    return Sign(
        id="reverse-at-stop",
        present=True,
        statistic=statistic,
        value=float(depths.max()),
        limit=least,
        marks=marks_of(seen.data, starts, ends, -depths),
        parameters={
            "count": float(len(starts)),
            "deepest": -float(depths.max()),
            "longest_seconds": float(seconds.max()),
        },
        because=f"{so_often(len(starts))}, down to {-depths.max():.3g}, for {seconds.max():.0f} s at the longest",
    )


def _level_at_rest(seen: Seen) -> float:
    """Return the level of a pump that has stood for long, else nothing: a wrong zero is no flow backwards."""
    if seen.running is None:
        return 0.0
    values = seen.data.values[standing(seen)]
    return min(0.0, float(np.median(values))) if len(values) >= FEWEST else 0.0


def _sustained(depth: Array) -> float:
    if len(depth) < RUN_BACK:
        return 0.0
    return float(np.lib.stride_tricks.sliding_window_view(depth, RUN_BACK).min(axis=1).max())
