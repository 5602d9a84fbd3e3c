"""What the inference rules say of one figure that somebody worked out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.conditions import names_in, truth
from diagnose.rule_book.quantities import Quantity
from diagnose.rule_book.rules import InferenceRule


class Verdict(msgspec.Struct, frozen=True, kw_only=True):
    """What a rule concludes of a figure: findings that are then present (none: all is as it should be), and why."""

    because: str
    source: str
    present: tuple[str, ...]


def verdicts(rule_book: RuleBook, calculation: str, value: Any) -> tuple[Verdict, ...]:
    """Return the verdicts of those rules that speak of this calculation's result alone.

    ``calculation`` is the name of a calculation, ``value`` its result in SI units or a word. Only quantities by which
    an installation is reviewed are judged so: others (a velocity at standstill) hold in their own circumstances only.
    """
    judged = [name for review in rule_book.reviews.values() for name in review.shows]
    quantities = [rule_book.quantities[name] for name in dict.fromkeys(judged)]
    alone = [(frozenset[str](), frozenset({each.id})) for each in quantities if _by(each, calculation)]
    return tuple(
        _verdict(rule_book, rule)
        for findings, names in alone
        for rule in rule_book.inference.values()
        if names_in(rule.when) == (findings, names) and truth(rule.when, {}, dict.fromkeys(names, value))
    )


def _by(quantity: Quantity, calculation: str) -> bool:
    return quantity.calculate is not None and quantity.calculate.function == calculation


def said_of(
    rule_book: RuleBook, quantity: str, findings: Mapping[str, bool], values: Mapping[str, Any]
) -> tuple[str, ...]:
    """Return what the rules that speak of a quantity say, those first that find something present.

    ``findings`` are those known, ``values`` SI figures and words; rules that need more than both are silent.
    """
    fired = fired_by(rule_book, quantity, findings, values)
    return tuple(dict.fromkeys(rule.because for rule in sorted(fired, key=lambda rule: not rule.present)))


def fired_by(
    rule_book: RuleBook, quantity: str, findings: Mapping[str, bool], values: Mapping[str, Any]
) -> tuple[InferenceRule, ...]:
    """Return the rules that speak of a quantity, or of what is calculated from it, and hold."""
    about = _derived_from(rule_book, quantity)
    speaking = (rule for rule in rule_book.inference.values() if names_in(rule.when)[1] & about)
    return tuple(rule for rule in speaking if truth(rule.when, findings, values))


def _derived_from(rule_book: RuleBook, quantity: str) -> set[str]:
    """Return a quantity and all that is calculated from it."""
    about = {quantity}
    while True:
        more = {
            item.id
            for item in rule_book.quantities.values()
            if item.calculate and item.id not in about and about & set(item.calculate.inputs.values())
        }
        if not more:
            return about
        about |= more


def _verdict(rule_book: RuleBook, rule: InferenceRule) -> Verdict:
    titles = tuple(rule_book.findings[name].title for name in rule.present)
    return Verdict(because=rule.because, source=rule_book.sources[rule.source].citation, present=titles)
