"""The power fails: what was put through to the disk is there, and of the rest whatever a disk leaves of it.

All writes of an interview are recorded. For every moment, a disk is made as it may be found afterwards: the part that
was not put through cut off at any byte, its rest or its beginning zeros or anything. Every journal loads with all
answers that were put through, or is refused with a message that names line and way out.
"""

from __future__ import annotations

import os
import random
import re
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from itertools import combinations
from pathlib import Path
from typing import Any, NamedTuple
from unittest.mock import patch

from diagnose.cases.events import Entry, Note
from diagnose.cases.journal import Journal
from diagnose.errors import BadInput
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.ready import load_engine
from diagnose.shipped import shipped_folder
from tests.hardening.tables import table
from tests.hardening.typist import Typist
from tests.hardening.uninterrupted import Uninterrupted

WAY_OUT = re.compile(r"start a new one|delete or correct it|there is no case")
LINE = re.compile(r":\d+: ")
LATER = Note(text="power is back")


class Write(NamedTuple):
    """Bytes written to the journal at a place."""

    at: int
    data: bytes


class Moment(NamedTuple):
    """The disk at one moment: what was put through, what may be there, and whether the file's name was put through."""

    through: bytes
    waiting: tuple[Write, ...]
    named: bool


class Recorder:
    """Notes what a journal writes, and when it asks for it to be put through to the disk."""

    def __init__(self) -> None:
        self.moments: list[Moment] = []
        self._waiting: list[Write] = []
        self._through = b""
        self._named = False
        self._names: dict[int, Path] = {}
        self._real: dict[str, Any] = {name: getattr(os, name) for name in ("open", "fdopen", "fsync")}

    @contextmanager
    def listening(self) -> Iterator[None]:
        """Record while this is open."""
        with ExitStack() as stack:
            for name in self._real:
                stack.enter_context(patch.object(os, name, getattr(self, f"_{name}")))
            yield

    def _open(self, path: Any, flags: int, *rest: Any, **more: Any) -> int:
        handle: int = self._real["open"](path, flags, *rest, **more)
        self._names[handle] = Path(path)
        return handle

    def _fdopen(self, handle: int, *rest: Any, **more: Any) -> Any:
        file = self._real["fdopen"](handle, *rest, **more)
        path = self._names.get(handle)
        return _Listened(file, path, self) if path and path.suffix == ".case" else file

    def _fsync(self, handle: int) -> None:
        if self._names[handle].is_dir():
            self._named = True
        else:
            self._through = _applied(self._through, self._waiting)
            self._waiting = []
        self._note()
        self._real["fsync"](handle)

    def wrote(self, at: int, data: bytes) -> None:
        """Take note of a write."""
        self._waiting.append(Write(at, data))
        self._note()

    def _note(self) -> None:
        self.moments.append(Moment(self._through, tuple(self._waiting), self._named))


class _Listened:
    """An open journal whose writes are noted."""

    def __init__(self, file: Any, path: Path, recorder: Recorder) -> None:
        self._file, self._path, self._recorder = file, path, recorder

    def write(self, data: bytes) -> None:
        self._recorder.wrote(self._path.stat().st_size, data)
        self._file.write(data)

    def __enter__(self) -> _Listened:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)


def _applied(content: bytes, writes: list[Write] | tuple[Write, ...]) -> bytes:
    """Return what a file holds after writes; zeros where nobody wrote."""
    for at, data in writes:
        content = content[:at].ljust(at, b"\0") + data + content[at + len(data) :]
    return content


def recorded(engine: Engine, answers: int, chooser: random.Random) -> tuple[list[Moment], list[Entry]]:
    """Return every moment of an interview with so many random answers, and what it kept at the end."""
    recorder = Recorder()
    with tempfile.TemporaryDirectory() as folder:
        with recorder.listening():
            interview = Uninterrupted(engine, Path(folder), "desk")
            typist = Typist(engine.rule_book, chooser)
            for _ in range(answers):
                interview.answer(typist.line(interview.prompt))
        interview.close()
    return recorder.moments, interview.journal.entries


def disks(moment: Moment, chooser: random.Random, apart: int) -> Iterator[tuple[str, bytes | None]]:
    """Go through what may be found after the power failed at a moment: how it came to be, and the file (None: none).

    What was not put through is cut off at places so many bytes ``apart``.
    """
    if not moment.named:
        yield "without its name", None
    for number in range(len(moment.waiting) + 1):
        for some in combinations(moment.waiting, number):
            yield "some writes, in any order", _applied(moment.through, some)
    if not moment.waiting:
        return
    through, whole = moment.through, _applied(moment.through, moment.waiting)
    tail = whole[len(through) :]
    for cut in range(0, len(tail), apart):
        left = len(tail) - cut
        yield "cut off", through + tail[:cut]
        yield "its end zeros", through + tail[:cut] + bytes(left)
        yield "its end garbage", through + tail[:cut] + chooser.randbytes(left)
        yield "its end letters", through + tail[:cut] + bytes(chooser.choices(b'\n{}[]",:0true', k=left))
        yield "its beginning zeros", through + bytes(left) + tail[left:]
        yield "its beginning garbage", through + chooser.randbytes(left) + tail[left:]


@dataclass
class Counts:
    """What was found of so many disks."""

    disks: Counter[str] = field(default_factory=Counter)
    came: dict[str, Counter[str]] = field(default_factory=dict)
    wrong: list[str] = field(default_factory=list)

    def add(self, how: str, what: str, text: str = "") -> None:
        """Count one disk."""
        self.disks[how] += 1
        self.came.setdefault(how, Counter())[what] += 1
        if what == "wrong":
            self.wrong.append(f"{how}: {text}")


def run(engine: Engine, answers: int, seed: int, apart: int = 1) -> Counts:
    """Cut the power at every moment of an interview."""
    chooser, counts = random.Random(seed), Counts()
    moments, kept = recorded(engine, answers, chooser)
    with tempfile.TemporaryDirectory() as folder:
        for moment in moments:
            for how, content in disks(moment, chooser, apart):
                counts.add(how, *_found(Path(folder), moment, content, kept))
    return counts


def _found(folder: Path, moment: Moment, content: bytes | None, kept: list[Entry]) -> tuple[str, str]:
    """Return what comes of a disk, and what is wrong: *loads*, *refused*, *wrong*; or *spoilt*.

    That is an answer that was not put through, of which chance made another one: lines have no checksum.
    """
    path = folder / "desk.case"
    path.unlink(missing_ok=True)
    if content is not None:
        path.write_bytes(content)
    through = max(0, moment.through.count(b"\n") - 1)
    written = max(0, _applied(moment.through, moment.waiting).count(b"\n") - 1)
    try:
        with patch.object(os, "fsync"), Journal.resume(folder, "desk") as journal:
            events = [each.event for each in journal.entries]
            wanted = [each.event for each in kept]
            if len(events) not in (through, written) or events[:through] != wanted[:through]:
                return "wrong", f"{len(events)} events in place of {through} or {written}: {content!r}"
            if events != wanted[: len(events)]:
                return "spoilt", ""
            journal.add(journal.new_turn(), LATER)
    except BadInput as error:
        return _refused(path, str(error), content)
    except Exception as error:
        return "wrong", f"{type(error).__name__}: {error}: {content!r}"
    again = [each.event for each in Journal.read(folder, "desk").entries]
    return ("loads", "") if again == [*events, LATER] else ("wrong", f"does not go on: {content!r}")


def _refused(path: Path, told: str, content: bytes | None) -> tuple[str, str]:
    changed = content is not None and path.read_bytes() != content
    named = LINE.search(told) or not content or b"\n" not in content
    return ("wrong" if changed or not WAY_OUT.search(told) or not named else "refused"), told


def report(size: int = 60, seed: int = 1) -> str:
    """Return the table of an interview with so many answers."""
    counts = run(load_engine(shipped_folder("rules")), size, seed)
    rows = [
        (how, number, *(counts.came[how][what] for what in ("loads", "refused", "spoilt", "wrong")))
        for how, number in counts.disks.items()
    ]
    total = [sum(row[at] for row in rows) for at in range(1, 6)]
    head = ("what was not put through", "disks", "load", "refused", "spoilt", "wrong")
    return "\n".join([table(f"Power cuts, seed {seed}", head, [*rows, ("all", *total)]), *counts.wrong[:5]])
