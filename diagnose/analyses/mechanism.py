"""What a mechanism is: a physical model of what pairs of readings look like when one thing is wrong.

A model is the curve and what is held of its open amounts beforehand; what the trade knows of it (its name for people,
how often it is met, what to look at, what it shows) stands in the rule book.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from diagnose.analyses.amounts import Amount, Array, Branch, log_between
from diagnose.analyses.curves import Range
from diagnose.rule_book.types import Mechanism as Known

Sits = Literal["meter", "receiver", "counter", "reference"]
"""Where a fault is: meter and its pipe, loop and receiver, pulse output and counter, reference."""

Curve = Literal["factor", "constant", "current", "upper-end", "limited", "flat", "own"]
"""Models of one curve (but ``own``) draw the same one: pairs of readings cannot tell them apart."""

HIGHEST_RANGE = 4.0
"""Times the largest reference flow up to which an unknown upper range value is looked for."""


@dataclass(frozen=True, slots=True)
class Scene:
    """What is known around the readings, in SI: largest flow, range, bore, and the unit on the label.

    ``upper`` is None when nobody gave the upper range value; ``top`` is the largest reference flow.
    """

    top: float
    unit: str
    lower: float = 0.0
    upper: float | None = None
    bore: float | None = None

    def range_(self, amounts: tuple[Array, ...]) -> Range:
        """Return LRV and URV; an unknown URV is the last of the amounts."""
        return (self.lower, amounts[-1] if self.upper is None else self.upper)

    def span(self, amounts: tuple[Array, ...]) -> Array | float:
        """Return URV - LRV."""
        lower, upper = self.range_(amounts)
        return upper - lower

    def with_range(self, *branches: Branch) -> tuple[Branch, ...]:
        """Return branches with URV as a further amount when it is not known."""
        if self.upper is not None:
            return branches
        held = log_between(0.95 * self.top, HIGHEST_RANGE * self.top)
        told = f"even in the logarithm from 0.95 to {HIGHEST_RANGE:g} times the largest reference flow"
        upper = Amount("upper range value", "flow", told, held)
        return tuple(replace(each, amounts=(*each.amounts, upper)) for each in branches)


Formula = Callable[[Array, tuple[Array, ...], Scene], Array]
"""Reference flows (a row), amounts (columns), scene → indicated flows, one row for each set of amounts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """A curve with its open amounts: by which name the rule book calls it, and where the fault sits."""

    name: str
    sits: frozenset[Sits]
    formula: Formula
    branches: Callable[[Scene], tuple[Branch, ...]]
    curve: Curve = "own"

    def predict(self, reference: Array, amounts: tuple[Array, ...], scene: Scene) -> Array:
        """Return the indicated flows, one row for each set of amounts (one row when nothing is open)."""
        return np.atleast_2d(self.formula(reference, amounts, scene))

    @property
    def draws(self) -> str:
        """Return the name of the curve that it draws, its own if no other model draws the same."""
        return self.name if self.curve == "own" else self.curve

    @property
    def at_receiver_only(self) -> bool:
        """Tell whether what is shown comes through a receiver, which may stop at the ends of its range."""
        return self.sits == {"receiver"}


@dataclass(frozen=True, slots=True)
class Mechanism:
    """A model and what the trade knows of it."""

    known: Known
    model: Model

    @property
    def id(self) -> str:
        """Return the id in the rule book."""
        return self.known.id

    @property
    def title(self) -> str:
        """Return the name for people."""
        return self.known.title


METER: frozenset[Sits] = frozenset({"meter"})
RECEIVER: frozenset[Sits] = frozenset({"receiver"})
COUNTER: frozenset[Sits] = frozenset({"counter"})
REFERENCE: frozenset[Sits] = frozenset({"reference"})
ANYWHERE: frozenset[Sits] = METER | RECEIVER | COUNTER | REFERENCE
