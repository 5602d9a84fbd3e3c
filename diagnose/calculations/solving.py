"""From what is known to all that follows from it: calculations applied until none has anything to add.

Figures may carry an uncertainty; it is then propagated to first order (JCGM 100:2008, 5.1.2), common inputs and their
correlation included, by the `uncertainties` library.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.calculations.calculation import AnyCalculation, Table
from diagnose.errors import OutOfRange

SAME_WITHIN = 0.005
"""Relative difference up to which a given value and the one that follows from others count as the same."""


@dataclass(frozen=True, slots=True)
class Worked:
    """A calculation that was carried out: what went in (SI), what was taken for want of anything better, the result."""

    calculation: AnyCalculation
    inputs: Mapping[str, Any]
    taken: Mapping[str, Any]
    result: Any

    @property
    def table(self) -> Table | None:
        """Return the result when it is a table."""
        return self.result if isinstance(self.result, Table) else None


@dataclass(frozen=True, slots=True)
class Solved:
    """All that follows from what was given, and what was refused or does not fit."""

    worked: tuple[Worked, ...]
    refused: tuple[tuple[AnyCalculation, str], ...]
    contradictions: tuple[Worked, ...]
    unused: tuple[str, ...]


def solve(given: Mapping[str, Any], calculations: Iterable[AnyCalculation]) -> Solved:
    """Return what follows from ``given`` (term → SI value, figures possibly with uncertainty).

    A term is worked out once, by the first calculation that can; what was given is never replaced, but told when it
    contradicts. A default is used only when nothing gives the term.
    """
    known = dict(given)
    waiting = list(calculations)
    worked: list[Worked] = []
    refused: list[tuple[AnyCalculation, str]] = []
    while (ready := _next(waiting, known)) is not None:
        waiting.remove(ready)
        taken = {name: value for name, value in ready.defaults.items() if name not in known}
        inputs = {name: known[name] for name in ready.inputs if name in known}
        try:
            result = _worked_out(ready, {**inputs, **taken})
        except OutOfRange as error:
            refused.append((ready, str(error)))
            continue
        worked.append(Worked(ready, inputs, taken, result))
        if ready.gives:
            known[ready.gives] = result
    contradictions = _contradictions(given, waiting)
    used = {name for each in (*worked, *contradictions) for name in each.inputs}
    used |= {name for each, _ in refused for name in each.inputs} | {each.calculation.gives for each in contradictions}
    return Solved(
        worked=tuple(worked),
        refused=tuple(refused),
        contradictions=contradictions,
        unused=tuple(name for name in given if name not in used),
    )


def nominal(value: Any) -> Any:
    """Return a value without its uncertainty."""
    return getattr(value, "nominal_value", value)


def standard_uncertainty(value: Any) -> float:
    """Return the standard uncertainty of a value; zero when it has none."""
    return float(getattr(value, "std_dev", 0.0))


def _next(waiting: list[AnyCalculation], known: Mapping[str, Any]) -> AnyCalculation | None:
    able = [each for each in waiting if each.gives not in known and all(name in known for name in each.required)]
    complete = (each for each in able if all(name in known for name in each.inputs))
    return next(complete, None) or next(iter(able), None)


def _worked_out(calculation: AnyCalculation, values: Mapping[str, Any]) -> Any:
    if not any(standard_uncertainty(value) for value in values.values()):
        return calculation.work_out({name: nominal(value) for name, value in values.items()})
    plain = calculation.work_out({name: nominal(value) for name, value in values.items()})
    if not isinstance(plain, float):
        return plain
    import uncertainties

    names = tuple(name.replace("-", "_") for name in values)

    def positional(*figures: float) -> float:
        # Not held to the limits: the derivative at a limit is taken from beyond it.
        return float(calculation.function(**dict(zip(names, figures, strict=True))))

    return uncertainties.wrap(positional)(*values.values())


def _contradictions(given: Mapping[str, Any], waiting: Iterable[AnyCalculation]) -> tuple[Worked, ...]:
    """Return the calculations of which every input was given or has a default, and another result than theirs too."""
    found: list[Worked] = []
    for each in waiting:
        if not each.gives or each.gives not in given or not all(name in given for name in each.required):
            continue
        inputs = {name: given[name] for name in each.inputs if name in given}
        taken = {name: value for name, value in each.defaults.items() if name not in given}
        try:
            result = _worked_out(each, {**inputs, **taken})
        except OutOfRange:
            continue
        if not _same(given[each.gives], result) and not any(_alike(each, other) for other in found):
            found.append(Worked(each, inputs, taken, result))
    return tuple(found)


def _alike(one: AnyCalculation, other: Worked) -> bool:
    return {*one.inputs, one.gives} == {*other.calculation.inputs, other.calculation.gives}


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, str) or isinstance(other, str):
        return bool(one == other)
    spread = 2 * (standard_uncertainty(one) + standard_uncertainty(other))
    distance = abs(nominal(one) - nominal(other))
    return bool(distance <= spread + SAME_WITHIN * max(abs(nominal(one)), abs(nominal(other))))


def could_follow(given: Iterable[str], calculations: Iterable[AnyCalculation]) -> tuple[AnyCalculation, ...]:
    """Return the calculations that want something of what is given, those that miss least first."""
    have = set(given)
    near = [each for each in calculations if have & set(each.inputs) and set(each.required) - have]
    return tuple(sorted(near, key=lambda each: len(set(each.required) - have)))
