"""Likelihood of readings given a prediction, with stated uncertainties or an unknown scatter.

An unknown scatter is marginalised: its size over a log-normal prior, its kind over two (proportional to the reading, or
the same at every flow). Stated uncertainties hold as a rule; where they do not, all are larger by the same factor, or a
scatter comes on top that is the same at every flow. What the figures do not resolve always counts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from diagnose.tables.arrays import Array

SCATTER_MEDIAN, SCATTER_GSD = 0.007, 2.5
"""Prior of the relative scatter of a comparison on site: median and geometric standard deviation (estimate)."""

NEAR_ZERO = 0.03
"""Share of the largest reading below which a proportional scatter no longer falls."""

STILL = 1e-3
"""Share of the largest reference flow about which a display moves that shows nothing, at most (estimate)."""

_STEPS = np.linspace(-3.5, 3.5, 141)
SCATTER_GRID: Array = SCATTER_MEDIAN * SCATTER_GSD**_STEPS
"""Grid of relative scatters."""

SCATTER_PRIOR: Array = np.exp(-0.5 * _STEPS**2) / np.sum(np.exp(-0.5 * _STEPS**2))
"""Prior probability of each scatter of the grid."""

_LOG_2_PI = float(np.log(2 * np.pi))

MULTIPLIED = 8
"""Densities multiplied before a logarithm is taken: logarithms take longest, and no such product gets too large."""


STATED_HOLDS = 0.75
"""How probable it is that stated uncertainties are not too small (estimate)."""

LARGER = (1.5, 2.2, 3.3, 5.0, 7.5, 11.0)
"""By how much larger they are otherwise, as probable as that a scatter comes on top."""

ON_TOP = (0.0001, 0.0003, 0.001, 0.003, 0.01, 0.03, 0.1)
"""Scatter on top of stated uncertainties, over the largest reading."""

SLIPS = 0.01
"""How often one reading of a table went wrong: misread, miswritten, taken while the flow moved.

Of routine data 1 to 10 % are gross errors (Hampel and others 1986, Robust Statistics, 1.2c; from memory); the lower
end, for these are few and read with care.
"""

COARSE = slice(10, -10, 10)
"""Every tenth scatter of the grid, where each counts by itself."""

Spreads = Sequence[tuple[float, Array]]
"""Log of how probable each spread is, and the variance of each reading with it."""


def spreads_stated(spread: Array, top: float) -> Spreads:
    """Return the spreads that may be behind stated standard uncertainties; the first is as stated."""
    other = math.log((1 - STATED_HOLDS) / 2)
    larger = [(other - math.log(len(LARGER)), (each * spread) ** 2) for each in LARGER]
    on_top = [(other - math.log(len(ON_TOP)), spread**2 + (each * top) ** 2) for each in ON_TOP]
    return [(math.log(STATED_HOLDS), spread**2), *larger, *on_top]


def spreads_resolved(resolved: Array, units: tuple[Array, Array]) -> Spreads:
    """Return the spreads of an unknown scatter of readings that the figures resolve only so far."""
    scatter, prior = SCATTER_GRID[COARSE], SCATTER_PRIOR[COARSE] / SCATTER_PRIOR[COARSE].sum() / 2
    rows = list(zip(np.log(prior).tolist(), scatter.tolist(), strict=True))
    own = resolved**2
    return [(log, each**2 * square + own) for square in (unit**2 for unit in units) for log, each in rows]


def log_likelihood_of(indicated: Array, predicted: Array, spreads: Spreads, top: float) -> Array:
    """Return the log-likelihood of each row of predictions, whichever of the spreads it is; ``top`` as below."""
    return np.asarray(np.logaddexp.reduce(log_likelihoods(indicated, predicted, spreads, top)))


def log_likelihoods(indicated: Array, predicted: Array, spreads: Spreads, top: float) -> Array:
    """Return that for each of the spreads by itself, with how probable it is [spreads × rows].

    Any reading may have gone wrong, and then be anything up to ``top``, the largest of both sides: the same whatever
    is predicted, for otherwise what predicts next to nothing would explain everything as gone wrong.
    """
    slip, usual = SLIPS / (2 * top), (1 - SLIPS) / math.sqrt(2 * math.pi)
    halves = -0.5 * (indicated - predicted) ** 2
    groups = np.arange(0, halves.shape[-1], MULTIPLIED)
    found = []
    for log, variance in spreads:
        density = slip + usual * np.exp(halves / variance) / np.sqrt(variance)
        found.append(log + np.sum(np.log(np.multiply.reduceat(density, groups, axis=-1)), axis=-1))
    return np.array(found)


def log_likelihood_unknown(indicated: Array, predicted: Array, least: float) -> Array:
    """Return the log-likelihood of each row of predictions with the scatter marginalised; ``least`` as below."""
    residual = indicated - predicted
    kinds = [_scatter_marginalised(residual, unit) for unit in units_of_scatter(predicted, least)]
    return np.asarray(np.logaddexp(*kinds) - np.log(2), np.float64)


def least_unit(reference: Array, indicated: Array) -> float:
    """Return a flow below which a proportional scatter no longer falls; what shows nothing is noisy all the same."""
    return max(0.01 * float(np.max(np.abs(indicated))), STILL * float(np.max(np.abs(reference))))


def units_of_scatter(predicted: Array, least: float) -> tuple[Array, Array]:
    """Return the unit of the relative scatter for each prediction: the reading itself, and the largest reading.

    Neither is less than ``least``.
    """
    top = np.maximum(np.max(np.abs(predicted), axis=-1, keepdims=True), least)
    return np.hypot(predicted, NEAR_ZERO * top), np.broadcast_to(top, predicted.shape)


def _scatter_marginalised(residual: Array, unit: Array) -> Array:
    count = residual.shape[-1]
    squares = np.sum((residual / unit) ** 2, axis=-1)
    grid, values = _table(count)
    return np.asarray(np.interp(np.log(squares + 1e-300), grid, values) - np.sum(np.log(unit), axis=-1), np.float64)


@lru_cache(maxsize=256)
def _table(count: int) -> tuple[Array, Array]:
    """Return log of the sum of squares → log of the mean over the scatter s of s^-n (2π)^(-n/2) exp(-squares/2s²)."""
    # from far below the smallest scatter (where nothing changes any more) to readings far from the prediction
    grid = np.linspace(np.log(count * SCATTER_GRID[0] ** 2) - 12, np.log(count * 1e8), 900)
    inner = -np.exp(grid)[:, None] / (2 * SCATTER_GRID**2) - count * (np.log(SCATTER_GRID) + 0.5 * _LOG_2_PI)
    most = inner.max(axis=1, keepdims=True)
    values = most[:, 0] + np.log(np.exp(inner - most) @ SCATTER_PRIOR)
    return grid, np.asarray(values, np.float64)


def usual_spread(predicted: Array, top: float) -> Array:
    """Return the typical scatter of readings, for use where none is given."""
    return np.asarray(SCATTER_MEDIAN * np.hypot(predicted, NEAR_ZERO * top), np.float64)
