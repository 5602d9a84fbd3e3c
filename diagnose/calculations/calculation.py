"""Calculations with their inputs, result, formula, range of validity and source."""

from __future__ import annotations

import functools
import inspect
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from types import ModuleType
from typing import Any, Generic, ParamSpec, TypeVar

from diagnose.errors import OutOfRange
from diagnose.terms import TERMS

P = ParamSpec("P")
R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its figures are in SI and shown in ``unit``."""

    title: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A result with several rows, and a remark: what they show, as a plain fact. Rules alone judge."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[float | str, ...], ...]
    remark: str = ""


class CalculationFunction(Generic[P, R]):
    """A calculation for rules and for people; callable like the function that it wraps.

    ``inputs`` are terms in the order of the arguments, ``defaults`` the values (SI) of those that may be left out (an
    empty text: the calculation goes without), ``assumed`` those that are then taken;
    ``gives`` is the term of the result, or "" if the result is a table.
    """

    def __init__(
        self, function: Callable[P, R], *, gives: str, title: str, formula: str, source: str, valid: str
    ) -> None:
        functools.update_wrapper(self, function)
        self.function = function
        self.name = _kebab(function.__name__)
        self.gives, self.formula, self.source, self.valid = gives, formula, source, valid
        self._title = title
        self._signature = inspect.signature(function)
        parameters = self._signature.parameters.values()
        self.inputs = tuple(_kebab(each.name) for each in parameters)
        self.defaults = {_kebab(each.name): each.default for each in parameters if each.default is not each.empty}
        self.assumed = {name: value for name, value in self.defaults.items() if value != ""}

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R:
        """Return the result.

        Raises OutOfRange if an input or the result is outside the limits of its term.
        """
        for name, value in self._signature.bind(*args, **kwargs).arguments.items():
            TERMS[_kebab(name)].check(value)
        try:
            result = self.function(*args, **kwargs)
        except ArithmeticError as error:
            raise OutOfRange("these figures are too large or too small to work with") from error
        if self.gives:
            TERMS[self.gives].check(result)
        elif isinstance(result, Table) and not _is_finite(result):
            raise OutOfRange("these figures are too large or too small to work with")
        return result

    @property
    def title(self) -> str:
        """What it works out: the title of its result, or its own."""
        return self._title or TERMS[self.gives].title

    @property
    def required(self) -> tuple[str, ...]:
        """The inputs without a default."""
        return tuple(name for name in self.inputs if name not in self.defaults)

    def work_out(self, values: Mapping[str, Any]) -> Any:
        """Return the result for ``values`` (term → SI); raises OutOfRange outside the range of validity."""
        given = {name.replace("-", "_"): values[name] for name in self.inputs if name in values}
        return self(**given)  # type: ignore[call-arg]


AnyCalculation = CalculationFunction[..., Any]


def calculation(
    *, gives: str = "", title: str = "", formula: str, source: str, valid: str = ""
) -> Callable[[Callable[P, R]], CalculationFunction[P, R]]:
    """Turn a pure function in SI units into a calculation.

    Its arguments are named after terms and checked against their limits. ``gives`` names the term of the result; one
    that returns a table has a ``title`` instead.
    """

    def of(function: Callable[P, R]) -> CalculationFunction[P, R]:
        return CalculationFunction(function, gives=gives, title=title, formula=formula, source=source, valid=valid)

    return of


def calculations_in(modules: Iterable[ModuleType]) -> tuple[AnyCalculation, ...]:
    """Return the calculations that modules define, in order."""
    return tuple(
        each
        for module in modules
        for each in vars(module).values()
        if isinstance(each, CalculationFunction) and each.__module__ == module.__name__
    )


def _is_finite(table: Table) -> bool:
    return all(math.isfinite(cell) for row in table.rows for cell in row if isinstance(cell, float))


def _kebab(name: str) -> str:
    return name.replace("_", "-")
