"""The journal of a case on disk: one JSON line an event, each safe on disk before the next question is shown."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import TracebackType
from typing import Self

import msgspec

from diagnose.bounded import JOURNAL, bytes_of, too_long
from diagnose.cases.administration import administration
from diagnose.cases.events import Case, Closed, Entry, Event, next_turn
from diagnose.cases.journal_lines import FORMAT, Head, JournalLine, read_journal
from diagnose.cases.lock import InUse, Lock
from diagnose.errors import BadInput, NoSuchCase
from diagnose.rule_book.quantities import DataSheet

LONGEST_NAME = 100

_RESERVED = re.compile("con|prn|aux|nul|com[0-9]|lpt[0-9]", re.IGNORECASE)
"""Names that mean devices on Windows."""


def case_folder() -> Path:
    """Return where interviews are kept; DIAGNOSE_CASES may say otherwise."""
    chosen = os.environ.get("DIAGNOSE_CASES")
    if chosen:
        return Path(chosen)
    from platformdirs import user_data_path

    return user_data_path("diagnose", appauthor=False) / "cases"


def now() -> str:
    """Return the time of the clock, to the second, in UTC."""
    return datetime.now(UTC).isoformat(timespec="seconds")


class Journal:
    """The journal of one case, open for writing by one interview at a time."""

    def __init__(self, path: Path, head: Head, entries: list[Entry], lock: Lock) -> None:
        self.path = path
        self.head = head
        self.entries = entries
        self._lock = lock
        self._clock: Callable[[], str] = now

    @classmethod
    def start(cls, folder: Path, data_sheet: DataSheet, name: str = "", rule_book: str = "") -> Self:
        """Start a new case with a name of its own; nobody else has it, even where two start at the same moment.

        Raises BadInput when the folder cannot be written.
        """
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            path = _created(folder, name or datetime.now(UTC).strftime("%Y%m%d-%H%M%S"))
            head = Head(format=FORMAT, case=path.stem, started=now(), data_sheet=data_sheet, rule_book=rule_book)
            lock: Lock | None = None
            try:
                lock = _locked(path)
                _append(path, msgspec.json.encode(head))
                sync_folder(folder)
            except BaseException:
                if lock:
                    lock.release()
                path.unlink(missing_ok=True)  # nothing was answered in it yet
                raise
        except OSError as error:
            raise BadInput(why_not(f"the case cannot be kept in {folder}", error)) from error
        return cls(path, head, [], lock)

    @classmethod
    def resume(cls, folder: Path, name: str) -> Self:
        """Open the case ``name`` (a name, or the path of a journal) again.

        A last answer that was cut off by a power failure is dropped, all of it; one that lacks only its end is kept.
        Raises BadInput when there is no such case, when it is open elsewhere, or when its journal is damaged.
        """
        path = journal_of(folder, name)
        try:
            if path.stat().st_nlink > 1:  # by its other name it could be open elsewhere
                raise BadInput(f"the case {path} has another name (a hard link); copy it, and go on with the copy")
            lock = _locked(path)
            try:
                head, entries, whole = read_journal(path)
                if whole < path.stat().st_size:
                    os.truncate(path, whole)
                elif not bytes_of(path, JOURNAL).endswith(b"\n"):
                    _append(path, b"")
            except BaseException:
                lock.release()
                raise
        except OSError as error:
            raise BadInput(why_not(f"the case {path} cannot be opened", error)) from error
        return cls(path, head, entries, lock)

    @staticmethod
    def read(folder: Path, name: str) -> Case:
        """Return the case ``name`` as its journal holds it now; somebody may be writing it.

        Raises BadInput when there is no such case, or when its journal is damaged.
        """
        path = journal_of(folder, name)
        try:
            head, entries, _ = read_journal(path)
        except OSError as error:
            raise BadInput(why_not(f"the case {path} cannot be opened", error)) from error
        return Case(name=head.case, data_sheet=head.data_sheet, entries=tuple(entries))

    def add(self, turn: int, *events: Event) -> None:
        """Write events to the disk.

        Raises BadInput when the disk does not take them, or when the case would be too long to be read again.
        """
        at, last = self._clock(), len(events)
        self.append([JournalLine(turn=turn, at=at, event=event, more=n < last) for n, event in enumerate(events, 1)])

    def append(self, lines: Sequence[JournalLine]) -> None:
        """Write lines to the disk, with the times that they have.

        Raises BadInput as :meth:`add` does.
        """
        encoded = [msgspec.json.encode(line) for line in lines]
        try:
            if self.path.stat().st_size + sum(len(line) + 1 for line in encoded) > JOURNAL.most:
                raise too_long(JOURNAL, f"{JOURNAL.what} {self.path}")
            _append(self.path, *encoded)
        except OSError as error:
            raise BadInput(why_not(f"the answer could not be saved in {self.path}", error)) from error
        self.entries += (line.entry for line in lines)

    @property
    def case(self) -> Case:
        """The case as it is kept."""
        return Case(name=self.head.case, data_sheet=self.head.data_sheet, entries=tuple(self.entries))

    @property
    def closed(self) -> Closed | None:
        """What the case is closed with, if it is."""
        return administration(self.entries).closed

    def new_turn(self) -> int:
        """Return the number of the next turn."""
        return next_turn(self.entries)

    def idle(self) -> timedelta:
        """Return how long nothing has been added; longest where nobody can read when that was."""
        try:
            last = datetime.fromisoformat(self.entries[-1].at if self.entries else self.head.started)
            return datetime.fromisoformat(self._clock()) - last
        except (ValueError, TypeError):  # no time, or one without its zone
            return timedelta.max

    def close(self) -> None:
        """Let others open the case."""
        self._lock.release()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def journal_of(folder: Path, name: str) -> Path:
    """Return the path of the journal of a case, given by its name or its path.

    Raises NoSuchCase, with the names of the latest, where there is none.
    """
    path = Path(name) if name.endswith(".case") or os.sep in name else folder / f"{name}.case"
    try:
        there = path.is_file()
    except (OSError, ValueError) as error:  # too long, or with a letter that no name may have
        reason = getattr(error, "strerror", "") or error
        raise NoSuchCase(f"no case can have the name {name[:LONGEST_NAME]!r} ({reason})") from error
    if not there:
        known = ", ".join(each.stem for each in journals(folder)[-5:]) or "none yet"
        raise NoSuchCase(f"there is no case {path}; the latest are: {known}")
    return path


def journals(folder: Path) -> list[Path]:
    """Return the journals of a folder by name; none where there is no folder yet.

    Raises BadInput when the folder cannot be read.
    """
    try:
        with os.scandir(folder) as found:
            names = [each.name for each in found if each.name.endswith(".case") and each.is_file()]
    except FileNotFoundError:
        return []
    except OSError as error:
        raise BadInput(why_not(f"the cases in {folder} cannot be listed", error)) from error
    return [folder / name for name in sorted(names)]


def why_not(what: str, error: OSError) -> str:
    """Return what cannot be done, why the system says so, and where to look."""
    return f"{what}: {error.strerror or error}; check the folder's rights and the disk, or set DIAGNOSE_CASES"


def name_as_kept(name: str) -> str:
    """Return a name under which a case can be kept on any system, in this folder and nowhere else.

    >>> name_as_kept("../../etc/passwd"), name_as_kept("nul"), name_as_kept("\\x00")
    ('etc-passwd', 'nul-case', 'case')
    """
    stem = re.sub(r"[^A-Za-z0-9_-]+", "-", name).strip("-")[:LONGEST_NAME] or "case"
    return f"{stem}-case" if _RESERVED.fullmatch(stem) else stem


def _created(folder: Path, name: str) -> Path:
    """Return the path of a new, empty file that was not there before, not even as a link that leads nowhere."""
    stem = name_as_kept(name)
    path, number = folder / f"{stem}.case", 1
    while True:
        try:
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        except FileExistsError:
            number += 1
            path = folder / f"{stem}-{number}.case"
        else:
            return path


def sync_folder(folder: Path) -> None:
    """Put the name of a new file through to the disk too, where the system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _locked(path: Path) -> Lock:
    try:
        lock = Lock(path)
    except InUse as error:
        raise BadInput(f"the case {path.stem} is open in another interview; close it there first") from error
    with suppress(OSError):  # versions before this one left a file for that beside the case
        Path(f"{path.resolve()}.lock").unlink(missing_ok=True)
    return lock


def _append(path: Path, *lines: bytes) -> None:
    before = path.stat().st_size
    try:
        # A file that has gone meanwhile is not begun anew: without its first line nothing could be read of it.
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_APPEND), "ab") as file:
            file.write(b"".join(line + b"\n" for line in lines))
            file.flush()
            os.fsync(file.fileno())
    except OSError:
        with suppress(OSError):  # half a line would spoil the next one
            os.truncate(path, before)
        raise
