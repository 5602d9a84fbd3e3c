"""What comes out of understanding: what was understood, with the words that gave it, what was not, and doubts."""

from __future__ import annotations

from typing import NamedTuple

import msgspec

from diagnose.observations import FindingSeen, Measurement, Observation, WordEvidence
from diagnose.rule_book.types import Reading

_SHORT = 60


class Statement(msgspec.Struct, frozen=True, kw_only=True):
    """One thing understood: a finding present or absent, or a quantity with its value (SI) and its own unit."""

    quote: str
    finding: str = ""
    present: bool | None = None
    quantity: str = ""
    value: Reading | str | None = None
    unit: str = ""


class Understanding(msgspec.Struct, frozen=True):
    """All that a text says, in its order; clauses without anything understood; questions back; its words as a whole."""

    understood: tuple[Statement, ...]
    not_understood: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    worded: WordEvidence | None = None

    def observations(self) -> tuple[Observation, ...]:
        """Return what was understood, as observations of a session."""
        understood = tuple(_observation(item) for item in self.understood)
        return understood if self.worded is None else (*understood, self.worded)


class Said(NamedTuple):
    """Something found in one sentence: what it is (or the doubt about it), which words gave it, how specific it is.

    ``names`` are the first and last words of each name of a quantity that has a figure.
    """

    first: int
    last: int
    item: Statement | None = None
    doubt: str = ""
    rank: tuple[int, int] = (1, 0)
    names: tuple[tuple[int, int], ...] = ()


def _observation(item: Statement) -> Observation:
    if item.finding:
        return FindingSeen(finding=item.finding, present=bool(item.present), quote=item.quote)
    value = 0.0 if item.value is None else item.value
    return Measurement(quantity=item.quantity, value=value, quote=item.quote)


def shortened(text: str, length: int = 2 * _SHORT) -> str:
    """Return a text on one line, cut when it is long."""
    text = " ".join(text.split())
    return text if len(text) <= length else text[: length - 1] + "…"


def is_short(text: str) -> bool:
    """Tell whether a clause is short enough to be quoted whole."""
    return len(text) <= _SHORT
