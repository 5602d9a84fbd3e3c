"""A log of any length as bytes: detects its delimiter and extracts the cells of columns, chunk by chunk.

A log may have millions of lines, so that nothing here loops over lines: a chunk is an array of bytes, in which all
delimiters and line ends are found at once.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from diagnose.bounded import LOG, too_long
from diagnose.errors import BadInput

Bytes: TypeAlias = npt.NDArray[np.uint8]
Places: TypeAlias = npt.NDArray[np.int64]

CHUNK = 4_000_000
"""Bytes read at once, which bounds the memory needed."""

WIDEST = 48
"""Characters of a cell that are looked at; no time stamp or figure is longer."""

SPACES = b" "
_NEWLINE, _QUOTE = 10, 34
_BLANK = np.zeros(256, bool)
_BLANK[[9, 13, 32, 34, 39, 0xA0]] = True
"""Bytes trimmed off a cell: blanks, quotes, carriage returns."""


@dataclass(frozen=True, slots=True)
class LogFormat:
    """The format of a log: delimiter, number of columns, lines before the first reading, headings and units."""

    delimiter: bytes
    columns: int
    skipped: int
    headings: tuple[str, ...]
    units: tuple[str, ...]
    example: tuple[str, ...]
    """The cells of the first reading."""


def chunks(path: Path) -> Iterator[bytes]:
    """Yield a file in chunks of whole lines.

    Raises BadInput if it cannot be read or is not text.
    """
    try:
        with path.open("rb") as file:
            start = file.read(4)
            file.seek(0)
            utf16 = start[:2] in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
            read = _utf16(codecs.getreader("utf-16")(file)) if utf16 else _plain(file)
            yield from _whole_lines(_at_most(read, path))
    except OSError as error:
        raise BadInput(f"the log {path} cannot be read: {error.strerror or error}") from error
    except UnicodeError as error:
        raise BadInput(f"the log {path} is not readable text; save it as CSV in UTF-8") from error


def _plain(file: object) -> Iterator[bytes]:
    first = True
    while piece := file.read(CHUNK):  # type: ignore[attr-defined]
        yield piece.removeprefix(codecs.BOM_UTF8) if first else piece
        first = False


def _utf16(reader: codecs.StreamReader) -> Iterator[bytes]:
    while piece := reader.read(CHUNK // 2):
        yield piece.encode()


def _at_most(pieces: Iterator[bytes], path: Path) -> Iterator[bytes]:
    size = 0
    for piece in pieces:
        size += len(piece)
        if size > LOG.most:
            raise too_long(LOG, f"{LOG.what} {path}")
        yield piece


def _whole_lines(pieces: Iterator[bytes]) -> Iterator[bytes]:
    left = b""
    for piece in pieces:
        if b"\n" not in piece and b"\r" in piece:
            piece = piece.replace(b"\r", b"\n")
        whole, newline, rest = (left + piece).rpartition(b"\n")
        left = rest
        if len(left) > CHUNK:
            raise BadInput(f"the log has a line of more than {CHUNK // 1_000_000} MB; it is not a CSV file")
        if newline:
            yield whole + newline
    if left.strip():
        yield left + b"\n"


@dataclass(frozen=True, slots=True)
class CellSpans:
    """Where the cells of a chunk start and end, one array for each wanted column."""

    data: Bytes
    starts: tuple[Places, ...]
    ends: tuple[Places, ...]
    malformed: int
    """Number of lines with too few or too many columns, which are left out."""


def cells(chunk: bytes, form: LogFormat, wanted: tuple[int, ...]) -> CellSpans:
    """Find the cells of the wanted columns; lines with another number of columns are left out and counted."""
    if form.delimiter == SPACES:
        chunk = re.sub(rb"[ \t]+", b" ", re.sub(rb"(?m)^[ \t]+|[ \t\r]+$", b"", chunk))
    data = np.frombuffer(chunk, np.uint8)
    marks = (data == form.delimiter[0]) | (data == _NEWLINE)
    if b'"' in chunk:
        # A delimiter between quotes is part of the cell. A quote that is never closed must not swallow the rest.
        inside = np.cumsum(data == _QUOTE) & 1 == 1
        marks &= ~inside | (data == _NEWLINE)
    places = np.flatnonzero(marks)
    line_ends = np.flatnonzero(data[places] == _NEWLINE)
    firsts = np.concatenate(([0], line_ends[:-1] + 1))
    counts = line_ends - firsts + 1
    before = np.concatenate(([-1], places[line_ends[:-1]]))
    good = counts == form.columns
    lengths = places[line_ends] - before
    malformed = int(np.count_nonzero(~good & (lengths > 2)))
    firsts, before = firsts[good], before[good]
    starts = tuple((places[firsts + each - 1] if each else before) + 1 for each in wanted)
    ends = tuple(places[firsts + each] for each in wanted)
    return CellSpans(data, starts, ends, malformed)


def letters(found: CellSpans, column: int) -> Bytes:
    """Return the cells of a column as a matrix of bytes: one row per cell, trimmed, padded with zeros."""
    start, end = found.starts[column].copy(), found.ends[column].copy()
    if not len(start):
        return np.zeros((0, 1), np.uint8)
    _trim(found.data, start, end)
    lengths = np.minimum(end - start, WIDEST)
    width = max(1, int(lengths.max()))
    # Copying whole rows of a sliding window is several times faster than byte by byte.
    padded = np.concatenate((found.data, np.zeros(width, np.uint8)))
    table = np.lib.stride_tricks.sliding_window_view(padded, width)[start]
    if lengths.min() < width:
        table *= np.arange(width) < lengths[:, None]
    return table


def _trim(data: Bytes, start: Places, end: Places) -> None:
    """Move starts and ends past blanks, repeating only for the few cells that have more."""
    left = np.flatnonzero((end > start) & _BLANK[data[start]])
    while len(left):
        start[left] += 1
        left = left[(end[left] > start[left]) & _BLANK[data[start[left]]]]
    left = np.flatnonzero((end > start) & _BLANK[data[end - 1]])
    while len(left):
        end[left] -= 1
        left = left[(end[left] > start[left]) & _BLANK[data[end[left] - 1]]]


def detect_format(head: bytes, file: str) -> LogFormat:
    """Detect the format of a log from its beginning.

    Raises BadInput if it has no readings, or no consistent delimiter.
    """
    # Not `splitlines`, which splits at more characters than the search in the bytes does.
    lines = _text(head).split("\n")[:400]
    figures = [number for number, line in enumerate(lines) if _is_reading(line)]
    if not figures:
        raise BadInput(f"{file} has no readings: a log has lines with a time and a flow, for example 12:00:00;5.3")
    body = [lines[number] for number in figures][-200:]
    delimiter, columns = _delimiter(body, file)
    first = next(number for number in figures if len(split_cells(lines[number], delimiter)) == columns)
    above = [
        split_cells(line, delimiter) for line in lines[:first] if line.strip() and not line.lstrip().startswith("#")
    ]
    above = [row for row in above if len(row) == columns and sum(bool(cell) for cell in row) > 1] or [
        row for row in above[-1:] if len(row) == columns
    ]
    headings, units = (tuple(printable(cell) for cell in row) for row in [*above, [], []][:2])
    example = tuple(split_cells(lines[first], delimiter))
    return LogFormat(delimiter.encode(), columns, first, headings, units, example)


def printable(text: str) -> str:
    """Return a text without control characters, truncated to a length that can be shown.

    >>> printable("Bad\\x1b[2J"), len(printable("x" * 200))
    ('Bad�[2J', 48)
    """
    return "".join(each if each.isprintable() else "\N{REPLACEMENT CHARACTER}" for each in text)[:48]


def _text(head: bytes) -> str:
    try:
        return head.decode("utf-8")
    except UnicodeDecodeError:
        return head.decode("cp1252", errors="replace")


def _is_reading(line: str) -> bool:
    """Check whether a line is like a reading: it starts with a figure or a date, or has date and time behind a tag.

    >>> [_is_reading(each) for each in ("12:00;5.3", "Mar 3, 2026;5", "FT1,2026-03-01 00:00,50,good", "tag,time,value")]
    [True, True, True, False]
    """
    return not line.startswith("#") and bool(_STARTS_A_READING.match(line) or _TIME_BEHIND.search(line))


_STARTS_A_READING = re.compile(r"""\s*["']?[-+]?(?:\d|[A-Za-z]{3,9}\.? \d{1,2},? )""")
_TIME_BEHIND = re.compile(r"""[\t;|,] ?["']?\d{1,4}[-./]\d{1,2}[-./]\d{1,4}[ T]\d{1,2}:\d{2}""")


def _delimiter(lines: list[str], file: str) -> tuple[str, int]:
    """Return the delimiter and the number of columns: the first one that splits nearly all lines alike."""
    for mark in ("\t", ";", "|", ",", " "):
        counts = [len(split_cells(line, mark)) for line in lines]
        usual = max(set(counts), key=counts.count)
        if usual > 1 and counts.count(usual) >= 0.9 * len(counts):
            return mark, usual
    raise BadInput(
        f"{file}: no delimiter gives all lines the same number of columns; separate time and flow with semicolons"
    )


def split_cells(line: str, delimiter: str) -> list[str]:
    """Split one line into cells.

    >>> split_cells('"a;b"; 5,3', ";")
    ['a;b', '5,3']
    """
    if delimiter == " ":
        return line.split()
    outside = re.split(rf'{re.escape(delimiter)}(?=(?:[^"]*"[^"]*")*[^"]*$)', line)
    return [cell.strip(" \t\r\"'\u00a0") for cell in outside]
