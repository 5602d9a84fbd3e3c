"""The table of models by the names under which the rule book calls them, and the mechanisms made of both."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from diagnose.analyses.mechanism import ANYWHERE, Mechanism, Model, Sits
from diagnose.analyses.mechanisms_of_factor import FACTORS
from diagnose.analyses.mechanisms_of_own_curve import NO_DIFFERENCE, OWN_CURVES
from diagnose.analyses.mechanisms_of_receiver import RECEIVERS
from diagnose.rule_book.types import Mechanism as Known

ANY_SMOOTH = Model(
    name="any-smooth-curve",
    sits=ANYWHERE,
    # weighed in closed form by analyses.smooth: nothing is to be predicted
    formula=lambda r, _amounts, _scene: r,
    branches=lambda _scene: (),
)
"""What no other model draws: the broad alternative that every mechanism must beat."""

MODELS: tuple[Model, ...] = (NO_DIFFERENCE, *OWN_CURVES, *FACTORS, *RECEIVERS, ANY_SMOOTH)

BY_NAME = {each.name: each for each in MODELS}


def mechanisms_of(known: Mapping[str, Known]) -> tuple[Mechanism, ...]:
    """Return the mechanisms of a rule book with their models."""
    return tuple(Mechanism(each, BY_NAME[each.model]) for each in known.values())


def possible(mechanisms: Iterable[Mechanism], places: frozenset[Sits]) -> tuple[Mechanism, ...]:
    """Return the mechanisms that can sit in one of these places."""
    return tuple(each for each in mechanisms if each.model.sits & places)
