"""An index of all cases of a folder, beside their journals, so that a list need not read each of them.

The journals stay the truth. The index is worked out from them alone: what has changed since (by time and size of its
file) is read again whenever somebody asks, and an index that is missing, damaged, or of another version is built anew.
Where none can be written, it is built in memory.
"""

from __future__ import annotations

import os
import re
import sqlite3
import stat
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from itertools import chain
from pathlib import Path
from types import TracebackType
from typing import NamedTuple, Self

from diagnose.cases.journal_lines import read_journal
from diagnose.cases.summary import Summary, summary_of
from diagnose.errors import BadInput

FILE = "index.sqlite"
VERSION = 2
"""To be raised whenever a row of the index would come out otherwise than before."""

MANY = 500
"""Journals to read from which on somebody is told that it takes a while."""

PATIENCE_S = 20.0
"""How long one program waits for another that is writing the index."""

_SCHEMA = """
CREATE TABLE cases (
    id INTEGER PRIMARY KEY, mtime INTEGER, size INTEGER, problem TEXT,
    name TEXT, meter TEXT, started TEXT, changed TEXT, complaint TEXT, state TEXT, outcome TEXT, cause TEXT,
    probability REAL, confirmed INTEGER, remedy TEXT, minutes REAL, rank INTEGER, to_review INTEGER, rule_book TEXT,
    words TEXT
);
CREATE UNIQUE INDEX by_name ON cases (name);
CREATE INDEX by_change ON cases (changed DESC, name);
CREATE TABLE evidence (finding TEXT, id INTEGER, PRIMARY KEY (finding, id)) WITHOUT ROWID;
CREATE INDEX by_case ON evidence (id);
"""
_VERSIONED = f"PRAGMA user_version = {VERSION}"
_FULL_TEXT = "CREATE VIRTUAL TABLE said USING fts5 (words, content = 'cases', content_rowid = 'id')"
_ADDED = """
INSERT INTO cases VALUES (
    NULL, :mtime, :size, :problem,
    :name, :meter, :started, :changed, :complaint, :state, :outcome, :cause,
    :probability, :confirmed, :remedy, :minutes, :rank, :to_review, :rule_book,
    :words
)
"""


class Stale(NamedTuple):
    """A journal whose row is missing or old."""

    name: str
    mtime: int
    size: int


class Index:
    """The index of one folder, up to date as of when it was opened."""

    def __init__(self, folder: Path, database: sqlite3.Connection) -> None:
        self.folder = folder
        self.database = database

    @classmethod
    def open(cls, folder: Path, say: Callable[[str], None] = lambda text: None, anew: bool = False) -> Self:
        """Return the index, brought up to date with the journals; ``say`` is told what takes a while.

        With ``anew`` what is there of it is not looked at.

        Raises BadInput when the folder cannot be read.
        """
        for attempt in (_anew, _in_memory) if anew else (_on_disk, _anew, _in_memory):
            index: Self | None = None
            try:
                index = cls(folder, attempt(folder))
                index._bring_up_to_date(say)
            except (sqlite3.Error, OSError) as error:
                if index:
                    index.close()
                if attempt is _in_memory:
                    raise BadInput(f"the cases in {folder} cannot be listed: {error}") from error
            else:
                return index
        raise AssertionError("the last way either works or raises")

    def close(self) -> None:
        """Close the file."""
        self.database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def full_text(self) -> bool:
        """Whether this SQLite can search for words."""
        return bool(self.database.execute("SELECT 1 FROM sqlite_master WHERE name = 'said'").fetchone())

    def problems(self) -> list[str]:
        """Return what is wrong with journals that cannot be read, each with file and line."""
        return [
            text for (text,) in self.database.execute("SELECT problem FROM cases WHERE problem != '' ORDER BY name")
        ]

    def query(self, text: str, values: Sequence[object] | Mapping[str, object] = ()) -> list[sqlite3.Row]:
        """Return the rows of a query; an index that proves damaged on the way is built anew, once."""
        try:
            return self.database.execute(text, values).fetchall()
        except sqlite3.DatabaseError:
            self.close()
            self.database = Index.open(self.folder, anew=True).database
            return self.database.execute(text, values).fetchall()

    def _bring_up_to_date(self, say: Callable[[str], None]) -> None:
        gone, stale = self._differing()
        if not gone and not stale:
            return
        if len(stale) > MANY:
            say(f"reading {len(stale):,} cases, to list them faster from now on …")
        with self.database:
            self.database.execute("BEGIN IMMEDIATE")
            gone, stale = self._differing()  # somebody else may have done so meanwhile
            self._forget(chain(gone, (each.name for each in stale)))
            for each in stale:
                self._add(each)

    def _differing(self) -> tuple[list[str], list[Stale]]:
        """Return the names of journals that are no more, and those that are not in the index as they are now."""
        journals = _journals(self.folder)
        rows = self.database.cursor()
        rows.row_factory = None  # plain rows are made in half the time
        rows.execute("SELECT name, mtime, size FROM cases")
        known = {name: (mtime, size) for name, mtime, size in rows}
        if known == journals:
            return [], []
        stale = [Stale(name, *seen) for name, seen in journals.items() if known.get(name) != seen]
        return [name for name in known if name not in journals], stale

    def _forget(self, names: Iterable[str]) -> None:
        for name in names:
            row = self.database.execute("SELECT id, words FROM cases WHERE name = ?", (name,)).fetchone()
            if row:
                if self.full_text:
                    self.database.execute("INSERT INTO said (said, rowid, words) VALUES ('delete', ?, ?)", row)
                self.database.execute("DELETE FROM evidence WHERE id = ?", row[:1])
                self.database.execute("DELETE FROM cases WHERE id = ?", row[:1])

    def _add(self, journal: Stale) -> None:
        """Read a journal into the index; one that cannot be read is kept with what is wrong with it."""
        path, problem = self.folder / f"{journal.name}.case", ""
        try:
            head, entries, _ = read_journal(path)
            row = summary_of(journal.name, head, entries)
        except (BadInput, OSError) as error:
            row, problem = EMPTY._replace(name=journal.name), str(error)
        values = {**row._asdict(), "mtime": journal.mtime, "size": journal.size, "problem": problem, "findings": None}
        added = self.database.execute(_ADDED, values)
        self.database.executemany(
            "INSERT INTO evidence (finding, id) VALUES (?, ?)", ((name, added.lastrowid) for name in row.findings)
        )
        if self.full_text:
            self.database.execute("INSERT INTO said (rowid, words) VALUES (?, ?)", (added.lastrowid, row.words))


EMPTY = Summary("", "", "", "", "", "", "", "", None, False, "", None, 0, False, "", "", ())


def _journals(folder: Path) -> dict[str, tuple[int, int]]:
    """Return the journals of a folder by name, each with time and size; none where there is no folder yet.

    Raises BadInput when the folder cannot be read, or is none.
    """
    found: dict[str, tuple[int, int]] = {}
    try:
        with os.scandir(folder) as entries:
            for each in entries:
                if each.name.endswith(".case") and each.is_file():
                    try:
                        known = each.stat()
                    except FileNotFoundError:  # gone meanwhile
                        continue
                    found[each.name[:-5]] = (known.st_mtime_ns, known.st_size)
    except FileNotFoundError:
        return {}
    except OSError as error:
        reason = error.strerror or error
        raise BadInput(f"the cases in {folder} cannot be listed: {reason}; check the folder's rights") from error
    return found


def _on_disk(folder: Path) -> sqlite3.Connection:
    """Open the index that is there, or make one.

    Raises OSError where the file is not one of ours: a link, a pipe, a folder.
    """
    path = folder / FILE
    if not folder.is_dir():
        return _in_memory(folder)
    # Created here, so that only this user can read it; a link is not followed, for it may lead anywhere.
    handle = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0), 0o600)
    try:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise OSError(f"{path} is no plain file")
    finally:
        os.close(handle)
    database = sqlite3.connect(path, timeout=PATIENCE_S, isolation_level=None)
    try:
        return _prepared(database)
    except BaseException:
        database.close()
        raise


def _anew(folder: Path) -> sqlite3.Connection:
    """Make the index anew in place of one that cannot be used."""
    (folder / FILE).unlink(missing_ok=True)
    (folder / f"{FILE}-journal").unlink(missing_ok=True)
    return _on_disk(folder)


def _in_memory(folder: Path) -> sqlite3.Connection:
    return _prepared(sqlite3.connect(":memory:", isolation_level=None))


def _apart(text: str) -> str:
    """Return words in small letters with nothing but blanks before and between them, as full-text search has them."""
    return " " + " ".join(re.findall(r"\w+", text.lower()))


def _prepared(database: sqlite3.Connection) -> sqlite3.Connection:
    """Return a database with the tables of this version.

    Raises sqlite3.DatabaseError where it holds anything else.
    """
    database.row_factory = sqlite3.Row
    database.create_function("apart", 1, _apart, deterministic=True)
    database.execute("PRAGMA trusted_schema = OFF")
    database.execute("PRAGMA synchronous = OFF")  # after a power cut it is built anew
    (version,) = database.execute("PRAGMA user_version").fetchone()
    if version == VERSION:
        return database
    with database:
        database.execute("BEGIN IMMEDIATE")
        (made,) = database.execute("SELECT count(*) FROM sqlite_master").fetchone()
        if made and database.execute("PRAGMA user_version").fetchone()[0] != VERSION:
            raise sqlite3.DatabaseError("an index of another version")
        if not made:
            for statement in (*_SCHEMA.split(";"), _VERSIONED):
                database.execute(statement)
            with suppress(sqlite3.OperationalError):  # a SQLite without full-text search
                database.execute(_FULL_TEXT)
    return database
