"""Running interviews without a terminal: answers in, the whole screen text out."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path

from diagnose.cases.journal import Journal
from diagnose.documents.text import make_console
from diagnose.interview.loop import interview
from diagnose.interview.session import Session
from diagnose.interview.terminal import Terminal
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.quantities import DataSheet
from tests.protocol.lamps import LAMP, lamp_book_engine

__all__ = ["LAMP", "run"]


def run(
    answers: Sequence[str],
    folder: Path,
    engine: Engine | None = None,
    *,
    resume: bool = False,
    data_sheet: DataSheet | None = None,
    report: str = "",
    name: str = "example",
    person: bool = False,
    height: int = 24,
) -> tuple[int, str]:
    """Return exit status and everything printed when these lines are typed; input ends after the last.

    As a ``person``, pages of that ``height`` are shown, and what is typed is not printed back.
    """
    output = io.StringIO()
    console = make_console(file=output, width=80, height=height, color_system=None, force_terminal=False)
    opened = Journal.resume(folder, name) if resume else Journal.start(folder, data_sheet or {}, name)
    with opened as journal:
        terminal = Terminal(console, io.StringIO("".join(f"{line}\n" for line in answers)), person=person)
        status = interview(Session(engine or lamp_book_engine(), journal), terminal, report)
    return status, output.getvalue()
