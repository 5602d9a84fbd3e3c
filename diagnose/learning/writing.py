"""A rule book of one's own, from a rule book and what was learned: the same files, other figures, all comments.

A figure is exchanged where it stands; the line above it says from how many cases it is, and what stood there before.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from diagnose.bounded import files_below
from diagnose.errors import BadInput, WrongUse
from diagnose.learning.learning import Learned
from diagnose.rule_book.load import examine_folder
from diagnose.shipped import shipped_folder
from diagnose.yaml_places import Document, KeyPath, parse_document, read_document

LEAST_CHANGE = 0.005
"""Share by which a figure must change to be written anew: below that three digits stay the same."""


class _Figure(NamedTuple):
    """A figure to write: its way below the entry of its cause, and what it is counted on."""

    path: KeyPath
    before: float
    after: float
    counted: str


class BookWritten(NamedTuple):
    """How many figures were written into how many files of a folder."""

    folder: Path
    figures: int
    files: int


def write_rule_book(source: Path, folder: Path, learned: Learned, today: str) -> BookWritten:
    """Write a rule book of one's own into a folder that is new or empty.

    Raises WrongUse for a folder that holds something, or that is the rule book itself or the included one; BadInput
    when it cannot be written, or when what is written would not be a rule book.
    """
    _may_be_written(source, folder)
    wanted = _wanted(learned, today)
    figures = files = 0
    try:
        shutil.copytree(source, folder, dirs_exist_ok=True, symlinks=False)
        for path in files_below(folder / "causes", "*.yaml"):
            written = _rewritten(path, wanted)
            figures += written
            files += bool(written)
    except OSError as error:
        raise BadInput(f"the rule book cannot be written into {folder}: {error.strerror or error}") from error
    problems = examine_folder(folder)[1]
    if problems:
        raise BadInput(f"what was written into {folder} is not fine: {problems[0].in_one_line()}")
    return BookWritten(folder, figures, files)


def _may_be_written(source: Path, folder: Path) -> None:
    here, own = folder.resolve(), (source.resolve(), shipped_folder("rules").resolve())
    if here in own or any(each in here.parents for each in own):
        raise WrongUse(f"--write {folder}: that is the rule book itself; name a new folder")
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise WrongUse(f"--write {folder}: there is something already; name a new folder")


def _wanted(learned: Learned, today: str) -> dict[str, list[_Figure]]:
    """Return by cause the figures that change."""
    found: dict[str, list[_Figure]] = {}
    for each in learned.frequencies:
        path: KeyPath = ("frequency-where", each.row - 1, "frequency") if each.row else ("frequency",)
        counted = f"{today}: found in {each.found:.3g} of {each.of:.4g} closed cases"
        figure = _Figure(path, each.frequency_before, each.frequency_after, counted)
        found.setdefault(each.cause, []).append(figure)
    for one in learned.strengths:
        counted = f"{today}: seen in {one.found} of {one.of} closed cases"
        found.setdefault(one.cause, []).append(_Figure(("shows", one.finding), one.before, one.after, counted))
    return {
        cause: kept
        for cause, each in found.items()
        if (kept := [one for one in each if abs(one.after - one.before) > LEAST_CHANGE * one.before])
    }


def _rewritten(path: Path, wanted: dict[str, list[_Figure]]) -> int:
    """Write the figures of the causes in a file anew, and return how many."""
    document = read_document(path, str(path))
    figures = sorted(_placed(document, wanted), key=lambda each: each[:2], reverse=True)
    if not figures:
        return 0
    lines, notes = list(document.lines), []
    for line, column, length, figure in figures:
        text = lines[line]
        lines[line] = f"{text[:column]}{figure.after:.3g}{text[column + length :]}"
        indent = " " * (len(text) - len(text.lstrip()))
        notes.append((line, f"{indent}# {figure.counted}; before: {text[column : column + length].strip()}"))
    text = _with_notes(lines, notes)
    if parse_document(text, str(path)).data != parse_document(_text(lines), str(path)).data:
        text = _text([*lines, *(note.strip() for _, note in reversed(notes))])  # a line may stand inside a text
    path.write_text(text, encoding="utf-8")
    return len(figures)


def _with_notes(lines: list[str], notes: list[tuple[int, str]]) -> str:
    """Return the text with each note above its line; ``notes`` come last line first."""
    noted = list(lines)
    for line, note in notes:
        noted.insert(line, note)
    return _text(noted)


def _text(lines: list[str]) -> str:
    return "\n".join(lines) + "\n"


def _placed(document: Document, wanted: dict[str, list[_Figure]]) -> Iterator[tuple[int, int, int, _Figure]]:
    """Yield where each figure stands: line and column from zero, and how long it is."""
    data = document.data
    items = data.get("entries") if isinstance(data, dict) else None
    entries: list[tuple[KeyPath, object]] = [((), data)]
    if isinstance(items, list):
        entries = [(("entries", number), item) for number, item in enumerate(items)]
    for path, item in entries:
        for figure in wanted.get(item.get("id", "") if isinstance(item, dict) else "", ()):
            place = document.values.get((*path, *figure.path))
            if place is not None:
                yield place.line - 1, place.column - 1, place.length, figure
