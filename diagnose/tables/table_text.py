"""Reads a table as people send it, CSV of any kind or pasted, into cells that know their position.

The delimiter may be a semicolon, tab, bar, comma or spaces, or what stands between two readings (`10/10.4`, `10 vs
10.4`, `10 -> 10.4`); quotes, byte-order marks, comments, blank lines, and lines above and below the table are handled.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import islice

from diagnose.errors import BadInput
from diagnose.place import Place, Problem
from diagnose.tables.table_units import is_unit
from diagnose.tables.written_figures import is_plain_figure

SPACES = " "
"""The delimiter of tables with spaces between cells."""

PAIRED = "/"
"""The delimiter of tables with a mark between two readings, whichever it is."""

LONGEST_LINE = 20_000
"""Most characters of a line of readings; a longer one is something else, and would fill every message about it."""

_COMMENT = re.compile(r"//|--|#(?!\d+\s*[;,|\t])")
"""What a line that is a comment begins with; `#1;` is the number of a row."""
_RULE = re.compile(r"[\s|:+=-]+")
_WORD = re.compile(r"\S+")
_WIDE = re.compile(r"\S+(?: \S+)*")
_BRACKET = re.compile(r"[\[(][^()\[\]]*[\])]")
_BETWEEN = re.compile(r"(?<=\s)(?:vs\.?|versus|against)(?=\s)|[-=]>|→|(?<!\+)/", re.IGNORECASE)
"""Marks between the reading of the reference and that of the meter."""

_BETWEEN_TYPED = re.compile(r"[|:]|,(?=\s)")
"""Further marks between two readings that were typed at a prompt."""

_MOST_MARKS = 8
"""Marks in one line among which that between the readings is looked for; units have one as well."""

_STARTS_WITH_FIGURE = re.compile(r"\s*[-+−–(]?[.,]?\d")
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
    if delimiter == "|":
        numbered = _without_frame(numbered)
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
    return bool(bare) and not _COMMENT.match(bare) and not _RULE.fullmatch(bare)


def _without_frame(numbered: list[tuple[int, str]]) -> list[tuple[int, str]]:
    """Return lines without the bars at their ends, if all have them; a blank keeps the columns of the first."""
    if all(line.lstrip().startswith("|") for _, line in numbered if "|" in line):
        numbered = [(number, line.replace("|", " ", 1) if "|" in line else line) for number, line in numbered]
    if all(line.rstrip().endswith("|") for _, line in numbered if "|" in line):
        numbered = [(number, line.rstrip().removesuffix("|")) for number, line in numbered]
    return numbered


def _delimiter(lines: list[str], file: str) -> str:
    """Return the delimiter: the first that is in every line with figures, otherwise spaces."""
    figures = [line for line in lines if _has_figures(line)] or lines
    starting = [line for line in lines if _STARTS_WITH_FIGURE.match(line)]
    if starting and all(split_pair(line) for line in starting):
        return PAIRED
    for mark in ("\t", ";", "|"):
        if _is_throughout([mark in line for line in figures]):
            return mark
        if len(starting) > 1 and all(mark in line for line in starting):
            return mark
    if all(_SPACED_FIGURES.search(line) for line in figures):
        return SPACES
    counts = [len(list(_cells(line, 1, ","))) for line in figures]
    usual = max(set(counts), key=counts.count)
    first = lines.index(figures[counts.index(usual)])
    above = lines[first - 1] if first else ""  # a heading is set off as its figures are
    is_heading = not above or len(list(_cells(above, 1, ","))) == usual
    if usual > 1 and is_heading and _is_throughout([count == usual for count in counts]):
        return ","
    if any(len(list(_cells(line, 1, SPACES))) > 1 for line in figures):
        return SPACES
    if set(counts) != {1}:
        text = "commas seem to be both delimiter and decimal mark, or lines have different numbers of cells"
        raise BadInput(f"{file}: {text}; separate the columns with semicolons")
    return ";"


def _is_throughout(fits: list[bool]) -> bool:
    """Check whether a delimiter fits all lines of a table; a few above and below it may be something else."""
    if True not in fits:
        return False
    first, last = fits.index(True), len(fits) - fits[::-1].index(True)
    return all(fits[first:last]) and last - first > (len(fits) - (last - first))


def split_pair(line: str, between: re.Pattern[str] = _BETWEEN) -> tuple[tuple[str, int], tuple[str, int]] | None:
    """Return two readings with a mark between them, each with its place in the line; None for anything else.

    >>> split_pair("10 m3/h / 10.4 m3/h"), split_pair("10 vs 10.4"), split_pair("10 -> about 10")
    ((('10 m3/h', 0), ('10.4 m3/h', 10)), (('10', 0), ('10.4', 6)), None)
    """
    return _parted(line, between, is_plain_figure)


def split_typed(text: str) -> tuple[tuple[str, int], ...] | None:
    """Return two readings that somebody typed side by side, with their places; None for anything else.

    >>> split_typed("5,0 5,31"), split_typed("5:5.31"), split_typed("10 ±0.1, 10.4"), split_typed("5 5 5")
    ((('5,0', 0), ('5,31', 4)), (('5', 0), ('5.31', 2)), (('10 ±0.1', 0), ('10.4', 9)), None)
    """
    pair = _parted(text, _BETWEEN_TYPED, is_plain_figure)
    if pair:
        return pair
    cells = [(cell.text, cell.column - 1) for cell in _split_at_spaces(text, 1)]
    return tuple(cells) if len(cells) == 2 else None


def _parted(
    line: str, between: re.Pattern[str], fits: Callable[[str], bool]
) -> tuple[tuple[str, int], tuple[str, int]] | None:
    marks = list(islice(between.finditer(line), _MOST_MARKS + 1))
    if len(marks) > _MOST_MARKS:
        return None
    for mark in marks:
        sides = (line[: mark.start()], 0), (line[mark.end() :], mark.end())
        one, other = ((text.strip(), at + len(text) - len(text.lstrip())) for text, at in sides)
        if fits(one[0]) and fits(other[0]):
            return one, other
    return None


def _is_name(text: str) -> bool:
    """Check whether a part of a heading can stand by itself: it names something and breaks no unit apart."""
    bare = _BRACKET.sub("", text).strip()
    return bool(re.search(r"[^\W\d_]{2}", bare)) and not is_unit(bare) and text.count("[") == text.count("]")


def _has_figures(line: str) -> bool:
    """Check whether a line has figures other than those in units (``m3/h``)."""
    # Behind the last bracket that closes, none that opens could find its end.
    end = max(line.rfind("]"), line.rfind(")")) + 1
    return bool(re.search(r"(?<![A-Za-z])\d", _BRACKET.sub("", line[:end]) + line[end:]))


def _cells(line: str, number: int, delimiter: str) -> Iterator[Cell]:
    if delimiter == SPACES:
        yield from _split_at_spaces(line, number)
    elif delimiter == PAIRED:
        pair = split_pair(line) or _parted(line, _BETWEEN, _is_name) or ((line.strip(), 0),)
        yield from (Cell(text, number, at + 1) for text, at in pair)
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
        if waiting and _goes_on(waiting.text, word):
            waiting = Cell(f"{waiting.text} {word}", number, waiting.column)
            continue
        if waiting:
            yield waiting
        waiting = Cell(word, number, match.start() + 1)
    if waiting:
        yield waiting


def _goes_on(before: str, word: str) -> bool:
    """Check whether a word belongs to the cell before it: a unit, what stands in brackets, an uncertainty."""
    beside = word.startswith(("±", "+/-", "+-")) or before.endswith(("±", "+/-", "+-"))
    unit = is_unit(word) and (before[-1].isdigit() or before[-1] == ")" or ("/" in word and not is_unit(before)))
    return word[0] in "[(" or (beside and any(map(str.isdigit, before))) or unit


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
