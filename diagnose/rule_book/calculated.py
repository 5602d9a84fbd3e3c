"""Quantities that follow from others: worked out as soon as all that goes into them is known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import islice

from diagnose.errors import OutOfRange
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import Calculation, Limit, Quantity, Value
from diagnose.terms import vocabulary
from diagnose.units import read_measurement, unit_info


def with_calculated(rule_book: RuleBook, values: Mapping[str, Value]) -> dict[str, Value]:
    """Return ``values`` with every calculated quantity whose inputs are known; a measured value is not replaced.

    From a limit nothing is worked out. An input that may be unknown counts as none only once nothing gives it any more,
    and never where part of it was told (a cable of which only the length is known).
    """
    result = dict(values)
    waiting = [each for each in rule_book.quantities.values() if each.calculate and each.id not in result]
    while ready := _ready(rule_book, waiting, result):
        for quantity in ready:
            waiting.remove(quantity)
            calculated = _calculate(rule_book, quantity.calculate, result)
            if calculated is not None:
                result[quantity.id] = calculated
    return result


def told_in_part(rule_book: RuleBook, quantity: str, values: Mapping[str, Value]) -> bool:
    """Tell whether something is known of what a quantity is calculated from, though not all."""
    item = rule_book.quantities.get(quantity)
    if quantity in values or item is None or item.calculate is None:
        return False
    sources = item.calculate.sources
    return any(source in values or told_in_part(rule_book, source, values) for source in sources)


def _ready(rule_book: RuleBook, waiting: Sequence[Quantity], values: Mapping[str, Value]) -> list[Quantity]:
    """Return what can be worked out now: all whose inputs are all known; else one that does without some.

    One at a time, for what it gives may be an input of another that could do without it.
    """
    possible = [each for each in waiting if each.calculate and _inputs(each.calculate, values) is not None]
    complete = [each for each in possible if not _lacks(each, values)]
    if complete:
        return complete
    could = _could_follow(waiting, values)
    settled = (
        each
        for each in possible
        if not any(name in could or told_in_part(rule_book, name, values) for name in _lacks(each, values))
    )
    return list(islice(settled, 1))


def _lacks(quantity: Quantity, values: Mapping[str, Value]) -> list[str]:
    """Return the inputs that may be unknown and are."""
    calculate = quantity.calculate
    if calculate is None:
        return []
    return [calculate.inputs[name] for name in calculate.may_be_unknown if calculate.inputs[name] not in values]


def _could_follow(waiting: Sequence[Quantity], values: Mapping[str, Value]) -> set[str]:
    """Return the quantities that are still to be worked out from what is known."""
    could: set[str] = set()
    while True:
        known = {**values, **dict.fromkeys(could, 0.0)}
        more = {each.id for each in waiting if each.calculate and _inputs(each.calculate, known) is not None} - could
        if not more:
            return could
        could |= more


def _calculate(rule_book: RuleBook, calculation: Calculation | None, values: Mapping[str, Value]) -> float | str | None:
    inputs = _inputs(calculation, values) if calculation else None
    if calculation is None or inputs is None:
        return None
    from diagnose.calculations import FUNCTIONS  # some thirty modules: not before a figure is worked out
    from diagnose.calculations.solving import evaluate

    try:
        with vocabulary(rule_book.quantities):
            result: float | str = evaluate(FUNCTIONS[calculation.function], inputs)
    except OutOfRange:
        return None  # what was entered makes no sense for this calculation; rules that want it stay silent
    return result


def _inputs(calculation: Calculation, values: Mapping[str, Value]) -> dict[str, Value] | None:
    """Return what goes into a calculation, or None while something that it needs is unknown or only a limit."""
    inputs: dict[str, Value] = {}
    for name in calculation.inputs:
        source = calculation.source(name, values)
        value = values.get(source)
        if value is None and source not in values:
            figure = read_measurement(source)
            value = figure.number * unit_info(figure.unit).factor if figure else None
        if isinstance(value, Limit) or (value is None and name not in calculation.may_be_unknown):
            return None
        if value is None:
            continue
        inputs[name] = float(value) if isinstance(value, int | float) else value
    return inputs
