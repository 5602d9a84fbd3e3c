"""Mechanisms by their probability after the readings: marginal likelihood times what is held of each beforehand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.analyses import smooth
from diagnose.analyses.amounts import Array
from diagnose.analyses.marginal import Likelihood, Weighed, weigh
from diagnose.analyses.mechanism import Mechanism, Model, Scene
from diagnose.analyses.mechanisms import ANY_SMOOTH
from diagnose.analyses.noise import least_unit, log_likelihood_given, log_likelihood_unknown

STEP = 1e-4
"""Relative step over which the slope of a curve is taken."""

LEAST_OWN = 0.1
"""Share of the uncertainty that is left where a curve is flat and the reference's does not come through."""

AT_AN_END = 1e-9
"""Relative difference up to which a reading stands at the end of a range."""


@dataclass(frozen=True, slots=True)
class Pairs:
    """Readings in SI: flows of the reference and indicated, and the standard uncertainties of both, where known."""

    reference: Array
    indicated: Array
    of_reference: Array | None = None
    of_indicated: Array | None = None

    @property
    def known(self) -> bool:
        """Tell whether uncertainties are known."""
        return self.of_reference is not None or self.of_indicated is not None


@dataclass(frozen=True, slots=True)
class Ranked:
    """A mechanism, its probability and marginal likelihood, and its amounts after the readings.

    ``weighed`` is None for what no model draws: it has no amounts.
    """

    mechanism: Mechanism
    probability: float
    log_evidence: float
    weighed: Weighed | None

    @property
    def is_a_model(self) -> bool:
        """Tell whether it is a physical model, and not the broad alternative to all of them."""
        return self.weighed is not None


@dataclass(frozen=True, slots=True)
class Group:
    """Mechanisms that draw the same curve, most probable first, and their probability together."""

    curve: str
    members: tuple[Ranked, ...]
    probability: float


def grouped(ranked: Sequence[Ranked]) -> tuple[Group, ...]:
    """Return ranked mechanisms by their curves, the most probable curve first."""
    curves: dict[str, list[Ranked]] = {}
    for each in ranked:
        curves.setdefault(each.mechanism.model.draws, []).append(each)
    groups = [Group(name, tuple(of), math.fsum(each.probability for each in of)) for name, of in curves.items()]
    return tuple(sorted(groups, key=lambda group: -group.probability))


def rank(pairs: Pairs, scene: Scene, mechanisms: Sequence[Mechanism]) -> tuple[Ranked, ...]:
    """Return the mechanisms, most probable first."""
    models = {each.model.name: each.model for each in mechanisms}
    weighed = {name: _weighed(pairs, scene, model) for name, model in models.items()}
    scores = [math.log(each.known.weight) + weighed[each.model.name][0] for each in mechanisms]
    total = float(np.logaddexp.reduce(np.array(scores)))
    found = [
        Ranked(each, math.exp(score - total), *weighed[each.model.name])
        for each, score in zip(mechanisms, scores, strict=True)
    ]
    return tuple(sorted(found, key=lambda each: -each.probability))


def _weighed(pairs: Pairs, scene: Scene, model: Model) -> tuple[float, Weighed | None]:
    """Return the marginal likelihood of a model, and its amounts (None for what is no model)."""
    if model is ANY_SMOOTH:
        return smooth.log_evidence(pairs.reference, pairs.indicated, spread_of(pairs, pairs.reference, 1.0)), None
    found = weigh(likelihood(pairs, scene, model), model.branches(scene))
    return found.log_evidence, found


def spread_of(pairs: Pairs, slope_at: Array, slope: Array | float) -> Array | None:
    """Return the standard uncertainty of the indication against a curve of this ``slope``, None when not known."""
    if not pairs.known:
        return None
    own = pairs.of_indicated if pairs.of_indicated is not None else 0 * slope_at
    other = pairs.of_reference if pairs.of_reference is not None else 0 * slope_at
    return np.maximum(np.hypot(own, slope * other), LEAST_OWN * np.hypot(own, other))


def predicted(pairs: Pairs, scene: Scene, model: Model, amounts: tuple[Array, ...]) -> Array:
    """Return what a model predicts; a receiver that stands at an end of its range may hide what lies beyond."""
    shown = model.predict(pairs.reference, amounts, scene)
    if not model.at_receiver_only:
        return shown
    low, high = scene.range_(amounts)
    for end, beyond in ((low, shown < low), (high, shown > high)):
        at_end = np.abs(pairs.indicated - end) <= AT_AN_END * scene.top
        # readings that all stand at one end would fit anything
        told = ~np.all(at_end, axis=-1, keepdims=True)
        shown = np.where(at_end & beyond & told, end, shown)
    return shown


def likelihood(pairs: Pairs, scene: Scene, model: Model) -> Likelihood:
    """Return the log-likelihood of a model's amounts under the readings."""
    least = least_unit(pairs.reference, pairs.indicated)

    def of(amounts: tuple[Array, ...]) -> Array:
        shown = predicted(pairs, scene, model, amounts)
        if not pairs.known:
            return log_likelihood_unknown(pairs.indicated, shown, least)
        step = STEP * np.maximum(np.abs(pairs.reference), 0.01 * scene.top)
        ahead = model.predict(pairs.reference + step, amounts, scene)
        behind = model.predict(pairs.reference - step, amounts, scene)
        slope = np.clip(np.abs(ahead - behind) / (2 * step), 0.0, 1e4)
        spread = spread_of(pairs, pairs.reference, slope)
        assert spread is not None
        return log_likelihood_given(pairs.indicated, shown, spread)

    return of
