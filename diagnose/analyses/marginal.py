"""Marginal likelihood: the likelihood averaged over everything that is held of the open amounts beforehand.

That average is the honest penalty for amounts that are open: a mechanism that could show anything spreads thin. It is
taken over a grid of shares (midpoints) that draws together, round by round, where the likelihood lies.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diagnose.analyses.amounts import Amount, Array, Branch, Listed, Open

Likelihood = Callable[[tuple[Array, ...]], Array]
"""Amounts, one column each → log-likelihood of each row."""

POINTS = {0: 1, 1: 241, 2: 61, 3: 25}
"""Grid points along each continuous amount, by how many there are."""

FINER = 2
"""Times as many where the likelihood is a narrow ridge along which nothing is told."""

DEEP = 9.0
"""Cells less likely than the best by more than exp(9) need not be parted again."""

KEPT = {1: 7, 2: 25, 3: 60}
"""As many grid points as this stay in at least, so that a narrow ridge is not lost."""

ROUNDS = 14
FULL = 0.6
"""A box of which less than this share remains is drawn together again."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """A mechanism's marginal likelihood, and its amounts with their weights after the readings (which sum to 1).

    ``rows`` holds for each branch its amounts (columns) and log-weights.
    """

    log_evidence: float
    rows: tuple[tuple[Branch, tuple[Array, ...], Array], ...]


def weigh(likelihood: Likelihood, branches: Sequence[Branch]) -> Weighed:
    """Return the marginal likelihood over all branches of a mechanism."""
    found = []
    for branch in branches:
        points = POINTS[branch.free] * (FINER if branch.ridge else 1)
        amounts, log_weights = _integrate(likelihood, branch.amounts, points)
        found.append((branch, amounts, log_weights + math.log(branch.share)))
    every = np.concatenate([weights for _, _, weights in found])
    total = float(np.logaddexp.reduce(every))
    return Weighed(total, tuple((branch, amounts, weights - total) for branch, amounts, weights in found))


def _integrate(likelihood: Likelihood, amounts: tuple[Open, ...], points: int) -> tuple[tuple[Array, ...], Array]:
    """Return amounts and the log of prior × likelihood × width of the cell around each of them.

    Where the likelihood lies, cells are parted again; what is left outside counts with the wide cells that it is in.
    """
    free = [axis for axis, each in enumerate(amounts) if isinstance(each, Amount)]
    box = [(0.0, 1.0)] * len(free)
    cells = points ** len(free)
    kept: list[tuple[tuple[Array, ...], Array]] = []
    columns, found, log_prior = _evaluated(likelihood, amounts, box, points)
    for _ in range(ROUNDS if free else 0):
        inside, narrower = _drawn_together(found, box, _shape(amounts, points), free, points)
        if _size(narrower) > FULL * _size(box):
            break
        weights = found + log_prior + math.log(_size(box) / cells)
        kept.append((tuple(each[~inside] for each in columns), weights[~inside]))
        box = narrower
        columns, found, log_prior = _evaluated(likelihood, amounts, box, points)
    kept.append((columns, found + log_prior + math.log(_size(box) / cells)))
    together = tuple(np.concatenate([part[axis] for part, _ in kept]) for axis in range(len(amounts)))
    return together, np.concatenate([weights for _, weights in kept])


def _shape(amounts: tuple[Open, ...], points: int) -> tuple[int, ...]:
    """Return the grid's shape: sizes of listed amounts, and the points of the others."""
    return tuple(len(each.sizes) if isinstance(each, Listed) else points for each in amounts)


def _evaluated(
    likelihood: Likelihood, amounts: tuple[Open, ...], box: list[tuple[float, float]], points: int
) -> tuple[tuple[Array, ...], Array, Array]:
    axes, priors, at = [], [], 0
    for each in amounts:
        if isinstance(each, Listed):
            axes.append(np.array(each.sizes))
            priors.append(np.log(np.array(each.shares)))
            continue
        low, high = box[at]
        axes.append(each.quantile(low + (high - low) * (np.arange(points) + 0.5) / points))
        priors.append(np.zeros(points))
        at += 1
    columns = tuple(each.reshape(-1, 1) for each in np.meshgrid(*axes, indexing="ij"))
    log_prior = sum((each.reshape(-1) for each in np.meshgrid(*priors, indexing="ij")), np.zeros(1))
    found = likelihood(columns)
    return columns, np.where(np.isfinite(found), found, -1e300), log_prior


def _drawn_together(
    found: Array, box: list[tuple[float, float]], shape: tuple[int, ...], free: list[int], points: int
) -> tuple[npt.NDArray[np.bool_], list[tuple[float, float]]]:
    """Return which cells lie in the box to be parted again, and that box."""
    many = KEPT[len(box)]
    least = min(found.max() - DEEP, np.partition(found, -many)[-many])
    likely = np.unravel_index(np.flatnonzero(found >= least), shape)
    every = np.unravel_index(np.arange(found.size), shape)
    inside = np.ones(found.size, dtype=np.bool_)
    narrower = []
    for (low, high), axis in zip(box, free, strict=True):
        first, last = max(0, int(likely[axis].min()) - 1), min(points - 1, int(likely[axis].max()) + 1)
        inside &= (every[axis] >= first) & (every[axis] <= last)
        width = (high - low) / points
        narrower.append((low + width * first, low + width * (last + 1)))
    return inside, narrower


def _size(box: list[tuple[float, float]]) -> float:
    return math.prod(high - low for low, high in box)
