"""What a reading should be if all is well, in words: worked out from the data sheet, else by the limits of rules."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.calculated import with_calculated
from diagnose.rule_book.condition_types import AnyOf, Condition, FindingIs, Operand, Relation
from diagnose.rule_book.conditions import compared, names_in, truth
from diagnose.rule_book.limits import value_of
from diagnose.rule_book.quantities import Quantity
from diagnose.rule_book.rules import InferenceRule
from diagnose.rule_book.work import Check

MOST_LIMITS = 2
"""Rules whose limits are named where nothing is worked out."""

_SIDES = {("below", True): "below", ("below", False): "at least", ("above", True): "above", ("above", False): "at most"}


def tolerance(expected: Quantity, measured: Quantity, value: float) -> str:
    """Return how far a reading may be from an expected value (SI): limits of meter and instrument together."""
    meter = expected.limits_of(value) / expected.si_factor
    instrument = measured.limits_of(value) / expected.si_factor
    if not meter and not instrument:
        return ""
    both = f" (meter {meter:.2g}, instrument {instrument:.2g})" if meter and instrument else ""
    return f" ± {math.hypot(meter, instrument):.2g}{both}"


def expected_of(
    rule_book: RuleBook, check: Check | None, quantity: str, findings: Mapping[str, bool], values: Mapping[str, Any]
) -> str:
    """Return what a reading is expected to be, "" where nothing says so.

    ``values`` are those known when it was taken (SI), the reading itself among them.
    """
    worked_out = _worked_out(rule_book, check, quantity, values)
    return worked_out or "; ".join(_limits(rule_book, quantity, findings, values)[:MOST_LIMITS])


def _worked_out(rule_book: RuleBook, check: Check | None, quantity: str, values: Mapping[str, Any]) -> str:
    if check is None or check.measures != quantity or not check.expect:
        return ""
    known = dict(values)
    if rule_book.quantities[check.expect].calculate:
        known.pop(check.expect, None)  # worked out anew from the readings taken with it
    value = with_calculated(rule_book, known).get(check.expect)
    if not isinstance(value, int | float):
        return ""
    expected = rule_book.quantities[check.expect]
    return expected.shown(value) + tolerance(expected, rule_book.quantities[quantity], value)


def _limits(
    rule_book: RuleBook, quantity: str, findings: Mapping[str, bool], values: Mapping[str, Any]
) -> tuple[str, ...]:
    """Return the limits within which rules find nothing wrong; those of this meter and this reading first."""
    fine = (each for each in rule_book.inference.values() if each.absent and not each.present and not each.doubtful)
    about = [each for each in fine if quantity in names_in(each.when)[1]]
    about.sort(key=lambda each: _order(each, quantity, findings, values))
    found = (_in_words(each.when, rule_book.quantities[quantity], findings, values) for each in about)
    return tuple(dict.fromkeys(each for each in found if each))


def _order(
    rule: InferenceRule, quantity: str, findings: Mapping[str, bool], values: Mapping[str, Any]
) -> tuple[bool, bool]:
    return not truth(rule.when, findings, values), len(names_in(rule.when)[1]) == 1


def _in_words(
    condition: Condition, quantity: Quantity, findings: Mapping[str, bool], values: Mapping[str, Any]
) -> str | None:
    """Return the limits that a condition sets for a quantity: "" for none, None where the rest of it does not hold."""
    if isinstance(condition, FindingIs) or (isinstance(condition, Relation) and condition.quantity != quantity.id):
        return "" if truth(condition, findings, values) else None
    if isinstance(condition, Relation):
        return _limit(condition, quantity, values)
    parts = [_in_words(each, quantity, findings, values) for each in condition.of]
    if isinstance(condition, AnyOf):
        return " or ".join(dict.fromkeys(each for each in parts if each)) or (None if None in parts else "")
    return None if None in parts else " and ".join(dict.fromkeys(each for each in parts if each))


def _limit(comparison: Relation, quantity: Quantity, values: Mapping[str, Any]) -> str | None:
    """Return the limits of a comparison in words; None of words, and where something that it goes by is not known."""
    if comparison.relation == "one of":
        return None
    others = set(compared(comparison)) - {quantity.id}
    if any(not isinstance(values.get(name), int | float) for name in others):
        return None
    limits = [_shown(each, quantity, values) for each in comparison.operands]
    if comparison.relation == "between":
        text = limits[0] if limits[0] == limits[1] else f"{limits[0]} to {limits[1]}"
        return text if comparison.holds else f"not {text}"
    return f"{_SIDES[comparison.relation, comparison.holds]} {limits[0]}"


def _shown(operand: Operand, quantity: Quantity, values: Mapping[str, Any]) -> str:
    figures = {name: value for name, value in values.items() if isinstance(value, int | float)}
    return quantity.shown(value_of(operand, figures))
