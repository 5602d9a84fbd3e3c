"""Any other difference, as the broad alternative that every mechanism must beat.

It is smooth along the flow (a sum of Legendre polynomials whose normal coefficients of mean zero shrink with the
degree), or it jumps or bends at one flow, whichever that is; all of it as a flow or as a share of the reading. Its size
is one of several. The marginal likelihood has a closed form.
"""

from __future__ import annotations

import math

import numpy as np

from diagnose.comparison.noise import SCATTER_GRID, SCATTER_PRIOR, Spreads, least_unit, units_of_scatter
from diagnose.tables.arrays import Array

DEGREES = 6
DECAY = 0.5
"""Standard deviation of each coefficient over that of the degree before."""

MOST_PLACES = 12
"""Most flows, spread evenly among the readings, at which a difference is taken to break."""

SMOOTH, JUMPS, BENDS = 0.7, 0.15, 0.15
"""How often another difference is smooth, jumps at one flow, or bends there (estimate)."""

SIZES = (0.02, 0.1, 0.4, 1.5)
"""Sizes of the difference over the largest reading, equally probable."""

PRIOR_TEXT = (
    f"any other difference of {100 * SIZES[0]:g} to {100 * SIZES[-1]:g} % of the largest reading, smooth along the "
    f"flow ({100 * SMOOTH:g} %), with a jump in it ({100 * JUMPS:g} %) or a bend ({100 * BENDS:g} %)"
)


def log_evidence(reference: Array, indicated: Array, spreads: Spreads = ()) -> float:
    """Return the log evidence of any other difference; ``spreads`` is empty where nothing is known of the scatter."""
    furthest = float(np.max(np.abs(reference)))
    top = max(furthest, float(np.max(np.abs(indicated))))
    of_reading = np.abs(reference) / max(furthest, 1e-300)
    found = [
        math.log(share / 2) + _of_kind(top * features * scale[:, None], reference, indicated, spreads)
        for share, features in _forms(reference)
        for scale in (np.ones(len(reference)), of_reading)
    ]
    return float(np.logaddexp.reduce(found))


def _forms(reference: Array) -> list[tuple[float, Array]]:
    """Return the forms that another difference may have: how often, and the curves of which it is a sum [n × k]."""
    forms = [(SMOOTH, _polynomials(reference))]
    flows = np.unique(reference)
    between = (flows[1:] + flows[:-1]) / 2
    if len(between) == 0:
        return forms
    places = between[np.unique(np.linspace(0, len(between) - 1, min(len(between), MOST_PLACES)).astype(int))]
    constant, across = np.ones(len(reference)), float(flows[-1] - flows[0])
    for place in places:
        beyond = reference - place
        forms.append((JUMPS / len(places), np.column_stack((constant, beyond > 0))))
        forms.append(
            (BENDS / len(places), np.column_stack((constant, beyond / across, np.maximum(beyond, 0) / across)))
        )
    return forms


def _of_kind(features: Array, reference: Array, indicated: Array, spreads: Spreads) -> float:
    """Return the log evidence of a difference that is a normal sum of ``features`` [n × k]."""
    residual = indicated - reference
    if spreads:
        one = np.ones(1)
        of_each = [log + float(_mean_over_sizes(features, residual, np.sqrt(each), one)[0]) for log, each in spreads]
        return float(np.logaddexp.reduce(np.array(of_each)))
    units = units_of_scatter(indicated, least_unit(reference, indicated))
    kinds = [_mean_over_sizes(features, residual, unit, SCATTER_GRID) + np.log(SCATTER_PRIOR) for unit in units]
    return float(np.logaddexp.reduce(np.concatenate(kinds)) - np.log(2))


def _polynomials(reference: Array) -> Array:
    low, high = float(reference.min()), float(reference.max())
    on_unit = (2 * reference - low - high) / (high - low) if high > low else 0 * reference
    columns = np.polynomial.legendre.legvander(on_unit, DEGREES - 1)
    return np.asarray(columns * DECAY ** np.arange(DEGREES), np.float64)


def _mean_over_sizes(features: Array, residual: Array, unit: Array, scatter: Array) -> Array:
    """Return the log-likelihood for each scatter, averaged over the sizes of the difference."""
    count = len(residual)
    left, singular, _ = np.linalg.svd(features / unit[:, None], full_matrices=False)
    scaled = residual / unit
    parts = left.T @ scaled
    # The explained and unexplained parts are computed separately: a difference would be lost to rounding.
    beside, along = float(np.sum((scaled - left @ parts) ** 2)), parts**2
    found = []
    for size in SIZES:
        ratio = (size / scatter[:, None]) ** 2 * singular**2
        squares = (beside + (1 / (1 + ratio)) @ along) / scatter**2
        found.append(-0.5 * (squares + np.log1p(ratio).sum(axis=1) + count * np.log(2 * np.pi)))
    mean = np.logaddexp.reduce(np.array(found), axis=0) - np.log(len(SIZES))
    return np.asarray(mean - count * np.log(scatter) - np.sum(np.log(unit)), np.float64)
