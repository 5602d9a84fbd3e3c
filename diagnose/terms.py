"""Terms: inputs and results of calculations, with their titles, units and limits.

Each is a quantity of the rule book and stands there alone, in YAML. Calculations name terms; what a name means is
looked up when something is worked out, in the vocabulary in use (the rule book of whoever asks) and then in the shipped
one, which is read when it is first needed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from pathlib import Path
from typing import Any

import msgspec

from diagnose.bounded import files_below
from diagnose.entry import Entry
from diagnose.errors import OutOfRange, ProblemsFound
from diagnose.shipped import shipped_folder
from diagnose.units import NUMBER, in_inches, is_unit, read_measurement, show, to_si, unit_info

ANY_UNIT = "any"
"""The unit of a term that accepts any unit."""

LIMITS = ("above", "at-least", "at-most")
"""Limits as an author writes them, each a figure with its unit."""


class Term(Entry, frozen=True, kw_only=True):
    """A named input or result.

    A figure has a ``unit`` for people ("" for a plain number; inside, figures are SI) and may have limits in SI. A word
    has ``choices``; ``text`` marks a plain text (the bytes of a frame), ``list_of_figures`` several figures. ``short``
    are other names on the command line; ``example`` shows people one. ``without_unit`` are forms with ``#`` for the
    figure in which people leave the unit out (``DN #``), each with what is to be said of it, or nothing.
    ``turned_round`` is the unit of what people may give in its place, one over it (pulses per volume).
    ``shares`` say of how many meters each word is so, for those of which nobody has said. ``figures`` and
    ``words_with`` are figures and words of other terms that go with each word.
    """

    title: str
    unit: str = ""
    symbol: str = ""
    above: float | None = None
    at_least: float | None = None
    at_most: float | None = None
    choices: tuple[str, ...] = ()
    text: bool = False
    list_of_figures: bool = False
    short: tuple[str, ...] = ()
    example: str = ""
    without_unit: dict[str, str] = msgspec.field(default_factory=dict)
    turned_round: str = ""
    figures: dict[str, dict[str, tuple[float, ...]]] = msgspec.field(default_factory=dict)
    figures_from: dict[str, str] = msgspec.field(default_factory=dict)
    shares: dict[str, float] = msgspec.field(default_factory=dict)
    words_with: dict[str, dict[str, str]] = msgspec.field(default_factory=dict)

    def figures_of(self, term: str, word: str) -> tuple[float, ...]:
        """Return the figures (SI) of another term that go with a word: one, or lowest and highest.

        Raises OutOfRange where the vocabulary gives none.

        >>> TERMS["flow-disturbance"].figures_of("required-run-upstream", "pump")
        (10.0,)
        """
        found = self.figures.get(term, {}).get(word)
        if not found:
            raise OutOfRange(f"no figure is known for {TERMS[term].title} with `{word}`")
        return found

    def word_with(self, term: str, word: str) -> str:
        """Return the word of another term that goes with a word.

        Raises OutOfRange where the vocabulary gives none.

        >>> TERMS["pipe"].word_with("needed-earthing", "bare metal")
        'flanges bonded'
        """
        found = self.words_with.get(term, {}).get(word)
        if not found:
            raise OutOfRange(f"no {TERMS[term].title} is known for {self.title} with `{word}`")
        return found

    def share_of(self, word: str) -> float:
        """Return of how many meters a word is so, from 0 to 1.

        Raises OutOfRange where the vocabulary does not say.

        >>> TERMS["register-order"].share_of("bytes swapped") < TERMS["register-order"].share_of("as it is")
        True
        """
        if word not in self.shares:
            raise OutOfRange(f"nothing says how often {self.title} is `{word}`")
        return self.shares[word]

    def with_unit(self, text: str) -> tuple[str, str]:
        """Return what was written with the unit that went without saying, and what is to be said of that.

        >>> TERMS["bus-baud-rate"].with_unit("9600"), TERMS["bore"].with_unit("DN100 mm")[0]
        (('9600 baud', ''), '100 mm')
        >>> TERMS["bus-baud-rate"].with_unit("9.6k")[0], TERMS["bore"].with_unit("1 1/2 in")[0]
        ('9.6 kbaud', '1.5 in')
        >>> TERMS["pulse-value"].with_unit("100 p/m3")
        ('10 L', '`100 p/m3` is taken as 10 L: so many to one, turned round')
        """
        for form, remark in self.without_unit.items():
            before, _, behind = (re.escape(each.strip()) for each in form.partition("#"))
            own = rf"(?:{re.escape(self.unit)})?" if before else ""
            match = re.fullmatch(rf"{before}\s*((?>{NUMBER}))\s*{behind}{own}", text.strip(), re.IGNORECASE)
            if match:
                full = f"{match[1]} {self.unit}"
                return full, remark and f"`{text.strip()}` is taken as {full}: {remark}"
        return self._in_thousands(text) or in_inches(text) or self._turned_round(text) or (text, "")

    def _in_thousands(self, text: str) -> tuple[str, str] | None:
        """Return a figure with nothing but `k` behind it in thousands of a unit that people leave out."""
        match = re.fullmatch(rf"((?>{NUMBER}))\s*k", text.strip())
        return (f"{match[1]} k{self.unit}", "") if match and "#" in self.without_unit else None

    def _turned_round(self, text: str) -> tuple[str, str] | None:
        """Return one over a figure that says so many of something else to what is asked for (`100 p/m3`)."""
        measured = read_measurement(text) if self.turned_round else None
        if measured is None or not measured.number or not is_unit(measured.unit):
            return None
        info, asked = unit_info(measured.unit), unit_info(self.turned_round)
        if info.dimension != asked.dimension or info.dimension == unit_info(self.unit).dimension:
            return None
        value = 1 / (measured.number * info.factor)
        own = unit_info(self.unit)
        shown = f"{value / own.factor:.12g} {self.unit}"
        return shown, f"`{text.strip()}` is taken as {self.exactly(value)}: so many to one, turned round"

    @property
    def is_figure(self) -> bool:
        """Whether a value of this term is a single figure in SI units."""
        return not (self.choices or self.text or self.list_of_figures)

    def exactly(self, value: Any, digits: int = 5) -> str:
        """Format a value (SI) for people who calculate.

        >>> TERMS["flow"].exactly(0.01)
        '36 m3/h'
        """
        if isinstance(value, tuple):
            return ", ".join(self.exactly(each, digits) for each in value) or "none"
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
                raise OutOfRange(f"{self.title} must be {words} {self.exactly(limit)}; it is {self.exactly(value)}")


def _rounding(value: float) -> float:
    """Return the tolerance of a limit for rounding errors of conversion."""
    return 1e-12 * abs(value)


_IN_USE: ContextVar[Mapping[str, Term]] = ContextVar("vocabulary in use", default={})  # noqa: B039 - never changed


@contextmanager
def vocabulary(terms: Mapping[str, Term]) -> Iterator[None]:
    """Let names mean what they mean in ``terms`` (the quantities of a rule book) for as long as the block runs."""
    token = _IN_USE.set(terms)
    try:
        yield
    finally:
        _IN_USE.reset(token)


class _Vocabulary(Mapping[str, Term]):
    """The terms of the vocabulary in use; those that it lacks are the shipped ones."""

    def __getitem__(self, name: str) -> Term:
        in_use = _IN_USE.get()
        return in_use[name] if name in in_use else shipped_terms()[name]

    def __iter__(self) -> Iterator[str]:
        return iter({**shipped_terms(), **_IN_USE.get()})

    def __len__(self) -> int:
        return len(shipped_terms().keys() | _IN_USE.get().keys())


TERMS: Mapping[str, Term] = _Vocabulary()
"""Name → term."""


@cache
def shipped_terms() -> Mapping[str, Term]:
    """Return the terms of the shipped rule book.

    Raises ProblemsFound when its files cannot be read.
    """
    folder = shipped_folder("rules") / "quantities"
    return {term.id: term for path in files_below(folder, "*.yaml") for term in _terms_in(path)}


def _terms_in(path: Path) -> Iterator[Term]:
    from diagnose.yaml_places import read_document  # loads YAML, which nobody waits for whose rule book has the terms

    document = read_document(path, path.name)
    if document.problems:
        raise ProblemsFound(document.problems)
    fields = {each.encode_name for each in msgspec.structs.fields(Term)}
    for entry in document.data["entries"]:
        told = {key: value for key, value in entry.items() if key in fields}
        unit = told.get("unit", "")
        told |= {key: _in_si(told[key], unit) for key in LIMITS if key in told}
        told["figures"] = figures_in_si(told.get("figures"))
        yield msgspec.convert({**told, "short": _listed(told.get("short"))}, Term)


def figures_in_si(written: Any) -> Any:
    """Return the figures that go with words, each in SI; what is not written as such is left for others to refuse."""
    if not isinstance(written, dict):
        return written or {}
    return {
        term: {word: [_by_itself(each) for each in _some(figures)] for word, figures in rows.items()}
        if isinstance(rows, dict)
        else rows
        for term, rows in written.items()
    }


def _by_itself(written: Any) -> float:
    """Return a figure in SI by the unit that stands beside it."""
    measured = read_measurement(str(written))
    return to_si(measured.number, measured.unit, measured.unit) if measured else math.nan


def _some(written: Any) -> list[Any]:
    return written if isinstance(written, list) else [written]


def _in_si(written: Any, unit: str) -> float:
    measured = read_measurement(str(written))
    return to_si(measured.number, measured.unit, unit) if measured else math.nan


def _listed(written: Any) -> Any:
    return [written] if isinstance(written, str) else written or []
