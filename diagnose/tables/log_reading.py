"""Reads a log: times, readings and other channels; reports gaps, duplicates and clock jumps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt

from diagnose.bounded import LOG_ROWS
from diagnose.errors import BadInput
from diagnose.tables.arrays import Array
from diagnose.tables.log_bytes import CellSpans, LogFormat, cells, chunks, detect_format, letters, split_cells
from diagnose.tables.log_clock import Clock, count_of, order_times
from diagnose.tables.log_columns import LogColumns, columns_of
from diagnose.tables.log_layouts import Decimal, NonNumericCells, decimal_of, figures, layouts
from diagnose.tables.log_total import Total
from diagnose.tables.log_times import Order, TimeStamps, elapsed_unit, seconds
from diagnose.units import unit_info

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
    columns = columns_of(form, options.columns, units, file)
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
    return _log(file, columns, stamps, parts)


def _decimal(head: bytes, delimiter: str, skipped: int, columns: LogColumns, file: str) -> Decimal:
    """Return the decimal mark of the readings.

    Raises BadInput if all are ambiguous.
    """
    lines = head[:200_000].decode("utf-8", errors="replace").split("\n")[skipped : skipped + 2000]
    place = columns.places["flow"]
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
        read = running(table, decimal, text) if kind == "running" else figures(table, decimal, text)
        parts.columns.setdefault(kind, []).append(read)


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
    flow = np.concatenate(parts.columns.pop("flow"))
    other = np.concatenate(parts.other_times) if stamps.either else None
    rows, times, clock, notes = order_times(np.concatenate(parts.times), other, stamps, flow)
    flow = flow[rows]
    if not np.isfinite(flow).any():
        seen = ", ".join(f"`{text}`" for text, _ in parts.text["flow"].seen.most_common(3))
        raise BadInput(f"{file}: none of the readings is a number{f' ({seen})' if seen else ''}")
    beside = {kind: np.concatenate(pieces)[rows] for kind, pieces in parts.columns.items()}
    if "current" in beside and columns.units["current"]:
        beside["current"] = beside["current"] * (unit_info(columns.units["current"]).factor / unit_info("mA").factor)
    if "second" in beside:
        factor = unit_info(columns.units["second"]).factor / unit_info(columns.units["flow"]).factor
        beside["second"] = beside["second"] * factor
    warnings = [*columns.warnings, *notes]
    if parts.malformed:
        warnings.append(f"{count_of(parts.malformed, 'line')} with a different number of columns left out")
    missing = _missing(parts.text.get("flow"), flow)
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
    )


def _missing(text: NonNumericCells | None, flow: Array) -> dict[str, int]:
    seen: Counter[str] = text.seen if text else Counter()
    return dict(seen.most_common(5)) if np.isnan(flow).any() else {}
