"""All models by name, and the mechanisms of a rule book with their models."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from diagnose.comparison.mechanism import Model, ModelledMechanism
from diagnose.comparison.mechanisms_of_factor import FACTORS
from diagnose.comparison.mechanisms_of_own_curve import NO_DIFFERENCE, OWN_CURVES
from diagnose.comparison.mechanisms_of_receiver import RECEIVERS
from diagnose.rule_book.patterns import ComparedAt, Comparisons, Mechanism

ANY_SMOOTH = Model(
    name="any-smooth-curve",
    # its evidence has a closed form (:mod:`diagnose.comparison.smooth`), so nothing needs to be predicted
    formula=lambda r, _amounts, _scene: r,
)
"""Anything that no other model describes: the broad alternative that every mechanism must beat."""

MODELS: tuple[Model, ...] = (NO_DIFFERENCE, *OWN_CURVES, *FACTORS, *RECEIVERS, ANY_SMOOTH)

BY_NAME = {each.name: each for each in MODELS}


def mechanisms_of(known: Mapping[str, Mechanism], said: Comparisons) -> tuple[ModelledMechanism, ...]:
    """Return the mechanisms of a rule book with their models."""
    return tuple(ModelledMechanism(each, BY_NAME[each.model], said) for each in known.values())


def possible(mechanisms: Iterable[ModelledMechanism], between: Collection[ComparedAt]) -> tuple[ModelledMechanism, ...]:
    """Return the mechanisms whose causes can show there; those that stand for no cause, or several, always can."""
    return tuple(
        each for each in mechanisms if not each.known.causes or not each.known.causes.keys().isdisjoint(between)
    )
