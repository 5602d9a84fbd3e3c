"""Files that people write or keep: data sheets, rules, journals, recorded cases; each spoilt."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from unittest.mock import patch

import msgspec

from diagnose import yaml_places
from diagnose.cases.exchange import passed_on
from diagnose.shipped import shipped_folder
from tests.hardening.calling import call, engine_of
from tests.hardening.judging import Input, command, judged
from tests.hardening.mutations import ODD, reading, spoilt, spoilt_bytes, spoilt_yaml
from tests.hardening.typist import Typist
from tests.hardening.uninterrupted import Uninterrupted
from tests.protocol.lamps import LAMP
from tests.rule_book.lamps import MINIMAL

BYTES = 0.1
"""How often the bytes of a file are spoilt, and not what stands in it."""


def _written(path: Path, text: str, chooser: random.Random) -> bytes:
    """Write a text as a file, now and then with spoilt bytes."""
    data = text.encode("utf-8", "surrogateescape")
    if chooser.random() < BYTES:
        data = spoilt_bytes(data, chooser)
    path.write_bytes(data)
    return data


# Data sheets ----------------------------------------------------------------------------------------------------------


def data_sheet(rules: Path, folder: Path, chooser: random.Random) -> Input:
    """Return a data sheet with fields of the rule book, spoilt, to be reviewed."""
    fields = engine_of(rules).rule_book.data_sheet_fields()
    lines = []
    for name in chooser.sample(list(fields), min(len(fields), chooser.randint(1, 12))):
        field = fields[name]
        value = chooser.choice(field.choices) if field.choices else f"{chooser.uniform(0, 100):.4g} {field.unit}"
        if field.several and chooser.random() < 0.5:
            value = f"[{', '.join(chooser.sample(field.choices, min(2, len(field.choices))))}]"
        lines.append(f"{name}: {value if chooser.random() < 0.8 else reading(chooser)}")
    text = "\n".join(lines)
    if chooser.random() < 0.8:
        text = spoilt_yaml(text, chooser)
    data = _written(folder / "sheet.yaml", text, chooser)
    arguments = [
        "--rules",
        str(rules),
        "data-sheet",
        "review",
        "sheet.yaml",
        "--format",
        chooser.choice(["text", "json"]),
    ]
    if chooser.random() < 0.2:
        arguments = ["--rules", str(rules), "triage", "--data-sheet", "sheet.yaml", "-"]
    return Input(f"{arguments[2]} {data[:300]!r}", command(arguments, "no light\n"))


# Rules ----------------------------------------------------------------------------------------------------------------


class Rules:
    """A copy of a rule book of which one file is spoilt at a time; all others are parsed once."""

    def __init__(self, rules: Path, folder: Path) -> None:
        self.copy = folder / f"rules-{rules.parent.name}-{rules.name}"
        shutil.copytree(rules, self.copy)
        self._files = sorted(path for path in self.copy.rglob("*.yaml"))

    def input(self, chooser: random.Random) -> Input:
        """Return a check of the rule book with one file spoilt."""
        path = chooser.choice(self._files)
        text = path.read_text(encoding="utf-8")
        changed = spoilt_yaml(text, chooser)

        def tried() -> str:
            data = _written(path, changed, chooser)
            try:
                with _parsed_once():
                    arguments = ("rules", "check", *(["--one-line"] if len(data) % 2 else []), str(self.copy))
                    done = call(arguments)
                return judged(done, arguments)
            finally:
                path.write_text(text, encoding="utf-8")

        before, after = text.splitlines(), changed.splitlines()
        new = [line for line in after if line not in before][:3]
        return Input(f"{path.relative_to(self.copy)}: {len(before)} to {len(after)} lines, new {new!r:.300}", tried)


_parse = lru_cache(maxsize=2000)(yaml_places.parse_document)


@contextmanager
def _parsed_once() -> Iterator[None]:
    with patch.object(yaml_places, "parse_document", _parse):
        yield


# Journals -------------------------------------------------------------------------------------------------------------


class Journals:
    """The journal of an interview, one line of it spoilt at a time, line after line."""

    def __init__(self, folder: Path, chooser: random.Random, answers: int = 40) -> None:
        engine = engine_of(LAMP)
        interview = Uninterrupted(engine, folder / "cases", "whole")
        typist = Typist(engine.rule_book, chooser)
        for _ in range(answers):
            interview.answer(typist.line(interview.prompt))
        interview.close()
        self._lines = interview.journal.path.read_text(encoding="utf-8").splitlines()
        self._at = 0
        self.path = folder / "cases" / "spoilt.case"

    def input(self, chooser: random.Random) -> Input:
        """Return the journal with its next line spoilt, to be resumed or shown."""
        at = self._at = (self._at + 1) % len(self._lines)
        line = chooser.choice([spoilt, _other_json, _other_json])(self._lines[at], chooser)
        lines = [*self._lines[:at], line, *self._lines[at + 1 :]]
        if chooser.random() < 0.2:
            lines[at] = chooser.choice(self._lines)
        path, text = self.path, "\n".join(lines) + "\n"
        shown = [
            ["cases", "show", "spoilt"],
            ["cases", "list"],
            ["cases", "search", "--like", "whole"],
            ["cases", "export"],
        ]
        arguments = chooser.choice(shown) if chooser.random() < 0.4 else ["interview", "--resume", "spoilt"]
        given = ["--rules", str(LAMP), *arguments]

        def tried() -> str:
            data = _written(path, text, chooser)
            done = call(given, "1\nw\nb\nl\n")
            wrong = judged(done, given)
            if not wrong and done.status == 1 and path.read_bytes() != data and "not hold" not in done.out:
                return "refused, and changed"
            return wrong

        return Input(f"{arguments[0]} {at + 1}: {line[:300]!r}", tried)


class Imports:
    """A case as it is passed on, spoilt, among good ones; as a line or as a row."""

    def __init__(self, folder: Path, chooser: random.Random) -> None:
        path = Journals(folder, chooser, 15).path.with_name("whole.case")
        self._case = msgspec.json.encode(passed_on(path)).decode()
        self._row = "L-1,2026-03-01,dark since noon,bulb-blown,12.5"
        self.folder = folder

    def input(self, chooser: random.Random) -> Input:
        """Return a file to be imported."""
        rows = chooser.random() < 0.4
        good = self._row if rows else self._case
        bad = chooser.choice([spoilt, spoilt if rows else _other_json])(good, chooser)
        heading = "meter,changed,complaint,cause,minutes\n" if rows else ""
        name = "in.csv" if rows else "in.jsonl"
        data = _written(self.folder / name, f"{heading}{good}\n{bad}\n{good}\n", chooser)
        return Input(f"{name} {data[:300]!r}", command(("--rules", str(MINIMAL), "cases", "import", name)))


_JSON = (
    "null",
    "true",
    "0",
    "-1",
    "1e999",
    "9" * 400,
    '""',
    "[]",
    "{}",
    '"x"',
    '"\\u0000"',
    '"\\ud800"',
    "[[[[]]]]",
    "1.5",
)


def _other_json(line: str, chooser: random.Random) -> str:
    """Give one value of a line another type, or one of its words another."""
    parts = line.split(":")
    at = chooser.randrange(1, len(parts))
    _, comma, rest = parts[at].partition(",")
    parts[at] = chooser.choice([*_JSON, f'"{chooser.choice(ODD)}"'.replace("\\", "")]) + comma + rest
    return ":".join(parts)


# Recorded cases -------------------------------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def _recorded() -> list[str]:
    return [path.read_text(encoding="utf-8") for path in sorted(shipped_folder("cases").rglob("*.yaml"))]


def recorded_case(folder: Path, chooser: random.Random) -> Input:
    """Return a recorded case, spoilt, to be replayed."""
    data = _written(folder / "case.yaml", spoilt_yaml(chooser.choice(_recorded()), chooser), chooser)
    return Input(repr(data[:300]), command(("cases", "replay", "case.yaml")))
