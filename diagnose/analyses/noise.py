"""How far readings may lie from what a mechanism predicts: given uncertainties, or a scatter that is not known.

A scatter that is not known is integrated out: its size over a log-normal spread, its kind over two (a share of the
reading, or the same at every flow).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from diagnose.analyses.amounts import Array

USUAL, TIMES = 0.007, 2.5
"""Scatter of a comparison on site, a share: median and geometric standard deviation (estimate)."""

NEAR_ZERO = 0.03
"""Share of the largest reading below which scatter in proportion stops falling."""

_STEPS = np.linspace(-3.5, 3.5, 141)
SCATTER: Array = USUAL * TIMES**_STEPS
"""Sizes of an unknown scatter, a share."""

SHARES: Array = np.exp(-0.5 * _STEPS**2) / np.sum(np.exp(-0.5 * _STEPS**2))
"""What is held of each size beforehand."""

_LOG_2_PI = float(np.log(2 * np.pi))


def log_likelihood_given(indicated: Array, predicted: Array, spread: Array) -> Array:
    """Return the log-likelihood of each row of predictions, with standard uncertainties ``spread``."""
    return np.asarray(
        -0.5 * np.sum(((indicated - predicted) / spread) ** 2 + 2 * np.log(spread) + _LOG_2_PI, axis=-1), np.float64
    )


def log_likelihood_unknown(indicated: Array, predicted: Array, least: float) -> Array:
    """Return the log-likelihood of each row of predictions, the scatter integrated out; ``least`` as below."""
    apart = indicated - predicted
    kinds = [_scatter_out(apart, unit) for unit in units_of_scatter(predicted, least)]
    return np.asarray(np.logaddexp(*kinds) - np.log(2), np.float64)


def least_unit(reference: Array, indicated: Array) -> float:
    """Return a flow so small that nothing scatters in proportion to less."""
    return max(0.01 * float(np.max(np.abs(indicated))), 1e-5 * float(np.max(np.abs(reference))))


def units_of_scatter(predicted: Array, least: float) -> tuple[Array, Array]:
    """Return what a scatter is a share of, one row for each row of predictions: the reading, or the largest one.

    Both are not less than ``least``.
    """
    top = np.maximum(np.max(np.abs(predicted), axis=-1, keepdims=True), least)
    return np.hypot(predicted, NEAR_ZERO * top), np.broadcast_to(top, predicted.shape)


def _scatter_out(apart: Array, unit: Array) -> Array:
    count = apart.shape[-1]
    squares = np.sum((apart / unit) ** 2, axis=-1)
    grid, values = _table(count)
    return np.asarray(np.interp(np.log(squares + 1e-300), grid, values) - np.sum(np.log(unit), axis=-1), np.float64)


@lru_cache(maxsize=256)
def _table(count: int) -> tuple[Array, Array]:
    """Return log of the sum of squares → log of the mean over the scatter s of s^-n (2π)^(-n/2) exp(-squares/2s²)."""
    # from far below the least scatter (where nothing changes any more) to readings that are wholly elsewhere
    grid = np.linspace(np.log(count * SCATTER[0] ** 2) - 12, np.log(count * 1e8), 900)
    inner = -np.exp(grid)[:, None] / (2 * SCATTER**2) - count * (np.log(SCATTER) + 0.5 * _LOG_2_PI)
    most = inner.max(axis=1, keepdims=True)
    values = most[:, 0] + np.log(np.exp(inner - most) @ SHARES)
    return grid, np.asarray(values, np.float64)


def usual_spread(predicted: Array, top: float) -> Array:
    """Return the scatter to be reckoned with where none is given: the usual share of the reading."""
    return np.asarray(USUAL * np.hypot(predicted, NEAR_ZERO * top), np.float64)
