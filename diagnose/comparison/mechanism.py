"""Mechanisms: physical models of what pairs of readings look like if one thing is wrong.

A model is a curve with the prior of its parameters; what the trade knows about the mechanism (its title, how frequent
it is, what to check, which findings it shows) is in the rule book.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from diagnose.comparison.curves import Range
from diagnose.comparison.parameters import Branch, Parameter, log_uniform
from diagnose.rule_book.patterns import Mechanism
from diagnose.tables.arrays import Array

Curve = Literal["factor", "constant", "current", "upper-end", "limited", "flat", "own"]
"""Models with the same curve (except ``own``) cannot be told apart by pairs of readings."""

HIGHEST_RANGE = 4.0
"""Largest value of an unknown upper range value, as a multiple of the largest reference flow."""


@dataclass(frozen=True, slots=True)
class Scene:
    """The scene of a comparison, in SI: largest reference flow ``top``, unit of the readings, range and bore.

    ``upper`` is None if the upper range value is not known.
    """

    top: float
    unit: str
    lower: float = 0.0
    upper: float | None = None
    bore: float | None = None

    def range_(self, parameters: tuple[Array, ...]) -> Range:
        """Return LRV and URV; an unknown URV is the last parameter."""
        return (self.lower, parameters[-1] if self.upper is None else self.upper)

    def span(self, parameters: tuple[Array, ...]) -> Array | float:
        """Return the span, URV - LRV."""
        lower, upper = self.range_(parameters)
        return upper - lower

    def with_range(self, *branches: Branch) -> tuple[Branch, ...]:
        """Return branches with the URV as an additional parameter if it is not known."""
        if self.upper is not None:
            return branches
        prior = log_uniform(0.95 * self.top, HIGHEST_RANGE * self.top)
        words = f"log-uniform from 0.95 to {HIGHEST_RANGE:g} times the largest reference flow"
        upper = Parameter("upper range value", "flow", words, prior)
        return tuple(replace(each, parameters=(*each.parameters, upper)) for each in branches)


Formula = Callable[[Array, tuple[Array, ...], Scene], Array]
"""Reference flows (a row), parameters (columns), scene → indicated flows, one row for each set of parameters."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """A curve with the priors of its parameters, and its name in the rule book.

    ``through_receiver``: it comes through the loop and a receiver, which may end at the ends of its range.
    """

    name: str
    formula: Formula
    branches: Callable[[Scene], tuple[Branch, ...]]
    curve: Curve = "own"
    through_receiver: bool = False

    def predict(self, reference: Array, parameters: tuple[Array, ...], scene: Scene) -> Array:
        """Return the indicated flows, one row for each set of parameters (one row if there are none)."""
        return np.atleast_2d(self.formula(reference, parameters, scene))

    @property
    def draws(self) -> str:
        """Name of its curve; its own name if no other model has the same curve."""
        return self.name if self.curve == "own" else self.curve


@dataclass(frozen=True, slots=True)
class ModelledMechanism:
    """A mechanism of the rule book with its model."""

    known: Mechanism
    model: Model

    @property
    def id(self) -> str:
        """Its id in the rule book."""
        return self.known.id

    @property
    def title(self) -> str:
        """Its title in the rule book."""
        return self.known.title
