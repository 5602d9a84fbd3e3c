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
from diagnose.comparison.noise import (
    Spreads,
    least_unit,
    log_likelihood_of,
    log_likelihood_unknown,
    log_likelihoods,
    spreads_resolved,
    spreads_stated,
    units_of_scatter,
)
from diagnose.tables.arrays import Array

STEP = 1e-4
"""Relative step for the slope of a curve."""

LEAST_OWN = 0.1
"""Least share of the uncertainty, where a curve is flat and that of the reference does not come through."""

FINER = 1.5
"""Steps of figures that differ by no more than this count as alike."""

AT_AN_END = 1e-9
"""Relative difference up to which a reading is at the end of a range."""

AT_ONCE = 20_000
"""Predictions that are worked out at once: few enough for the processor to keep them at hand."""


@dataclass(frozen=True, slots=True)
class Pairs:
    """Pairs of readings (SI): reference and indicated flows, and their standard uncertainties if known.

    ``r_reference`` and ``r_indicated`` are the standard uncertainties of what the figures resolve, if that is known;
    whoever writes 10 beside 10.4 may mean 10.0, so that all may be resolved as finely as the finest of them.
    """

    reference: Array
    indicated: Array
    u_reference: Array | None = None
    u_indicated: Array | None = None
    r_reference: Array | None = None
    r_indicated: Array | None = None

    @property
    def known(self) -> bool:
        """Whether uncertainties are known."""
        return self.u_reference is not None or self.u_indicated is not None

    @property
    def resolved(self) -> bool:
        """Whether it is known what the figures resolve."""
        return self.r_reference is not None or self.r_indicated is not None

    @property
    def either(self) -> tuple[Pairs, ...]:
        """The pairs as their figures are written, and as finely resolved as the finest of them, where that differs."""
        steps = [each for each in (self.r_reference, self.r_indicated) if each is not None]
        finest = min((float(each[each > 0].min(initial=math.inf)) for each in steps), default=math.inf)
        if all(bool(np.all(each <= FINER * finest)) for each in steps):
            return (self,)
        fine = [None if each is None else np.minimum(each, finest) for each in (self.r_reference, self.r_indicated)]
        return (self, replace(self, r_reference=fine[0], r_indicated=fine[1]))

    @property
    def top(self) -> float:
        """The largest reading, or next to nothing where all are zero."""
        return max(float(np.max(np.abs(self.reference))), float(np.max(np.abs(self.indicated))), 1e-12)


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

    @property
    def common(self) -> str:
        """What its mechanisms have in common, in the words of the rule book; "" for the curve of one alone."""
        return self.members[0].mechanism.said.curves.get(self.curve, "")


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
    found: list[RankedMechanism] = []
    for each in mechanisms:
        like = next((one for one in found if one.mechanism.is_like(each)), None)
        evidence = (like.log_evidence, like.marginal) if like else _marginal(pairs, scene, each)
        found.append(RankedMechanism(each, 0.0, *evidence))
    probable = believed(decibans_of(found))
    found = [replace(each, probability=probable.get(each.mechanism.id, 0.0)) for each in found]
    return tuple(sorted(found, key=lambda each: (-each.probability, -each.log_evidence)))


def decibans_of(ranked: Iterable[RankedMechanism]) -> dict[str, float]:
    """Return how well each mechanism accounts for the readings, beside the one that does best."""
    evidence = {each.mechanism.id: each.log_evidence for each in ranked}
    best = max(evidence.values(), default=0.0)
    return {name: round(max(10 / math.log(10) * (each - best), LEAST_DECIBANS), 2) for name, each in evidence.items()}


def _marginal(pairs: Pairs, scene: Scene, mechanism: ModelledMechanism) -> tuple[float, MarginalLikelihood | None]:
    """Return the log evidence of a mechanism, and its marginal likelihood (None for the broad alternative)."""
    if mechanism.model is ANY_SMOOTH:
        return smooth.log_evidence(pairs.reference, pairs.indicated, spreads_of(pairs, pairs.indicated, 1.0)), None
    found = marginal_likelihood(likelihood(pairs, scene, mechanism.model), mechanism.branches(scene))
    return found.log_evidence, found


def spreads_of(pairs: Pairs, shown: Array, slope: Array | float) -> Spreads:
    """Return the spreads that the residuals from a curve may have; none where nothing is known of the scatter.

    ``shown`` is the curve, ``slope`` how much of a change of the reference comes through.
    """
    if not (pairs.known or pairs.resolved):
        return ()
    either = [standard_uncertainty(each, slope) for each in pairs.either]
    if pairs.known:
        of_each = [spreads_stated(each, pairs.top) for each in either]
    else:
        units = units_of_scatter(shown, least_unit(pairs.reference, pairs.indicated))
        of_each = [spreads_resolved(each, units) for each in either]
    return [(log - math.log(len(of_each)), spread) for spreads in of_each for log, spread in spreads]


def standard_uncertainty(pairs: Pairs, slope: Array | float) -> Array:
    """Return the standard uncertainty of the residuals from a curve with this ``slope``, as far as it is known."""
    own = np.hypot(_or_zero(pairs.u_indicated, pairs), _or_zero(pairs.r_indicated, pairs))
    other = np.hypot(_or_zero(pairs.u_reference, pairs), _or_zero(pairs.r_reference, pairs))
    return np.asarray(np.maximum(np.hypot(own, slope * other), LEAST_OWN * np.hypot(own, other)))


def _or_zero(uncertainty: Array | None, pairs: Pairs) -> Array:
    return 0 * pairs.reference if uncertainty is None else uncertainty


def beyond_stated(pairs: Pairs, scene: Scene, ranked: RankedMechanism) -> float:
    """Return how probable it is that the readings scatter more than was stated, about the curve of a mechanism."""
    if not pairs.known:
        return 0.0
    if ranked.marginal is None:
        spreads = spreads_of(pairs, pairs.indicated, 1.0)
        as_stated = spreads[:: len(spreads) // len(pairs.either)]
        given, every = (smooth.log_evidence(pairs.reference, pairs.indicated, each) for each in (as_stated, spreads))
        return float(1 - np.exp(given - every))
    _, parameters, weights = max(ranked.marginal.posterior, key=lambda each: float(each[2].max()))
    best = int(np.argmax(weights))
    shown = predictions(pairs, scene, ranked.mechanism.model, tuple(each[[best]] for each in parameters))
    of_each = log_likelihoods(pairs.indicated, shown, spreads_of(pairs, shown, 1.0), pairs.top)[:, 0]
    of_stated = of_each[:: len(of_each) // len(pairs.either)]
    return float(1 - np.exp(np.logaddexp.reduce(of_stated) - np.logaddexp.reduce(of_each)))


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
        if not (pairs.known or pairs.resolved):
            return log_likelihood_unknown(pairs.indicated, shown, least)
        step = STEP * np.maximum(np.abs(pairs.reference), 0.01 * scene.top)
        ahead = model.predict(pairs.reference + step, parameters, scene)
        behind = model.predict(pairs.reference - step, parameters, scene)
        slope = np.clip(np.abs(ahead - behind) / (2 * step), 0.0, 1e4)
        return log_likelihood_of(pairs.indicated, shown, spreads_of(pairs, shown, slope), pairs.top)

    def piecewise(parameters: tuple[Array, ...]) -> Array:
        many = max(1, AT_ONCE // len(pairs.reference))
        count = len(parameters[0]) if parameters else 1
        pieces = range(0, count, many)
        return np.concatenate([of(tuple(each[at : at + many] for each in parameters)) for at in pieces])

    return piecewise
