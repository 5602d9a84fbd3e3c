"""What is written in one cell: a figure, perhaps with a unit and an uncertainty, or a mark for a missing reading."""

from __future__ import annotations

import re
from dataclasses import dataclass

from diagnose.tables.table_units import is_unit, table_unit

SPACES_IN_FIGURES = re.compile(r"[ '’\u00a0\u202f]")
_FIGURE = re.compile(
    r"(?P<figure>[-+−–]?(?:\d[\d ,.'’\u00a0\u202f]*|[.,]\d+)(?:[eE][-+]?\d+)?)\s*(?P<unit>\D.*)?", re.S
)
_BESIDE = re.compile(r"(?:±|\+/-|\+-|\b(?P<kind>[uU])\s*=)\s*(?P<half>[\d.,].*)", re.S)
"""An uncertainty beside a figure: `± 0.1`, `+/- 1 %`, `U = 0.1`."""
_BRACKETS = re.compile(r"[(\[]([^()\[\]]*)[)\]]")
MISSING = frozenset({"", "-", "–", "—", "--", "---", "n/a", "na", "#n/a", "nan", "null", "none", "?", "bad", "inf"})
_COVERAGE = re.compile(r"\bk\s*=\s*(\d+(?:[.,]\d+)?)")


@dataclass(frozen=True, slots=True)
class Written:
    """What stands in a cell: a figure, its unit, and an uncertainty with what is said of it."""

    figure: str
    unit: str
    half: str = ""
    half_unit: str = ""
    kind: str = ""
    said: str = ""


def is_figure(text: str) -> bool:
    """Check whether a cell has a figure (perhaps with a unit) or a mark for a missing one.

    >>> is_figure("1 250,5"), is_figure("5.3 m3/h"), is_figure("reference"), is_figure("nan")
    (True, True, False, True)
    """
    return _FIGURE.fullmatch(text) is not None or text.casefold() in MISSING or written(text) is not None


def is_plain_figure(text: str) -> bool:
    """Check whether a cell is a figure that may have a known unit and an uncertainty, and nothing else.

    >>> [is_plain_figure(each) for each in ("10 ±0.1 (k=2)", "5.3 m3/h", "2003A-7", "08:00", "(10.0 ± 0.1) l/s")]
    [True, True, False, False, True]
    """
    parts = written(text)
    return parts is not None and all(not unit or is_unit(unit) for unit in (parts.unit, parts.half_unit))


def written(text: str) -> Written | None:
    """Return the parts of a cell, None if it does not begin with a figure.

    >>> written("(10.0 ± 0.1) l/s")
    Written(figure='10.0', unit='l/s', half='0.1', half_unit='l/s', kind='', said='')
    """
    bare = text.strip()
    if bare.startswith("(") and ")" in bare:  # (10.0 ± 0.1) m3/h
        inside, _, behind = bare[1:].partition(")")
        found = None if inside.startswith("(") else written(inside)
        if found is None or not found.half or found.half_unit:
            return None
        unit = behind.strip()
        return Written(found.figure, unit, found.half, unit, found.kind, found.said)
    match = _FIGURE.fullmatch(bare)
    if match is None:
        return None
    unit = (match["unit"] or "").strip()
    beside = _BESIDE.search(unit)
    if beside is None:
        return Written(match["figure"], unit)
    said = " ".join(_BRACKETS.findall(beside["half"]))
    half = _FIGURE.fullmatch(_BRACKETS.sub(" ", beside["half"]).replace(")", " ").strip())
    if half is None:
        return None
    half_unit, comma, more = (half["unit"] or "").partition(",")  # U = 0.1 m3/h, k = 2
    said = f"{said} {more}" if comma else said
    if re.match(r"k\s*=", half_unit):
        half_unit, said = "", f"{half_unit} {said}"
    figure, half_figure = match["figure"].rstrip(" ,"), half["figure"].rstrip(" ,")
    return Written(
        figure, unit[: beside.start()].strip(" ,;("), half_figure, half_unit.strip(), beside["kind"] or "", said
    )


def unit_behind(text: str) -> str:
    """Return the unit behind a figure as :func:`diagnose.units.unit_info` takes it, or as it is written; "" if none."""
    parts = written(text)
    return table_unit(parts.unit) or parts.unit if parts else ""


def coverage_in(text: str) -> float | None:
    """Return the coverage factor that a text tells (``k = 2``), if any."""
    told = _COVERAGE.search(text)
    factor = float(told[1].replace(",", ".")) if told else 0.0
    return factor or None
