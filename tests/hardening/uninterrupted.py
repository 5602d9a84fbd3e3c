"""The same interview inside this process, which nobody interrupts: what a killed one is held against."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path

from diagnose.cases.events import Event
from diagnose.cases.journal import Journal
from diagnose.documents.blocks import Block
from diagnose.documents.text import make_console, write
from diagnose.interview import screens
from diagnose.interview.loop import Interview
from diagnose.interview.session import Session
from diagnose.interview.terminal import Terminal
from diagnose.language.cleaning import tidy
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import Prompt
from diagnose.reasoning.engine import Engine


class Uninterrupted:
    """One interview, answered line by line; an empty line at its end leaves it, and is not to be typed."""

    def __init__(self, engine: Engine, folder: Path, name: str) -> None:
        self.journal = Journal.start(folder, {}, name, engine.fingerprint)
        self._session = Session(engine, self.journal)
        console = make_console(file=io.StringIO(), width=80, color_system=None, force_terminal=False)
        self._terminal = Terminal(console, io.StringIO(), person=False)
        self._interview = Interview(self._session, self._terminal)

    def answer(self, line: str) -> str:
        """Take one line as the terminal would; return what was said to it, without the line."""
        self._terminal.console.file = shown = io.StringIO()
        self._terminal.stream = io.StringIO(f"{line}\n")
        self._interview._turn()
        echo = tidy(f"{line}\n").rstrip("\n")
        said = shown.getvalue().rpartition(f"> {echo}\n")[2] + printed(self._interview.said)
        return said or ("" if self._interview.asked else "asked anew")

    @property
    def prompt(self) -> Prompt:
        """What is asked now."""
        return prompt_in(self._session.situation())

    @property
    def events(self) -> list[Event]:
        """All that the journal holds."""
        return [entry.event for entry in self.journal.entries]

    def question(self) -> str:
        """Return the question as it stands on the screen, without what comes above it."""
        return printed(screens.screen(self._session.situation(), self.prompt, None).below)

    def close(self) -> None:
        """Let go of the case."""
        self.journal.close()


def printed(blocks: Sequence[Block]) -> str:
    """Return blocks as they stand on a screen of 80 columns, with single spaces."""
    shown = io.StringIO()
    write(make_console(file=shown, width=80, color_system=None, force_terminal=False), blocks)
    return " ".join(shown.getvalue().split())
