"""Any smooth difference, as the broad alternative that every mechanism must beat.

The difference is a sum of Legendre polynomials with normal coefficients of mean zero that shrink with the degree; their
size is one of several. The marginal likelihood has a closed form.
"""

from __future__ import annotations

import numpy as np

from diagnose.comparison.noise import SCATTER_GRID, SCATTER_PRIOR, Spreads, least_unit, units_of_scatter
from diagnose.tables.arrays import Array

DEGREES = 6
DECAY = 0.5
"""Standard deviation of each coefficient over that of the degree before."""

SIZES = (0.02, 0.1, 0.4, 1.5)
"""Sizes of the difference over the largest reading, equally probable."""

PRIOR_TEXT = f"any other smooth difference of {100 * SIZES[0]:g} to {100 * SIZES[-1]:g} % of the largest reading"


def log_evidence(reference: Array, indicated: Array, spreads: Spreads = ()) -> float:
    """Return the log evidence of any smooth difference; ``spreads`` is empty where nothing is known of the scatter."""
    residual = indicated - reference
    top = max(float(np.max(np.abs(reference))), float(np.max(np.abs(indicated))))
    features = top * _polynomials(reference)
    if spreads:
        one = np.ones(1)
        of_each = [log + float(_mean_over_sizes(features, residual, each, one)[0]) for log, each in spreads]
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
