"""Every deliberate mistake in ``tests/wrong_rules`` is told on its line, and nothing else is told.

A file says with its first line what it is called inside the rule book (``# as: …``), and on the line of a mistake
what is told there (``# problem: [code] part of the text``); ``# whole file: [code] …`` is told of no line.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import diagnose.rule_book
from tests.rule_book.lamps import lamp_book, problems_of, put

WRONG = Path(__file__).parent.parent / "wrong_rules"
FILES = sorted(path for path in WRONG.rglob("*") if path.is_file())

TESTED_WITHOUT_A_FILE = {"cannot-read", "not-text", "too-large"}
"""Mistakes that no comment can stand beside: see ``test_load.py``."""

Told = tuple[str, int, str]


def announced(text: str) -> list[Told]:
    """Return code, line (0: the file) and part of the text of every problem that a file announces."""
    told = [(code, 0, part.strip()) for code, part in re.findall(r"^# whole file: \[([a-z-]+)\] (.+)$", text, re.M)]
    for number, line in enumerate(text.splitlines(), 1):
        told += [(code, number, part.strip()) for code, part in re.findall(r"# problem: \[([a-z-]+)\] ([^#]+)", line)]
    return told


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_a_mistake_is_told_on_its_line_and_no_other(path: Path, tmp_path: Path) -> None:
    """Each announced problem occurs on its line, and no problem occurs that is not announced."""
    text = path.read_text(encoding="utf-8")
    name = text.splitlines()[0].removeprefix("# as: ")
    rules = lamp_book(tmp_path)
    put(rules, name, text)

    expected = announced(text)
    found = problems_of(rules)

    assert path.parent.name in {code for code, _, _ in expected}
    assert {problem.place.file for problem in found} == {f"rules/{name}"}
    assert sorted((problem.code, problem.place.line) for problem in found) == sorted(
        (code, line) for code, line, _ in expected
    ), "\n".join(problem.in_one_line() for problem in found)
    for code, line, part in expected:
        assert any((p.code, p.place.line) == (code, line) and part in p.text for p in found), (code, line, part)


def test_there_is_a_deliberate_mistake_for_every_code() -> None:
    """No problem that the loader can tell is without a file that provokes it."""
    assert codes_of_the_loader() == {path.parent.name for path in FILES} | TESTED_WITHOUT_A_FILE


def codes_of_the_loader() -> set[str]:
    """Return the codes in the source of the rule book's package, the place of the code being always the second."""
    codes: set[str] = set()
    package = Path(diagnose.rule_book.__file__).parent
    checking = (
        "cross_references",
        "referring",
        "steps_checked",
        "safeguards_checked",
        "quantities_checked",
        "phrases_checked",
        "fields_checked",
        "headings_checked",
        "units_checked",
        "analyses_checked",
        "amounts_checked",
        "amounts_prepared",
    )
    modules = [package / f"{module}.py" for module in ("decode", "prepare", "conditions", "load", *checking)]
    for module in (package.parent / "yaml_places.py", *modules):
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and len(node.args) > 2:
                name = getattr(node.func, "attr", getattr(node.func, "id", ""))
                code = node.args[1]
                if name in ("problem", "problem_at", "_wrong", "Problem", "Wrong") and isinstance(code, ast.Constant):
                    codes.add(str(code.value))
    referred_to = ("area", "cause", "check", "disturbance", "finding", "quantity", "remedy", "source")
    return codes | {f"unknown-{part}" for part in referred_to}
