"""How a calculation says of itself what it takes, what it gives, its formula, validity and source."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from types import ModuleType
from typing import Any, Generic, Literal, ParamSpec, TypeVar

from diagnose.calculations.terms import TERMS
from diagnose.errors import OutOfRange

P = ParamSpec("P")
R = TypeVar("R")

Judgement = Literal["", "fine", "doubtful", "wrong"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table: figures in it are SI and shown in ``unit``."""

    title: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """An answer of several rows, with what it comes to in words."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[float | str, ...], ...]
    verdict: str = ""
    judgement: Judgement = ""


class Calculation(Generic[P, R]):
    """A calculation as rules and people meet it; called like the function that it is made of.

    ``inputs`` are terms in the order of the arguments, ``defaults`` those that may be left out with what is then
    taken (SI); ``gives`` is the term of the result, or "" when the result is a table.
    """

    def __init__(
        self, function: Callable[P, R], *, gives: str, title: str, formula: str, source: str, valid: str
    ) -> None:
        functools.update_wrapper(self, function)
        self.function = function
        self.name = _kebab(function.__name__)
        self.gives, self.formula, self.source, self.valid = gives, formula, source, valid
        self.title = title or TERMS[gives].title
        self._signature = inspect.signature(function)
        parameters = self._signature.parameters.values()
        self.inputs = tuple(_kebab(each.name) for each in parameters)
        self.defaults = {_kebab(each.name): each.default for each in parameters if each.default is not each.empty}

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R:
        """Return the result.

        Raises OutOfRange when an input or the result is beyond the limits of its term.
        """
        for name, value in self._signature.bind(*args, **kwargs).arguments.items():
            TERMS[_kebab(name)].check(value)
        try:
            result = self.function(*args, **kwargs)
        except ArithmeticError as error:
            raise OutOfRange("these figures are too large or too small to work with") from error
        if self.gives:
            TERMS[self.gives].check(result)
        return result

    @property
    def required(self) -> tuple[str, ...]:
        """Return the inputs that must be given."""
        return tuple(name for name in self.inputs if name not in self.defaults)

    def work_out(self, values: Mapping[str, Any]) -> Any:
        """Return the result for ``values`` (term → SI); raises OutOfRange outside the range of validity."""
        given = {name.replace("-", "_"): values[name] for name in self.inputs if name in values}
        return self(**given)  # type: ignore[call-arg]


AnyCalculation = Calculation[..., Any]


def calculation(
    *, gives: str = "", title: str = "", formula: str, source: str, valid: str = ""
) -> Callable[[Callable[P, R]], Calculation[P, R]]:
    """Make a calculation of a pure function in SI units.

    Its arguments are named as terms and held to their limits. ``gives`` names the term of the result; one that returns
    a table has a ``title`` instead.
    """

    def of(function: Callable[P, R]) -> Calculation[P, R]:
        return Calculation(function, gives=gives, title=title, formula=formula, source=source, valid=valid)

    return of


def calculations_in(modules: Iterable[ModuleType]) -> tuple[AnyCalculation, ...]:
    """Return the calculations that modules define, in the order in which they stand there."""
    return tuple(
        each
        for module in modules
        for each in vars(module).values()
        if isinstance(each, Calculation) and each.__module__ == module.__name__
    )


def _kebab(name: str) -> str:
    return name.replace("_", "-")
