"""The measurement that tells the leading mechanisms apart: at which flow they differ most, for what they may be."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from diagnose.analyses.amounts import Array
from diagnose.analyses.mechanism import Mechanism, Scene
from diagnose.analyses.noise import usual_spread
from diagnose.analyses.ranking import Ranked

SHARES = (0.0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
"""Where one may repeat the comparison, of the range (of the largest flow, where the range is not known)."""

TOLD = 2.0
"""Difference, over its standard deviation, from which one more reading tells two mechanisms apart."""


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What a mechanism foresees at flows: mean and standard deviation of what will be shown."""

    mean: Array
    spread: Array


@dataclass(frozen=True, slots=True)
class Separation:
    """One more reading: at which flow and share of the range, what each of two mechanisms will show there (SI).

    ``ratio`` is the difference over its standard deviation; below :data:`TOLD` one reading is not enough.
    """

    one: Mechanism
    other: Mechanism
    share: float
    flow: float
    shown_by_one: float
    shown_by_other: float
    ratio: float

    @property
    def difference(self) -> float:
        """Return the difference over the flow, or as it is at no flow."""
        apart = abs(self.shown_by_one - self.shown_by_other)
        return apart / abs(self.flow) if self.flow else apart


def foresee(ranked: Ranked, scene: Scene, flows: Array) -> Foreseen:
    """Return what a mechanism with a model foresees, its amounts weighed by the readings."""
    assert ranked.weighed is not None
    shown, weights = [], []
    for _, amounts, log_weights in ranked.weighed.rows:
        kept = log_weights > log_weights.max() - 15
        shown.append(ranked.mechanism.model.predict(flows, tuple(each[kept] for each in amounts), scene))
        weights.append(np.exp(log_weights[kept]))
    every, share = np.concatenate(shown), np.concatenate(weights)[:, None]
    share = share / share.sum()
    mean = np.sum(share * every, axis=0)
    return Foreseen(mean, np.sqrt(np.maximum(np.sum(share * (every - mean) ** 2, axis=0), 0.0)))


def separate(one: Ranked, other: Ranked, scene: Scene) -> Separation | None:
    """Return the reading that tells two mechanisms apart best, None when they foresee the same at every flow."""
    top = scene.upper or scene.top
    flows = scene.lower + np.array(SHARES) * (top - scene.lower)
    first, second = foresee(one, scene, flows), foresee(other, scene, flows)
    noise = usual_spread((first.mean + second.mean) / 2, top)
    apart = np.abs(first.mean - second.mean)
    ratios = apart / np.sqrt(first.spread**2 + second.spread**2 + noise**2)
    best = int(np.argmax(ratios))
    if ratios[best] < 0.1 or math.isnan(ratios[best]):
        return None
    flow, by_one, by_other = (_tidied(float(each[best]), top) for each in (flows, first.mean, second.mean))
    return Separation(one.mechanism, other.mechanism, SHARES[best], flow, by_one, by_other, float(ratios[best]))


def _tidied(flow: float, top: float) -> float:
    """Return a flow without what is only rounding."""
    return 0.0 if abs(flow) < 1e-9 * top else flow
