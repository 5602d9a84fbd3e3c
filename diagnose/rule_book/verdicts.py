"""What the inference rules say of one figure that somebody worked out."""

from __future__ import annotations

from typing import Any

import msgspec

from diagnose.rule_book.conditions import names_in, truth
from diagnose.rule_book.types import InferenceRule, RuleBook


class Verdict(msgspec.Struct, frozen=True, kw_only=True):
    """What a rule concludes of a figure: findings that are then present (none: all is as it should be), and why."""

    because: str
    source: str
    present: tuple[str, ...]


def verdicts(rule_book: RuleBook, calculation: str, value: Any) -> tuple[Verdict, ...]:
    """Return the verdicts of those rules that speak of this calculation's result alone.

    ``calculation`` is the name of a calculation, ``value`` its result in SI units or a word.
    """
    found: list[Verdict] = []
    for quantity in rule_book.quantities.values():
        if quantity.calculate is None or quantity.calculate.function != calculation:
            continue
        for rule in rule_book.inference.values():
            if names_in(rule.when) == (frozenset(), frozenset({quantity.id})):
                if truth(rule.when, {}, {quantity.id: value}):
                    found.append(_verdict(rule_book, rule))
    return tuple(dict.fromkeys(found))


def _verdict(rule_book: RuleBook, rule: InferenceRule) -> Verdict:
    titles = tuple(rule_book.findings[name].title for name in rule.present)
    return Verdict(because=rule.because, source=rule_book.sources[rule.source].citation, present=titles)
