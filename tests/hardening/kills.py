"""Interviews killed at any moment: what was answered is on the disk, whole, and they go on where they were.

An invented person answers an interview that is a process of its own; at a random moment after a random answer it is
killed, its journal is read, the case is resumed, the question on the screen compared, and it is killed again. Beside
it the same answers are given to an interview that nobody interrupts.
"""

from __future__ import annotations

import random
import tempfile
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from diagnose.cases.journal import Journal
from diagnose.errors import DiagnoseError
from diagnose.reasoning.ready import load_engine
from diagnose.shipped import shipped_folder
from tests.commands.running import environment
from tests.hardening.child import Child
from tests.hardening.tables import table
from tests.hardening.typist import Typist
from tests.hardening.uninterrupted import Uninterrupted
from tests.protocol.lamps import LAMP

LONGEST_CASE = 40
"""Answers after which another case is begun."""

KILLED_WHILE_STARTING = 0.1
"""How often the program is killed before it has asked anything."""

GOES_ON = 0.6
"""How often one more answer is given before the kill."""


@dataclass
class Counts:
    """What was done, and what was wrong with it; ``told`` gives each thing that is wrong in words."""

    kills: int = 0
    while_starting: int = 0
    before_the_answer_was_kept: int = 0
    between: int = 0
    after_the_question: int = 0
    cases: int = 0
    answers: int = 0
    events: int = 0
    resumed: int = 0
    lost: int = 0
    torn: int = 0
    half: int = 0
    other: int = 0
    refused: int = 0
    mismatches: int = 0
    told: list[str] = field(default_factory=list)

    @property
    def wrong(self) -> int:
        """How many things were wrong."""
        return self.lost + self.torn + self.half + self.other + self.refused + self.mismatches


def run(kills: int, seed: int, only_lamp: bool = False) -> Counts:
    """Kill so many interviews, every second one of them about the desk lamp."""
    counts = Counts()
    chooser = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        while counts.kills < kills:
            counts.cases += 1
            rules = LAMP if only_lamp or counts.cases % 2 else shipped_folder("rules")
            _Case(Path(folder), f"case-{counts.cases}", rules, chooser, counts).run(kills)
    return counts


class _Case:
    """One case, killed again and again; the pace of answers is learned, so that kills fall into their working."""

    def __init__(self, folder: Path, name: str, rules: Path, chooser: random.Random, counts: Counts) -> None:
        self.name, self.rules, self.chooser, self.counts = name, rules, chooser, counts
        self.folder = folder / "killed"
        self.environment: Mapping[str, str] = environment(DIAGNOSE_CASES=str(self.folder))
        engine = load_engine(rules)
        self.reference = Uninterrupted(engine, folder / "uninterrupted", name)
        self.typist = Typist(engine.rule_book, chooser)
        self.starts, self.takes = 0.5, 0.01 if rules == LAMP else 0.08
        self.again = ""  # a line that was typed and not kept: the person types it anew
        self.asked_before = False  # a question of this case was on the screen once

    def run(self, kills: int) -> None:
        """Live and die until the case is long enough, or enough was killed."""
        answered = 0
        while self.counts.kills < kills and answered < LONGEST_CASE:
            child = self._started()
            self.counts.kills += 1
            if self.chooser.random() < KILLED_WHILE_STARTING:
                time.sleep(self.chooser.uniform(0, 1.2 * self.starts))
                child.kill()
                self.counts.while_starting += 1
                if not self._is_there():
                    break
                continue
            if not self._first_question(child):
                break
            if not self._answers(child):
                break
            answered += 1
        self.reference.close()

    def _started(self) -> Child:
        there = (self.folder / f"{self.name}.case").exists()
        how = ("--resume", self.name) if there else ("--name", self.name)
        self.begun = time.monotonic()
        return Child(("--rules", str(self.rules), "interview", *how), self.environment)

    def _is_there(self) -> bool:
        """After a kill during the start: nothing was asked yet, or the case is as it was."""
        if self.asked_before:
            after = len(self.reference.events)
            return self._kept(self.before if self.again else after, after, False)
        path = self.folder / f"{self.name}.case"
        if path.exists() and b"\n" not in path.read_bytes():
            path.unlink()  # only its name was taken: nothing was asked, nothing can be lost
        return True

    def _first_question(self, child: Child) -> bool:
        if not child.asked():
            status, said = child.leave()
            return self._wrong("refused", f"status {status}: {said or child.screen.decode()}")
        self.starts += 0.2 * (time.monotonic() - self.begun - self.starts)
        self.counts.resumed += self.asked_before
        self.asked_before = True
        return self._same_question(child)

    def _same_question(self, child: Child) -> bool:
        shown = " ".join(child.screen.decode().split())
        wanted = self.question_before if self.again else self.reference.question()
        if wanted in shown:
            return True
        child.kill()
        return self._wrong("mismatches", f"not asked: {wanted}\nbut: {shown}")

    def _answers(self, child: Child) -> bool:
        """Give answers, the last of them before a kill; tell whether the case can go on."""
        while True:
            line, before = self._next_line()
            child.type(line)
            self.counts.answers += 1
            if self.chooser.random() > GOES_ON:
                time.sleep(self.chooser.uniform(0, 1.2 * self.takes))
                child.kill()
                return self._compare(line, before, child.screen.endswith(b"> "))
            typed = time.monotonic()
            if not child.asked():
                status, said = child.leave()
                return self._wrong("refused", f"after `{line}`: status {status}: {said}")
            self.takes += 0.2 * (time.monotonic() - typed - self.takes)

    def _next_line(self) -> tuple[str, int]:
        """Return what is typed, and how many events there were before; the other interview takes it, too."""
        if self.again:
            line, self.again = self.again, ""
            return line, self.before
        self.before, self.question_before = len(self.reference.events), self.reference.question()
        line = self.typist.line(self.reference.prompt)
        self.reference.answer(line)
        return line, self.before

    def _compare(self, line: str, before: int, came: bool) -> bool:
        after = len(self.reference.events)
        if not self._kept(before, after, came):
            return False
        kept = self.held
        if came:
            self.counts.after_the_question += 1
        elif kept == after and after > before:
            self.counts.between += 1
        else:
            self.counts.before_the_answer_was_kept += 1
        if kept < after:
            self.again = line
        return True

    def _kept(self, before: int, after: int, came: bool) -> bool:
        """Tell whether the journal holds all that was answered, and nothing else."""
        path = self.folder / f"{self.name}.case"
        if not path.read_bytes().endswith(b"\n"):
            return self._wrong("torn", f"{path.read_bytes()[-200:]!r}")
        try:
            entries = Journal.read(self.folder, self.name).entries
        except DiagnoseError as error:
            return self._wrong("refused", str(error))
        self.held = len(entries)
        self.counts.events += self.held
        if [each.event for each in entries] != self.reference.events[: self.held] or self.held > after:
            return self._wrong("other", f"{entries} in place of {self.reference.events}")
        if self.held < (after if came else before):
            return self._wrong("lost", f"{self.held} events, wanted {after if came else before}")
        if before < self.held < after:
            return self._wrong("half", f"{self.held} events, between {before} and {after}")
        return True

    def _wrong(self, what: str, text: str) -> bool:
        setattr(self.counts, what, getattr(self.counts, what) + 1)
        self.counts.told.append(f"{what} in {self.name}: {text}")
        return False


def report(size: int = 500, seed: int = 1) -> str:
    """Return the table of so many kills."""
    counts = run(size, seed)
    rows = [
        ("kills", counts.kills),
        ("  while the program was starting", counts.while_starting),
        ("  after an answer was sent, before it was kept", counts.before_the_answer_was_kept),
        ("  after it was kept, before the next question", counts.between),
        ("  after the next question", counts.after_the_question),
        ("cases", counts.cases),
        ("answers given", counts.answers),
        ("events compared", counts.events),
        ("resumed, and the question compared", counts.resumed),
        ("answers lost", counts.lost),
        ("answers torn", counts.torn),
        ("answers kept by half", counts.half),
        ("answers kept as something else", counts.other),
        ("journals refused", counts.refused),
        ("next question another one", counts.mismatches),
    ]
    return "\n".join([table(f"Killed interviews, seed {seed}", ("what", "count"), rows), *counts.told[:5]])
