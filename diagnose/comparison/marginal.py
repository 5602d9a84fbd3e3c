"""Marginal likelihood (evidence): the likelihood averaged over the prior of the parameters.

The average penalises free parameters as it should: a mechanism that could explain anything predicts little. It is
computed on a grid of prior quantiles (midpoints) that is refined, round by round, where the likelihood is high.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diagnose.comparison.parameters import AnyParameter, Branch, DiscreteParameter, Parameter
from diagnose.tables.arrays import Array

Likelihood = Callable[[tuple[Array, ...]], Array]
"""Parameters, one column each → log-likelihood of each row."""

GRID_POINTS = {0: 1, 1: 241, 2: 61, 3: 25}
"""Grid points along each continuous parameter, by the number of them."""

RIDGE_REFINEMENT = 2
"""Times as many if the likelihood is a narrow ridge."""

MAX_LOG_DROP = 9.0
"""Cells less likely than the best by a factor of more than exp(9) are not refined."""

LEAST_GRID_POINTS = {1: 7, 2: 25, 3: 60}
"""Fewest grid points that stay in the refined box, so that a narrow ridge is not lost."""

ROUNDS = 14
LEAST_SHRINKAGE = 0.6
"""Refinement goes on while the box shrinks to less than this share."""


@dataclass(frozen=True, slots=True)
class MarginalLikelihood:
    """The log marginal likelihood of a mechanism, and the posterior of its parameters.

    ``posterior`` has, for each branch, its parameters (columns) and log weights, which sum to 1 over all branches.
    """

    log_evidence: float
    posterior: tuple[tuple[Branch, tuple[Array, ...], Array], ...]


def marginal_likelihood(likelihood: Likelihood, branches: Sequence[Branch]) -> MarginalLikelihood:
    """Integrate the likelihood over the prior of all branches of a mechanism."""
    found = []
    for branch in branches:
        points = GRID_POINTS[branch.dimensions] * (RIDGE_REFINEMENT if branch.ridge else 1)
        parameters, log_weights = _integrate(likelihood, branch.parameters, points)
        found.append((branch, parameters, log_weights + math.log(branch.share)))
    every = np.concatenate([weights for _, _, weights in found])
    total = float(np.logaddexp.reduce(every))
    return MarginalLikelihood(
        total, tuple((branch, parameters, weights - total) for branch, parameters, weights in found)
    )


def _integrate(
    likelihood: Likelihood, parameters: tuple[AnyParameter, ...], points: int
) -> tuple[tuple[Array, ...], Array]:
    """Return the grid of parameters and the log of prior × likelihood × cell width at each point.

    Cells are refined where the likelihood is high; the rest counts with its coarse cells.
    """
    continuous = [axis for axis, each in enumerate(parameters) if isinstance(each, Parameter)]
    box = [(0.0, 1.0)] * len(continuous)
    cells = points ** len(continuous)
    kept: list[tuple[tuple[Array, ...], Array]] = []
    columns, found, log_prior = _evaluate(likelihood, parameters, box, points)
    for _ in range(ROUNDS if continuous else 0):
        inside, narrower = _refined_box(found, box, _shape(parameters, points), continuous, points)
        if _size(narrower) > LEAST_SHRINKAGE * _size(box):
            break
        weights = found + log_prior + math.log(_size(box) / cells)
        kept.append((tuple(each[~inside] for each in columns), weights[~inside]))
        box = narrower
        columns, found, log_prior = _evaluate(likelihood, parameters, box, points)
    kept.append((columns, found + log_prior + math.log(_size(box) / cells)))
    together = tuple(np.concatenate([part[axis] for part, _ in kept]) for axis in range(len(parameters)))
    return together, np.concatenate([weights for _, weights in kept])


def _shape(parameters: tuple[AnyParameter, ...], points: int) -> tuple[int, ...]:
    """Return the shape of the grid: number of discrete values, or grid points of continuous parameters."""
    return tuple(len(each.values) if isinstance(each, DiscreteParameter) else points for each in parameters)


def _evaluate(
    likelihood: Likelihood, parameters: tuple[AnyParameter, ...], box: list[tuple[float, float]], points: int
) -> tuple[tuple[Array, ...], Array, Array]:
    axes, priors, at = [], [], 0
    for each in parameters:
        if isinstance(each, DiscreteParameter):
            axes.append(np.array(each.values))
            priors.append(np.log(np.array(each.probabilities)))
            continue
        low, high = box[at]
        axes.append(each.quantile(low + (high - low) * (np.arange(points) + 0.5) / points))
        priors.append(np.zeros(points))
        at += 1
    columns = tuple(each.reshape(-1, 1) for each in np.meshgrid(*axes, indexing="ij"))
    log_prior = sum((each.reshape(-1) for each in np.meshgrid(*priors, indexing="ij")), np.zeros(1))
    found = likelihood(columns)
    return columns, np.where(np.isfinite(found), found, -1e300), log_prior


def _refined_box(
    found: Array, box: list[tuple[float, float]], shape: tuple[int, ...], continuous: list[int], points: int
) -> tuple[npt.NDArray[np.bool_], list[tuple[float, float]]]:
    """Return which cells are in the box to be refined, and that box."""
    many = LEAST_GRID_POINTS[len(box)]
    least = min(found.max() - MAX_LOG_DROP, np.partition(found, -many)[-many])
    likely = np.unravel_index(np.flatnonzero(found >= least), shape)
    every = np.unravel_index(np.arange(found.size), shape)
    inside = np.ones(found.size, dtype=np.bool_)
    narrower = []
    for (low, high), axis in zip(box, continuous, strict=True):
        first, last = max(0, int(likely[axis].min()) - 1), min(points - 1, int(likely[axis].max()) + 1)
        inside &= (every[axis] >= first) & (every[axis] <= last)
        width = (high - low) / points
        narrower.append((low + width * first, low + width * (last + 1)))
    return inside, narrower


def _size(box: list[tuple[float, float]]) -> float:
    return math.prod(high - low for low, high in box)
