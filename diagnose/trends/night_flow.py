"""The flow by night, from one day on more than the day has in proportion: a leak, or somebody draws."""

from __future__ import annotations

import numpy as np

from diagnose.trends.days import DAY, FEWEST, PER_DAY, days_of
from diagnose.trends.lasting_step import lasting_step
from diagnose.trends.series import Detection, Mark, SeriesView

LEAST_NIGHT = 0.03
"""Least rise of the night flow as a share of the mean (estimate)."""


def night_flow(seen: SeriesView) -> Detection:
    """Detect a flow that has risen by night from one day on, by more than the day has in proportion."""
    days = days_of(seen.data)
    if days is None:
        return Detection(id="night-flow", untested=f"needs {FEWEST} whole days with {PER_DAY} readings each")
    nights, mean = days.nights, abs(float(np.median(days.means)))
    found = lasting_step(nights, days.weekend)
    if found is None:
        return Detection(id="night-flow", untested="the nights are all the same")
    statistic = "step of the lowest three hours of each day (Student's t, beside weekends and a line)"
    sign = Detection(id="night-flow", statistic=statistic, value=min(found.value, found.least), limit=found.least)
    before = float(np.median(nights[: found.place]))
    whole = float(np.median(days.means[found.place :])) / (float(np.median(days.means[: found.place])) or 1.0)
    in_proportion = before * max(whole, 1.0)
    risen = float(np.median(nights[found.place :])) - in_proportion
    if not found.found or before < 0 or found.size < LEAST_NIGHT * mean or risen < 0.5 * found.size:
        return sign
    start = float(days.starts[found.place])
    return Detection(
        id="night-flow",
        present=True,
        statistic=statistic,
        value=found.value,
        limit=found.least,
        marks=(Mark(start, float(days.starts[-1] + DAY), found.size),),
        parameters={"before": before, "rise": found.size, "share_of_mean": found.size / mean, "days": len(nights)},
        because=f"from {before:.3g} to {before + found.size:.3g} in the lowest three hours, "
        f"{100 * found.size / mean:.2g} % of the mean flow",
    )
