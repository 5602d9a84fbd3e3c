"""Units in tables: those of the trade, and of masses and multiples, which only a table makes plain (``[t]``, ``x10``).

In a sentence ``t`` is mostly a word or a time; above a column of figures it is a tonne.
"""

from __future__ import annotations

import re

from diagnose import units

_MASSES = {
    **dict.fromkeys(("t", "tonne", "tonnes", "tonnen", "metric ton", "metric tons"), "tonne"),
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), "pound"),
    **dict.fromkeys(("short ton", "short tons", "us ton", "us tons"), "short_ton"),
    **dict.fromkeys(("long ton", "long tons"), "long_ton"),
}
_TIMES = {"s": "second", "min": "minute", "h": "hour", "hr": "hour", "d": "day"}
_MASSES_AND_RATES = {
    **_MASSES,
    **{f"{mass}/{time}": f"{to}/{per}" for mass, to in _MASSES.items() for time, per in _TIMES.items()},
    **{f"kg/{time}": f"kilogram/{per}" for time, per in _TIMES.items()},
}
_MASSES_AND_RATES |= {
    **dict.fromkeys(("t/m3", "t/m³"), "tonne/meter**3"),
    **dict.fromkeys(("kg/l", "kg/dm3", "kg/dm³"), "kilogram/liter"),
    **dict.fromkeys(("g/cm3", "g/cm³", "g/ml", "g/cc"), "gram/centimeter**3"),
    **dict.fromkeys(("g/l",), "gram/liter"),
    **dict.fromkeys(("lb/ft3", "lb/ft³", "lb/cu ft"), "pound/foot**3"),
}
_MASSES_AND_RATES |= {each: each for each in _MASSES_AND_RATES.values()}
"""As people write them → as :func:`diagnose.units.unit_info` takes them."""

_SET_OFF = {"to": "tonne", "g": "gram"}
"""Units that are also words: units only in brackets, or in a line of units."""

_FACTOR = r"10{1,6}|0[.,]0{0,3}1|1[,' ]000(?:[,' ]000)?"
_TIMES_FACTOR = re.compile(rf"(?<![^\W_])(?:x|×|\*|mal|times)\s?(?P<factor>{_FACTOR})(?![\w.,])", re.IGNORECASE)
_FACTOR_OF_UNIT = re.compile(rf"(?P<factor>{_FACTOR})\s?(?=[^\W\d_])")


_MULTIPLES = {"kgal": ("gal", 1000.0), "ccf": ("ft3", 100.0), "hcf": ("ft3", 100.0)}
_MULTIPLE = re.compile(rf"(?<![^\W_])(?:{'|'.join(_MULTIPLES)})(?![^\W_])", re.IGNORECASE)
"""Units that are so many of another one."""


def table_unit(text: str, set_off: bool = False) -> str:
    """Return a unit in a table as :func:`diagnose.units.unit_info` takes it, "" for what is none.

    It is ``set_off`` in brackets, or in a line of units.

    >>> table_unit("m3/h"), table_unit("t"), table_unit("Lbs"), table_unit("tons"), table_unit("kg/h")
    ('m3/h', 'tonne', 'pound', '', 'kilogram/hour')
    """
    if units.is_unit(text) and not unclear_unit(text):
        return text
    bare = " ".join(text.casefold().split()).rstrip(".")
    return _MASSES_AND_RATES.get(bare, "") or (_SET_OFF.get(bare, "") if set_off else "")


def unclear_unit(text: str) -> str:
    """Return what a unit of mass may mean that is of several countries, for people; "" where it is plain.

    >>> unclear_unit("tons"), unclear_unit("t")
    ('`t`, `short ton` or `long ton`', '')
    """
    if not re.fullmatch(r"tons?(?:/\w+)?", text.strip(), re.IGNORECASE):
        return ""
    return "`t`, `short ton` or `long ton`"


def is_unit(text: str) -> bool:
    """Check whether a text is a unit in a table."""
    return bool(table_unit(text))


def multiplied(text: str) -> tuple[str, float]:
    """Return a heading without the factor by which its figures are to be multiplied, and the factor.

    >>> multiplied("Counter x10 [m3]"), multiplied("Meter (gal x 1000)"), multiplied("Total [1000 gal]")
    (('Counter  [m3]', 10.0), ('Meter (gal )', 1000.0), ('Total [gal]', 1000.0))
    >>> multiplied("Dial x 0,001 m3")[1], multiplied("DN 100 m3/h")[1], multiplied("FT-100 [m3/h]")[1]
    (0.001, 1.0, 1.0)
    """
    multiple = _MULTIPLE.search(text)
    if multiple:
        unit, factor = _MULTIPLES[multiple[0].casefold()]
        return text[: multiple.start()] + unit + text[multiple.end() :], factor
    found = _TIMES_FACTOR.search(text)
    if found:
        return text[: found.start()] + text[found.end() :], _as_factor(found["factor"])
    for bracket in re.finditer(r"(?<=[\[(])\s*[^()\[\]]*(?=[\])])", text):
        told = bracket[0].lstrip().removeprefix("in ")
        within = _FACTOR_OF_UNIT.match(told)
        rest = told[within.end() :] if within else ""
        if within and is_unit(rest.strip()):
            return text[: bracket.start()] + rest + text[bracket.end() :], _as_factor(within["factor"])
    return text, 1.0


def _as_factor(text: str) -> float:
    return float(text.replace(",", ".") if text.startswith("0") else re.sub(r"[,' ]", "", text))
