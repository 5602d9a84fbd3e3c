"""Applies calculations to known values until nothing more follows.

Figures may have an uncertainty; the `uncertainties` library then propagates it to first order (JCGM 100:2008, 5.1.2),
including correlations from common inputs.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.calculations.calculation import AnyCalculation, Table
from diagnose.errors import OutOfRange

SAME_WITHIN = 0.005
"""Relative difference up to which a given value and a calculated one agree."""


@dataclass(frozen=True, slots=True)
class Result:
    """The result of one calculation, with its inputs (SI) and the defaults that were used."""

    calculation: AnyCalculation
    inputs: Mapping[str, Any]
    taken: Mapping[str, Any]
    result: Any

    @property
    def table(self) -> Table | None:
        """The result if it is a table."""
        return self.result if isinstance(self.result, Table) else None


@dataclass(frozen=True, slots=True)
class Solution:
    """All results that follow from the given values; refused calculations, contradictions, and unused values."""

    worked: tuple[Result, ...]
    refused: tuple[tuple[AnyCalculation, str], ...]
    contradictions: tuple[Result, ...]
    unused: tuple[str, ...]


def solve(given: Mapping[str, Any], calculations: Iterable[AnyCalculation]) -> Solution:
    """Return everything that follows from ``given`` (term → SI value, figures possibly with uncertainty).

    Each term is calculated once, by the first calculation that can. Given values are never replaced, but contradictions
    are reported. A default is used only if nothing gives the term.
    """
    known = dict(given)
    waiting = list(calculations)
    worked: list[Result] = []
    refused: list[tuple[AnyCalculation, str]] = []
    while (ready := _next_ready(waiting, known)) is not None:
        waiting.remove(ready)
        taken = {name: value for name, value in ready.assumed.items() if name not in known}
        inputs = {name: known[name] for name in ready.inputs if name in known}
        try:
            result = evaluate(ready, {**inputs, **taken})
        except OutOfRange as error:
            refused.append((ready, str(error)))
            continue
        worked.append(Result(ready, inputs, taken, result))
        if ready.gives:
            known[ready.gives] = result
    contradictions = _contradictions(given, waiting)
    used = {name for each in (*worked, *contradictions) for name in each.inputs}
    used |= {name for each, _ in refused for name in each.inputs} | {each.calculation.gives for each in contradictions}
    return Solution(
        worked=tuple(worked),
        refused=tuple(refused),
        contradictions=contradictions,
        unused=tuple(name for name in given if name not in used),
    )


def nominal(value: Any) -> Any:
    """Return a value without its uncertainty."""
    return getattr(value, "nominal_value", value)


def standard_uncertainty(value: Any) -> float:
    """Return the standard uncertainty of a value; zero if it has none."""
    return float(getattr(value, "std_dev", 0.0))


def _next_ready(waiting: list[AnyCalculation], known: Mapping[str, Any]) -> AnyCalculation | None:
    possible = [each for each in waiting if each.gives not in known and all(name in known for name in each.required)]
    complete = (each for each in possible if all(name in known for name in each.inputs))
    return next(complete, None) or _settled(possible, waiting, known) or next(iter(possible), None)


def _settled(
    possible: list[AnyCalculation], waiting: list[AnyCalculation], known: Mapping[str, Any]
) -> AnyCalculation | None:
    """Return a calculation that goes without nothing that others could still give, or None."""
    for each in possible:
        without = set(each.inputs) - known.keys()
        others = [other for other in waiting if other is not each and other.gives != each.gives]
        if not without & _could_follow(others, known):
            return each
    return None


def _could_follow(calculations: Iterable[AnyCalculation], known: Mapping[str, Any]) -> set[str]:
    """Return the terms that calculations could still give, directly or by one another."""
    could: set[str] = set()
    while True:
        have = {*known, *could}
        more = {each.gives for each in calculations if each.gives and have.issuperset(each.required)} - have
        if not more:
            return could
        could |= more


def evaluate(calculation: AnyCalculation, values: Mapping[str, Any]) -> Any:
    """Return the result of a calculation for values (SI), with its uncertainty where one of them has one.

    Raises OutOfRange outside the range of validity.
    """
    if not any(standard_uncertainty(value) for value in values.values()):
        return calculation.work_out({name: nominal(value) for name, value in values.items()})
    plain = calculation.work_out({name: nominal(value) for name, value in values.items()})
    if not isinstance(plain, float):
        return plain
    import uncertainties

    names = tuple(name.replace("-", "_") for name in values)

    def positional(*figures: float) -> float:
        # Not checked against limits: the derivative at a limit needs values beyond it.
        return float(calculation.function(**dict(zip(names, figures, strict=True))))

    return uncertainties.wrap(positional)(*values.values())


def _contradictions(given: Mapping[str, Any], waiting: Iterable[AnyCalculation]) -> tuple[Result, ...]:
    """Return the calculations whose result differs from the given value, though all their inputs are known."""
    found: list[Result] = []
    for each in waiting:
        if not each.gives or each.gives not in given or not all(name in given for name in each.required):
            continue
        inputs = {name: given[name] for name in each.inputs if name in given}
        taken = {name: value for name, value in each.assumed.items() if name not in given}
        try:
            result = evaluate(each, {**inputs, **taken})
        except OutOfRange:
            continue
        if not _same(given[each.gives], result) and not any(_same_terms(each, other) for other in found):
            found.append(Result(each, inputs, taken, result))
    return tuple(found)


def _same_terms(one: AnyCalculation, other: Result) -> bool:
    return {*one.inputs, one.gives} == {*other.calculation.inputs, other.calculation.gives}


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, str) or isinstance(other, str):
        return bool(one == other)
    spread = 2 * (standard_uncertainty(one) + standard_uncertainty(other))
    distance = abs(nominal(one) - nominal(other))
    return bool(distance <= spread + SAME_WITHIN * max(abs(nominal(one)), abs(nominal(other))))


def could_follow(given: Iterable[str], calculations: Iterable[AnyCalculation]) -> tuple[AnyCalculation, ...]:
    """Return the calculations that need some of the given terms and lack others, fewest missing first."""
    have = set(given)
    near = [each for each in calculations if have & set(each.inputs) and set(each.required) - have]
    return tuple(sorted(near, key=lambda each: len(set(each.required) - have)))
