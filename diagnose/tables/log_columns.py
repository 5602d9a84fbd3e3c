"""Finds the columns of a log and their units, from options, headings and units in the cells."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from diagnose.errors import BadInput, UnitError
from diagnose.place import did_you_mean
from diagnose.tables.log_bytes import LogFormat
from diagnose.tables.log_quality import is_quality
from diagnose.units import is_unit, read_measurement, unit_info

WORDS: Mapping[str, frozenset[str]] = {
    kind: frozenset(each.strip() for each in words.split(","))
    for kind, words in {
        "time": "time, timestamp, datetime, date, date time, time stamp, datum, zeit, zeitstempel, uhrzeit, clock, "
        "elapsed, elapsed time, t, ts, epoch, utc, local time, seconds",
        "quality": "quality, qual, opc quality, validity, valid, flag, status, state",
        "tag": "tag, tagname, tag name, tag id, point, point id, point name, signal, variable, channel, messstelle",
        "units": "unit, units, eu, uom, einheit, engineering unit, engineering units",
        "total": "total, totaliser, totalizer, totalised, totalized, counter, volume, total volume, sum, accumulated, "
        "cumulative, index, zählerstand, zaehlerstand",
        "current": "current, loop, loop current, output current, ma, milliamps, loop ma, output, ao, ai",
        "running": "pump, running, pump running, pump on, pump state, pump status, run, motor, motor on, pump run, on, "
        "pump speed, started",
        "second": "second, second meter, reference, ref, other, other meter, check meter, clamp on, flow 2, flow2, "
        "master, second flow, reference flow, reference meter, meter 2, flow b, q2",
        "flow": "flow, flow rate, flowrate, q, volume flow, reading, indicated, value, pv, meter, indicated flow, "
        "indication, flow 1, flow1, display, durchfluss, debit, rate, q1, flow a",
    }.items()
}
"""Words of headings by kind of column; the first kind that fits is taken."""

_PUMP = re.compile(r"(?:p|pu|pump|pumpe|motor|mtr)\s?\d{1,3}\b")
"""Names of pumps, with whatever stands behind them (`P1 status`)."""

_FLOW_TAG = re.compile(r"f[icqrt]{0,3}\s?\d")
"""Tags of flow: F is its letter in ANSI/ISA-5.1."""

_STATE = re.compile(r"(?i)on|off|run(?:ning)?|stop(?:ped)?|true|false|yes|no|ein|aus|[01]")

_BRACKET = re.compile(r"[\[(]\s*([^\])]*?)\s*[\])]")
_FLOWS = ("m3/h", "m/s", "%", "mA", "kg/s")
"""One unit for each dimension a reading may have."""


@dataclass(frozen=True, slots=True)
class LogHeading:
    """A parsed heading: its words and its unit."""

    words: str
    unit: str


@dataclass(frozen=True, slots=True)
class LogColumns:
    """The position and unit of each kind of column, and warnings about assumptions."""

    places: Mapping[str, int]
    units: Mapping[str, str]
    clock: int | None
    """The column with the time of day if date and time are separate."""
    headings: tuple[str, ...]
    warnings: tuple[str, ...]


def is_long(form: LogFormat) -> bool:
    """Check whether a log is a long export: one column names the tag of each row."""
    return any(
        heading(text).words in WORDS["tag"] and not _is_figure(cell)
        for text, cell in zip(form.headings, form.example, strict=False)
    )


def kind_of(name: str) -> str:
    """Return which kind of channel the name of a tag tells; "" if none.

    >>> kind_of("P1 status"), kind_of("FT101 flow [m3/h]"), kind_of("FT101.PV"), kind_of("Total (m3)"), kind_of("TT7")
    ('running', 'flow', 'flow', 'total', '')
    """
    part = heading(name)
    for exact in (True, False):
        for kind in ("total", "current", "running", "second", "flow"):
            if _fits(part, kind, WORDS[kind], exact):
                return kind
    if _is_volume(part.unit):
        return "total"
    is_flow = _FLOW_TAG.match(part.words) if not part.unit else _is_reading_unit(part.unit)
    return "flow" if is_flow else ""


def heading(text: str) -> LogHeading:
    """Split a heading into words and unit.

    >>> heading("Water flow [l/s]"), heading("flow_m3/h"), heading("Loop (mA)").unit
    (LogHeading(words='water flow', unit='l/s'), LogHeading(words='flow', unit='m3/h'), 'mA')
    """
    bracket = _BRACKET.search(text)
    unit = bracket[1] if bracket else ""
    words = re.sub(r"[_\-./]+", " ", _BRACKET.sub(" ", text)).strip().lower()
    if not unit:
        for mark in (", ", " in ", "_", " "):
            before, found, behind = text.rpartition(mark)
            if found and is_unit(behind) and len(behind) > 1:
                unit, words = behind, re.sub(r"[_\-./,]+", " ", before).strip().lower()
                break
    return LogHeading(" ".join(words.split()), unit.strip())


def columns_of(form: LogFormat, options: Mapping[str, str], units: Mapping[str, str], file: str) -> LogColumns:
    """Find the columns of a log; ``options`` and ``units`` (by kind) are given by the user.

    Raises BadInput if time or reading cannot be found, or if the reading has no unit.
    """
    parts = [heading(text) for text in form.headings] or [LogHeading("", "")] * form.columns
    if form.units:
        own = [_BRACKET.sub(r"\1", text) for text in form.units]
        parts = [LogHeading(each.words, each.unit or unit) for each, unit in zip(parts, own, strict=True)]
    parts = [LogHeading(each.words, each.unit or _behind(cell)) for each, cell in zip(parts, form.example, strict=True)]
    places = {kind: _named(text, form, file) for kind, text in options.items()}
    warnings: list[str] = []
    clock = _find(parts, places, form, warnings)
    if "time" not in places:
        raise BadInput(f"{file} has no time column among {_headings_text(form)}; give --time COLUMN, or add one")
    if "tag" in places and "flow" in places:
        return LogColumns(places, dict.fromkeys(places, ""), clock, form.headings, tuple(warnings))
    places.pop("units", None)
    if "flow" in places and _is_volume(parts[places["flow"]].unit or units.get("flow", "")):
        places["total"] = places.pop("flow")
    if "flow" not in places and "total" in places:
        return _with_total(places, parts, units, clock, form, file, warnings)
    if "flow" not in places and "current" in places:
        places["flow"] = places.pop("current")
    if "flow" not in places:
        raise BadInput(f"{file} has no column of readings among {_headings_text(form)}; give --flow COLUMN")
    found = {kind: units.get(kind) or parts[place].unit for kind, place in places.items()}
    found = {**found, "flow": _reading_unit(found["flow"], form, places["flow"], file)}
    if found.get("current") and not _is_current(found["current"]):
        name = form.headings[places.pop("current")] if form.headings else "of the current"
        warnings.append(f"column not used: `{name}` is not a current")
    if "second" in places:
        found["second"] = _second_unit(found["second"], found["flow"], file)
    if "total" in places and not _is_volume(found["total"]):
        places.pop("total")
    return LogColumns(places, found, clock, form.headings, tuple(warnings))


def columns_of_tag(kind: str, unit: str, columns: LogColumns, file: str) -> LogColumns:
    """Return the columns of one tag of a long export, which holds readings or a total.

    Raises BadInput if it has no unit of flow or volume.
    """
    wanted = "m3" if kind == "total" or _is_volume(unit) else "m3/h"
    if not unit:
        raise BadInput(f"{file}: the tag of the readings has no unit; give --unit, for example --unit {wanted}")
    if wanted == "m3":
        if not _is_volume(unit):
            raise BadInput(f"{file}: `{unit}` is not a unit of volume; give --unit, for example --unit m3")
        return replace(columns, places={"total": 0}, units={"total": unit, "flow": flow_unit(unit)})
    if not _is_reading_unit(unit):
        raise BadInput(f"{file}: `{unit}` is not a unit of flow; give --unit, for example --unit m3/h")
    return replace(columns, places={"flow": 0}, units={"flow": unit})


def _with_total(
    places: dict[str, int],
    parts: list[LogHeading],
    units: Mapping[str, str],
    clock: int | None,
    form: LogFormat,
    file: str,
    warnings: list[str],
) -> LogColumns:
    """Return the columns of a totaliser's log, whose flow is worked out from its total."""
    unit = units.get("flow") or parts[places["total"]].unit
    if not _is_volume(unit):
        name = f"`{form.headings[places['total']]}`" if form.headings else "of the total"
        raise BadInput(f"{file}: column {name} is a total without a unit; give --unit, for example --unit m3")
    found = {kind: units.get(kind) or parts[place].unit for kind, place in places.items()}
    found |= {"total": unit, "flow": flow_unit(unit)}
    if "second" in places:
        found["second"] = _second_unit(found["second"], found["flow"], file)
    if found.get("current") and not _is_current(found["current"]):
        places.pop("current")
    warnings.append(f"the flow is worked out from the total, in {found['flow']}")
    return LogColumns(places, found, clock, form.headings, tuple(warnings))


def flow_unit(volume: str) -> str:
    """Return the unit of flow in which differences of a total are given.

    >>> flow_unit("l"), flow_unit("m3")
    ('l/h', 'm3/h')
    """
    return f"{volume}/h" if is_unit(f"{volume}/h") else "m3/h"


def _is_volume(unit: str) -> bool:
    return bool(unit) and is_unit(unit) and unit_info(unit).dimension == unit_info("m3").dimension


def _behind(cell: str) -> str:
    """Return the unit after the figure in a cell (`5.3 m3/h`)."""
    found = read_measurement(cell)
    return found.unit if found and is_unit(found.unit) else ""


def _named(text: str, form: LogFormat, file: str) -> int:
    """Return the position of a column given by its heading, its words, or its number from 1."""
    for place, own in enumerate(form.headings):
        if text.strip().lower() in (own.strip().lower(), heading(own).words):
            return place
    if text.isdigit() and 1 <= int(text) <= form.columns:
        return int(text) - 1
    help = did_you_mean(text, form.headings, f"it has {_headings_text(form)}")
    raise BadInput(f"{file} has no column `{text}`; {help}")


def _headings_text(form: LogFormat) -> str:
    return ", ".join(f"`{each}`" for each in form.headings) or f"{form.columns} columns without headings"


def _find(parts: list[LogHeading], places: dict[str, int], form: LogFormat, warnings: list[str]) -> int | None:
    """Fill in ``places`` from headings; return the column of the time of day if date and time are separate."""
    free = [place for place in range(form.columns) if place not in places.values()]
    for exact in (True, False):
        for kind, words in WORDS.items():
            if kind in places:
                continue
            cells = form.example
            place = next((each for each in free if _fits(parts[each], kind, words, exact, cells[each])), None)
            if place is not None:
                places[kind] = place
                free.remove(place)
    clock = _clock_apart(parts, places, free)
    if "time" not in places and free and not form.headings:
        places["time"] = free.pop(0)
        clock = _bare_clock(form, places["time"], free)
    if "time" not in places and free and free[0] == 0:
        places["time"] = free.pop(0)
        warnings.append(f"the first column, `{form.headings[0]}`, is taken as the time")
    if "flow" not in places and "total" not in places and free:
        places["flow"] = free.pop(0)
        name = f"`{form.headings[places['flow']]}`" if form.headings else f"number {places['flow'] + 1}"
        warnings.append(f"column {name} is taken as the reading")
    left = [f"`{form.headings[each]}`" for each in free if form.headings and form.headings[each]]
    if left:
        warnings.append(f"columns not used: {', '.join(left)}")
    return clock


def _fits(part: LogHeading, kind: str, words: Iterable[str], exact: bool, cell: str = "") -> bool:
    if kind == "running" and not part.unit and (_PUMP.match(part.words) or _is_state(part, cell)):
        return True
    if kind == "quality" and (_PUMP.match(part.words) or ("qual" not in part.words and not is_quality(cell))):
        return False
    if kind == "tag" and _is_figure(cell):
        return False
    if kind == "total" and part.unit and not _is_volume(part.unit):
        return False
    if kind == "current" and part.unit.lower() == "ma":
        return True
    if kind == "time" and part.unit and is_unit(part.unit) and unit_info(part.unit).dimension != "[time]":
        return False
    if kind in ("tag", "units") and not exact:
        return False
    if kind in ("flow", "second") and part.unit and not _is_reading_unit(part.unit):
        return False
    if exact:
        return part.words in words
    return any(len(word) > 2 and re.search(rf"\b{re.escape(word)}\b", part.words) for word in words)


def _is_state(part: LogHeading, cell: str) -> bool:
    return part.words in ("status", "state") and _STATE.fullmatch(cell.strip()) is not None


def _is_figure(cell: str) -> bool:
    return re.fullmatch(r"[-+]?\d+(?:[.,]\d+)?", cell.strip()) is not None


def _clock_apart(parts: list[LogHeading], places: dict[str, int], free: list[int]) -> int | None:
    """Return the column of the time of day if there is one of dates as well, which ``places`` then has."""
    if "time" not in places:
        return None
    own = places["time"]
    dates = ("date", "datum")
    if parts[own].words in dates:
        other = next((each for each in free if _fits(parts[each], "time", WORDS["time"], True)), None)
    else:
        other = next((each for each in free if parts[each].words in dates), None)
        if other is not None:
            places["time"], other, own = other, own, other
            free.remove(own)
            return other
    if other is not None:
        free.remove(other)
    return other


def _bare_clock(form: LogFormat, date: int, free: list[int]) -> int | None:
    """Return the second column of a space-delimited log without headings as the time of day."""
    return free.pop(0) if form.delimiter == b" " and form.columns > 2 else None


def _is_current(unit: str) -> bool:
    return is_unit(unit) and unit_info(unit).dimension == unit_info("mA").dimension


def _is_reading_unit(unit: str) -> bool:
    try:
        dimension = unit_info(unit).dimension
    except UnitError:
        return False
    return dimension in {unit_info(each).dimension for each in _FLOWS}


def _reading_unit(unit: str, form: LogFormat, place: int, file: str) -> str:
    name = f"`{form.headings[place]}`" if form.headings else f"number {place + 1}"
    if not unit:
        raise BadInput(f"{file}: column {name} has no unit; give --unit, for example --unit m3/h")
    if not _is_reading_unit(unit):
        raise BadInput(f"{file}: `{unit}` is not a unit of flow (column {name}); give --unit, for example --unit m3/h")
    return unit


def _second_unit(unit: str, reading: str, file: str) -> str:
    if not unit:
        raise BadInput(
            f"{file}: the column of the second meter has no unit; give it, for example --second-unit {reading}"
        )
    if not _is_reading_unit(unit) or unit_info(unit).dimension != unit_info(reading).dimension:
        raise BadInput(f"{file}: the second meter's `{unit}` does not measure the same thing as `{reading}`")
    return unit
