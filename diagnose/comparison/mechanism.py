"""Mechanisms: physical models of what pairs of readings look like if one thing is wrong.

A model is a curve with open amounts; what the trade knows about the mechanism (its title, its causes, what to check,
how large these amounts may be) is in the rule book.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from diagnose.comparison.amounts import Scale, held_as, in_words
from diagnose.comparison.curves import Range
from diagnose.comparison.parameters import AnyParameter, Branch
from diagnose.rule_book.analysis_names import ON_RANGE, AmountKind
from diagnose.rule_book.patterns import AmountsTogether, Comparisons, Mechanism, Spread
from diagnose.tables.arrays import Array

Curve = Literal["factor", "constant", "current", "upper-end", "limited", "flat", "own"]
"""Models with the same curve (except ``own``) cannot be told apart by pairs of readings."""


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

    @property
    def whole_range(self) -> float:
        """The range, or up to the largest flow where its upper end is not known."""
        return (self.upper or self.top) - self.lower


Formula = Callable[[Array, tuple[Array, ...], Scene], Array]
"""Reference flows (a row), parameters (columns), scene → indicated flows, one row for each set of parameters."""


@dataclass(frozen=True, slots=True)
class Amount:
    """An open amount of a curve: its key in the rule book, what people call it, what it is, and its unit for people.

    A "flow" is in the unit of the readings, whatever it is a share of.
    """

    key: str
    title: str
    kind: AmountKind

    @property
    def unit(self) -> str:
        """The unit in which people are told of it."""
        return {"ratio": "", "share": "%", "flow": "flow", "range": "flow", "current": "mA"}[self.kind]


UPPER_RANGE = Amount("upper-range-value", "upper range value", "flow")


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """A curve with its open amounts, and its name in the rule book.

    ``through_receiver``: it comes through the loop and a receiver, which may end at the ends of its range. ``ridge``:
    the readings determine its amounts only in combination, so that a finer grid is needed. ``levels``: nothing is open
    but which of these flows is shown.
    """

    name: str
    formula: Formula
    amounts: tuple[Amount, ...] = ()
    curve: Curve = "own"
    through_receiver: bool = False
    ridge: bool = False
    levels: Callable[[Scene], AnyParameter] | None = None

    def predict(self, reference: Array, parameters: tuple[Array, ...], scene: Scene) -> Array:
        """Return the indicated flows, one row for each set of parameters (one row if there are none)."""
        return np.atleast_2d(self.formula(reference, parameters, scene))

    @property
    def draws(self) -> str:
        """Name of its curve; its own name if no other model has the same curve."""
        return self.name if self.curve == "own" else self.curve


@dataclass(frozen=True)
class ModelledMechanism:
    """A mechanism of the rule book with its model, and what the rule book holds of comparisons at large."""

    known: Mechanism
    model: Model
    said: Comparisons

    @property
    def id(self) -> str:
        """Its id in the rule book."""
        return self.known.id

    @property
    def title(self) -> str:
        """Its title in the rule book."""
        return self.known.title

    @cached_property
    def held(self) -> tuple[AmountsTogether, ...]:
        """How large its amounts may be, by how often which go together."""
        either = self.known.either or (AmountsTogether(share=1.0, amounts={}),)
        return tuple(
            AmountsTogether(share=each.share, amounts={**self.known.amounts, **each.amounts}) for each in either
        )

    def is_like(self, other: ModelledMechanism) -> bool:
        """Check whether readings cannot tell it from another at all: the same curve, the same amounts."""
        return self.model is other.model and self.held == other.held

    def branches(self, scene: Scene) -> tuple[Branch, ...]:
        """Return the prior of the parameters of its model around these readings."""
        if self.model.levels:
            return (Branch(1.0, (self.model.levels(scene),)),)
        lists, words = self.said.lists, self._words(scene)
        branches = tuple(
            Branch(
                each.share,
                tuple(
                    held_as(each.amounts[a.key], a.title, a.unit, words[a.key], _scale(a.kind, scene), lists)
                    for a in self.model.amounts
                ),
                self.model.ridge,
            )
            for each in self.held
        )
        return self._with_range(branches, scene)

    def _words(self, scene: Scene) -> dict[str, str]:
        spreads: dict[str, list[Spread]] = {each.key: [] for each in self.model.amounts}
        for together in self.held:
            for key, of in spreads.items():
                if together.amounts[key] not in of:
                    of.append(together.amounts[key])
        return {a.key: in_words(spreads[a.key], _scale(a.kind, scene)) for a in self.model.amounts}

    def _with_range(self, branches: tuple[Branch, ...], scene: Scene) -> tuple[Branch, ...]:
        """Return branches with the URV as one more parameter where it hangs on the range and nobody knows that."""
        spread = self.said.unknown_upper_range
        if scene.upper is not None or self.model.name not in ON_RANGE or spread is None:
            return branches
        scale = Scale("flow", scene.top, whole="the largest reference flow", unit=scene.unit)
        words = in_words([spread], scale)
        upper = held_as(spread, UPPER_RANGE.title, UPPER_RANGE.unit, words, scale, self.said.lists)
        return tuple(replace(each, parameters=(*each.parameters, upper)) for each in branches)


def _scale(kind: AmountKind, scene: Scene) -> Scale:
    if kind == "flow":
        return Scale(kind, scene.top, "the largest flow", scene.unit, scene.bore)
    return Scale(kind, scene.whole_range if kind == "range" else 1.0, "the range", scene.unit)
