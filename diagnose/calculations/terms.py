"""Terms: inputs and results of calculations, with their names, titles, units and limits, each declared once.

The name of a term is that of the function argument, with hyphens; ``unit`` is for people, figures inside are in SI.
Every calculation that uses a term checks its limits.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.errors import OutOfRange
from diagnose.units import show, unit_info

ANY_UNIT = "any"
"""The unit of a term that accepts any unit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """A named input or result.

    A figure has a ``unit`` ("" for a plain number) and may have limits in SI: greater than ``above``, not less than
    ``at_least``, not more than ``at_most``. A word has ``choices``; ``text`` marks a plain text (the bytes of a frame),
    ``several`` a list of figures. ``short`` are other names on the command line; ``example`` shows people one.
    """

    name: str
    title: str
    unit: str = ""
    symbol: str = ""
    above: float | None = None
    at_least: float | None = None
    at_most: float | None = None
    choices: tuple[str, ...] = ()
    text: bool = False
    several: bool = False
    short: tuple[str, ...] = ()
    example: str = ""

    @property
    def is_figure(self) -> bool:
        """Whether a value of this term is a single figure in SI units."""
        return not (self.choices or self.text or self.several)

    def shown(self, value: Any, digits: int = 5) -> str:
        """Format a value (SI) for people.

        >>> TERMS["flow"].shown(0.01)
        '36 m3/h'
        """
        if isinstance(value, tuple):
            return ", ".join(self.shown(each, digits) for each in value) or "none"
        if isinstance(value, str):
            return value
        if self.unit == ANY_UNIT:
            return f"{value:.{digits}g}"
        info = unit_info(self.unit)
        return show(float(value), self.unit, info.factor, info.offset, digits)

    def check(self, value: Any) -> None:
        """Raise OutOfRange if a value (SI) is outside the limits of this term."""
        if isinstance(value, tuple):
            for each in value:
                self.check(each)
        elif self.choices and value not in self.choices:
            raise OutOfRange(f"{self.title} must be one of: {', '.join(self.choices)}; it is `{value}`")
        elif self.text and not isinstance(value, str):
            raise OutOfRange(f"{self.title} must be a text; it is `{value}`")
        elif isinstance(value, int | float):
            self._check_figure(float(value))
        elif self.is_figure:
            raise OutOfRange(f"{self.title} must be a figure; it is `{value}`")

    def _check_figure(self, value: float) -> None:
        if not math.isfinite(value):
            raise OutOfRange(f"{self.title} must be a finite number")
        limits = (
            (self.above, "greater than", self.above is not None and value <= self.above),
            (self.at_least, "not less than", self.at_least is not None and value < self.at_least - _rounding(value)),
            (self.at_most, "not more than", self.at_most is not None and value > self.at_most + _rounding(value)),
        )
        for limit, words, broken in limits:
            if broken and limit is not None:
                raise OutOfRange(f"{self.title} must be {words} {self.shown(limit)}; it is {self.shown(value)}")


def _rounding(value: float) -> float:
    """Return the tolerance of a limit for rounding errors of conversion."""
    return 1e-12 * abs(value)


TERMS: dict[str, Term] = {}
"""Name → term. Filled by :func:`declare` when the modules of calculations are imported."""


def declare(*terms: Term) -> None:
    """Add terms to the table.

    Raises ValueError if a name is declared twice.
    """
    for term in terms:
        if term.name in TERMS:
            raise ValueError(f"the term `{term.name}` is declared twice")
        TERMS[term.name] = term


def by_any_name() -> Mapping[str, Term]:
    """Return the terms by their names and short names."""
    return {name: term for term in TERMS.values() for name in (term.name, *term.short)}


# Terms of more than one subject.
declare(
    Term(name="flow", title="flow", unit="m3/h", symbol="Q", example="37.5 m3/h"),
    Term(name="velocity", title="mean velocity", unit="m/s", symbol="v", example="2 m/s"),
    Term(name="bore", title="inner diameter of the meter", unit="mm", symbol="D", above=0.0, example="100 mm"),
    Term(
        name="lower-range-value",
        title="flow at 4 mA (LRV)",
        unit="m3/h",
        symbol="LRV",
        short=("lrv",),
        example="0 m3/h",
    ),
    Term(
        name="upper-range-value",
        title="flow at 20 mA (URV)",
        unit="m3/h",
        symbol="URV",
        short=("urv",),
        example="100 m3/h",
    ),
    Term(
        name="conductivity",
        title="conductivity of the liquid",
        unit="uS/cm",
        symbol="σ",
        above=0.0,
        example="500 uS/cm",
    ),
    Term(name="temperature", title="temperature", unit="degC", symbol="t", example="20 degC"),
    Term(name="cable-length", title="length of the cable", unit="m", symbol="L", at_least=0.0, example="500 m"),
    Term(
        name="conductor-area",
        title="cross-section of a conductor",
        unit="mm2",
        symbol="A",
        above=0.0,
        example="0.75 mm2",
    ),
)
