"""Whom a step takes is said, not assumed: a check or remedy that says nothing would be put to anybody."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.rule_book.lamps import lamp_book, problems_of

WORKS = ("checks/look_at_bulb.yaml", "checks/measure_voltage.yaml", "remedies/change_bulb.yaml")


@pytest.mark.parametrize("name", WORKS)
def test_a_check_or_remedy_that_says_nothing_is_refused(name: str, tmp_path: Path) -> None:
    """At its own place, with the words to choose from."""
    rules = lamp_book(tmp_path)
    path = rules / name
    text, left_out = re.subn(r"^\s*competence: .*\n", "", path.read_text(encoding="utf-8"), flags=re.MULTILINE)
    assert left_out
    path.write_text(text, encoding="utf-8")
    (problem,) = [each for each in problems_of(rules) if each.text.startswith("nothing says whom")]
    assert (problem.code, problem.place.file) == ("unsaid-competence", f"rules/{name}")
    assert problem.help == "write `competence:` and one of ordinary, instructed, skilled"


def test_a_remedy_inside_its_cause_is_no_exception(tmp_path: Path) -> None:
    """It is told at the remedy, not at the cause."""
    rules = lamp_book(tmp_path)
    path = rules / "causes" / "supply_missing.yaml"
    lines = path.read_text(encoding="utf-8").splitlines()
    kept = [line for line in lines if not line.lstrip().startswith("competence:")]
    path.write_text("\n".join(kept) + "\n", encoding="utf-8")
    (problem,) = [each for each in problems_of(rules) if each.text.startswith("nothing says whom")]
    assert problem.place.line >= next(number for number, line in enumerate(kept, 1) if line.startswith("remedy:"))


def test_a_book_that_says_it_is_fine(tmp_path: Path) -> None:
    """Nothing is told of the small book as it stands."""
    assert problems_of(lamp_book(tmp_path)) == []
