"""What the heading of a column of a log says, with a cell below it: of what it is, and in which unit."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from diagnose.errors import UnitError
from diagnose.tables.heading_words import HeadingWords, Meanings
from diagnose.tables.log_bytes import LogFormat
from diagnose.tables.log_quality import is_quality
from diagnose.units import is_unit, read_measurement, unit_info

KINDS: Mapping[str, Meanings] = {
    "time": frozenset({"time", "date", "elapsed"}),
    "quality": frozenset({"quality"}),
    "tag": frozenset({"tag"}),
    "units": frozenset({"units"}),
    "total": frozenset({"total", "volume", "counter"}),
    "current": frozenset({"current"}),
    "running": frozenset({"running"}),
    "second": frozenset({"reference", "other"}),
    "flow": frozenset({"flow", "indicated"}),
}
"""What the heading of each kind of column says; the first kind that fits is taken."""

_NO_FLOW: Meanings = frozenset({"not-a-reading", "set-point"})
"""What beside a word of a flow says that the column is none."""

_IN_PASSING = 3
"""Fewest letters of a word that tells a kind among others: `on` does so by itself only."""

_PUMP = re.compile(r"(?:p|pu|pump|pumpe|motor|mtr)\s?\d{1,3}\b")
"""Names of pumps, with whatever stands behind them (`P1 status`)."""

FLOW_TAG = re.compile(r"f[icqrt]{0,3}\s?\d")
"""Tags of flow: F is its letter in ANSI/ISA-5.1."""

_STATE = re.compile(r"(?i)on|off|run(?:ning)?|stop(?:ped)?|true|false|yes|no|ein|aus|[01]")

_DATE = re.compile(r"\d{1,4}[-./]\d{1,2}\b")

_FIGURE_BEFORE = re.compile(r"[-+−]?[.,]?\d")
"""The beginning of a figure, whatever unit stands behind it."""

_OTHERS: Meanings = frozenset({"temperature", "density", "duration", "uncertainty", "running", "quality", "current"})
"""What says that a column is something else than a second flow."""

BRACKET = re.compile(r"[\[(]\s*([^\])]*?)\s*[\])]")

_FLOWS = ("m3/h", "m/s", "%", "mA", "kg/s")
"""One unit for each dimension a reading may have."""


@dataclass(frozen=True, slots=True)
class LogHeading:
    """A parsed heading: its words, its unit, and what its words say, taken as a whole and one by one."""

    words: str
    unit: str
    whole: Meanings = frozenset()
    parts: Meanings = frozenset()


def is_long(form: LogFormat, words: HeadingWords) -> bool:
    """Check whether a log is a long export: one column names the tag of each row."""
    return any(
        fits(said(heading(text), words), "tag", True, cell)
        for text, cell in zip(form.headings, form.example, strict=False)
    )


def kind_of(name: str, words: HeadingWords) -> str:
    """Return which kind of channel the name of a tag tells; "" if none.

    >>> names = ("P1 status", "FT101 flow [m3/h]", "FT101.PV", "Total (m3)", "TT7", "Durchfluss", "Pumpe 1")
    >>> [kind_of(name, HeadingWords()) for name in names]
    ['running', 'flow', 'flow', 'total', '', 'flow', 'running']
    """
    part = said(heading(name), words)
    for exact in (True, False):
        for kind in ("total", "current", "running", "second", "flow"):
            if fits(part, kind, exact):
                return kind
    if is_volume(part.unit):
        return "total"
    is_flow = FLOW_TAG.match(part.words) if not part.unit else is_reading_unit(part.unit)
    return "flow" if is_flow else ""


def heading(text: str) -> LogHeading:
    """Split a heading into words and unit.

    >>> found = heading("flow_m3/h"), heading("Loop (mA)"), heading("GPM")
    >>> [(each.words, each.unit) for each in found]
    [('flow', 'm3/h'), ('loop', 'mA'), ('', 'GPM')]
    """
    if len(text.strip()) > 1 and is_unit(text.strip()):
        return LogHeading("", text.strip())
    bracket = BRACKET.search(text)
    unit = bracket[1] if bracket else ""
    words = re.sub(r"[_\-./]+", " ", BRACKET.sub(" ", text)).strip().lower()
    if not unit:
        for mark in (", ", " in ", "_", " "):
            before, found, behind = text.rpartition(mark)
            if found and is_unit(behind) and len(behind) > 1:
                unit, words = behind, re.sub(r"[_\-./,]+", " ", before).strip().lower()
                break
    return LogHeading(" ".join(words.split()), unit.strip())


def said(part: LogHeading, words: HeadingWords) -> LogHeading:
    """Return a heading with what its words say."""
    return replace(part, whole=words.whole(part.words), parts=words.meanings(part.words, _IN_PASSING))


def is_volume(unit: str) -> bool:
    """Check whether a text is a unit of volume."""
    return bool(unit) and is_unit(unit) and unit_info(unit).dimension == unit_info("m3").dimension


def unit_in(cell: str) -> str:
    """Return the unit after the figure in a cell (`5.3 m3/h`)."""
    found = read_measurement(cell)
    return found.unit if found and is_unit(found.unit) else ""


def may_flow(part: LogHeading, cell: str) -> bool:
    """Check whether a column without a word for it may be a flow: by its unit, or its tag, and by its figures."""
    named = is_reading_unit(part.unit) if part.unit else FLOW_TAG.match(part.words) is not None
    return named and not part.parts & _NO_FLOW and bool(_FIGURE_BEFORE.match(cell.strip()))


def is_like(part: LogHeading, own: LogHeading, unit: str) -> bool:
    """Check whether a column may be a second flow like this one: by its unit, or its tag."""
    if part.parts & _NO_FLOW or (part.whole | part.parts) & _OTHERS:
        return False
    if part.unit:
        known = bool(unit) and is_unit(unit) and is_reading_unit(part.unit)
        return known and unit_info(part.unit).dimension == unit_info(unit).dimension
    return FLOW_TAG.match(part.words) is not None and (not own.words or FLOW_TAG.match(own.words) is not None)


def fits(part: LogHeading, kind: str, exact: bool, cell: str = "") -> bool:
    """Check whether a column is of a kind by its heading, as a whole or by words in passing, and a cell below it."""
    if kind == "running" and not part.unit and (_PUMP.match(part.words) or _is_state(part, cell)):
        return True
    if kind == "quality" and (_PUMP.match(part.words) or ("qual" not in part.words and not is_quality(cell))):
        return False
    if kind == "tag" and (is_figure(cell) or _DATE.match(cell.strip())):
        return False
    if kind == "time" and "tag" in part.whole and not _DATE.match(cell.strip()):
        return False
    if kind == "total" and part.unit and not is_volume(part.unit):
        return False
    if kind == "current" and is_current(part.unit):
        return True
    if kind == "time" and part.unit and is_unit(part.unit):
        is_time = unit_info(part.unit).dimension == unit_info("s").dimension
        if not is_time or not part.words:
            return is_time
    if kind in ("tag", "units") and not exact:
        return False
    if kind in ("flow", "second") and (part.parts & _NO_FLOW or (part.unit and not is_reading_unit(part.unit))):
        return False
    return bool((part.whole if exact else part.parts) & KINDS[kind])


def _is_state(part: LogHeading, cell: str) -> bool:
    return part.words in ("status", "state") and _STATE.fullmatch(cell.strip()) is not None


def is_figure(cell: str) -> bool:
    """Check whether nothing but a figure stands in a cell."""
    return re.fullmatch(r"[-+]?\d+(?:[.,]\d+)?", cell.strip()) is not None


def is_current(unit: str) -> bool:
    """Check whether a text is a unit of current."""
    return is_unit(unit) and unit_info(unit).dimension == unit_info("mA").dimension


def is_reading_unit(unit: str) -> bool:
    """Check whether a text is a unit that a reading of flow may have."""
    try:
        dimension = unit_info(unit).dimension
    except UnitError:
        return False
    return dimension in {unit_info(each).dimension for each in _FLOWS}
