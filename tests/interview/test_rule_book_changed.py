"""A case that is resumed under another rule book: what no longer holds is said, and nothing goes silently."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from tests.commands.running import Done, run

LAMP = Path(__file__).parent / "lamp"


@pytest.fixture
def rules(tmp_path: Path) -> Path:
    """Return a rule book of one's own, with a case that was begun with it: a dark lamp, met by a skilled person."""
    shutil.copytree(LAMP, tmp_path / "rules")
    interview(tmp_path / "rules", "--name", "desk", typed="1\n3\nl\n")
    return tmp_path / "rules"


def interview(rules: Path, *how: str, typed: str = "") -> Done:
    """Run an interview with cases beside the rule book."""
    return run("--rules", rules, "interview", *how, stdin=typed, DIAGNOSE_CASES=str(rules.parent / "cases"))


def told(done: Done) -> str:
    """Return what was printed, whatever its lines."""
    return " ".join(done.out.split())


def edit(rules: Path, pattern: str, by: str) -> None:
    """Change words in every file of a rule book."""
    for path in rules.rglob("*.yaml"):
        path.write_text(re.sub(pattern, by, path.read_text(encoding="utf-8")), encoding="utf-8")


def test_the_same_rule_book_says_nothing(rules: Path) -> None:
    """The case goes on where it was."""
    again = interview(rules, "--resume", "desk", typed="l\n")
    assert "rule book" not in again.out + again.err
    assert "Change the bulb" in again.out


def test_a_change_that_touches_no_answer_is_told_once(rules: Path) -> None:
    """Nothing is asked."""
    edit(rules, "Change the bulb", "Fit a new bulb")
    first, second = (told(interview(rules, "--resume", "desk", typed="l\n")) for _ in range(2))
    assert "The rule book has changed since this case was left; all its answers still hold." in first
    assert "Fit a new bulb" in first
    assert "rule book" not in second


def test_what_no_longer_holds_is_told_and_asked_about(rules: Path) -> None:
    """Whoever leaves it finds it as it was; whoever goes on goes on without, and is not asked again."""
    journal = rules.parent / "cases" / "desk.case"
    before = journal.read_bytes()
    edit(rules, r"\bdark\b", "darkened")
    left = interview(rules, "--resume", "desk", typed="2\n")
    assert "1 answer of it does not hold any more" in told(left)
    assert "line 2 of the case: there is no finding `dark`; did you mean `darkened`?" in told(left)
    assert journal.read_bytes() == before
    gone_on = interview(rules, "--resume", "desk", typed="x\n1\n1\nl\n")
    assert "type 1 or 2" in gone_on.out
    assert "What is wrong with the meter?" in gone_on.out
    assert journal.read_bytes().startswith(before)
    assert "does not hold" not in interview(rules, "--resume", "desk", typed="l\n").out


def test_a_case_that_is_shown_says_what_is_left_out(rules: Path) -> None:
    """On the side, so that the document stays one."""
    edit(rules, r"\bdark\b", "darkened")
    shown = run("--rules", rules, "cases", "show", "desk", DIAGNOSE_CASES=str(rules.parent / "cases"))
    assert "left out, for this rule book does not know it: line 2 of the case: there is no finding `dark`" in shown.err
    assert shown.status == 0
