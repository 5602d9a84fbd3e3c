"""The further reading that best separates two mechanisms, by their posterior predictive distributions."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from diagnose.comparison.estimates import quantiles
from diagnose.comparison.mechanism import ModelledMechanism, Scene
from diagnose.comparison.noise import usual_spread
from diagnose.comparison.ranking import RankedMechanism
from diagnose.tables.arrays import Array

SHARES = (0.0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
"""Flows at which the comparison may be repeated, as shares of the range (of the largest flow if it is unknown)."""

WORTH_WHILE = 0.5
"""Least difference, over its standard deviation, for which anybody repeats readings: sixteen then tell."""

RESOLVABLE = 2.0
"""Least difference, over its standard deviation, with which one more reading separates two mechanisms."""


@dataclass(frozen=True, slots=True)
class PosteriorPredictive:
    """Posterior predictive distribution of the indicated flow at each flow: mean, standard deviation and median.

    The median is what may really be shown: below a cut-off of which little is known, the mean never is.
    """

    mean: Array
    spread: Array
    middle: Array


@dataclass(frozen=True, slots=True)
class Separation:
    """A further reading: at which flow and share of the range, and what two mechanisms predict there (SI).

    ``ratio`` is the difference over its standard deviation; below :data:`RESOLVABLE` one reading is not enough.
    """

    one: ModelledMechanism
    other: ModelledMechanism
    share: float
    flow: float
    shown_by_one: float
    shown_by_other: float
    ratio: float

    @property
    def difference(self) -> float:
        """The difference relative to the flow, or absolute at no flow."""
        difference = abs(self.shown_by_one - self.shown_by_other)
        return difference / abs(self.flow) if self.flow else difference


def posterior_predictive(ranked: RankedMechanism, scene: Scene, flows: Array) -> PosteriorPredictive:
    """Return the posterior predictive distribution of a mechanism that has a model."""
    assert ranked.marginal is not None
    shown, weights = [], []
    for _, parameters, log_weights in ranked.marginal.posterior:
        kept = log_weights > log_weights.max() - 15
        shown.append(ranked.mechanism.model.predict(flows, tuple(each[kept] for each in parameters), scene))
        weights.append(np.exp(log_weights[kept]))
    every, share = np.concatenate(shown), np.concatenate(weights)[:, None]
    share = share / share.sum()
    mean = np.sum(share * every, axis=0)
    spread = np.sqrt(np.maximum(np.sum(share * (every - mean) ** 2, axis=0), 0.0))
    middle = np.array([quantiles(column, share[:, 0], (0.5,))[0] for column in every.T])
    return PosteriorPredictive(mean, spread, middle)


def separate(one: RankedMechanism, other: RankedMechanism, scene: Scene) -> Separation | None:
    """Return the reading that best separates two mechanisms, or None if they predict the same at every flow."""
    top = scene.upper or scene.top
    flows = scene.lower + np.array(SHARES) * (top - scene.lower)
    first, second = posterior_predictive(one, scene, flows), posterior_predictive(other, scene, flows)
    noise = usual_spread((first.mean + second.mean) / 2, top)
    difference = np.abs(first.mean - second.mean)
    ratios = difference / np.sqrt(first.spread**2 + second.spread**2 + noise**2)
    best = int(np.argmax(ratios))
    if ratios[best] < WORTH_WHILE or math.isnan(ratios[best]):
        return None
    flow, by_one, by_other = (_tidied(float(each[best]), top) for each in (flows, first.middle, second.middle))
    return Separation(one.mechanism, other.mechanism, SHARES[best], flow, by_one, by_other, float(ratios[best]))


def _tidied(flow: float, top: float) -> float:
    """Return a flow without rounding errors near zero."""
    return 0.0 if abs(flow) < 1e-9 * top else flow
