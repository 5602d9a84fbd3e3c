"""A log in few figures: lowest, mean and highest reading of even stretches of time."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.trends.series import Series


class Stretches(NamedTuple):
    """``many`` stretches of time: which of them hold readings, and of each of these the figures.

    ``places`` is the stretch of each reading.
    """

    many: int
    places: Any
    filled: Any
    low: Array
    middle: Array
    high: Array


def stretches(data: Series, most: int) -> Stretches:
    """Return a log in at most so many even stretches."""
    span = float(data.times[-1] - data.times[0]) or 1.0
    count = min(most, len(data.times))
    places = np.minimum(((data.times - data.times[0]) / span * count).astype(np.intp), count - 1)
    starts = np.flatnonzero(np.diff(places, prepend=-1))
    return Stretches(
        count,
        places,
        places[starts],
        np.minimum.reduceat(data.values, starts),
        np.add.reduceat(data.values, starts) / np.diff([*starts, len(places)]),
        np.maximum.reduceat(data.values, starts),
    )
