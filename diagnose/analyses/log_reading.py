"""A log read: times, readings, and what stands beside them; gaps, doubles and jumps of the clock found and told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt

from diagnose.analyses.amounts import Array
from diagnose.analyses.log_bytes import Cells, Form, cells, chunks, form_of, letters, parted
from diagnose.analyses.log_clock import Clock, put_in_order, so_many
from diagnose.analyses.log_columns import Columns, columns_of
from diagnose.analyses.log_layouts import Decimal, TextCells, decimal_of, figures, layouts
from diagnose.analyses.log_times import Order, Stamps, elapsed_unit, seconds
from diagnose.errors import BadInput
from diagnose.units import unit_info

MOST_ROWS = 50_000_000
"""Rows of a log that are kept: eight bytes a row and column."""

_ON = frozenset({"on", "run", "running", "true", "yes", "start", "started", "open", "active", "ein", "high"})
_OFF = frozenset({"off", "stop", "stopped", "false", "no", "idle", "standby", "closed", "inactive", "aus", "low"})


@dataclass(frozen=True, slots=True)
class Options:
    """What a person says about a log: unit, columns by kind, the decimal mark, which of two figures is the day."""

    unit: str = ""
    second_unit: str = ""
    columns: Mapping[str, str] = field(default_factory=dict)
    decimal: Decimal | None = None
    order: Order | None = None


@dataclass(frozen=True, slots=True)
class Log:
    """A log: seconds, readings in ``unit`` (NaN where none was written), and what stands beside them, if anything."""

    file: str
    unit: str
    times: Array
    flow: Array
    current: Array | None
    running: Array | None
    second: Array | None
    clock: Clock
    missing: Mapping[str, int]
    """What stood in place of a reading, and how often."""
    warnings: tuple[str, ...]


@dataclass(slots=True)
class _Parts:
    """The arrays of a log as they come in, chunk by chunk."""

    times: list[Array] = field(default_factory=list)
    other_times: list[Array] = field(default_factory=list)
    columns: dict[str, list[Array]] = field(default_factory=dict)
    text: dict[str, TextCells] = field(default_factory=dict)
    torn: int = 0
    rows: int = 0


def read_log(path: Path, options: Options | None = None) -> Log:
    """Return the log in a file.

    Raises BadInput when it cannot be read: no text, no times, no readings, no unit.
    """
    options = options or Options()
    pieces = chunks(path)
    first = next(pieces, b"")
    file = path.name
    form = form_of(first[:200_000], file)
    units = {"flow": options.unit, "second": options.second_unit}
    columns = columns_of(form, options.columns, units, file)
    decimal = options.decimal or _decimal(first, form.delimiter.decode(), form.skipped, columns, file)
    time_heading = form.headings[columns.places["time"]] if form.headings else ""
    stamps = Stamps(options.order, elapsed_unit(time_heading, columns.units["time"]))
    parts = _Parts()
    chunk = first.split(b"\n", form.skipped)[-1]
    while chunk:
        _take(chunk, form, columns, decimal, stamps, parts)
        if parts.rows > MOST_ROWS:
            raise BadInput(f"{file} has more than {MOST_ROWS:,} lines; part it by days and read one at a time")
        chunk = next(pieces, b"")
    return _log(file, columns, stamps, parts)


def _decimal(head: bytes, delimiter: str, skipped: int, columns: Columns, file: str) -> Decimal:
    """Return what marks decimals in the readings.

    Raises BadInput when every one can be read in two ways.
    """
    lines = head[:200_000].decode("utf-8", errors="replace").split("\n")[skipped : skipped + 2000]
    place = columns.places["flow"]
    samples = [cells[place] for cells in (parted(line, delimiter) for line in lines) if len(cells) > place]
    found = decimal_of(samples, delimiter)
    if found is None:
        example = next(each for each in samples if "," in each)
        raise BadInput(
            f"{file}: `{example}` may be a whole number with thousands set off, or one with decimals, and no other "
            "reading tells; say --decimal comma or --decimal point"
        )
    return found


def _take(chunk: bytes, form: Form, columns: Columns, decimal: Decimal, stamps: Stamps, parts: _Parts) -> None:
    """Read one chunk of lines into the arrays."""
    kinds = [*columns.places]
    wanted = tuple(columns.places.values()) + (() if columns.clock is None else (columns.clock,))
    found = cells(chunk, form, wanted)
    parts.torn += found.torn
    parts.rows += len(found.starts[0])
    _take_times(found, kinds.index("time"), columns, stamps, parts)
    for number, kind in enumerate(kinds):
        if kind == "time":
            continue
        table = letters(found, number)
        text = parts.text.setdefault(kind, TextCells())
        read = running(table, decimal, text) if kind == "running" else figures(table, decimal, text)
        parts.columns.setdefault(kind, []).append(read)


def _take_times(found: Cells, number: int, columns: Columns, stamps: Stamps, parts: _Parts) -> None:
    times, other = seconds(letters(found, number), stamps)
    if columns.clock is not None:
        clock, _ = seconds(letters(found, len(found.starts) - 1), stamps)
        times = times + clock
        other = None if other is None else other + clock
        stamps.kinds.pop("clock", None)
    parts.times.append(times)
    # Day and month may be open in later chunks only: the other reading then starts as this one.
    parts.other_times.append(times if other is None else np.where(np.isnan(other) & ~stamps.either, times, other))


def running(table: npt.NDArray[np.uint8], decimal: Decimal, text: TextCells) -> Array:
    """Return 1 where a pump runs, 0 where it stands, NaN where nothing is said; a speed above zero is running."""
    found = np.full(len(table), np.nan)
    for cell, rows, own in layouts(table):
        shown = cell.decode("utf-8", errors="replace")
        if shown.lower() in _ON or shown.lower() in _OFF:
            found[rows] = float(shown.lower() in _ON)
        else:
            value = figures(own, decimal, text)
            found[rows] = np.where(np.isnan(value), np.nan, value > 0)
    return found


def _log(file: str, columns: Columns, stamps: Stamps, parts: _Parts) -> Log:
    if not parts.rows:
        raise BadInput(f"{file} holds no readings: no line has as many columns as its heading")
    flow = np.concatenate(parts.columns.pop("flow"))
    other = np.concatenate(parts.other_times) if stamps.either else None
    rows, times, clock, told = put_in_order(np.concatenate(parts.times), other, stamps, flow)
    flow = flow[rows]
    if not np.isfinite(flow).any():
        seen = ", ".join(f"`{text}`" for text, _ in parts.text["flow"].seen.most_common(3))
        raise BadInput(f"{file}: no reading is a figure{f' ({seen})' if seen else ''}")
    beside = {kind: np.concatenate(pieces)[rows] for kind, pieces in parts.columns.items()}
    if "current" in beside and columns.units["current"]:
        beside["current"] = beside["current"] * (unit_info(columns.units["current"]).factor / unit_info("mA").factor)
    if "second" in beside:
        factor = unit_info(columns.units["second"]).factor / unit_info(columns.units["flow"]).factor
        beside["second"] = beside["second"] * factor
    warnings = [*columns.warnings, *told]
    if parts.torn:
        warnings.append(f"{so_many(parts.torn, 'line')} with another number of columns left out")
    missing = _missing(parts.text.get("flow"), flow)
    if missing:
        shown = ", ".join(f"`{text}` {count}" if text else f"empty {count}" for text, count in missing.items())
        warnings.append(f"{so_many(int(np.count_nonzero(np.isnan(flow))), 'reading')} missing ({shown})")
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


def _missing(text: TextCells | None, flow: Array) -> dict[str, int]:
    seen: Counter[str] = text.seen if text else Counter()
    return dict(seen.most_common(5)) if np.isnan(flow).any() else {}
