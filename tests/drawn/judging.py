"""What is wrong with one rule book: as it is read, compiled, kept, and used by every command."""

from __future__ import annotations

import json
import os
import random
import unicodedata
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple
from unittest.mock import patch

import msgspec
import yaml

from diagnose import yaml_places
from diagnose.place import Problem
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.load import examine_folder
from tests.drawn.running import Done, call, home, wrong_with_json
from tests.drawn.using import WIDTHS, Use, uses

OF_WHOLE_FILES = {"unknown-part", "file-name", "not-text", "too-large", "cannot-read", "empty-file", "yaml"}
"""Problems that may have no line."""


class Failure(NamedTuple):
    """What went wrong where."""

    command: str
    text: str

    def __str__(self) -> str:
        return f"{self.command}\n    {self.text}"


def wrong_with_reading(rules: Path, both_parsers: bool = True) -> tuple[RuleBook | None, list[Failure]]:
    """Return the rule book, None where it is refused, and what was wrong with that: every problem has its place."""
    book, problems = examine_folder(rules)
    failures = [Failure("rules check", told) for each in problems if (told := _badly_told(each))]
    if both_parsers and hasattr(yaml, "CSafeLoader"):
        with patch.object(yaml_places, "_LOADER", yaml.SafeLoader):
            again = examine_folder(rules)
        if again != (book, problems) and not _both_refuse(problems, again[1]):
            failures.append(Failure("rules check", "the parser in Python reads it otherwise than the one in C"))
    if problems or book is None:
        return None, failures
    if msgspec.msgpack.decode(msgspec.msgpack.encode(book), type=RuleBook) != book:
        failures.append(Failure("compiled", "what is read back from the cache is not what was put there"))
    return book, failures


def _both_refuse(problems: list[Problem], others: list[Problem]) -> bool:
    """Tell whether both parsers refuse what one of them cannot read at all; each may say so in its own words."""
    unreadable = {"yaml", "unseen-character"}
    return all(unreadable & {each.code for each in said} for said in (problems, others))


def _badly_told(problem: Problem) -> str:
    shown = problem.in_full() + problem.in_one_line()
    if _controls(shown):
        return f"a control character is told: {shown!r}"
    if not problem.text or (not (problem.place.line and problem.place.column) and problem.code not in OF_WHOLE_FILES):
        return f"a problem without its place: {shown}"
    return ""


def _controls(text: str) -> bool:
    return any(unicodedata.category(letter) in ("Cc", "Cs") and letter not in "\n\t" for letter in text)


def wrong_with_use(book: RuleBook, folder: Path, seed: int, counted: Counter[str] | None = None) -> Iterator[Failure]:
    """Run every command on the rule book in ``folder / "rules"``, and yield whatever is wrong."""
    luck = random.Random(seed)
    counted = Counter() if counted is None else counted
    with home(folder), patch.dict(os.environ, {"COLUMNS": luck.choice(WIDTHS)}):
        for use in uses(book, folder, luck):
            done = call("--rules", str(folder / "rules"), *use.arguments, stdin=use.stdin)
            command = " ".join(word for word in use.arguments[:2] if not word.startswith(("-", "/")))
            counted[command] += 1
            if said := _wrong_with(use, done):
                yield Failure(f"diagnose {' '.join(use.arguments)}", said)


def _wrong_with(use: Use, done: Done) -> str:
    if done.error:
        return done.error
    if done.status not in use.statuses or (done.err and not _harmless(done.err)):
        refused = use.told and done.status in (1, 2) and done.err
        return "" if refused else f"status {done.status}: {done.err[:600]}"
    if "Traceback" in done.out + done.err:
        return "a traceback was printed"
    if unseen := next((each for each in done.out.splitlines() if _controls(each)), ""):
        return f"a control character was printed: {unseen!r}"
    if use.schema:
        return wrong_with_json(done.out, use.schema)
    if use.arguments[0] == "schema":
        json.loads(done.out)
    return ""


def _harmless(err: str) -> bool:
    return err.strip().split(" in ")[0].isdigit() or " added to the case " in err
