"""Groups the cells of a column by layout: cells that differ only in their digits.

A log of a million lines has a handful of layouts (`00.000`, `000.000`, `Bad`), so that each layout is parsed once, and
the digits of all its cells are read together.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

from diagnose.tables.arrays import Array
from diagnose.tables.log_bytes import Bytes, printable

Decimal = Literal["point", "comma"]

MOST_LAYOUTS = 400
"""Most layouts of a chunk that are handled as groups; the other cells are handled one by one."""

_ZERO, _NINE = 48, 57
_ABSURD = 1e30
"""No meter shows so much, in whatever unit; its square could not be worked with."""

_EXACT = 15
"""Digits for which a figure is exact in floating point, so that dividing by a power of ten rounds correctly."""


def _form(mark: str, thousands: str) -> re.Pattern[str]:
    return re.compile(
        rf"(?P<sign>[-+−]?)(?P<whole>\d{{1,3}}(?:[ '{thousands}]\d{{3}})+(?!\d)|\d*)(?:{re.escape(mark)}(?P<part>\d*))?"
        r"(?P<power>[eE][-+]?\d+)?(?P<unit>\s*[^\d\s.,;:+−-][^;:]*)?"
    )


_FIGURES: Mapping[Decimal, re.Pattern[str]] = {"point": _form(".", ","), "comma": _form(",", ".")}


@dataclass(slots=True)
class NonNumericCells:
    """Counts of the texts found in place of figures, and of the units after figures."""

    seen: Counter[str] = field(default_factory=Counter)
    units: Counter[str] = field(default_factory=Counter)


def layouts(table: Bytes) -> Iterator[tuple[bytes, npt.NDArray[np.intp], Bytes]]:
    """Yield the layouts: one of its cells, the rows that have it, and their bytes."""
    digits = (table >= _ZERO) & (table <= _NINE)
    masked = np.ascontiguousarray(np.where(digits, np.uint8(_ZERO), table))
    keys = masked.view(f"S{table.shape[1]}").ravel()
    left = np.arange(len(table))
    for _ in range(MOST_LAYOUTS):
        if not len(left):
            return
        first = left[0]
        same = keys[left] == keys[first]
        rows = left[same]
        left = left[~same]
        yield bytes(table[first]).rstrip(b"\0"), rows, table[rows]
    for row in left:
        yield bytes(table[row]).rstrip(b"\0"), np.array([row]), table[row : row + 1]


def digits_of(table: Bytes, start: int, end: int) -> npt.NDArray[np.int64]:
    """Return the integer in columns ``start`` to ``end`` of each row."""
    number = np.zeros(len(table), np.int64)
    for column in range(start, end):
        number = number * 10 + (table[:, column].astype(np.int64) - _ZERO)
    return number


def figures(table: Bytes, decimal: Decimal, text: NonNumericCells) -> Array:
    """Return the figures of a column; any other text becomes NaN and is counted in ``text``."""
    found, form = np.full(len(table), np.nan), _FIGURES[decimal]
    for cell, rows, own in layouts(table):
        shown = cell.decode("utf-8", errors="replace")
        typographic = shown.startswith("−")
        match = form.fullmatch(shown.replace("−", "-", 1)) if cell.isascii() or typographic else None
        if match is None or not (match["whole"] or match["part"]):
            text.seen[printable(shown)] += len(rows)
            continue
        if typographic:
            own = np.delete(own, (1, 2), axis=1)  # that minus sign takes three bytes, the hyphen one
            own[:, 0] = ord("-")
        value = _values(own, match, decimal)
        if value is None:
            text.seen[printable(shown)] += len(rows)
            continue
        found[rows] = value
        absurd = int(np.count_nonzero(np.isnan(value)))
        if absurd:
            text.seen[printable(shown)] += absurd
        if match["unit"]:
            text.units[match["unit"].strip()] += len(rows)
    return found


def _values(table: Bytes, match: re.Match[str], decimal: Decimal) -> Array | None:
    whole, part = match["whole"], match["part"] or ""
    if match["power"] or sum(letter.isdigit() for letter in whole + part) > _EXACT:
        return _slow(table[:, : max(match.end(name) for name in ("whole", "part", "power"))], decimal)
    number = np.zeros(len(table))
    for start, end in (match.span("whole"), match.span("part")):
        for column in range(start, end):
            if _ZERO <= table[0, column] <= _NINE:
                number = number * 10 + (table[:, column] - float(_ZERO))
    number /= 10.0 ** len(part)
    return -number if match["sign"] in ("-", "−") else number


def _slow(table: Bytes, decimal: Decimal) -> Array | None:
    """Parse figures with an exponent or too many digits with numpy; those that no meter shows become NaN."""
    plain = np.where(table == ord(","), np.uint8(ord(".")), table) if decimal == "comma" else table
    kept = np.ascontiguousarray(plain).view(f"S{table.shape[1]}").ravel()
    try:
        found = kept.astype(np.float64)
    except ValueError:
        return None
    return np.where(np.abs(found) < _ABSURD, found, np.nan)


def decimal_of(samples: list[str], delimiter: str) -> Decimal | None:
    """Return the decimal mark of these cells, or None if all are ambiguous.

    >>> decimal_of(["12,5", "7,0"], ";"), decimal_of(["12.5"], ","), decimal_of(["1,250", "2,500"], ";")
    ('comma', 'point', None)
    """
    open_ = False
    for sample in samples:
        match = re.match(r"[-+−]?\d[\d '.,]*", sample)
        bare = match[0].strip() if match else ""
        commas, points = bare.count(","), bare.count(".")
        if commas and points:
            return "comma" if bare.rindex(",") > bare.rindex(".") else "point"
        if commas == 1:
            whole, part = bare.lstrip("-+−").split(",")
            if len(part) != 3 or whole.strip("0") == "" or len(whole) > 3:
                return "comma"
            open_ = True
        elif points == 1 and delimiter != ",":
            whole, part = bare.lstrip("-+−").split(".")
            if len(part) != 3 or whole.strip("0") == "" or len(whole) > 3:
                return "point"
        elif points == 1:
            return "point"
    return None if open_ else "point"
