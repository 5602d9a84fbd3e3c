"""Reads a table as people send it, CSV of any kind or pasted, into cells that know their position.

The delimiter may be a semicolon, tab, bar, comma or spaces; quotes, byte-order marks, comments and blank lines are
handled.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass

from diagnose.errors import BadInput
from diagnose.place import Place, Problem
from diagnose.units import is_unit

SPACES = " "
"""The delimiter of tables with spaces between cells."""

LONGEST_LINE = 20_000
"""Most characters of a line of readings; a longer one is something else, and would fill every message about it."""

_COMMENTS = ("#", "//", "--")
_RULE = re.compile(r"[\s|:+=-]+")
_WORD = re.compile(r"\S+")
_WIDE = re.compile(r"\S+(?: \S+)*")
_BRACKET = re.compile(r"[\[(][^\])]*[\])]")
_SPACED_FIGURES = re.compile(r"\d,\d+\s+[-+]?\d")
_QUOTED = re.compile(r'\s*"((?:[^"]|"")*)"\s*')


@dataclass(frozen=True, slots=True)
class Cell:
    """The text of one cell, and its line and column (both from 1)."""

    text: str
    line: int
    column: int


@dataclass(frozen=True, slots=True)
class TextTable:
    """The rows of a table, its delimiter, and its lines for messages."""

    file: str
    delimiter: str
    rows: tuple[tuple[Cell, ...], ...]
    lines: tuple[str, ...]
    warnings: tuple[str, ...] = ()

    def problem(self, cell: Cell, code: str, text: str, help: str = "") -> Problem:
        """Return a problem at a cell."""
        place = Place(self.file, cell.line, cell.column, max(1, len(cell.text)))
        return Problem(place, code, text, help, source_line=self.lines[cell.line - 1])


def read_table(data: bytes | str, file: str) -> TextTable:
    """Read the cells of a table.

    Raises BadInput if it is not text, is empty, or cannot be split into columns.

    >>> [[cell.text for cell in row] for row in read_table("ref;ind\\n5,0;5,31", "a.csv").rows]
    [['ref', 'ind'], ['5,0', '5,31']]
    """
    text, warnings = _decoded(data, file) if isinstance(data, bytes) else (data, ())
    if "\x00" in text:
        raise BadInput(f"{file} is not text; save the table as CSV and try again")
    lines = tuple(text.removeprefix("\ufeff").splitlines())
    _check_line_lengths(lines, file)
    numbered = [(number, line) for number, line in enumerate(lines, 1) if _is_content(line)]
    if not numbered:
        raise BadInput(f"{file} is empty: it needs lines of readings, for example `reference [m3/h];indicated [m3/h]`")
    delimiter = _delimiter([line for _, line in numbered], file)
    rows = tuple(tuple(_cells(line, number, delimiter)) for number, line in numbered)
    return TextTable(file, delimiter, rows, lines, warnings)


def _decoded(data: bytes, file: str) -> tuple[str, tuple[str, ...]]:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16", errors="replace"), ()
    try:
        return data.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace"), (f"{file} is not UTF-8; read as Western European (cp1252)",)


def _check_line_lengths(lines: tuple[str, ...], file: str) -> None:
    for number, line in enumerate(lines, 1):
        if len(line) > LONGEST_LINE:
            raise BadInput(f"{file}: line {number} has {len(line)} characters, too many for a line of readings")


def _is_content(line: str) -> bool:
    bare = line.strip()
    return bool(bare) and not bare.startswith(_COMMENTS) and not _RULE.fullmatch(bare)


def _delimiter(lines: list[str], file: str) -> str:
    """Return the delimiter: the first that is in every line with figures, otherwise spaces."""
    figures = [line for line in lines if _has_figures(line)] or lines
    for mark in ("\t", ";", "|"):
        if all(mark in line for line in figures):
            return mark
    if all(_SPACED_FIGURES.search(line) for line in figures):
        return SPACES
    counts = {len(list(_cells(line, 1, ","))) for line in lines}
    if len(counts) == 1 and counts != {1}:
        return ","
    if any(len(list(_cells(line, 1, SPACES))) > 1 for line in figures):
        return SPACES
    if counts != {1}:
        text = "commas seem to be both delimiter and decimal mark, or lines have different numbers of cells"
        raise BadInput(f"{file}: {text}; separate the columns with semicolons")
    return ";"


def _has_figures(line: str) -> bool:
    """Check whether a line has figures other than those in units (``m3/h``)."""
    # Behind the last bracket that closes, none that opens could find its end.
    end = max(line.rfind("]"), line.rfind(")")) + 1
    return bool(re.search(r"(?<![A-Za-z])\d", _BRACKET.sub("", line[:end]) + line[end:]))


def _cells(line: str, number: int, delimiter: str) -> Iterator[Cell]:
    if delimiter == SPACES:
        yield from _split_at_spaces(line, number)
    elif delimiter == "|":
        bare = line.strip().removeprefix("|")
        start = line.index(bare) if bare else 0
        yield from _split_at_mark(line[: start + len(bare.removesuffix("|"))], number, delimiter, start)
    else:
        yield from _split_at_mark(line, number, delimiter, 0)


def _split_at_spaces(line: str, number: int) -> Iterator[Cell]:
    """Split a line at double spaces, if any, otherwise at spaces, keeping a unit with its figure or heading."""
    if "  " in line.strip():
        yield from (Cell(match[0], number, match.start() + 1) for match in _WIDE.finditer(line))
        return
    waiting: Cell | None = None
    for match in _WORD.finditer(line):
        word = match[0]
        if waiting and (word[0] in "[(" or (is_unit(word) and waiting.text[-1].isdigit())):
            waiting = Cell(f"{waiting.text} {word}", number, waiting.column)
            continue
        if waiting:
            yield waiting
        waiting = Cell(word, number, match.start() + 1)
    if waiting:
        yield waiting


def _split_at_mark(line: str, number: int, delimiter: str, at: int) -> Iterator[Cell]:
    """Split a line at a delimiter; a quoted cell may contain the delimiter."""
    while at <= len(line):
        quoted = _QUOTED.match(line, at)
        if quoted and (quoted.end() == len(line) or line[quoted.end()] == delimiter):
            yield Cell(quoted[1].replace('""', '"').strip(), number, quoted.start(1) + 1)
            at = quoted.end() + 1
            continue
        end = line.find(delimiter, at)
        end = len(line) if end < 0 else end
        text = line[at:end]
        yield Cell(text.strip(), number, at + 1 + len(text) - len(text.lstrip()))
        at = end + 1
