"""A flow that stands at zero once or twice, in a plant that always flows otherwise."""

from __future__ import annotations

import numpy as np

from diagnose.trends.plant import OFTEN, STOPPED, USUAL_STOPS
from diagnose.trends.series import Detection, SeriesView, marks_of, so_often, stretches
from diagnose.trends.spikes import SIDE

ZERO = 0.005
"""Share of the usual flow up to which a reading is at zero."""

ALWAYS = 0.05
"""Share of the usual flow above which a plant flows at all other times (estimate)."""

FEWEST = 100
"""Fewest readings with flow that tell that a plant always flows."""

MOST = 0.5
"""Largest share of a log at zero; beyond it the plant hardly runs."""


def stands_once(seen: SeriesView) -> Detection:
    """Detect a plant that never stands and yet reads zero for longer than a drop-out.

    >>> from diagnose.trends.series import series
    >>> flow = np.where((np.arange(300) > 100) & (np.arange(300) < 130), 0.0, 50.0)
    >>> stands_once(SeriesView(data=series(np.arange(300.0), flow, 1.0))).present
    True
    """
    name = "stands-once"
    if seen.running is not None:
        return Detection(id=name, untested="the pump's state tells when it stands")
    sizes = np.abs(seen.data.values)
    usual = float(np.quantile(sizes, OFTEN))
    zero = sizes <= ZERO * usual
    if np.count_nonzero(~zero) < FEWEST or float(zero.mean()) > MOST:
        return Detection(id=name, untested=f"needs {FEWEST} readings with flow, and half of the log")
    starts, ends = stretches(zero)
    long = ends - starts > SIDE
    starts, ends = starts[long], ends[long]
    longest = float((ends - starts).max(initial=0))
    statistic = "readings in a row at zero, in a plant that flows at all other times"
    low = float(np.mean(sizes[~zero] <= max(ALWAYS, STOPPED) * usual))
    if not len(starts) or len(starts) >= USUAL_STOPS or low > 1 / FEWEST:
        return Detection(id=name, statistic=statistic, value=min(longest, float(SIDE)), limit=float(SIDE))
    seconds = seen.data.times[ends - 1] - seen.data.times[starts] + seen.data.step
    return Detection(
        id=name,
        present=True,
        statistic=statistic,
        value=longest,
        limit=float(SIDE),
        marks=marks_of(seen.data, starts, ends, np.zeros(len(starts))),
        parameters={"count": float(len(starts)), "longest_seconds": float(seconds.max())},
        because=f"{so_often(len(starts))}, for up to {longest:.0f} readings in a row; it flows at all other times",
    )
