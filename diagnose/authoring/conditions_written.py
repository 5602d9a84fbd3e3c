"""Conditions of rules as an author writes them: figures in their unit, ``at-least`` in place of *not below*."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.rule_book.condition_types import AnyOf, Condition, FindingIs, Operand, Relation
from diagnose.rule_book.quantities import Quantity
from diagnose.units import show

_WORDS = {
    ("below", True): "below",
    ("below", False): "at-least",
    ("above", True): "above",
    ("above", False): "at-most",
    ("one of", True): "is",
    ("one of", False): "is not",
    ("between", True): "between",
    ("between", False): "not between",
}


def condition_written(condition: Condition, quantities: Mapping[str, Quantity]) -> str:
    """Return a condition in one line."""
    if isinstance(condition, FindingIs):
        return f"{condition.finding}: {'present' if condition.present else 'absent'}"
    if isinstance(condition, Relation):
        return _compared(condition, quantities[condition.quantity])
    joined = ", ".join(f"({condition_written(each, quantities)})" for each in condition.of)
    return f"{'any' if isinstance(condition, AnyOf) else 'all'}: {joined}"


def _compared(condition: Relation, quantity: Quantity) -> str:
    limits = [*condition.choices, *(_operand(each, quantity) for each in condition.operands)]
    words = _WORDS[condition.relation, condition.holds]
    if condition.relation == "between" and len(set(limits)) == 1:
        words, limits = ("equals" if condition.holds else "differs-from"), limits[:1]
    return f"{quantity.id} {words} {' and '.join(limits) if condition.operands else ' or '.join(limits)}"


def _operand(operand: Operand, quantity: Quantity) -> str:
    """Return what is compared with: a figure, shares of other quantities, or both, and the tolerance."""
    parts = [name if share == 1 else f"{100 * share:g} % of {name}" for share, name in operand.terms]
    if operand.terms and operand.constant:  # what is added is a difference: no offset of the unit
        parts.append(show(operand.constant, quantity.unit, quantity.si_factor))
    elif not operand.terms:
        parts.append(quantity.shown(operand.constant))
    tolerance = {-1: " less the tolerance", 1: " plus the tolerance"}.get(operand.sign, "")
    return f"{' + '.join(parts)}{tolerance}".replace("+ -", "- ")
