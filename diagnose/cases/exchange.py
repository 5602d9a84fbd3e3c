"""Cases out of one folder and into another: JSON Lines with one case a line, or CSV with one case a row.

Both hold the whole journal, so that what comes in is what went out. What is there already is left alone, what goes on
where it stopped is added, and a different case of the same name gets another one. Rows are read one at a time.
"""

from __future__ import annotations

import hashlib
import os
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import IO, Literal, NamedTuple

import msgspec

from diagnose.bounded import JOURNAL
from diagnose.cases.administration import minutes_on_site
from diagnose.cases.events import Closed, Entry, Event, MeterNamed, TextRead
from diagnose.cases.journal import Journal, name_as_kept, sync_folder, why_not
from diagnose.cases.journal_lines import FORMAT, READ, Head, JournalLine, decoded_line, read_journal
from diagnose.cases.summary import is_time, summary_of
from diagnose.errors import BadInput
from diagnose.whole_files import write_whole

TakenIn = Literal["new", "added to", "there already"]


class Passed(Head, frozen=True, kw_only=True, rename="kebab", omit_defaults=True):
    """A case as it is passed on: the head of its journal, and its lines."""

    entries: tuple[JournalLine, ...] = ()


class BadRow(NamedTuple):
    """A row that was passed over: its line in the file, and what is wrong with it."""

    line: int
    text: str


class PlainRow(NamedTuple):
    """A case of which only the outcome is known: a row of somebody's own table."""

    name: str = ""
    meter: str = ""
    started: str = ""
    changed: str = ""
    complaint: str = ""
    outcome: str = ""
    cause: str = ""
    remedy: str = ""
    minutes: str = ""


def passed_on(path: Path) -> Passed:
    """Return a kept case as it is passed on.

    Raises BadInput when it is damaged, OSError when it cannot be read.
    """
    head, entries, _ = read_journal(path)
    return Passed(**{**msgspec.structs.asdict(head), "case": path.stem, "format": FORMAT}, entries=_lines(entries))


def row_of(case: Passed) -> dict[str, object]:
    """Return a case as a row: its columns as in a list, and the whole of it."""
    entries = [each.entry for each in case.entries]
    columns = summary_of(case.case, case, entries)._asdict()
    del columns["words"], columns["findings"]
    return {**columns, "journal": msgspec.json.encode(case).decode()}


def case_in(text: bytes | str) -> Passed:
    """Return the case that stands in a line.

    Raises BadInput where it is none, or one of a later version.
    """
    try:
        case = decoded_line(text.encode() if isinstance(text, str) else text, Passed)
    except (msgspec.DecodeError, UnicodeError, RecursionError) as error:
        raise BadInput(f"it is no case ({error})") from error
    if case.format not in READ:
        raise BadInput(f"it has the format `{case.format}`, and this program reads `{FORMAT}`; take a newer one")
    return msgspec.structs.replace(case, format=FORMAT, entries=_lines(each.entry for each in case.entries))


def case_of_row(row: PlainRow, causes: Callable[[str], str]) -> Passed:
    """Return the case that a row of somebody's own table tells of; ``causes`` says what is wrong with a cause, if so.

    Raises BadInput where it tells of none.
    """
    cause = row.cause.strip()
    outcome = row.outcome.strip() or ("found" if cause else "")
    wrong = [*_wrong_outcome(row, outcome, cause, causes), *_wrong_times(row), *_wrong_minutes(row.minutes)]
    if wrong:
        raise BadInput("; ".join(wrong))
    at = row.changed or row.started
    events: list[Event] = [MeterNamed(tag=row.meter.strip())] if row.meter.strip() else []
    events += [TextRead(text=row.complaint.strip())] if row.complaint.strip() else []
    if outcome:
        listed = outcome == "found"
        events.append(
            Closed(
                outcome=outcome,  # type: ignore[arg-type]
                cause=cause if listed else "",
                words="" if listed else cause,
                remedy_words=row.remedy.strip(),
                minutes=_minutes(row.minutes),
            )
        )
    name = row.name.strip() or f"row-{hashlib.sha256(repr(row).encode()).hexdigest()[:12]}"
    entries = _lines(Entry(turn=turn, at=at, event=event) for turn, event in enumerate(events, 1))
    return Passed(format=FORMAT, case=name, started=row.started or at, entries=entries)


def _wrong_outcome(row: PlainRow, outcome: str, cause: str, causes: Callable[[str], str]) -> Iterator[str]:
    """Say what is wrong with what came of a case: each heading means one thing."""
    if outcome not in ("", "found", "not found", "not listed"):
        yield f"its outcome `{outcome[:30]}` is none of: found, not found, not listed"
    elif outcome == "found" and (unknown := causes(cause)):
        yield unknown
    elif outcome == "not found" and cause:
        yield f"under outcome it says `not found`, and under cause `{cause[:30]}`: leave one of them empty"
    elif not (row.complaint.strip() or outcome):
        yield "it has neither a complaint nor an outcome"
    elif not outcome and (row.remedy.strip() or row.minutes.strip()):
        yield "it has a remedy or minutes and no outcome: write found, not found or not listed under outcome"


def _wrong_times(row: PlainRow) -> Iterator[str]:
    """Say which times are none, are still to come anywhere on Earth, or go backwards."""
    latest = (datetime.now(UTC) + timedelta(hours=14)).date()
    days: list[date] = []
    for heading, text in (("started", row.started), ("changed", row.changed)):
        try:
            day = datetime.fromisoformat(text).date() if is_time(text) else None
        except ValueError:
            day = None
        if day is None and text:
            yield f"under {heading}, `{text[:30]}` is no day: write it as 2026-03-01"
        elif day is not None and day > latest:
            yield f"under {heading}, {day} is still to come: write the day that it was"
        elif day is not None:
            days.append(day)
    if days != sorted(days):
        yield f"it was changed on {days[1]}, before it was started on {days[0]}: mend one of the two"


def _wrong_minutes(text: str) -> Iterator[str]:
    try:
        _minutes(text)
    except ValueError:
        yield f"under minutes, `{text[:20]}` is no number of minutes: write it as 45"
    except BadInput as error:
        yield f"under minutes, {error}: leave it empty where nobody knows"


def _minutes(text: str) -> float | None:
    return minutes_on_site(float(text.replace(",", "."))) if text.strip() else None


def _lines(entries: Iterable[Entry]) -> tuple[JournalLine, ...]:
    """Return entries as lines; those of one turn are one answer."""
    pairs = pairwise([*entries, None])
    return tuple(
        JournalLine(turn=each.turn, at=each.at, event=each.event, more=bool(following and following.turn == each.turn))
        for each, following in pairs
        if each
    )


class Importer:
    """Takes cases into a folder, and counts what became of them; ``path`` is the journal of the last one."""

    def __init__(self, folder: Path) -> None:
        self.folder = self.path = folder
        self.taken: Counter[TakenIn] = Counter()
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as error:
            raise BadInput(why_not(f"cases cannot be kept in {folder}", error)) from error

    def take(self, case: Passed) -> TakenIn:
        """Take one case in.

        Raises BadInput where it is too long, or differs from one that is being written; OSError where the disk does
        not take it: what was taken before stays, and of this one nothing.
        """
        stem = name_as_kept(case.case)
        case = msgspec.structs.replace(case, case=stem)
        for path in _names(self.folder, case):
            taken = self._at(path, case)
            if taken:
                self.path = path
                self.taken[taken] += 1
                return taken
        raise BadInput(f"all names that it could have are taken by files that differ from it ({case.case}-…)")

    def _at(self, path: Path, case: Passed) -> TakenIn | None:
        """Take a case in under a name; None where another one has it."""
        case = msgspec.structs.replace(case, case=path.stem)
        try:
            head, entries, _ = read_journal(path)
        except FileNotFoundError:
            _write(path, case)
            return "new"
        except BadInput:
            return None
        theirs = [each.entry for each in case.entries]
        if (head.started, head.data_sheet) != (case.started, case.data_sheet):
            return None
        if entries[: len(theirs)] == theirs:
            return "there already"
        if theirs[: len(entries)] != entries:
            return None
        with Journal.resume(self.folder, str(path)) as journal:
            # Only now nobody else writes it: an interview may have gone on otherwise since it was read.
            if theirs[: len(journal.entries)] != journal.entries:
                raise BadInput(f"the case {path.stem} was gone on with here just now; import it once more")
            journal.append(case.entries[len(journal.entries) :])
        return "added to"

    def finish(self) -> None:
        """Put what was taken in through to the disk."""
        if hasattr(os, "sync") and self.taken["new"]:
            os.sync()
        sync_folder(self.folder)


def _names(folder: Path, case: Passed) -> Iterator[Path]:
    """Yield where a case may be kept: under its name, else with what tells it from others that have the same.

    They follow from the case, so that it comes in once however often it is taken.
    """
    yield folder / f"{case.case}.case"
    for told in ((case.started, case.data_sheet), case):
        digest = hashlib.sha256(msgspec.json.encode(told, order="sorted")).hexdigest()[:12]
        yield folder / f"{case.case}-{digest}.case"


def _write(path: Path, case: Passed) -> None:
    """Write a journal whole or not at all, and never over another one."""
    head = Head(**{name: getattr(case, name) for name in Head.__struct_fields__})
    text = b"".join(msgspec.json.encode(each) + b"\n" for each in (head, *case.entries))
    if len(text) > JOURNAL.most:
        raise BadInput(f"it is longer than {JOURNAL}, the most that is read of a case")
    try:
        write_whole(path, [text], mode=0o600, anew=True)
    except FileExistsError as error:
        raise BadInput(f"somebody else has just taken the name {path.stem}; import it once more") from error


def lines_of(file: IO[bytes]) -> Iterator[tuple[int, bytes | BadRow]]:
    """Yield the lines of a file with their numbers, never more of one than a case may be long."""
    number = 0
    while line := file.readline(JOURNAL.most + 1):
        number += 1
        if len(line) > JOURNAL.most:
            while line and not line.endswith(b"\n"):
                line = file.readline(JOURNAL.most)
            yield number, BadRow(number, f"it is longer than {JOURNAL}, the most that is read of a case")
        else:
            yield number, line
