"""Ranks mechanisms by posterior probability: marginal likelihood times prior."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.comparison import smooth
from diagnose.comparison.marginal import Likelihood, MarginalLikelihood, marginal_likelihood
from diagnose.comparison.mechanism import Model, ModelledMechanism, Scene
from diagnose.comparison.mechanisms import ANY_SMOOTH
from diagnose.comparison.noise import least_unit, log_likelihood_given, log_likelihood_unknown
from diagnose.tables.arrays import Array

STEP = 1e-4
"""Relative step for the slope of a curve."""

LEAST_OWN = 0.1
"""Least share of the uncertainty, where a curve is flat and that of the reference does not come through."""

AT_AN_END = 1e-9
"""Relative difference up to which a reading is at the end of a range."""


@dataclass(frozen=True, slots=True)
class Pairs:
    """Pairs of readings (SI): reference and indicated flows, and their standard uncertainties if known."""

    reference: Array
    indicated: Array
    u_reference: Array | None = None
    u_indicated: Array | None = None

    @property
    def known(self) -> bool:
        """Whether uncertainties are known."""
        return self.u_reference is not None or self.u_indicated is not None


@dataclass(frozen=True, slots=True)
class RankedMechanism:
    """A mechanism with its posterior probability, its log evidence and the posterior of its parameters.

    ``marginal`` is None for the broad alternative, which has no parameters.
    """

    mechanism: ModelledMechanism
    probability: float
    log_evidence: float
    marginal: MarginalLikelihood | None

    @property
    def is_a_model(self) -> bool:
        """Whether it has a physical model, rather than being the broad alternative to all of them."""
        return self.marginal is not None


@dataclass(frozen=True, slots=True)
class AmbiguityGroup:
    """Mechanisms with the same curve, most probable first, and their total probability."""

    curve: str
    members: tuple[RankedMechanism, ...]
    probability: float


def ambiguity_groups(ranked: Sequence[RankedMechanism]) -> tuple[AmbiguityGroup, ...]:
    """Group ranked mechanisms by curve, the most probable curve first."""
    curves: dict[str, list[RankedMechanism]] = {}
    for each in ranked:
        curves.setdefault(each.mechanism.model.draws, []).append(each)
    groups = [
        AmbiguityGroup(name, tuple(of), math.fsum(each.probability for each in of)) for name, of in curves.items()
    ]
    return tuple(sorted(groups, key=lambda group: -group.probability))


Likely = Mapping[str, float]
"""Decibans of each mechanism below the one that accounts best for the readings."""

Believed = Callable[[Likely], Mapping[str, float]]
"""From that to how probable each mechanism is, by the causes that bring it about and all else that is known."""

LEAST_DECIBANS = -200.0
"""Nothing is less likely than that: readings never say more."""


def rank(
    pairs: Pairs, scene: Scene, mechanisms: Sequence[ModelledMechanism], believed: Believed
) -> tuple[RankedMechanism, ...]:
    """Return the mechanisms with their posterior probabilities, most probable first."""
    models = {each.model.name: each.model for each in mechanisms}
    marginal = {name: _marginal(pairs, scene, model) for name, model in models.items()}
    found = [RankedMechanism(each, 0.0, *marginal[each.model.name]) for each in mechanisms]
    probable = believed(decibans_of(found))
    found = [replace(each, probability=probable.get(each.mechanism.id, 0.0)) for each in found]
    return tuple(sorted(found, key=lambda each: (-each.probability, -each.log_evidence)))


def decibans_of(ranked: Iterable[RankedMechanism]) -> dict[str, float]:
    """Return how well each mechanism accounts for the readings, beside the one that does best."""
    evidence = {each.mechanism.id: each.log_evidence for each in ranked}
    best = max(evidence.values(), default=0.0)
    return {name: round(max(10 / math.log(10) * (each - best), LEAST_DECIBANS), 2) for name, each in evidence.items()}


def _marginal(pairs: Pairs, scene: Scene, model: Model) -> tuple[float, MarginalLikelihood | None]:
    """Return the log evidence of a model, and its marginal likelihood (None for the broad alternative)."""
    if model is ANY_SMOOTH:
        return smooth.log_evidence(
            pairs.reference, pairs.indicated, standard_uncertainty(pairs, pairs.reference, 1.0)
        ), None
    found = marginal_likelihood(likelihood(pairs, scene, model), model.branches(scene))
    return found.log_evidence, found


def standard_uncertainty(pairs: Pairs, slope_at: Array, slope: Array | float) -> Array | None:
    """Return the standard uncertainty of the residuals from a curve with this ``slope``, or None if not known."""
    if not pairs.known:
        return None
    own = pairs.u_indicated if pairs.u_indicated is not None else 0 * slope_at
    other = pairs.u_reference if pairs.u_reference is not None else 0 * slope_at
    return np.maximum(np.hypot(own, slope * other), LEAST_OWN * np.hypot(own, other))


def predictions(pairs: Pairs, scene: Scene, model: Model, parameters: tuple[Array, ...]) -> Array:
    """Return the predictions of a model; a receiver at an end of its range may hide what is beyond."""
    shown = model.predict(pairs.reference, parameters, scene)
    if not model.through_receiver:
        return shown
    low, high = scene.range_(parameters)
    for end, beyond in ((low, shown < low), (high, shown > high)):
        at_end = np.abs(pairs.indicated - end) <= AT_AN_END * scene.top
        # Readings that are all at one end would fit anything.
        informative = ~np.all(at_end, axis=-1, keepdims=True)
        shown = np.where(at_end & beyond & informative, end, shown)
    return shown


def likelihood(pairs: Pairs, scene: Scene, model: Model) -> Likelihood:
    """Return the log-likelihood of the parameters of a model."""
    least = least_unit(pairs.reference, pairs.indicated)

    def of(parameters: tuple[Array, ...]) -> Array:
        shown = predictions(pairs, scene, model, parameters)
        if not pairs.known:
            return log_likelihood_unknown(pairs.indicated, shown, least)
        step = STEP * np.maximum(np.abs(pairs.reference), 0.01 * scene.top)
        ahead = model.predict(pairs.reference + step, parameters, scene)
        behind = model.predict(pairs.reference - step, parameters, scene)
        slope = np.clip(np.abs(ahead - behind) / (2 * step), 0.0, 1e4)
        spread = standard_uncertainty(pairs, pairs.reference, slope)
        assert spread is not None
        return log_likelihood_given(pairs.indicated, shown, spread)

    return of
