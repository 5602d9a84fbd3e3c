"""The cases that a server shows: each reply opens its journal, and is on disk before the next page is made."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock
from typing import NamedTuple

from diagnose.cases.attached_files import attach
from diagnose.cases.index import Index
from diagnose.cases.journal import LONGEST_NAME, Journal
from diagnose.cases.listing import Wanted, cases_wanted
from diagnose.cases.summary import Summary
from diagnose.documents.blocks import Block, line
from diagnose.documents.case_report_page import case_report_html
from diagnose.errors import BadInput
from diagnose.interview import rule_book_changed
from diagnose.interview.remarks import remarks
from diagnose.interview.reported import report_of
from diagnose.interview.screens import left_behind
from diagnose.interview.session import Session
from diagnose.language.cleaning import tidy
from diagnose.place import visible
from diagnose.protocol import replies
from diagnose.protocol.commanded import reply_of
from diagnose.protocol.commands import Command
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import HandOverPrompt, StopPrompt
from diagnose.protocol.typed import Unclear, reply_to
from diagnose.reasoning.engine import Engine

MOST_LISTED = 30

CLOSED = "That was not taken: this case is closed. Have it opened again at the desk: diagnose cases reopen"
OVERTAKEN = "That was not taken: this case has moved on since your page was made. Look at what is asked now."
NOT_READ = "Nothing was typed."


class ReplyTaken(NamedTuple):
    """What became of a reply: what is said back, whether the person leaves, and what they want to see beside."""

    said: list[Block]
    left: bool = False
    view: str = ""


@dataclass
class KeptCases:
    """The cases of a folder. One reply at a time: an engine is not made for several, and a phone waits a second."""

    engine: Engine
    folder: Path
    _one_at_a_time: Lock = field(default_factory=Lock)

    def listed(self) -> tuple[Summary, ...]:
        """Return the latest cases."""
        if not self.folder.is_dir():
            return ()
        with self._one_at_a_time, Index.open(self.folder) as index:
            return cases_wanted(index, Wanted(), MOST_LISTED).cases

    def start(self, name: str) -> str:
        """Begin a case; return its name.

        Raises BadInput when it cannot be kept.
        """
        with self._one_at_a_time, Journal.start(self.folder, {}, name, self.engine.fingerprint) as journal:
            return journal.head.case

    @contextmanager
    def opened(self, name: str) -> Iterator[Session]:
        """Give a case to work on, alone.

        Raises BadInput when there is no such case, or when it is open in an interview elsewhere.
        """
        self._check(name)
        with self._one_at_a_time, Journal.resume(self.folder, name) as journal:
            yield Session(self.engine, journal)

    @staticmethod
    def _check(name: str) -> None:
        """Take names of cases only, never a path."""
        if not name or Path(name).name != name or name.endswith(".case") or len(name) > LONGEST_NAME + 10:
            raise BadInput(f"there is no case {visible(name)}")

    def report(self, name: str) -> str:
        """Return the report of a case as a page.

        Raises BadInput when there is no such case.
        """
        self._check(name)
        with self._one_at_a_time:
            document, pictures = report_of(self.engine, self.folder, name)
        return case_report_html(document, pictures)

    def attach(self, name: str, file: str, data: bytes) -> None:
        """Keep a photo or a file beside a case.

        Raises BadInput when it cannot be kept.
        """
        with tempfile.TemporaryDirectory() as folder, self.opened(name) as session:
            path = Path(folder) / "file"
            try:
                path.write_bytes(data)
            except OSError as error:
                raise BadInput(f"the photo could not be kept: {error.strerror or error}") from error
            attach(session.journal, [path], name=tidy(file).replace("\\", "/").rpartition("/")[2] or "photo")


def goes_on(session: Session) -> list[Block] | None:
    """Have a case that was begun with another rule book go by this one; None where somebody must be asked first."""
    if session.goes_by_this_rule_book and not session.misfits:
        session.come_back()
        return []
    if session.misfits and not session.misfits_were_told:
        return None
    session.go_by_this_rule_book()
    session.come_back()
    return [] if session.misfits else [line(rule_book_changed.STILL_HOLD)]


def take(session: Session, entries: int, typed: str) -> ReplyTaken:
    """Take what was typed or chosen on a page that was made when the case had so many entries.

    Raises BadInput when it cannot be written to disk.
    """
    if session.journal.closed:
        return ReplyTaken([line(CLOSED)])
    if entries != len(session.journal.entries):
        return ReplyTaken([line(OVERTAKEN)])
    situation = session.situation()
    prompt = prompt_in(situation)
    meaning = reply_to(situation.engine, situation.data_sheet, prompt, tidy(typed).strip())
    if isinstance(meaning, Unclear):
        left = not meaning.help and isinstance(prompt, HandOverPrompt)
        return ReplyTaken([line(f"? {meaning.help or NOT_READ}")], left)
    if isinstance(meaning, Command):
        reply = reply_of(meaning)
        if meaning.word == "save and leave":
            session.reply(prompt, replies.Leave())
            session.leave()
            return ReplyTaken(left_behind(session.situation()), left=True)
        if reply is None:
            return ReplyTaken([], view=meaning.word)
        meaning = reply
    turn = session.reply(prompt, meaning)
    if isinstance(prompt_in(session.situation()), HandOverPrompt | StopPrompt):
        session.leave()  # nobody says on a page that they leave: they put the phone away
    return ReplyTaken(remarks(session.engine.rule_book, turn.remarks))
