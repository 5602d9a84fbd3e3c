"""The cases that a server shows: each reply opens its journal, and is on disk before the next page is made."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock
from typing import NamedTuple

from diagnose.cases.administration import administration
from diagnose.cases.attached_files import attach
from diagnose.cases.events import LONGEST_TAG, Acknowledgement, Case, MeterNamed, Resumed
from diagnose.cases.index import Index
from diagnose.cases.journal import LONGEST_NAME, Journal
from diagnose.cases.listing import Wanted, cases_wanted
from diagnose.cases.meter_sheets import kept_sheet
from diagnose.cases.summary import Summary
from diagnose.documents.blocks import Block, line
from diagnose.documents.case_report_page import case_report_html
from diagnose.errors import BadInput, NoSuchCase
from diagnose.interview import rule_book_changed
from diagnose.interview.remarks import remarks
from diagnose.interview.reported import report_of
from diagnose.interview.screens import left_behind
from diagnose.interview.session import Session
from diagnose.language.cleaning import tidy
from diagnose.learning.meter_history import at_case
from diagnose.place import visible
from diagnose.protocol import replies
from diagnose.protocol.closing import closed_in_words
from diagnose.protocol.commanded import reply_of
from diagnose.protocol.commands import Command
from diagnose.protocol.dangers_typed import tells_of_danger
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import CautionPrompt, HandOverPrompt, StopPrompt
from diagnose.protocol.situation import Situation
from diagnose.protocol.turn import Turn
from diagnose.protocol.typed import Unclear, reply_to
from diagnose.reasoning.engine import Engine

MOST_LISTED = 30
MOST_REMEMBERED = 50
"""Cases whose meter is not looked up anew for each reply."""

CLOSED = "That was not taken: this case is closed. Have it opened again at the desk: diagnose cases reopen"
OVERTAKEN = "That was not taken: this case has moved on since your page was made. Look at what is asked now."
NOT_READ = "Nothing was typed."
_GIVEN_BACK = 500
"""Letters of an answer that came too late that are shown again."""


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
    _meters: dict[tuple[str, str, str], tuple[Engine, str]] = field(default_factory=dict)

    def without_place(self, text: str) -> str:
        """Return a text for a phone: where on the server the cases are kept is nothing to it."""
        for folder in map(str, dict.fromkeys((self.folder.absolute(), self.folder.resolve()))):
            text = text.replace(f"{folder}{os.sep}", "").replace(folder, "their folder")
        return text

    def listed(self) -> tuple[Summary, ...]:
        """Return the latest cases."""
        if not self.folder.is_dir():
            return ()
        with self._one_at_a_time, Index.open(self.folder) as index:
            return cases_wanted(index, Wanted(), MOST_LISTED).cases

    def start(self, meter: str) -> str:
        """Begin a case about a meter, by its tag, or about one without; return its name.

        Raises BadInput when it cannot be kept, ProblemsFound when the data sheet of the meter is not right.
        """
        tag = " ".join(tidy(meter).split())[:LONGEST_TAG]
        sheet = kept_sheet(self.folder, tag, self.engine.rule_book)
        with self._one_at_a_time, Journal.start(self.folder, {}, tag, self.engine.fingerprint) as journal:
            if tag:
                journal.add(journal.new_turn(), MeterNamed(tag=tag, data_sheet=sheet))
            return journal.head.case

    @contextmanager
    def opened(self, name: str) -> Iterator[Session]:
        """Give a case to work on, alone.

        Raises BadInput when there is no such case, or when it is open in an interview elsewhere.
        """
        self._check(name)
        with self._one_at_a_time, Journal.resume(self.folder, name) as journal:
            yield Session(self._at(journal.case)[0], journal)

    def _at(self, case: Case) -> tuple[Engine, str]:
        """Return the engine for the meter of a case, and what was found on it before; looked up once for a case."""
        kept = administration(case.entries)
        which = (case.name, kept.meter, kept.closed_at)
        if which not in self._meters:
            while len(self._meters) >= MOST_REMEMBERED:
                del self._meters[next(iter(self._meters))]
            self._meters[which] = at_case(self.engine, self.folder, case)
        return self._meters[which]

    def meter_of(self, session: Session) -> tuple[str, str]:
        """Return the tag of the meter of a case that is opened, and what was found on it before, in words."""
        case = session.kept
        return administration(case.entries).meter, self._at(case)[1]

    @staticmethod
    def _check(name: str) -> None:
        """Take names of cases only, never a path."""
        if not name or Path(name).name != name or name.endswith(".case") or len(name) > LONGEST_NAME + 10:
            raise NoSuchCase(f"there is no case {visible(name)}")

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


def closed_as(session: Session) -> list[tuple[str, str]]:
    """Return when a case was closed and what with, line by line; nothing of one that is open."""
    kept = administration(session.journal.entries)
    if kept.closed is None:
        return []
    return [("Closed", kept.closed_at[:10]), *closed_in_words(session.engine.rule_book, kept.closed)]


def seen_by(session: Session, read: Mapping[str, int]) -> Situation:
    """Return a case as it stands for whoever has ``read`` these cautions, each with its entry in the journal.

    Somebody else may have heeded the cautions of the step that is on, at another phone or at a terminal. Whoever has
    not gets them as after a shift: in full, and before the step.
    """
    situation = session.situation()
    heeded = _heeded(session)
    step = getattr(prompt_in(situation), "proposal", None)
    if step is None or all(heeded.get(name, -1) <= read.get(name, -1) for name, _ in step.cautions):
        return situation
    return Situation(session.engine, session.case.after(Resumed()))


def _heeded(session: Session) -> dict[str, int]:
    """Return the cautions that were heeded in a case, each with the entry that says so last."""
    entries = enumerate(each.event for each in session.journal.entries)
    return {event.caution: number for number, event in entries if isinstance(event, Acknowledgement)}


def take(session: Session, entries: int, typed: str, read: dict[str, int]) -> ReplyTaken:
    """Take what was typed or chosen on a page that was made when the case had so many entries.

    ``read`` are the cautions that were heeded on this phone; those that are heeded now are added.

    Raises BadInput when it cannot be written to disk.
    """
    if session.journal.closed:
        return ReplyTaken([line(CLOSED)])
    if entries != len(session.journal.entries) and not tells_of_danger(session.engine, typed):
        return ReplyTaken([line(OVERTAKEN), *_given_back(typed)])
    situation = seen_by(session, read)
    prompt = prompt_in(situation)
    meaning = reply_to(situation.engine, situation.data_sheet, prompt, tidy(typed).strip(), files=False)
    if isinstance(meaning, Unclear):
        left = not meaning.help and isinstance(prompt, HandOverPrompt)
        return ReplyTaken([line(f"? {meaning.buttons or meaning.help or NOT_READ}")], left)
    if isinstance(meaning, Command):
        reply = reply_of(meaning)
        if meaning.word == "save and leave":
            session.reply(prompt, replies.Leave())
            session.leave()
            return ReplyTaken(left_behind(session.situation()), left=True)
        if reply is None:
            return ReplyTaken([], view=meaning.word)
        meaning = reply
    if isinstance(prompt, CautionPrompt) and isinstance(meaning, replies.Heed):
        return _heed(session, prompt, read)
    turn = session.reply(prompt, meaning)
    if isinstance(prompt_in(session.situation()), HandOverPrompt | StopPrompt):
        session.leave()  # nobody says on a page that they leave: they put the phone away
    return ReplyTaken(remarks(session.engine.rule_book, turn.remarks, buttons=True))


def _given_back(typed: str) -> list[Block]:
    """Return what was typed in own words, so that nobody has to think of it again."""
    words = tidy(typed).strip()
    return [line(f"You wrote: “{words[:_GIVEN_BACK]}”")] if len(words.split()) > 1 else []


def _heed(session: Session, shown: CautionPrompt, read: dict[str, int]) -> ReplyTaken:
    """Take it that the cautions on a page were read: for the case where nobody had, for this phone in any case."""
    prompt = prompt_in(session.situation())
    turn = session.reply(prompt, replies.Heed()) if isinstance(prompt, CautionPrompt) else Turn()
    heeded = _heeded(session)
    read |= {name: heeded[name] for name, _ in shown.proposal.cautions if name in heeded}
    return ReplyTaken(remarks(session.engine.rule_book, turn.remarks, buttons=True))
