"""Conditions of rules, as frozen types: what is compared, and how comparisons are joined."""

from __future__ import annotations

from typing import Literal, TypeAlias

import msgspec


class Operand(msgspec.Struct, frozen=True, kw_only=True):
    """A value to compare with, in SI units: ``constant + Σ factor × quantity + sign × combined tolerance``.

    ``within`` lists quantities whose tolerances (absolute, share of the value) combine as the root of their squares.
    """

    constant: float = 0.0
    terms: tuple[tuple[float, str], ...] = ()
    sign: int = 0
    within: tuple[tuple[float, float, str], ...] = ()


class FindingIs(msgspec.Struct, frozen=True, tag="finding"):
    """True when the finding is known to be as said."""

    finding: str
    present: bool


class Relation(msgspec.Struct, frozen=True, kw_only=True, tag="comparison"):
    """True when a known value stands so: below, above (strictly), between (inclusive) or one of some words.

    ``holds`` false means the opposite; unknown values make neither true.
    """

    quantity: str
    relation: Literal["below", "above", "between", "one of"]
    operands: tuple[Operand, ...] = ()
    choices: tuple[str, ...] = ()
    holds: bool = True


class All(msgspec.Struct, frozen=True, tag="all"):
    """True when all of the conditions are."""

    of: tuple[Condition, ...]


class AnyOf(msgspec.Struct, frozen=True, tag="any"):
    """True when at least one of the conditions is."""

    of: tuple[Condition, ...]


Condition: TypeAlias = FindingIs | Relation | All | AnyOf
"""Conditions in negation normal form: ``not`` is pushed to the leaves when a rule is read."""
