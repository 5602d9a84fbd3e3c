"""Reads a log: times, readings and other channels; reports gaps, duplicates and clock jumps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

import numpy as np
import numpy.typing as npt

from diagnose.bounded import LOG_ROWS
from diagnose.errors import BadInput
from diagnose.place import did_you_mean
from diagnose.tables.arrays import Array
from diagnose.tables.heading_words import HeadingWords
from diagnose.tables.log_aligned import at_times, held_at
from diagnose.tables.log_bytes import CellSpans, LogFormat, cells, chunks, detect_format, letters, split_cells
from diagnose.tables.log_clock import Clock, count_of, order_times
from diagnose.tables.log_columns import LogColumns, columns_of, columns_of_tag
from diagnose.tables.log_headings import heading, is_long, kind_of
from diagnose.tables.log_layouts import Decimal, NonNumericCells, decimal_of, figures, layouts
from diagnose.tables.log_quality import codes, good
from diagnose.tables.log_tags import Tags
from diagnose.tables.log_times import Order, TimeStamps, elapsed_unit, seconds
from diagnose.tables.log_total import Total, flow_of, total_of
from diagnose.units import is_unit, unit_info

_ON = frozenset({"on", "run", "running", "true", "yes", "start", "started", "open", "active", "ein", "high"})
_OFF = frozenset({"off", "stop", "stopped", "false", "no", "idle", "standby", "closed", "inactive", "aus", "low"})


@dataclass(frozen=True, slots=True)
class Options:
    """Options for reading a log: units, columns by kind, decimal mark, order of day and month."""

    unit: str = ""
    second_unit: str = ""
    columns: Mapping[str, str] = field(default_factory=dict)
    decimal: Decimal | None = None
    order: Order | None = None
    words: HeadingWords = field(default_factory=HeadingWords)
    """What the words of headings mean."""


@dataclass(frozen=True, slots=True)
class Log:
    """A log: times in seconds, readings in ``unit`` (NaN if missing), and other channels, if any."""

    file: str
    unit: str
    times: Array
    flow: Array
    current: Array | None
    running: Array | None
    second: Array | None
    clock: Clock
    missing: Mapping[str, int]
    """Texts found in place of readings, and how often."""
    warnings: tuple[str, ...]
    total: Total | None = None
    """What the totaliser showed, if the readings are the differences of a total."""


@dataclass(slots=True)
class _Arrays:
    """The arrays of a log, collected chunk by chunk."""

    times: list[Array] = field(default_factory=list)
    other_times: list[Array] = field(default_factory=list)
    columns: dict[str, list[Array]] = field(default_factory=dict)
    text: dict[str, NonNumericCells] = field(default_factory=dict)
    tags: Tags = field(default_factory=Tags)
    units: Tags = field(default_factory=Tags)
    malformed: int = 0
    rows: int = 0


def read_log(path: Path, options: Options | None = None) -> Log:
    """Read the log in a file.

    Raises BadInput if it is not text, or has no times, no readings or no unit.
    """
    options = options or Options()
    pieces = chunks(path)
    first = next(pieces, b"")
    file = path.name
    form = detect_format(first[:200_000], file)
    units = {"flow": options.unit, "second": options.second_unit}
    long = is_long(form, options.words)
    # In a long export the names of channels are tags, and only the time is a column that can be named.
    named = {kind: name for kind, name in options.columns.items() if kind == "time"} if long else options.columns
    columns = columns_of(form, named, units, file, options.words)
    decimal = options.decimal or _decimal(first, form.delimiter.decode(), form.skipped, columns, file)
    time_heading = form.headings[columns.places["time"]] if form.headings else ""
    stamps = TimeStamps(options.order, elapsed_unit(time_heading, columns.units["time"]))
    parts = _Arrays()
    chunk = first.split(b"\n", form.skipped)[-1]
    while chunk:
        _take(chunk, form, columns, decimal, stamps, parts)
        if parts.rows > LOG_ROWS:
            raise BadInput(f"{file} has more than {LOG_ROWS:,} lines; split it by days and read one at a time")
        chunk = next(pieces, b"")
    return _of_tags(file, columns, stamps, parts, options) if long else _log(file, columns, stamps, parts)


def _decimal(head: bytes, delimiter: str, skipped: int, columns: LogColumns, file: str) -> Decimal:
    """Return the decimal mark of the readings.

    Raises BadInput if all are ambiguous.
    """
    lines = head[:200_000].decode("utf-8", errors="replace").split("\n")[skipped : skipped + 2000]
    place = columns.places.get("flow", columns.places.get("total", 0))
    samples = [cells[place] for cells in (split_cells(line, delimiter) for line in lines) if len(cells) > place]
    found = decimal_of(samples, delimiter)
    if found is None:
        example = next(each for each in samples if "," in each)
        raise BadInput(
            f"{file}: the comma of `{example}` may be a thousands separator or a decimal mark, and no other reading "
            "decides; give --decimal comma or --decimal point"
        )
    return found


def _take(
    chunk: bytes, form: LogFormat, columns: LogColumns, decimal: Decimal, stamps: TimeStamps, parts: _Arrays
) -> None:
    """Read one chunk of lines into the arrays."""
    kinds = [*columns.places]
    wanted = tuple(columns.places.values()) + (() if columns.clock is None else (columns.clock,))
    found = cells(chunk, form, wanted)
    parts.malformed += found.malformed
    parts.rows += len(found.starts[0])
    _take_times(found, kinds.index("time"), columns, stamps, parts)
    for number, kind in enumerate(kinds):
        if kind == "time":
            continue
        table = letters(found, number)
        text = parts.text.setdefault(kind, NonNumericCells())
        parts.columns.setdefault(kind, []).append(_channel(kind, table, decimal, text, parts))


def _channel(kind: str, table: npt.NDArray[np.uint8], decimal: Decimal, text: NonNumericCells, parts: _Arrays) -> Array:
    """Return one column of a chunk as numbers: readings, states, codes of quality, or numbers of tags."""
    if kind == "quality":
        return codes(table, text.seen).astype(np.float64)
    if kind in ("tag", "units"):
        return (parts.tags if kind == "tag" else parts.units).numbers(table)
    if kind == "running":
        return running(table, decimal, text)
    read = figures(table, decimal, text)
    if parts.tags.names:
        state = running(table, decimal, NonNumericCells())
        read = np.where(np.isnan(read), state, read)
    return read


def _take_times(found: CellSpans, number: int, columns: LogColumns, stamps: TimeStamps, parts: _Arrays) -> None:
    times, other = seconds(letters(found, number), stamps)
    if columns.clock is not None:
        clock, _ = seconds(letters(found, len(found.starts) - 1), stamps)
        times = times + clock
        other = None if other is None else other + clock
        stamps.kinds.pop("clock", None)
    parts.times.append(times)
    # Day and month may be ambiguous only in later chunks: until then both readings are the same.
    parts.other_times.append(times if other is None else np.where(np.isnan(other) & ~stamps.either, times, other))


def running(table: npt.NDArray[np.uint8], decimal: Decimal, text: NonNumericCells) -> Array:
    """Return 1 while a pump runs, 0 while it stands, NaN if unknown; a speed above zero means running."""
    found = np.full(len(table), np.nan)
    for cell, rows, own in layouts(table):
        shown = cell.decode("utf-8", errors="replace")
        if shown.lower() in _ON or shown.lower() in _OFF:
            found[rows] = float(shown.lower() in _ON)
        else:
            value = figures(own, decimal, text)
            found[rows] = np.where(np.isnan(value), np.nan, value > 0)
    return found


def _log(file: str, columns: LogColumns, stamps: TimeStamps, parts: _Arrays) -> Log:
    if not parts.rows:
        raise BadInput(f"{file} has no readings: no line has as many columns as the heading")
    main = "flow" if "flow" in columns.places else "total"
    arrays = {kind: np.concatenate(pieces) for kind, pieces in parts.columns.items()}
    quality = _marked(arrays, main, parts)
    other = np.concatenate(parts.other_times) if stamps.either else None
    rows, times, clock, notes = order_times(np.concatenate(parts.times), other, stamps, arrays[main])
    arrays = {kind: column[rows] for kind, column in arrays.items()}
    if not np.isfinite(arrays[main]).any():
        seen = ", ".join(f"`{text}`" for text, _ in parts.text[main].seen.most_common(3))
        raise BadInput(f"{file}: none of the readings is a number{f' ({seen})' if seen else quality}")
    total = None
    if "total" in arrays:
        total = total_of(times, arrays.pop("total") * _factor(columns.units["total"], columns.units["flow"], main),
                         columns.units["total"] if main == "total" else "")  # fmt: skip
    if main == "total" and total is not None:
        arrays, times = _differences(total, arrays, times)
    flow, beside = arrays.pop("flow"), arrays
    if "current" in beside and columns.units["current"]:
        beside["current"] = beside["current"] * (unit_info(columns.units["current"]).factor / unit_info("mA").factor)
    if "second" in beside:
        factor = unit_info(columns.units["second"]).factor / unit_info(columns.units["flow"]).factor
        beside["second"] = beside["second"] * factor
    warnings = [*columns.warnings, *notes, *([quality] if quality else [])]
    if total is not None and total.rolled:
        warnings.append(f"the total rolled over {count_of(total.rolled, 'time')}: corrected")
    if total is not None and main == "total" and total.delays:
        times_late = count_of(total.delays, "time")
        warnings.append(f"the total stood and caught up {times_late}, as where it is read late: no flow is told there")
    if parts.malformed:
        warnings.append(f"{count_of(parts.malformed, 'line')} with a different number of columns left out")
    missing = {} if quality else _missing(parts.text.get(main), flow)
    if missing:
        shown = ", ".join(f"`{text}` {count}" if text else f"empty {count}" for text, count in missing.items())
        warnings.append(f"{count_of(int(np.count_nonzero(np.isnan(flow))), 'reading')} missing ({shown})")
    return Log(
        file=file,
        unit=columns.units["flow"],
        times=times,
        flow=flow,
        current=beside.get("current"),
        running=beside.get("running"),
        second=beside.get("second"),
        clock=clock,
        missing=missing,
        warnings=tuple(warnings),
        total=total,
    )


def _marked(arrays: dict[str, Array], main: str, parts: _Arrays) -> str:
    """Blank what a column of quality marks as bad; return what was, in words."""
    marks = arrays.pop("quality", None)
    if marks is None:
        return ""
    words = parts.text["quality"].seen
    stands = good(marks.astype(np.int64), words)
    if stands.all():
        return ""
    arrays[main] = np.where(stands, arrays[main], np.nan)
    shown = ", ".join(f"`{text}` {count}" for text, count in words.most_common(5))
    return f"{count_of(int(np.count_nonzero(~stands)), 'reading')} not good by their quality ({shown}) left out"


def _factor(unit: str, flow: str, main: str) -> float:
    """Return what a total is multiplied with: 1, or its unit in cubic metres where its flow is given in these."""
    return 1.0 if main != "total" or flow != "m3/h" else unit_info(unit).factor / unit_info("m3").factor


def _differences(total: Total, arrays: dict[str, Array], times: Array) -> tuple[dict[str, Array], Array]:
    """Return the channels of a totaliser's log at the ends of its intervals, the flow worked out from its total."""
    ends, flow, _ = flow_of(total)
    place = np.searchsorted(times, ends)
    return {"flow": flow} | {kind: column[place] for kind, column in arrays.items()}, ends


def _of_tags(file: str, columns: LogColumns, stamps: TimeStamps, parts: _Arrays, options: Options) -> Log:
    """Return the log in a long export: the tag of the readings, and beside it those whose names tell what they are."""
    arrays = {kind: np.concatenate(pieces) for kind, pieces in parts.columns.items()}
    quality = _marked(arrays, "flow", parts)
    units = _units_of_tags(arrays, parts)
    kinds = _kinds_of_tags(file, parts.tags.names, units, options)
    main = "flow" if "flow" in kinds else "total"
    unit = options.unit or units.get(kinds[main], "")
    one = columns_of_tag(main, unit, columns, file)

    def channel(kind: str, its: LogColumns) -> Log:
        rows = arrays["tag"] == kinds[kind]
        pieces = _Arrays(
            times=[np.concatenate(parts.times)[rows]],
            other_times=[np.concatenate(parts.other_times)[rows]],
            columns={"total" if "total" in its.places else "flow": [arrays["flow"][rows]]},
            text={"total" if "total" in its.places else "flow": parts.text["flow"]},
            rows=int(rows.sum()),
        )
        return _log(file, its, stamps, pieces)

    log = channel(main, one)
    found: dict[str, Array] = {}
    for kind in ("current", "second", "running"):
        if kind in kinds:
            other = channel(kind, replace(one, places={"flow": 0}, units={**one.units, "flow": log.unit}, warnings=()))
            at = held_at if kind == "running" else partial(_at, log.clock.step)
            found[kind] = at(log.times, other.times, other.flow) * _to(log.unit, kind, units.get(kinds[kind], ""))
    names = parts.tags.names
    used = ", ".join(f"`{names[number]}` as the {_TOLD[kind]}" for kind, number in kinds.items())
    left = [f"`{name}`" for number, name in enumerate(names) if number not in kinds.values()]
    notes = [
        f"tags: {used}",
        *([f"tags not used: {', '.join(left[:8])}"] if left else []),
        *([quality] if quality else []),
    ]
    return replace(
        log,
        current=found.get("current"),
        second=found.get("second"),
        running=found.get("running"),
        warnings=(*notes, *log.warnings),
    )


_TOLD = {"flow": "reading", "total": "total", "current": "loop current", "second": "second meter", "running": "pump"}


def _at(step: float, wanted: Array, times: Array, values: Array) -> Array:
    return at_times(wanted, step, times, values)


def _to(own: str, kind: str, unit: str) -> float:
    """Return the factor from a tag's unit to milliamperes, or to the unit of the readings."""
    wanted = "mA" if kind == "current" else own
    if kind == "running" or not unit or unit_info(unit).dimension != unit_info(wanted).dimension:
        return 1.0
    return unit_info(unit).factor / unit_info(wanted).factor


def _units_of_tags(arrays: dict[str, Array], parts: _Arrays) -> dict[int, str]:
    """Return the unit of each tag: in its name, otherwise in a column of units."""
    found = {number: heading(name).unit for number, name in enumerate(parts.tags.names)}
    if "units" in arrays:
        for number in found:
            first = int(arrays["units"][np.argmax(arrays["tag"] == number)])
            found[number] = found[number] or parts.units.names[first]
    return {number: unit for number, unit in found.items() if is_unit(unit)}


def _kinds_of_tags(file: str, names: list[str], units: Mapping[int, str], options: Options) -> dict[str, int]:
    """Return which tag is the reading, the current, the second meter and the pump."""
    kinds: dict[str, int] = {}
    for kind, wanted in options.columns.items():
        if kind != "time":
            fits = [
                number for number, name in enumerate(names) if wanted.lower() in (name.lower(), heading(name).words)
            ]
            if not fits:
                raise BadInput(f"{file} has no tag `{wanted}`; {did_you_mean(wanted, names, 'its tags are others')}")
            kinds[kind] = fits[0]
    for number, name in enumerate(names):
        kind = kind_of(
            f"{name} [{units[number]}]" if number in units and not heading(name).unit else name, options.words
        )
        if kind and kind not in kinds and number not in kinds.values():
            kinds[kind] = number
    if "flow" not in kinds and "total" not in kinds:
        kinds["flow"] = next((number for number in range(len(names)) if number not in kinds.values()), 0)
    if "flow" in kinds:
        kinds.pop("total", None)
    return kinds


def _missing(text: NonNumericCells | None, flow: Array) -> dict[str, int]:
    seen: Counter[str] = text.seen if text else Counter()
    return dict(seen.most_common(5)) if np.isnan(flow).any() else {}
