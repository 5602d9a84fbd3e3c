"""``diagnose calc`` as people call it: worked answers, and what is told when something is wrong or missing."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from diagnose.commands.calculation_tasks import TASKS, Task
from tests.commands.running import Call, Done, run
from tests.rule_book.lamps import lamp_book, put


def answer(*arguments: str) -> dict[str, Any]:
    """Return the document that ``calc`` prints for these arguments."""
    done = run("calc", *arguments, "--format", "json")
    assert done.err == ""
    return json.loads(done.out)  # type: ignore[no-any-return]


def results(*arguments: str) -> dict[str, Any]:
    """Return the worked figures by name, in the unit in which they are shown."""
    return {each["name"]: each["value"] for each in answer(*arguments)["results"] if "name" in each}


def test_a_worked_answer_has_formula_figures_result_and_source() -> None:
    """37.5 of 0 to 100 m³/h calls for 10 mA (IEC 60381-1 scaling); LRV is said to be taken as zero."""
    done = run("calc", "loop", "--flow", "37.5m3/h", "--urv", "100m3/h")
    assert (done.status, done.err) == (0, "")
    for part in ("10 mA", "I = 4 mA + 16 mA", "Q = 37.5 m3/h", "URV = 100 m3/h", "IEC 60381-1"):
        assert part in done.out
    assert "LRV = 0 m3/h (not given: assumed)" in " ".join(done.out.split())


def test_a_verdict_comes_from_the_rule_book_with_its_source() -> None:
    """0.106 m/s is slower than the 0.3 m/s of the rules; one verdict, not one of another quantity."""
    found = answer("flow", "--flow", "12 m3/h", "--bore", "200 mm")
    velocity = next(each for each in found["results"] if each.get("name") == "velocity")
    assert [each["judgement"] for each in velocity["verdicts"]] == ["doubtful"]
    assert "0.3 m/s" in velocity["verdicts"][0]["because"]
    assert velocity["verdicts"][0]["source"]


def test_an_uncertainty_is_carried_through_and_its_budget_shown() -> None:
    """1 % of flow and 0.5 % of bore, both k = 2, make sqrt(1 + 1) % of velocity, k = 2, each contributing half."""
    found = answer("flow", "--flow", "36 ± 0.36 m3/h", "--bore", "100 ± 0.5 mm")
    velocity = next(each for each in found["results"] if each.get("name") == "velocity")
    assert velocity["standard_uncertainty"] / velocity["value"] == pytest.approx(0.0141421 / 2, rel=1e-4)
    assert velocity["expanded_uncertainty"] == pytest.approx(2 * velocity["standard_uncertainty"])
    assert [part["share"] for part in velocity["budget"]] == [pytest.approx(0.5), pytest.approx(0.5)]


def test_what_stands_behind_plus_minus_is_expanded_unless_somebody_says_otherwise() -> None:
    """The same figure means twice as much when it is a standard uncertainty; what is shown behind ± is expanded."""
    standard = answer("flow", "--flow", "36 ± 0.36 m3/h", "--bore", "100 mm", "--uncertainties", "standard")["given"][0]
    expanded = answer("flow", "--flow", "36 ± 0.36 m3/h", "--bore", "100 mm")["given"][0]
    assert (standard["shown"], expanded["shown"]) == ("36.00 ± 0.72 m3/h", "36.00 ± 0.36 m3/h")
    assert expanded["standard_uncertainty"] == pytest.approx(standard["standard_uncertainty"] / 2)
    told = " ".join(run("calc", "flow", "--flow", "36 ± 0.36 m3/h", "--bore", "100 mm").out.split())
    assert "± is taken as an expanded uncertainty (k = 2); --uncertainties standard or limits says otherwise" in told


def test_entries_that_contradict_each_other_are_told() -> None:
    """Flow, bore and velocity that cannot all be right end with status 1."""
    done = run("calc", "flow", "--flow", "60 m3/h", "--bore", "100 mm", "--velocity", "3 m/s")
    assert done.status == 1
    assert "what you gave does not fit" in done.out


WRONG: list[tuple[list[str], int, str]] = [
    (["flow"], 2, "nothing is given"),
    (["flow", "--flow", "60 m3/h"], 2, "mean velocity: give --bore (inner diameter of the meter) as well"),
    (["flow", "--flow", "60", "--bore", "100 mm"], 1, "--flow (flow): `60` has no unit"),
    (["flow", "--flow", "60 mA", "--bore", "100 mm"], 1, "`mA` does not measure the same thing as `m3/h`"),
    (["flow", "--flow", "60 m3/h", "--bore", "0 mm"], 1, "--bore: inner diameter of the meter must be greater than 0"),
    (["flow", "--flow", "nan m3/h", "--bore", "100 mm"], 1, "is not a number, or is ambiguous"),
    (["flow", "--flow", "1,250 m3/h", "--bore", "100 mm"], 1, "did you mean `1250 m3/h` or `1.250 m3/h`?"),
    (["flow", "--flow", "60 m3/h", "--bore", "10 flurbs"], 1, "`flurbs` is not a known unit"),
    (["loop", "--flow", "5 m3/h", "--lrv", "100 m3/h", "--urv", "100 m3/h"], 1, "must differ"),
    (["loop", "--flow", "5 m3/h", "--lrv", "100 m3/h", "--urv", "50 m3/h"], 1, "URV"),
    (["lop"], 2, "did you mean `loop`?"),
    (["flow", "--flw", "3 m3/h"], 2, "--flow"),
]


@pytest.mark.parametrize(("arguments", "status", "told"), WRONG, ids=[" ".join(each[0]) for each in WRONG])
def test_what_is_wrong_or_missing_is_told_by_name(arguments: list[str], status: int, told: str) -> None:
    """Nothing goes to standard output, and the message says what is meant."""
    done: Done = run("calc", *arguments)
    assert (done.status, done.out) == (status, "")
    assert told in " ".join(done.err.split())


def test_all_that_is_wrong_is_told_at_once() -> None:
    """Two wrong figures are two lines, not two attempts."""
    done = run("calc", "flow", "--flow", "60", "--bore", "0 mm")
    assert "--flow" in done.err
    assert "--bore" in done.err


def test_a_decimal_comma_is_a_decimal_comma() -> None:
    """37,5 is 37.5."""
    assert results("loop", "--flow", "37,5 m3/h", "--urv", "100 m3/h")["loop-current"] == pytest.approx(10.0)


def test_every_subject_says_what_follows_from_what() -> None:
    """The help of a subject lists its calculations with what they want."""
    from diagnose.calculations import SUBJECTS

    told = run("calc", "--help").out
    for name, subject in SUBJECTS.items():
        assert name in told
        help_text = run("calc", name, "--help").out
        for calculation in subject.calculations:
            assert calculation.title in help_text


@pytest.mark.parametrize("subject", TASKS)
def test_the_help_of_a_subject_ends_in_an_example_that_prints_what_it_says(subject: str) -> None:
    """What stands below the call is what the call prints, to the letter."""
    task = TASKS[subject][0]
    width = {"COLUMNS": "100"}
    help_text = run("calc", subject, "--help", **width).out
    call = f"diagnose calc {subject} {task.given}\n\n"
    assert task.question in help_text
    shown = help_text.partition(call)[2]
    done = run("calc", subject, *task.arguments, COLUMNS=str(max(map(len, shown.splitlines()))))
    assert shown.split() == done.out.split()
    assert done.status == 0


@pytest.mark.parametrize(
    ("subject", "task"), [(name, each) for name, tasks in TASKS.items() for each in tasks], ids=lambda each: str(each)
)
def test_every_task_is_answered(subject: str, task: Task, call: Call) -> None:
    """In the list of tasks, with a call that works and uses all that is given."""
    done = call("calc", subject, *task.arguments)
    assert (done.status, done.err) == (0, "")
    assert "was not needed" not in done.out
    assert task.question in call("calc", "--help").out


def test_every_subject_has_a_task() -> None:
    """And the example of each is its first."""
    from diagnose.calculations import SUBJECTS

    assert TASKS.keys() == SUBJECTS.keys()


def test_a_rule_book_of_ones_own_says_what_its_terms_are_called_and_how_far_they_go(tmp_path: Path) -> None:
    """Titles, short names and limits are those of the book in use; what it lacks is as shipped."""
    rules = lamp_book(tmp_path)
    own = "{id: bore, title: width of the tube, unit: mm, at-most: 500 mm, short: tube, source: estimate}"
    put(rules, "quantities/own.yaml", f"source: estimate\nentries:\n  - {own}\n")
    told = run("--rules", str(rules), "calc", "flow", "--flow", "36 m3/h", "--tube", "700 mm")
    assert (told.status, told.out) == (1, "")
    assert "--tube: width of the tube must be not more than 500 mm; it is 700 mm" in told.err
    assert run("--rules", str(rules), "calc", "flow", "--flow", "36 m3/h", "--tube", "100 mm").status == 0
    assert "--tube" in run("--rules", str(rules), "calc", "flow", "--help").out


def test_what_is_given_is_judged_where_nothing_follows_from_it() -> None:
    """No calculation goes by the insulation of the coils; a rule does."""
    found = answer("electrodes", "--coil-insulation", "3 Mohm")
    assert (found["results"], found["warnings"]) == ([], [])
    assert [each["judgement"] for each in found["verdicts"]] == ["doubtful"]
    assert "20 Mohm" in found["verdicts"][0]["because"]


@pytest.mark.parametrize(
    ("arguments", "shown", "judgement"),
    [
        (("electrodes", "--coil-insulation", ">200 Mohm"), "above 200 Mohm", "fine"),
        (("electrodes", "--coil-resistance", "OL"), "over range", "doubtful"),
        (("supply", "--earth-continuity", "80 mOhm"), "0.08 ohm", "fine"),
        (("supply", "--earth-continuity", "<0.05 ohm"), "below 0.05 ohm", "fine"),
        (("supply", "--earth-continuity", "0R1"), "0.1 ohm", "fine"),
        (("electrodes", "--coil-resistance", "4k7"), "4700 ohm", "doubtful"),
        (("electrodes", "--coil-insulation", "200M"), "200 Mohm", "fine"),
    ],
)
def test_a_reading_beyond_the_range_of_the_instrument_is_judged_as_one(
    arguments: tuple[str, ...], shown: str, judgement: str
) -> None:
    """What is known of one side only is shown so, and judged as far as that goes."""
    found = answer(*arguments)
    assert [each["shown"] for each in found["given"]] == [shown]
    assert {each["judgement"] for each in found["verdicts"]} == {judgement}


OF_THE_UNCERTAIN = [
    (("loop", "--current", "3.4 ± 0.05 mA"), {"doubtful"}, "3.6 mA and below"),
    (("loop", "--current", "3.58 ± 0.05 mA"), {"cannot tell"}, "3.6 mA and below"),
    (("loop", "--current", "3.7 ± 0.2 mA"), {"cannot tell"}, "3.6 mA and below"),
    (("loop", "--current", "12 ± 0.05 mA"), {"fine"}, ""),
    (("flow", "--flow", "12 ± 1 m3/h", "--bore", "120 mm"), {"cannot tell"}, "0.3 m/s"),
    (("flow", "--flow", "12 ± 0.01 m3/h", "--bore", "120 mm"), {"doubtful"}, "0.3 m/s"),
]


@pytest.mark.parametrize(("arguments", "judgements", "because"), OF_THE_UNCERTAIN, ids=lambda each: str(each)[:50])
def test_a_verdict_takes_the_uncertainty_into_account(
    arguments: tuple[str, ...], judgements: set[str], because: str
) -> None:
    """Where twice the standard uncertainty (JCGM 100:2008, 6.2.1) reaches across a limit, nothing is claimed."""
    found = answer(*arguments)
    said = [*found["verdicts"], *(each for result in found["results"] for each in result["verdicts"])]
    assert {each["judgement"] for each in said} == judgements
    assert any(because in each["because"] for each in said)


def test_what_cannot_be_told_is_said_so() -> None:
    """In words, and with figures that end where their uncertainty does."""
    told = " ".join(run("calc", "loop", "--current", "3.6 ± 0.05 mA").out.split())
    assert "cannot tell within the uncertainty: 3.6 mA and below means failure" in told
    assert "3.600 ± 0.050 mA" in told
    assert "-2.50 ± 0.31 %" in told


JUDGED = [
    (("electrodes", "--coil-resistance", "7 ohm"), {"doubtful"}, "few coils have less than 10 ohm"),
    (("electrodes", "--coil-resistance", "700 ohm"), {"doubtful"}, "few coils have more than 500 ohm"),
    (("electrodes", "--coil-resistance", "7 ohm", "--coil-resistance-nominal", "7.2 ohm"), {"fine"}, "a sound coil"),
    (
        ("electrodes", "--electrode-a-resistance", "0 ohm", "--electrode-b-resistance", "0 ohm"),
        {"doubtful"},
        "is a short",
    ),
    (("supply", "--fuse-rating", "1 A", "--specified-fuse-rating", "500 mA"), {"doubtful"}, "does not protect"),
    (("supply", "--fuse-rating", "250 mA", "--fuse-rating-marked", "500 mA"), {"doubtful"}, "blow without a fault"),
]


@pytest.mark.parametrize(("arguments", "judgements", "because"), JUDGED, ids=lambda each: str(each)[:60])
def test_nothing_that_can_be_judged_is_met_with_silence(
    arguments: tuple[str, ...], judgements: set[str], because: str
) -> None:
    """Between the limits of open and shorted, at zero ohm twice, and for a fuse beside its mark."""
    found = answer(*arguments)
    said = [*found["verdicts"], *(each for result in found["results"] for each in result["verdicts"])]
    assert {each["judgement"] for each in said} == judgements
    assert any(because in each["because"] for each in said)


def test_a_current_below_zero_is_no_flow_but_reversed_leads() -> None:
    """-4 mA stands for no -50 m3/h."""
    done = run("calc", "loop", "--current", "-4 mA", "--urv", "100 m3/h")
    told = " ".join(done.out.split())
    assert done.status == 1
    assert "the leads are reversed" in told
    assert "-50 m3/h" not in told


def test_how_something_was_read_that_is_not_the_only_way_is_told() -> None:
    """Gallons without a country are taken for American ones; a nominal size for a bore."""
    done = run("calc", "flow", "--flow", "50 gal/h", "--bore", "DN100")
    assert done.status == 0
    told = " ".join(done.out.split())
    assert "`50 gal/h` is taken to be in US gallons" in told
    assert "`DN100` is taken as 100 mm: a nominal size" in told


def test_a_verdict_stands_once_at_the_last_figure_that_it_rests_on() -> None:
    """206 V is below 90 % of 230 V: told below the limits that follow from nominal voltage and kind."""
    given = ("--voltage", "230 V", "--supply-kind", "a.c.", "--supply-voltage", "206 V")
    found = answer("supply", *given)
    told = [each["because"] for each in (*found["verdicts"], *(v for r in found["results"] for v in r["verdicts"]))]
    assert len(told) == len(set(told)) == 1
    assert found["warnings"] == []
