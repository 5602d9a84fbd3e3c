"""Units in tables: those of the trade, those that only a table makes plain (``[t]``), and multiples (``x10``).

In a sentence ``t`` is mostly a word or a time; above a column of figures it is a tonne. The rule book says which
spellings are read so in a table alone (:class:`diagnose.unit_spellings.UnitSpellings`).
"""

from __future__ import annotations

import re
from functools import cache

from diagnose import units
from diagnose.unit_spellings import forgotten_with_them, in_use

_FACTOR = r"10{1,6}|0[.,]0{0,3}1|1[,' ]000(?:[,' ]000)?"
_TIMES_FACTOR = re.compile(rf"(?<![^\W_])(?:x|×|\*|mal|times)\s?(?P<factor>{_FACTOR})(?![\w.,])", re.IGNORECASE)
_FACTOR_OF_UNIT = re.compile(rf"(?P<factor>{_FACTOR})\s?(?=[^\W\d_])")


def table_unit(text: str, set_off: bool = False) -> str:
    """Return a unit in a table as :func:`diagnose.units.unit_info` takes it, "" for what is none.

    It is ``set_off`` in brackets, or in a line of units.

    >>> table_unit("m3/h"), table_unit("t"), table_unit("Lbs"), table_unit("tons"), table_unit("kg/h")
    ('m3/h', 'tonne', 'pound', '', 'kilogram/hour')
    """
    if units.is_unit(text):
        return text
    bare, tables = _bare(text), in_use()
    return tables.in_tables.get(bare, "") or (tables.in_brackets.get(bare, "") if set_off else "")


def _bare(text: str) -> str:
    return " ".join(text.casefold().split()).rstrip(".")


def unclear_unit(text: str) -> str:
    """Return what a unit may mean that is no spelling of one alone, by time or not, for people; "" where it is plain.

    >>> unclear_unit("tons"), unclear_unit("tons/h"), unclear_unit("t")
    ('`t`, `short ton` or `long ton`', '`t`, `short ton` or `long ton`', '')
    """
    bare = _bare(text)
    choices = () if table_unit(bare) else in_use().unclear.get(bare) or in_use().unclear.get(bare.partition("/")[0], ())
    *first, last = (f"`{each}`" for each in choices) if choices else ("",)
    return f"{', '.join(first)} or {last}" if first else last


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
    multiple = _multiple().search(text) if in_use().multiples else None
    measured = units.read_measurement(in_use().multiples[multiple[0].casefold()]) if multiple else None
    if multiple and measured:
        return text[: multiple.start()] + measured.unit + text[multiple.end() :], measured.number
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


@cache
def _multiple() -> re.Pattern[str]:
    words = "|".join(re.escape(each) for each in in_use().multiples)
    return re.compile(rf"(?<![^\W_])(?:{words})(?![^\W_])", re.IGNORECASE)


forgotten_with_them(_multiple.cache_clear)


def _as_factor(text: str) -> float:
    return float(text.replace(",", ".") if text.startswith("0") else re.sub(r"[,' ]", "", text))
