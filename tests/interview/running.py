"""Running interviews without a terminal: answers in, the whole screen text out."""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

from diagnose.cases.journal import Journal
from diagnose.documents.text import make_console
from diagnose.interview.loop import interview
from diagnose.interview.session import Session
from diagnose.interview.terminal import Terminal
from diagnose.rule_book.load import load_folder
from diagnose.rule_book.types import DataSheet, RuleBook
from diagnose.shipped import shipped_folder

LAMP = Path(__file__).parent / "lamp"


@lru_cache(maxsize=1)
def lamp_book() -> RuleBook:
    """Return the small rule book about a desk lamp."""
    return load_folder(LAMP)


@lru_cache(maxsize=1)
def real_book() -> RuleBook:
    """Return the rule book that the project ships."""
    return load_folder(shipped_folder("rules"))


def run(
    answers: Sequence[str],
    folder: Path,
    rule_book: RuleBook | None = None,
    *,
    resume: bool = False,
    data_sheet: DataSheet | None = None,
    report: bytes = b"",
    name: str = "example",
) -> tuple[int, str]:
    """Return exit status and everything printed when these lines are typed; input ends after the last."""
    output = io.StringIO()
    console = make_console(file=output, width=80, color_system=None, force_terminal=False)
    opened = Journal.resume(folder, name) if resume else Journal.start(folder, data_sheet or {}, name)
    with opened as journal:
        terminal = Terminal(console, io.StringIO("".join(f"{line}\n" for line in answers)), person=False)
        status = interview(Session(rule_book or lamp_book(), journal), terminal, report)
    return status, output.getvalue()
