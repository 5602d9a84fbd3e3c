"""Statements struck out and added by the agent."""

from __future__ import annotations

import pytest

from diagnose.errors import DiagnoseError, WrongUse
from diagnose.triage.report import triage
from tests.commands.running import document, run
from tests.engines import real_engine

ENGINE = real_engine()
REPORT = "Display is dark. Flow is negative."


def findings(**how: object) -> dict[str, bool]:
    """Return what is known after the report, amended so."""
    return triage(ENGINE, REPORT, {}, **how).diagnosis.findings  # type: ignore[arg-type]


def test_what_was_misread_is_struck_out() -> None:
    """By its number, as it is listed."""
    assert findings()["display-dark"] is True
    struck = findings(struck=[1])
    assert "display-dark" not in struck
    assert struck["flow-negative"] is True


def test_what_the_agent_knows_counts_as_seen() -> None:
    """A finding, its absence, a reading; also where the report says nothing of a meter."""
    more = triage(ENGINE, REPORT, {}, beside=["fuse-open=absent", "loop-current=3.6 mA", "came-slowly"])
    assert (more.diagnosis.findings["fuse-open"], more.diagnosis.findings["came-slowly"]) == (False, True)
    assert more.diagnosis.values["loop-current"] == pytest.approx(0.0036)
    assert [each.quote for each in more.report.understanding.understood][-3:] == ["added by the agent"] * 3
    of_a_meter = triage(ENGINE, "Printer out of toner", {}, beside=["display-dark"])
    assert of_a_meter.diagnosis.causes
    assert of_a_meter.about == "a flow meter"


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ({"struck": [3]}, "there are 2, numbered from 1"),
        ({"struck": [0]}, "no statement 0"),
        ({"beside": ["display-drak"]}, "did you mean `display-dark`?"),
        ({"beside": ["fuse-open=maybe"]}, "present or absent"),
        ({"beside": ["loop-current"]}, "loop-current=3 mA"),
        ({"beside": ["location=cellar"]}, "is never `cellar`"),
        ({"beside": ["loop-current=4 bar"]}, "bar"),
    ],
)
def test_what_makes_no_sense_is_refused_in_words(how: dict[str, object], told: str) -> None:
    """With what was meant."""
    with pytest.raises(DiagnoseError) as error:
        triage(ENGINE, REPORT, {}, **how)  # type: ignore[arg-type]
    assert told in str(error.value)


def test_from_the_command_line() -> None:
    """The options, and a wrong one."""
    done = run("triage", "--without", "1", "--with", "fuse-open", "--format", "json", stdin=REPORT)
    assert document(done)["findings"].get("display-dark") is not True
    assert document(done)["findings"]["fuse-open"] is True
    wrong = run("triage", "--with", "fuse-opem", stdin=REPORT)
    assert (wrong.status, "fuse-open" in wrong.err) == (WrongUse.exit_status, True)


def test_several_meters_are_diagnosed_one_by_one() -> None:
    """None is ranked for all of them together."""
    told = document(run("triage", "--format", "json", stdin="FT-1 display is dark. FT-2 flow is negative."))
    assert (told["about"], told["causes"]) == ("several flow meters", [])
    first, second = told["meters"]
    assert (first["name"], second["name"]) == ("FT-1", "FT-2")
    assert first["diagnosis"]["findings"]["display-dark"] is True
    assert "display-dark" not in second["diagnosis"]["findings"]


def test_a_matter_that_is_over_gets_no_ranking() -> None:
    """Nor does what is not about a meter; both say so first."""
    for text, head in (
        ("Solved, it was the fuse, please close", "solved already"),
        ("Printer out of toner", "Not about"),
    ):
        done = run("triage", stdin=text)
        assert head in done.out
        assert "Causes, most probable first" not in done.out


def test_the_report_can_be_shown_in_parts() -> None:
    """Each with what became of it."""
    shown = " ".join(run("triage", "--marked", stdin="Display is dark. The hens lay well.").out.split())
    assert "understood: Display is dark. → display-dark" in shown
    assert "not understood: The hens lay well." in shown


def test_what_is_struck_is_struck_in_each_meter() -> None:
    """Not only in the list of the whole report."""
    report = "FT-1 display is dark. FT-2 flow is negative."
    number = next(
        number
        for number, each in enumerate(triage(ENGINE, report, {}).report.understanding.understood, 1)
        if each.finding == "display-dark"
    )
    meters = dict(triage(ENGINE, report, {}, struck=[number]).meters)
    assert "display-dark" not in meters["FT-1"].diagnosis.findings
    assert meters["FT-2"].diagnosis.findings["flow-negative"] is True
