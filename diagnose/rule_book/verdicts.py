"""What the inference rules say of figures that somebody gave or worked out, and of a reading."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from typing import Any

import msgspec

from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.calculated import with_calculated
from diagnose.rule_book.conditions import names_in, truth
from diagnose.rule_book.limits import without_uncertainty
from diagnose.rule_book.quantities import Value
from diagnose.rule_book.rules import InferenceRule


class Verdict(msgspec.Struct, frozen=True, kw_only=True):
    """What a rule concludes: findings that are then present (none: all is as it should be), and why.

    ``of`` are the quantities that it rests on, and the calculations that give them. It is not ``sure`` where the
    uncertainty of the figures reaches across one of its limits, and ``doubtful`` where the figure is one to look at
    again though the rule finds nothing.
    """

    rule: str
    because: str
    source: str
    present: tuple[str, ...]
    of: frozenset[str]
    sure: bool = True
    doubtful: bool = False


def verdicts(rule_book: RuleBook, given: Mapping[str, Value], worked: Mapping[str, Value]) -> tuple[Verdict, ...]:
    """Return the verdicts of the rules that need nothing but these figures, those first that find something.

    ``given`` are quantities with SI figures (possibly with uncertainty) or words, ``worked`` calculations with their
    results. The rule book's own
    calculations go by what was given: a figure that was worked out is not held against what led to it. A result is
    judged under another name only where an installation is reviewed by a quantity of that name: others (a velocity at
    standstill) hold in their own circumstances only.
    """
    from diagnose.calculations import FUNCTIONS  # some thirty modules: not for the replies that import this module

    results = {FUNCTIONS[name].gives: value for name, value in worked.items()}
    values = {**with_calculated(rule_book, given), **results, **given}
    fired = dict(_judging(rule_book, values))
    judged = {name for rule in fired for name in names_in(rule_book.inference[rule].when)[1]}
    for name, function in _reviewed(rule_book, worked.keys()):
        if name not in values and FUNCTIONS[function].gives not in judged:
            also = _judging(rule_book, {**values, name: worked[function]})
            fired |= {rule: sure for rule, sure in also if name in names_in(rule_book.inference[rule].when)[1]}
    found = [_verdict(rule_book, rule_book.inference[rule], sure) for rule, sure in fired.items()]
    settled = (each for each in found if not (each.doubtful and any(_settles(other, each) for other in found)))
    return tuple(sorted(settled, key=lambda each: not each.present))


def _settles(one: Verdict, other: Verdict) -> bool:
    """Tell whether a verdict that rests on more says what another leaves doubtful."""
    return one.sure and not one.doubtful and one.of > other.of


def _judging(rule_book: RuleBook, values: Mapping[str, Any]) -> Iterator[tuple[str, bool]]:
    """Go through the rules that these values alone make true, or of which their uncertainty leaves open whether.

    Of the latter those that find something, and those that would hold if the figures were exact; with each whether it
    is sure.
    """
    plain = {name: without_uncertainty(each) for name, each in values.items()}
    for rule in rule_book.inference.values():
        exact = truth(rule.when, {}, plain)
        true = truth(rule.when, {}, values) if exact is not None else None
        if true:
            yield rule.id, True
        elif true is None and exact is not None and (exact or rule.present) and _knows_all(rule, values):
            yield rule.id, False


def _knows_all(rule: InferenceRule, values: Container[str]) -> bool:
    findings, quantities = names_in(rule.when)
    return not findings and all(name in values for name in quantities)


def _reviewed(rule_book: RuleBook, functions: Container[str]) -> Iterator[tuple[str, str]]:
    """Go through the quantities of reviews that one of these calculations gives, with its name."""
    for name in dict.fromkeys(name for review in rule_book.reviews.values() for name in review.shows):
        calculate = rule_book.quantities[name].calculate
        if calculate and calculate.function in functions:
            yield name, calculate.function


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
            if item.calculate and item.id not in about and about & set(item.calculate.sources)
        }
        if not more:
            return about
        about |= more


def _verdict(rule_book: RuleBook, rule: InferenceRule, sure: bool) -> Verdict:
    quantities = names_in(rule.when)[1]
    calculated = (rule_book.quantities[name].calculate for name in quantities)
    return Verdict(
        rule=rule.id,
        because=rule.because,
        source=rule_book.sources[rule.source].citation,
        sure=sure,
        doubtful=rule.doubtful,
        present=tuple(rule_book.findings[name].title for name in rule.present),
        of=frozenset({*quantities, *(each.function for each in calculated if each)}),
    )
