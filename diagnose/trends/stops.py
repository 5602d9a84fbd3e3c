"""Signs that need the state of a pump: zero at standstill, reverse flow after stops, zero while flowing."""

from __future__ import annotations

import math

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.series import (
    MAD_TO_SD,
    Detection,
    Flags,
    Indices,
    Mark,
    SeriesView,
    autocorrelation,
    limit,
    marks_of,
    so_often,
    stretches,
    student,
)

SETTLING = 120.0
"""Seconds after a stop until the liquid is at rest (estimate)."""

SETTLING_READINGS = 3
FEWEST = 10
"""Fewest readings at standstill for a zero."""

LEAST_ZERO = 0.005
"""Share of the usual flow up to which a zero is negligible (estimate; cut-offs are about 1 % of the range)."""

MATTERS = 0.01
"""Share of the usual flow from which people see a zero; a limit beyond it denies none (estimate)."""

MANY = 100
"""Fewest readings with flow that deny a zero among them."""

BACKWARDS = 0.9
"""Share of the readings that are not at zero from which a whole log is negative."""

RHO_MARGIN, MOST_RHO = 1.5, 0.97
"""Standard errors added to the estimated autocorrelation, and its upper bound."""

RUN_BACK = 3
"""Fewest readings in a row that are more than a disturbance."""

FELL_FROM, FELL_FAST = 0.3, 3.0
"""Share of the usual flow from which it must have fallen, and how many times as fast as it usually changes, for a stop
that no pump's state tells (estimate); a flow that creeps through zero has turned, and stopped nowhere."""

LEAST_BACK = 0.02
"""Least reverse flow as a share of the usual flow (estimate)."""

NOTHING = 0.01
"""Share of the usual flow up to which a reading counts as zero (estimate; about a usual cut-off)."""

FLOWS = 0.1
"""Share of the second meter's usual flow from which there is certainly flow."""

OFTEN = 0.95
"""Quantile that is the usual flow, so that long stops do not count."""

NO_PUMP = "no pump state in the log"
NEVER_STANDS = "the pump is never off for long enough"


def standing(seen: SeriesView) -> Flags:
    """Return where the pump stands and the liquid has come to rest."""
    assert seen.running is not None
    return _settled(seen, seen.running == 0)


def _settled(seen: SeriesView, state: Flags) -> Flags:
    """Return where a state has lasted long enough to settle."""
    rest = np.zeros(len(state), bool)
    for start, end in zip(*stretches(state), strict=True):
        later = np.searchsorted(seen.data.times, seen.data.times[start] + SETTLING)
        rest[max(int(later), int(start) + SETTLING_READINGS) : end] = True
    return rest


def usual_flow(seen: SeriesView) -> float:
    """Return the median of the readings while the pump runs, or of all if that is unknown."""
    runs = seen.data.values if seen.running is None else seen.data.values[seen.running == 1]
    return float(np.median(np.abs(runs))) if len(runs) else seen.data.level


def zero_at_standstill(seen: SeriesView) -> Detection:
    """Detect a zero error while the pump stands: more than noise, and more than negligible."""
    if seen.running is None:
        return Detection(id="zero-at-standstill", untested=NO_PUMP)
    rest = standing(seen)
    values = seen.data.values[rest]
    if len(values) < FEWEST:
        return Detection(id="zero-at-standstill", untested=NEVER_STANDS)
    zero = float(np.median(values))
    matters = LEAST_ZERO * usual_flow(seen) + seen.data.noise.resolution / 2
    least = max(_least_by_chance(values), matters)
    statistic = "size of the median at standstill; the limit is noise or what is negligible"
    if abs(zero) <= least:
        sure = least <= MATTERS * usual_flow(seen)
        return Detection(id="zero-at-standstill", statistic=statistic, value=abs(zero), limit=least, excludes=sure)
    starts, ends = stretches(rest)
    share = abs(zero) / usual_flow(seen) if usual_flow(seen) else math.inf
    return Detection(
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


def zero_while_flowing(seen: SeriesView) -> Detection:
    """Detect a reading of zero while the pump runs or the second meter shows a flow."""
    flows = _flows(seen)
    if flows is None:
        return Detection(id="zero-while-flowing", untested=f"{NO_PUMP}, and no second meter")
    if int(flows.sum()) < FEWEST:
        return Detection(id="zero-while-flowing", untested="there is never flow for long enough")
    values = np.abs(seen.data.values)
    usual = max(float(np.quantile(values, OFTEN)), seen.upper or 0.0)
    if seen.second is not None:
        usual = max(usual, float(np.nanquantile(np.abs(seen.second), OFTEN)))
    starts, ends = stretches(flows & (values <= NOTHING * usual))
    lengths = ends - starts
    longest = float(lengths.max(initial=0))
    statistic = "readings in a row at zero while there is flow"
    if longest < FEWEST:
        sure = longest <= 1 and int(flows.sum()) >= MANY
        return Detection(
            id="zero-while-flowing", statistic=statistic, value=longest, limit=float(FEWEST), excludes=sure
        )
    starts, ends = starts[lengths >= FEWEST], ends[lengths >= FEWEST]
    count = int((ends - starts).sum())
    what = "the pump runs" if seen.second is None else "the second meter shows a flow"
    return Detection(
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


def _flows(seen: SeriesView) -> Flags | None:
    """Return where there is certainly flow: by the second meter if there is one, otherwise while the pump runs."""
    if seen.second is not None:
        sizes = np.abs(seen.second)
        least = FLOWS * float(np.nanquantile(sizes, OFTEN))
        return _settled(seen, np.asarray((sizes > least) & (least > 0), bool))
    return None if seen.running is None else _settled(seen, seen.running == 1)


def _least_by_chance(values: Array) -> float:
    """Return the two-sided limit of the median of autocorrelated noise for a false-alarm rate of `RATE`.

    A few readings determine autocorrelation and spread poorly: one and a half standard errors are added to the
    autocorrelation (Bartlett 1946), and the limit is Student's t with the effective number of readings.
    """
    spread = MAD_TO_SD * float(np.median(np.abs(values - np.median(values))))
    rho = max(0.0, autocorrelation(values))
    rho = min(MOST_RHO, rho + RHO_MARGIN * math.sqrt((1 - rho**2) / len(values)))
    left = len(values) * (1 - rho) / (1 + rho)
    return student(limit(1), max(left - 1, 1.0)) * 1.2533 * spread / math.sqrt(left)


def reverse_at_stop(seen: SeriesView) -> Detection:
    """Detect reverse flow after stops that then comes to rest.

    Without the state of a pump, a flow that falls at once from a good part of the usual one has stopped.
    """
    values = seen.data.values
    usual = usual_flow(seen)
    if np.median(values) < 0 or usual == 0.0:
        return Detection(id="reverse-at-stop", untested="the flow is usually negative or zero")
    rest = _level_at_rest(seen)
    least = max(limit(len(values) / RUN_BACK) * seen.data.noise.sd, LEAST_BACK * usual)
    depth = rest - values
    there = depth > least
    if seen.running is not None:
        there &= seen.running == 0
    starts, ends = stretches(there)
    long = ends - starts >= RUN_BACK
    if seen.running is None:
        long &= _fell(values, starts, FELL_FROM * usual)
    statistic = f"largest reverse flow over at least {RUN_BACK} readings"
    if not long.any():
        value = max(0.0, min(_sustained(depth), least))
        return Detection(id="reverse-at-stop", statistic=statistic, value=value, limit=least)
    starts, ends = starts[long], ends[long]
    depths = np.array([depth[a:b].max() for a, b in zip(starts, ends, strict=True)])
    seconds = seen.data.times[ends - 1] - seen.data.times[starts]
    return Detection(
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
        because=f"{so_often(len(starts))}, down to {-depths.max():.3g}, for up to {seconds.max():.0f} s",
    )


def _fell(values: Array, starts: Indices, least: float) -> Flags:
    """Return before which places a flow has fallen within a few readings, as a pump makes it and nothing slow does."""
    if len(values) <= RUN_BACK:
        return np.zeros(len(starts), bool)
    window = np.lib.stride_tricks.sliding_window_view(np.pad(values, (RUN_BACK, 0), mode="edge"), RUN_BACK)
    before = window[starts].max(axis=1)
    usually = float(np.median(np.abs(values[RUN_BACK:] - values[:-RUN_BACK])))
    return np.asarray((before >= least) & (before - values[starts] > FELL_FAST * usually), bool)


def negative(seen: SeriesView) -> Detection:
    """Detect a log whose readings are negative whenever they are not at zero.

    >>> import numpy as np
    >>> from diagnose.trends.series import series
    >>> flow = np.array([-8.0, -9.0, 0.0, -8.0, -9.0] * 10)
    >>> negative(SeriesView(data=series(np.arange(50.0), flow, 1.0))).present
    True
    """
    values = seen.data.values
    moving = values[np.abs(values) > NOTHING * float(np.quantile(np.abs(values), OFTEN))]
    if len(moving) < FEWEST:
        return Detection(id="negative", untested=f"needs {FEWEST} readings that are not at zero")
    share = float((moving < 0).mean())
    statistic = "share of the readings not at zero that are negative"
    if share <= BACKWARDS:
        return Detection(id="negative", statistic=statistic, value=share, limit=BACKWARDS)
    return Detection(
        id="negative",
        present=True,
        statistic=statistic,
        value=share,
        limit=BACKWARDS,
        marks=(Mark(float(seen.data.times[0]), float(seen.data.times[-1]), float(np.median(moving))),),
        parameters={"share": share, "typical": float(np.median(moving))},
        because=f"{share:.0%} of the readings that are not at zero, typically {np.median(moving):.3g}",
    )


def _level_at_rest(seen: SeriesView) -> float:
    """Return the reading at rest, or 0 if unknown: a zero error is not reverse flow."""
    if seen.running is None:
        return 0.0
    values = seen.data.values[standing(seen)]
    return min(0.0, float(np.median(values))) if len(values) >= FEWEST else 0.0


def _sustained(depth: Array) -> float:
    if len(depth) < RUN_BACK:
        return 0.0
    return float(np.lib.stride_tricks.sliding_window_view(depth, RUN_BACK).min(axis=1).max())
