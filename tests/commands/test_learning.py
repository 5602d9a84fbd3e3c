"""``diagnose cases learn`` and ``statistics``, and what a meter had before."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import jsonschema
import pytest

from diagnose.cases.events import Closed, Event, MeterNamed
from diagnose.cases.journal import Journal
from diagnose.observations import CheckDone, FindingSeen, RemedyTried
from tests.commands.running import LAMP, Call, run

DARK = FindingSeen(finding="lamp-dark", present=True)
BROKEN = CheckDone(check="look-at-bulb", answer="broken")
CURED = RemedyTried(remedy="change-bulb", verdict="cured")
BLOWN = Closed(outcome="found", cause="bulb-blown", remedy="change-bulb", minutes=5.0)


@pytest.fixture
def cases(tmp_path: Path) -> Path:
    """Return a folder with three closed cases and a damaged one."""
    folder = tmp_path / "cases"
    kept: dict[str, tuple[Event, ...]] = {
        "first": (MeterNamed(tag="L-1"), DARK, BROKEN, CURED, BLOWN),
        "second": (MeterNamed(tag="L-2"), DARK, BROKEN, CURED, BLOWN),
        "vain": (DARK, Closed(outcome="not found")),
    }
    for name, events in kept.items():
        with Journal.start(folder, {}, name) as journal:
            journal.add(journal.new_turn(), *events)
    return folder


def in_cases(folder: Path, *arguments: str, stdin: str = "") -> str:
    """Return what a command prints about a folder of cases."""
    done = run(*LAMP, *arguments, stdin=stdin, DIAGNOSE_CASES=str(folder))
    assert done.status == 0, done.err
    return done.out


def schema(call: Call, name: str) -> dict[str, object]:
    """Return a schema as it is printed."""
    return json.loads(call("schema", name).out)  # type: ignore[no-any-return]


def test_learning_tells_before_and_after_and_writes_nothing(cases: Path, tmp_path: Path) -> None:
    """Unless a folder is named."""
    told = in_cases(cases, "cases", "learn")
    assert "3 closed cases" in told
    assert "2 with a cause that was found, 1 in which none was" in told
    assert "count as 200 cases" in told
    assert "the confirmed cause first in 2 of 2 closed cases before, in 2 after" in told
    assert sorted(each.name for each in tmp_path.iterdir()) == ["cases"]


def test_learning_writes_a_rule_book_that_can_be_used(cases: Path, tmp_path: Path) -> None:
    """And that finds the bulb more probable than the included one does."""
    ours = tmp_path / "ours"
    in_cases(cases, "cases", "learn", "--prior-cases", "5", "--write", str(ours))
    assert run("rules", "check", str(ours)).status == 0
    text = (ours / "causes" / "bulb_blown.yaml").read_text()
    today = datetime.now(UTC).date()
    assert f"# {today}: found in 2 of 3 closed cases; before: common" in text


def test_learning_as_json_keeps_to_its_schema(cases: Path, call: Call) -> None:
    """With a day since when, and without cases at all."""
    for folder, more in ((cases, ("--since", "2026-01-01")), (cases / "nowhere", ())):
        told = json.loads(in_cases(folder, "cases", "learn", *more, "--format", "json"))
        jsonschema.validate(told, schema(call, "learning"))
        assert told["format"] == "learning/1"


def test_statistics_as_text_json_and_page(cases: Path, call: Call) -> None:
    """All three tell of the bulb."""
    assert "Bulb blown" in in_cases(cases, "cases", "statistics")
    told = json.loads(in_cases(cases, "cases", "statistics", "--format", "json"))
    jsonschema.validate(told, schema(call, "statistics"))
    assert told["causes"][0]["id"] == "bulb-blown"
    page = in_cases(cases, "cases", "statistics", "--format", "html")
    assert page.startswith("<!doctype html>")
    assert page.count("<svg") == 4


def test_statistics_of_one_meter_and_of_some_time(cases: Path) -> None:
    """What lies outside does not count."""
    assert "1 closed cases" in in_cases(cases, "cases", "statistics", "--meter", "L-1")
    assert "0 closed cases" in in_cases(cases, "cases", "statistics", "--until", "2020-01-01")


def test_a_damaged_case_is_named_and_left_out(cases: Path) -> None:
    """The others count; nobody is told a number that hides it."""
    with (cases / "second.case").open("a", encoding="utf-8") as file:
        file.write('{"turn":9}\n{"turn":10}\n')
    told = in_cases(cases, "cases", "statistics")
    assert "2 closed cases" in told


def test_the_included_rule_book_is_never_written_over(cases: Path) -> None:
    """Nor the one that is in use."""
    done = run(*LAMP, "cases", "learn", "--write", LAMP[1], DIAGNOSE_CASES=str(cases))
    assert done.status == 2
    assert "that is the rule book itself" in done.err


def test_triage_tells_what_the_meter_had_before(cases: Path) -> None:
    """With what was done; another meter had nothing."""
    told = in_cases(cases, "triage", "--meter", "L-1", stdin="The lamp is dark.")
    assert "Found on L-1 before: Bulb blown on" in " ".join(told.split())
    assert "Found on" not in in_cases(cases, "triage", "--meter", "L-9", stdin="The lamp is dark.")


def test_an_interview_tells_what_the_meter_had_before(cases: Path) -> None:
    """Ahead of its first question, and again when it is gone on with."""
    done = run(*LAMP, "interview", "--meter", "L-1", "--name", "new", stdin="", DIAGNOSE_CASES=str(cases))
    assert "Found on L-1 before: Bulb blown on" in " ".join(done.out.split())
    assert done.out.index("Found on L-1") < done.out.index("?")
    again = run(*LAMP, "interview", "--resume", "new", stdin="", DIAGNOSE_CASES=str(cases))
    assert "Found on L-1 before" in again.out
