"""Finds the columns of a log and their units, from options, headings and units in the cells."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from diagnose.errors import BadInput
from diagnose.place import did_you_mean
from diagnose.tables.heading_words import HeadingWords
from diagnose.tables.log_bytes import LogFormat
from diagnose.tables.log_headings import (
    BRACKET,
    FLOW_TAG,
    KINDS,
    LogHeading,
    fits,
    heading,
    is_current,
    is_figure,
    is_like,
    is_reading_unit,
    is_volume,
    may_flow,
    said,
    unit_in,
)
from diagnose.units import is_unit, unit_info


@dataclass(frozen=True, slots=True)
class LogColumns:
    """The position and unit of each kind of column, and warnings about assumptions."""

    places: Mapping[str, int]
    units: Mapping[str, str]
    clock: int | None
    """The column with the time of day if date and time are separate."""
    headings: tuple[str, ...]
    warnings: tuple[str, ...]


def columns_of(
    form: LogFormat, options: Mapping[str, str], units: Mapping[str, str], file: str, words: HeadingWords
) -> LogColumns:
    """Find the columns of a log; ``options`` and ``units`` (by kind) are given by the user.

    Raises BadInput if time or reading cannot be found, or if the reading has no unit.
    """
    parts = [heading(text) for text in form.headings] or [LogHeading("", "")] * form.columns
    if form.units:
        own = [BRACKET.sub(r"\1", text) for text in form.units]
        parts = [LogHeading(each.words, each.unit or unit) for each, unit in zip(parts, own, strict=True)]
    parts = [LogHeading(each.words, each.unit or unit_in(cell)) for each, cell in zip(parts, form.example, strict=True)]
    parts = [said(each, words) for each in parts]
    places = {kind: _named(text, form, file) for kind, text in options.items()}
    warnings: list[str] = []
    clock = _find(parts, places, form, units, warnings)
    if "time" not in places:
        raise BadInput(f"{file} has no time column among {_headings_text(form)}; give --time COLUMN, or add one")
    if "tag" in places and "flow" in places:
        return LogColumns(places, dict.fromkeys(places, ""), clock, form.headings, tuple(warnings))
    places.pop("units", None)
    if "flow" in places and is_volume(parts[places["flow"]].unit or units.get("flow", "")):
        places["total"] = places.pop("flow")
    if "flow" not in places and "total" in places:
        return _with_total(places, parts, units, clock, form, file, warnings)
    if "flow" not in places and "current" in places:
        places["flow"] = places.pop("current")
    if "flow" not in places:
        raise BadInput(f"{file} has no column of readings among {_headings_text(form)}; give --flow COLUMN")
    found = {kind: units.get(kind) or parts[place].unit for kind, place in places.items()}
    found = {**found, "flow": _reading_unit(found["flow"], form, places["flow"], file)}
    if found.get("current") and not is_current(found["current"]):
        name = form.headings[places.pop("current")] if form.headings else "of the current"
        warnings.append(f"column not used: `{name}` is not a current")
    if "second" in places:
        found["second"] = _second_unit(
            found["second"] or _unit_of_like(parts, places, found["flow"]), found["flow"], file
        )
    if "total" in places and not is_volume(found["total"]):
        places.pop("total")
    return LogColumns(places, found, clock, form.headings, tuple(warnings))


def _unit_of_like(parts: list[LogHeading], places: Mapping[str, int], unit: str) -> str:
    """Return the unit of a second meter whose heading is a tag like that of the reading, and has no unit either."""
    tags = [FLOW_TAG.match(parts[places[kind]].words) for kind in ("flow", "second")]
    return unit if all(tags) and not parts[places["flow"]].unit else ""


def columns_of_tag(kind: str, unit: str, columns: LogColumns, file: str) -> LogColumns:
    """Return the columns of one tag of a long export, which holds readings or a total.

    Raises BadInput if it has no unit of flow or volume.
    """
    wanted = "m3" if kind == "total" or is_volume(unit) else "m3/h"
    if not unit:
        raise BadInput(f"{file}: the tag of the readings has no unit; give --unit, for example --unit {wanted}")
    if wanted == "m3":
        if not is_volume(unit):
            raise BadInput(f"{file}: `{unit}` is not a unit of volume; give --unit, for example --unit m3")
        return replace(columns, places={"total": 0}, units={"total": unit, "flow": flow_unit(unit)})
    if not is_reading_unit(unit):
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
    if not is_volume(unit):
        name = f"`{form.headings[places['total']]}`" if form.headings else "of the total"
        raise BadInput(f"{file}: column {name} is a total without a unit; give --unit, for example --unit m3")
    found = {kind: units.get(kind) or parts[place].unit for kind, place in places.items()}
    found |= {"total": unit, "flow": flow_unit(unit)}
    if "second" in places:
        found["second"] = _second_unit(found["second"], found["flow"], file)
    if found.get("current") and not is_current(found["current"]):
        places.pop("current")
    warnings.append(f"the flow is worked out from the total, in {found['flow']}")
    return LogColumns(places, found, clock, form.headings, tuple(warnings))


def flow_unit(volume: str) -> str:
    """Return the unit of flow in which differences of a total are given.

    >>> flow_unit("l"), flow_unit("m3")
    ('l/h', 'm3/h')
    """
    return f"{volume}/h" if is_unit(f"{volume}/h") else "m3/h"


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


def _find(
    parts: list[LogHeading],
    places: dict[str, int],
    form: LogFormat,
    units: Mapping[str, str],
    warnings: list[str],
) -> int | None:
    """Fill in ``places`` from headings; return the column of the time of day if date and time are separate."""
    free = [place for place in range(form.columns) if place not in places.values()]
    for exact in (True, False):
        for kind in KINDS:
            if kind in places:
                continue
            cells = form.example
            place = next((each for each in free if fits(parts[each], kind, exact, cells[each])), None)
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
    _readings_by_place(parts, places, free, form, units, warnings)
    left = [f"`{form.headings[each]}`" for each in free if form.headings and form.headings[each]]
    if left:
        warnings.append(f"columns not used: {', '.join(left)}")
    return clock


def _readings_by_place(
    parts: list[LogHeading],
    places: dict[str, int],
    free: list[int],
    form: LogFormat,
    units: Mapping[str, str],
    warnings: list[str],
) -> None:
    """Find what no word tells: the only column that may be a reading, and beside it the only other one like it."""
    unknown = "flow" not in places and "total" not in places
    if unknown and "second" in places and not any(may_flow(parts[each], form.example[each]) for each in free):
        places["flow"] = places.pop("second")
    elif unknown and free:
        likely = [each for each in free if may_flow(parts[each], form.example[each])]
        places["flow"] = (likely or free)[0]
        free.remove(places["flow"])
        warnings.append(f"column {_column(form, places['flow'])} is taken as the reading")
    if "flow" not in places or "second" in places or not form.headings:
        return
    own = parts[places["flow"]]
    unit = units.get("flow") or own.unit
    likely = [each for each in free if is_like(parts[each], own, unit) and is_figure(form.example[each])]
    if len(likely) == 1:
        places["second"] = likely[0]
        free.remove(likely[0])
        warnings.append(
            f"column {_column(form, places['flow'])} is taken as the reading, "
            f"{_column(form, likely[0])} as the second meter"
        )


def _column(form: LogFormat, place: int) -> str:
    return f"`{form.headings[place]}`" if form.headings else f"number {place + 1}"


def _clock_apart(parts: list[LogHeading], places: dict[str, int], free: list[int]) -> int | None:
    """Return the column of the time of day if there is one of dates as well, which ``places`` then has."""
    if "time" not in places:
        return None
    own = places["time"]
    if "date" in parts[own].whole:
        other = next((each for each in free if fits(parts[each], "time", True)), None)
    else:
        other = next((each for each in free if "date" in parts[each].whole), None)
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


def _reading_unit(unit: str, form: LogFormat, place: int, file: str) -> str:
    name = f"`{form.headings[place]}`" if form.headings else f"number {place + 1}"
    if not unit:
        raise BadInput(f"{file}: column {name} has no unit; give --unit, for example --unit m3/h")
    if not is_reading_unit(unit):
        raise BadInput(f"{file}: `{unit}` is not a unit of flow (column {name}); give --unit, for example --unit m3/h")
    return unit


def _second_unit(unit: str, reading: str, file: str) -> str:
    if not unit:
        raise BadInput(
            f"{file}: the column of the second meter has no unit; give it, for example --second-unit {reading}"
        )
    if not is_reading_unit(unit) or unit_info(unit).dimension != unit_info(reading).dimension:
        raise BadInput(f"{file}: the second meter's `{unit}` does not measure the same thing as `{reading}`")
    return unit
