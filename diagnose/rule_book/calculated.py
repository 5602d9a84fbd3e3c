"""Quantities that follow from others: worked out as soon as all that goes into them is known."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.errors import OutOfRange
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import Calculation, Limit, Value
from diagnose.terms import vocabulary
from diagnose.units import read_measurement, unit_info


def with_calculated(rule_book: RuleBook, values: Mapping[str, Value]) -> dict[str, Value]:
    """Return ``values`` with every calculated quantity whose inputs are known; a measured value is not replaced.

    From a limit nothing is worked out.
    """
    result = dict(values)
    waiting = [each for each in rule_book.quantities.values() if each.calculate and each.id not in result]
    while True:
        ready = [each for each in waiting if each.calculate and _inputs(each.calculate, result) is not None]
        if not ready:
            return result
        for quantity in ready:
            waiting.remove(quantity)
            calculated = _calculate(rule_book, quantity.calculate, result)
            if calculated is not None:
                result[quantity.id] = calculated


def _calculate(rule_book: RuleBook, calculation: Calculation | None, values: Mapping[str, Value]) -> float | str | None:
    inputs = _inputs(calculation, values) if calculation else None
    if calculation is None or inputs is None:
        return None
    from diagnose.calculations import FUNCTIONS  # some thirty modules: not before a figure is worked out

    try:
        with vocabulary(rule_book.quantities):
            result: float | str = FUNCTIONS[calculation.function](**inputs)
    except OutOfRange:
        return None  # what was entered makes no sense for this calculation; rules that want it stay silent
    return result


def _inputs(calculation: Calculation, values: Mapping[str, Value]) -> dict[str, Value] | None:
    """Return what goes into a calculation, or None while something that it needs is unknown or only a limit."""
    inputs: dict[str, Value] = {}
    for name, source in calculation.inputs.items():
        value = values.get(source)
        if value is None and source not in values:
            figure = read_measurement(source)
            value = figure.number * unit_info(figure.unit).factor if figure else None
        if isinstance(value, Limit) or (value is None and name not in calculation.may_be_unknown):
            return None
        if value is None:
            continue
        inputs[name.replace("-", "_")] = float(value) if isinstance(value, int | float) else value
    return inputs
