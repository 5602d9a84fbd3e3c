"""The lines of a journal: what stands in each, and how the file is read, whatever a disk or a person made of it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from diagnose.bounded import JOURNAL, LARGEST_FIGURE, bytes_of
from diagnose.cases.events import Entry
from diagnose.errors import BadInput
from diagnose.place import visible
from diagnose.rule_book.quantities import DataSheet

T = TypeVar("T")

FORMAT = "case/6"
READ = ("case/1", "case/2", "case/3", "case/4", "case/5", FORMAT)
"""Formats that are read; what was new in each are further kinds of events, in the fifth the rule book."""

_UNSAFE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]")
"""What controls a terminal or turns the direction of writing."""

_LARGE = re.compile(r"[\d.]{16}|\d[eE]")
"""Where a line may hold a figure as large as that."""

_UNREADABLE = (msgspec.DecodeError, UnicodeDecodeError, RecursionError)


class Head(msgspec.Struct, frozen=True, kw_only=True, rename="kebab"):
    """First line of a journal; ``rule_book`` is the fingerprint of the rule book that the case was begun with."""

    format: str
    case: str
    started: str
    data_sheet: DataSheet = {}
    rule_book: str = ""


class JournalLine(Entry, frozen=True, kw_only=True, omit_defaults=True):
    """An entry as it stands in the file; with ``more`` further events of the same answer follow."""

    more: bool = False

    @property
    def entry(self) -> Entry:
        """The entry alone."""
        return Entry(turn=self.turn, at=self.at, event=self.event)


def read_journal(path: Path) -> tuple[Head, list[Entry], int]:
    """Return head, entries, and the length in bytes of the whole answers; the last may lack its end.

    Raises BadInput, with file and line, when it is damaged or no journal; OSError when it cannot be read.
    """
    data = bytes_of(path, JOURNAL)
    if not data:
        raise BadInput(f"the case {path} is empty; start a new one")
    first, *lines = data.split(b"\n")
    head = _head(path, first, torn=b"\n" not in data)
    entries: list[Entry] = []
    whole = end = len(first) + 1
    answered = 0
    for number, line in enumerate(lines, 2):
        last = number == len(lines) + 1
        if last and not line:
            break
        try:
            decoded = decoded_line(line, JournalLine)
        except _UNREADABLE as error:
            if last:
                break
            raise BadInput(f"{path}:{number}: the line cannot be read ({error}); delete or correct it") from error
        entries.append(decoded.entry)
        end += len(line) + 1
        if not decoded.more:
            whole, answered = end, len(entries)
    return head, entries[:answered], min(whole, len(data))


def _head(path: Path, line: bytes, torn: bool) -> Head:
    try:
        head = decoded_line(line, Head)
    except _UNREADABLE as error:
        if torn and line.startswith(b'{"format"'):
            raise BadInput(f"the case {path} was cut off in its first line; start a new one") from error
        raise BadInput(f"{path}:1: not the journal of a case ({error}); name another, or start a new one") from error
    if head.format not in READ:
        raise BadInput(f"{path}:1: the journal has the format `{head.format}`, this program reads `{FORMAT}`")
    return head


def decoded_line(line: bytes, wanted: type[T]) -> T:
    """Return what stands in a line.

    What was typed is kept without control characters. Where there are some, somebody else wrote the line: they are made
    visible, and never reach a terminal.
    """
    text = line.decode()
    if _LARGE.search(text):
        _no_absurd_figure(msgspec.json.decode(text))
    if "\\" not in text and not _UNSAFE.search(text):  # JSON has escapes for control characters
        return msgspec.json.decode(text, type=wanted)
    return msgspec.convert(_harmless(msgspec.json.decode(text)), wanted)


def _no_absurd_figure(value: Any) -> None:
    """Raise ValidationError where a figure is so large that nobody can have measured it."""
    if isinstance(value, int | float) and not abs(value) <= LARGEST_FIGURE:
        raise msgspec.ValidationError("a figure that nobody can have measured")
    for each in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        _no_absurd_figure(each)


def _harmless(value: Any) -> Any:
    """Return a value of JSON with what is unsafe in its words and names made visible.

    >>> _harmless({"text": ["\\x1b[2J", "a\\nb"], "turn": 1})
    {'text': ['\\\\x1b[2J', 'a\\nb'], 'turn': 1}
    """
    if isinstance(value, str):
        return _UNSAFE.sub(lambda found: visible(found[0]), value)
    if isinstance(value, list):
        return [_harmless(each) for each in value]
    if isinstance(value, dict):
        return {_harmless(name): _harmless(each) for name, each in value.items()}
    return value
