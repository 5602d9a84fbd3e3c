"""Lines of cells to columns: which lines are headings, which are readings, and which comparison each line is of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from diagnose.errors import BadInput, ProblemsFound
from diagnose.place import visible
from diagnose.tables.figures_in_table import FigureInTable
from diagnose.tables.heading_words import HeadingWords, Meanings
from diagnose.tables.headings import ColumnHeading, Stage, read_heading
from diagnose.tables.table_text import SPACES, Cell, TextTable
from diagnose.tables.table_units import table_unit
from diagnose.tables.written_figures import is_figure, is_plain_figure

Row = tuple[Cell, ...]

MOST_HEADING_LINES = 3
"""Lines of a heading: names, what of each, and units."""

_SUMS_UP: Meanings = frozenset({"summary", "total"})
"""What a cell says in a line that sums up the others (`Mean`, `Total`)."""

_WORDS_OF_A_LABEL = 2

OF_SECTIONS: Meanings = frozenset({"as-found", "as-left", "start", "stop"})
"""What a line says that heads a comparison; of `before` and `after` a line by itself says the same."""


@dataclass(slots=True)
class Column:
    """A column: its heading, its cell in the heading, the cells below, and their figures once they are read."""

    heading: ColumnHeading
    head: Cell | None
    cells: list[Cell]
    figures: list[FigureInTable] = field(default_factory=list)

    @property
    def name(self) -> str:
        """Return what the column is called in messages."""
        return self.heading.text or "a column without a heading"


@dataclass(slots=True)
class Layout:
    """The columns of a table, whether they have headings, and of which comparison each line is."""

    columns: list[Column]
    has_heading: bool
    stages: list[Stage]


def laid_out(table: TextTable, words: HeadingWords, against_display: bool, warnings: list[str]) -> Layout:
    """Return the columns of a table; lines that are no part of it are told in ``warnings``.

    Raises BadInput for a table without readings, ProblemsFound for lines with another number of cells.
    """
    width = _usual_width(table)
    first = next((number for number, row in enumerate(table.rows) if _is_reading(row, width)), None)
    if first is None:
        raise BadInput(f"{table.file} has a heading but no readings")
    above = [_fitted(row, width) for row in table.rows[:first]]
    sections = [row for row in above if _section(row, words, table.delimiter)]
    above = [row for row in above if row not in sections]
    near = _without_gap(table, above, table.rows[first])
    heading = [row for row in near if len(row) == width and _filled(row) > 1]
    heading = heading or [row for row in above[-1:] if len(row) == width == 1]
    if above and not heading and len(above[-1]) > 1:
        cell = table.rows[first][-1]
        text = f"the heading has {len(above[-1])} cells, the lines below have {width}"
        raise ProblemsFound([table.problem(cell, "uneven", text, "give every column a heading")])
    stage = _section(sections[-1], words, table.delimiter) if sections else ""
    rows, stages, left = _rows(table, first, width, heading, words, stage)
    rows, stages = _without_sums(rows, stages, words, warnings)
    left = [row[0].line for row in above if row not in heading] + left
    if left:
        warnings.append(f"not read as part of the table: line {', '.join(map(str, left))}")
    parsed = _headings(heading, width, words, against_display)
    heads = heading[-1] if heading else (None,) * width
    named = _named_row(heading)
    columns = [Column(parsed[at], (named or heads)[at], [row[at] for row in rows]) for at in range(width)]
    return Layout(columns, bool(heading), stages)


def _without_gap(table: TextTable, above: Sequence[Row], first: Row) -> list[Row]:
    """Return the lines right above the readings, no empty one between them."""
    found: list[Row] = []
    below = first[0].line
    for row in above[: -MOST_HEADING_LINES - 1 : -1]:
        line = row[0].line
        if not all(text.strip() for text in table.lines[line : below - 1]):
            break
        found.insert(0, row)
        below = line
    return found or list(above[-1:])


def _usual_width(table: TextTable) -> int:
    widths = Counter(len(row) for row in table.rows if any(_is_digits(cell) for cell in row))
    most = max(widths.values(), default=0)
    return max((width for width, count in widths.items() if count == most), default=len(table.rows[0]))


def _is_digits(cell: Cell) -> bool:
    return is_plain_figure(cell.text) and any(map(str.isdigit, cell.text))


def _is_reading(row: Row, width: int) -> bool:
    """Check whether a line has readings: a figure in any of its cells, and as many cells as the others."""
    return len(row) in (width, width + 1) and any(_is_digits(cell) for cell in row)


def _fitted(row: Row, width: int) -> Row:
    """Return a line without the empty cells that some programs put at its end."""
    while len(row) > width and not row[-1].text:
        row = row[:-1]
    if len(row) == width - 1 and len(row) > 1:
        row = (*row, Cell("", row[-1].line, row[-1].column + len(row[-1].text)))
    return row


def _filled(row: Row) -> int:
    return sum(bool(cell.text) for cell in row)


def _section(row: Row, words: HeadingWords, delimiter: str) -> Stage:
    """Return which comparison begins below a line that says nothing else (`as left`)."""
    filled = [cell.text for cell in row if cell.text]
    if any(letter.isdigit() for text in filled for letter in text):
        return ""
    means = words.meanings(" ".join(filled)) if len(filled) == 1 or delimiter == SPACES else frozenset()
    return stage_of(means) if means and means <= OF_SECTIONS else ""


def stage_of(means: Meanings) -> Stage:
    """Return the comparison that words name: before the adjustment, or after."""
    return "as found" if "as-found" in means else "as left" if "as-left" in means else ""


def _rows(
    table: TextTable, first: int, width: int, heading: Sequence[Row], words: HeadingWords, stage: Stage
) -> tuple[list[Row], list[Stage], list[int]]:
    """Return the lines of readings, the comparison that each is of, and the numbers of lines that are none."""
    rows: list[Row] = []
    stages: list[Stage] = []
    left: list[int] = []
    uneven: list[Row] = []
    repeated = {tuple(cell.text for cell in row) for row in heading}
    for whole in table.rows[first:]:
        row = _fitted(whole, width)
        if found := _section(row, words, table.delimiter):
            stage = found
        elif tuple(cell.text for cell in row) in repeated:
            continue
        elif _filled(row) <= 1 < width and not any(is_figure(cell.text) and cell.text for cell in row):
            left.append(row[0].line)
        elif len(row) != width:
            uneven.append(whole)
        else:
            rows.append(row)
            stages.append(stage)
    if uneven:
        cell = uneven[0][-1]
        text = f"this line has {len(uneven[0])} cells, the others have {width}"
        raise ProblemsFound([table.problem(cell, "uneven", text, "write every line with the same number of cells")])
    return rows, stages, left


def _without_sums(
    rows: list[Row], stages: list[Stage], words: HeadingWords, warnings: list[str]
) -> tuple[list[Row], list[Stage]]:
    """Return the lines without those that sum up others: their means and totals are no readings of their own."""
    sums = [_sums_up(row, words) for row in rows]
    if not any(sums) or all(sums):
        return rows, stages
    told = ", ".join(f"line {row[0].line} (`{label}`)" for row, label in zip(rows, sums, strict=True) if label)
    warnings.append(f"left out because it sums up other lines: {told}")
    kept = [at for at, label in enumerate(sums) if not label]
    return [rows[at] for at in kept], [stages[at] for at in kept]


def _sums_up(row: Row, words: HeadingWords) -> str:
    """Return the cell that says that a line sums up others, "" where none does."""
    for cell in row:
        label = cell.text.strip(" :")
        if label and not any(map(str.isdigit, label)) and len(label.split()) <= _WORDS_OF_A_LABEL:
            means = words.meanings(label)
            if means and means <= _SUMS_UP:
                return visible(label)
    return ""


def _named_row(heading: Sequence[Row]) -> Row | None:
    """Return the line of a heading that has the names, not only units."""
    return next((row for row in heading if not _is_units(row)), None)


def _is_units(row: Row) -> bool:
    filled = [cell.text for cell in row if cell.text.strip("-– ")]
    return bool(filled) and all(table_unit(_bare(text), set_off=True) for text in filled)


def _bare(text: str) -> str:
    return text.strip().strip("[]()").strip()


def _headings(heading: Sequence[Row], width: int, words: HeadingWords, against_display: bool) -> list[ColumnHeading]:
    """Return the heading of each column, from all lines of it; a name stands for the empty cells on its right."""
    names: list[list[str]] = [[] for _ in range(width)]
    units = [""] * width
    for number, row in enumerate(heading):
        if _is_units(row):
            units = [table_unit(_bare(cell.text), set_off=True) for cell in row]
            continue
        texts = [cell.text for cell in row]
        spreads = any(not _is_units(below) for below in heading[number + 1 :])
        for at, text in enumerate(texts):
            if spreads and at and not text:
                texts[at] = text = texts[at - 1]
            if text:
                names[at].append(text)
    found = [read_heading(" ".join(each), words, against_display) for each in names]
    return [replace(each, unit=each.unit or unit) for each, unit in zip(found, units, strict=True)]
