"""Reads the value of a term as people write it: SI figures, words, texts, lists of figures."""

from __future__ import annotations

import math
import re
from typing import Any, Literal

from diagnose.errors import OutOfRange, UnitError
from diagnose.place import did_you_mean
from diagnose.terms import ANY_UNIT, Term
from diagnose.units import WrittenFigure, read_measurement, refuse_unclear, taken_as, to_si, unit_info

Spread = Literal["standard", "expanded", "limits"]
"""Meaning of a figure after ±: a standard uncertainty, an expanded one (k = 2), or limits (rectangular)."""

DIVISORS: dict[Spread, float] = {"standard": 1.0, "expanded": 2.0, "limits": math.sqrt(3)}
"""Divisor that turns a figure after ± into a standard uncertainty (JCGM 100:2008, 4.3.7 for limits)."""

SMALLEST, LARGEST = 1e-30, 1e30
"""In SI units: nothing that is measured at a meter comes near either; what lies beyond was typed wrongly."""

MOST_UNCERTAIN = 1e6
"""A figure that may be so many times as large as it was read says nothing."""

_PLUS_MINUS = re.compile(r"±|\+/-|\+-")
_ONE_OF_SEVERAL = r"[-+−–]?+(?:\d++(?:'\d{3})*+)?+(?:[.,]\d++)*+(?:[eE][-+]?\d++)?+"
"""A figure among others with spaces between: a space in it would be a space between two."""

_SEVERAL = re.compile(rf"((?:{_ONE_OF_SEVERAL}\s++)+{_ONE_OF_SEVERAL})\s*+([^\d\s].*)?")


_RANGE = re.compile(
    r"(?P<low>\d+(?:[.,]\d+)?)\s*+(?:[^\W\d][^\s\d]{0,9}(?:3/[^\W\d]{1,4})?)?\s*+(?:[-–—…~]|\.{2,3}|to)\s*+(?P<high>\d+(?:[.,]\d+)?)\s*+"
    r"(?P<unit>[^\W\d].*+)?"
)
"""What is marked on a nameplate, not a figure: `100-240 V`."""

_HEXADECIMAL = re.compile(r"0x[0-9a-f]{1,8}", re.IGNORECASE)


def enter(term: Term, text: str, spread: Spread = "standard") -> Any:
    """Return the value that somebody wrote for a term, checked against its limits.

    Raises UnitError if it cannot be read, or has no unit or a wrong one; OutOfRange outside the limits of the term.

    >>> from diagnose.terms import TERMS
    >>> enter(TERMS["bore"], "100 mm"), enter(TERMS["bore"], "4 in")
    (0.1, 0.1016)
    >>> enter(TERMS["flow"], "37.5")
    Traceback (most recent call last):
    diagnose.errors.UnitError: --flow (flow): `37.5` has no unit; write for example 37.5 m3/h
    """
    try:
        value = _read(term, text.strip(), spread)
        plain = value if isinstance(value, float | str | tuple) else value.nominal_value
        term.check(plain)
        _refuse_absurd(term, plain)
    except UnitError as error:
        told = f"{option(term)} ({term.title}): {error}"
        raise UnitError(told if told.endswith("?") else f"{told}; write for example {example(term)}") from error
    except OutOfRange as error:
        raise OutOfRange(f"{option(term)}: {error}") from error
    return value


def said_of(term: Term, text: str) -> str:
    """Return what is to be said of how a value was read that is not the only way, or nothing.

    >>> from diagnose.terms import TERMS
    >>> said_of(TERMS["bore"], "DN100")
    '`DN100` is taken as 100 mm: a nominal size; the exact bore stands on the data sheet of the meter'
    """
    if not term.is_figure and not term.list_of_figures:
        return ""
    last = re.split(r";|,\s+|±|\+/-|\+-", text)[-1]
    return term.with_unit(text)[1] or taken_as(last) or _decimal_point(text)


_THREE_PLACES = re.compile(r"[-+−–]?[1-9]\d{0,2}\.(?P<part>\d{3})(?!\d)\s*(?P<unit>[^\d.,±].*)?", re.S)
"""A point that may be a decimal point, or between thousands as in German."""


def _decimal_point(text: str) -> str:
    """Return that a point was taken as a decimal point where it might be between thousands."""
    match = _THREE_PLACES.fullmatch(text.strip())
    return f"the point of `{text.strip()}` is taken as a decimal point, not as one between thousands" if match else ""


def refuse_thousands(term: Term, text: str) -> None:
    """Raise UnitError for `1.000 m3/h`: hardly anybody writes three zeros behind a decimal point.

    An instrument may show them: where a thousand times as much is beyond anything plausible, it is a decimal point.
    """
    match = _THREE_PLACES.fullmatch(text.strip())
    plausible: tuple[float, float] | None = getattr(term, "plausible", None)
    if match is None or match["part"] != "000":
        return
    measured = read_measurement(text.strip())
    if plausible and measured and term.unit and term.unit != ANY_UNIT:
        most = 1000 * to_si(measured.number, measured.unit or term.unit, term.unit)
        if not plausible[0] <= most <= plausible[1]:
            return
    unit = f" {match['unit']}" if match["unit"] else ""
    whole = text.strip().partition(".")[0]
    raise UnitError(f"`{text.strip()}` is not clear; did you mean `{whole}000{unit}` or `{whole}.0{unit}`?")


def area_of_gauge(term: Term, text: str) -> float | None:
    """Return the cross-section [m²] of a wire size (`AWG 18`) where a cross-section is asked for, else None.

    >>> from diagnose.terms import TERMS
    >>> round(1e6 * area_of_gauge(TERMS["conductor-area"], "AWG 18"), 3), area_of_gauge(TERMS["bore"], "AWG 18")
    (0.823, None)
    """
    if not (term.unit == _AREA and re.search(r"\bawg\b|^\s*#|awg", text, re.IGNORECASE)):
        return None
    from diagnose.calculations.conductors import conductor_area_of_gauge

    return conductor_area_of_gauge(text)


_AREA = "mm2"


def _refuse_absurd(term: Term, value: Any) -> None:
    """Raise OutOfRange for figures that nobody can have meant."""
    for figure in value if isinstance(value, tuple) else (value,):
        if isinstance(figure, float) and figure and not SMALLEST <= abs(figure) <= LARGEST:
            raise OutOfRange(f"{term.title} is {term.exactly(figure)}: no such figure is met at any plant")


def example(term: Term) -> str:
    """Return an example of a value of this term."""
    if term.choices:
        return " or ".join(f"“{each}”" for each in term.choices[:3])
    return term.example or f"1 {term.unit}".strip()


def option(term: Term) -> str:
    """Return the name of a term on the command line."""
    return f"--{(term.short or (term.id,))[0]}"


def _read(term: Term, text: str, spread: Spread) -> Any:
    if not text:
        raise UnitError("no value is given")
    if term.choices:
        return _word(term, text)
    if term.text:
        return text
    if term.list_of_figures:
        return _list(term, text)
    if not term.unit and _HEXADECIMAL.fullmatch(text):
        return float(int(text, 16))
    area = area_of_gauge(term, text)
    if area is not None:
        return area
    text = term.with_unit(text)[0]
    refuse_thousands(term, text)
    figure, *behind = _PLUS_MINUS.split(text, maxsplit=1)
    if not behind:
        return _si(term, _measured(figure, term.unit))
    return _uncertain(term, figure, behind[0], spread)


def _word(term: Term, text: str) -> str:
    found = next((each for each in term.choices if _normalised(each) == _normalised(text)), None)
    if found is None:
        near = did_you_mean(text, term.choices, f"use one of: {', '.join(term.choices)}")
        raise UnitError(f"`{text}` is not one of the choices; {near}")
    return found


def _normalised(word: str) -> str:
    """Normalise a word: ``dc``, ``D.C.`` and ``d.c.`` are the same, and a dash is a space."""
    return " ".join(word.casefold().replace(".", "").replace("-", " ").replace("–", " ").split())


def _list(term: Term, text: str) -> tuple[float, ...]:
    """Read figures separated by semicolons, spaces or a comma and a space, with one unit at the end or one each."""
    parts = [each.strip() for each in re.split(r";|,\s+", text) if each.strip()]
    if len(parts) == 1:
        match = _SEVERAL.fullmatch(text)
        if match:
            parts = [*match[1].split()]
            parts[-1] += f" {match[2] or ''}"
    measured = [_measured(each) for each in parts]
    unit = measured[-1].unit
    return tuple(_si(term, WrittenFigure(each.number, each.unit or unit)) for each in measured)


def _uncertain(term: Term, figure: str, behind: str, spread: Spread) -> Any:
    """Return a figure with its standard uncertainty: ``37.5 ± 0.2 m3/h``, ``37.5 m3/h ± 0.5 %``."""
    left, right = figure.strip().lstrip("("), behind.strip()
    if ")" in right:
        right, _, unit = right.partition(")")
        right = f"{right} {unit}"
    half_width = _measured(right)
    figure_value = _measured(left, term.unit)
    if not figure_value.unit and half_width.unit != "%":
        figure_value = WrittenFigure(figure_value.number, half_width.unit)
    value = _si(term, figure_value)
    if half_width.unit == "%" and term.unit != "%":
        half = abs(value) * half_width.number / 100
    else:
        half = half_width.number * unit_info(half_width.unit or figure_value.unit).factor
        to_si(half_width.number, half_width.unit or figure_value.unit, term.unit)
    if half < 0:
        raise UnitError("an uncertainty cannot be negative")
    if half > MOST_UNCERTAIN * max(abs(value), 1.0):
        raise UnitError(f"`±{behind.strip()}` is beyond anything plausible")
    if half == 0:
        return value
    from uncertainties import ufloat

    return ufloat(value, half / DIVISORS[spread], term.title)


def _measured(text: str, wanted: str = "") -> WrittenFigure:
    refuse_unclear(text, wanted)
    measured = read_measurement(text)
    between = _RANGE.fullmatch(text.strip())
    if between:
        low, high = (f"{each} {between['unit'] or ''}".strip() for each in (between["low"], between["high"]))
        raise UnitError(f"`{text.strip()}` is a range, and one figure is wanted; did you mean `{low}` or `{high}`?")
    if measured is None:
        raise UnitError(f"`{text}` is not a number, or is ambiguous")
    return measured


def _si(term: Term, measured: WrittenFigure) -> float:
    if term.unit == ANY_UNIT:
        return measured.number * unit_info(measured.unit).factor
    if term.unit and not measured.unit:
        raise UnitError(f"`{measured.number:g}` has no unit")
    return to_si(measured.number, measured.unit, term.unit)
