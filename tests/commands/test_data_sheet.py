"""``diagnose data-sheet`` as people call it: filled in step by step, judged, and its schema."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from tests.commands.running import LAMP, run

SOUND = """\
title: Invented meter on a water line
invented: true
output: [4-20 mA]
nominal-diameter: 100 mm
bore: 100 mm
usual-flow: 60 m3/h
lower-range-value: 0 m3/h
upper-range-value: 100 m3/h
liquid-conductivity: 500 uS/cm
least-conductivity: 5 uS/cm
pipe: plastic or lined
earthing: rings or earthing electrode
orientation: "vertical, upward"
position: rising leg
straight-run-upstream: 12
straight-run-downstream: 5
loop-feed: passive (fed from outside)
loop-supply-voltage: 24 V
least-terminal-voltage: 12 V
receiver-resistance: 250 ohm
"""


def reviewed(tmp_path: Path, text: str) -> dict[str, dict[str, Any]]:
    """Return the points of a review by id."""
    path = tmp_path / "meter.yaml"
    path.write_text(text, encoding="utf-8")
    done = run("data-sheet", "review", path, "--format", "json")
    assert done.err == ""
    document = json.loads(done.out)
    assert document["format"] == "review/1"
    points = {point["id"]: point for point in document["points"]}
    assert done.status == (1 if any(point["judgement"] == "wrong" for point in points.values()) else 0)
    return points


def with_(text: str, **changes: str | None) -> str:
    """Return a data sheet with fields (underscores for hyphens) changed, added, or (None) left out."""
    sheet = yaml.safe_load(text)
    for name, value in changes.items():
        sheet.pop(name.replace("_", "-"), None)
        if value is not None:
            sheet[name.replace("_", "-")] = value
    return yaml.safe_dump(sheet)


def test_a_sound_installation_is_fine_in_every_point_that_can_be_told(tmp_path: Path) -> None:
    """Nothing is wrong or doubtful; each fine point says why and from which source."""
    points = reviewed(tmp_path, SOUND)
    told = {name: point["judgement"] for name, point in points.items() if point["judgement"] != "cannot tell"}
    assert set(told.values()) == {"fine"}
    assert {"velocity", "straight-run", "conductivity", "loop-budget", "full-pipe", "liquid-earthing"} <= set(told)
    for name in told:
        assert all(reason["because"] and reason["source"] for reason in points[name]["reasons"]), name
        assert points[name]["reasons"], name


def test_what_is_not_on_the_data_sheet_cannot_be_told_and_is_named(tmp_path: Path) -> None:
    """Unknown stays unknown: the point says which fields are missing."""
    points = reviewed(tmp_path, with_(SOUND, bore=None, nominal_diameter=None))
    assert points["velocity"]["judgement"] == "cannot tell"
    assert [each["field"] for each in points["velocity"]["missing"]] == ["bore"]


WRONG: list[tuple[str, dict[str, str], str, str]] = [
    ("velocity", {"usual_flow": "5 m3/h"}, "doubtful", "0.1768 m/s"),  # 353.6777 · 5 / 100² (continuity)
    ("straight-run", {"straight_run_upstream": "2"}, "doubtful", ""),  # 5 D before: engineers' handbook
    ("conductivity", {"liquid_conductivity": "2 uS/cm"}, "wrong", ""),  # below what the meter needs
    ("loop-budget", {"receiver_resistance": "750 ohm"}, "wrong", "16 mA"),  # (24 - 12) V / 750 ohm
    ("full-pipe", {"orientation": "vertical, downward", "position": "falling leg"}, "doubtful", ""),
    ("full-pipe", {"position": "high point"}, "doubtful", ""),
    ("liquid-earthing", {"earthing": "none"}, "wrong", ""),
    ("range", {"highest_flow": "120 m3/h"}, "wrong", "120 m3/h"),  # beyond 20 mA
    ("range", {"usual_flow": "8 m3/h", "highest_flow": "90 m3/h"}, "doubtful", "8 m3/h"),  # a tenth of 100 m3/h
    ("cut-off", {"low_flow_cut_off": "40 m3/h"}, "wrong", "40 m3/h"),
    ("cut-off", {"low_flow_cut_off": "70 m3/h"}, "wrong", "70 m3/h"),  # above the usual flow: always zero
    ("cut-off", {"low_flow_cut_off": "0 m3/h"}, "doubtful", ""),
    ("damping", {"damping": "90 s"}, "doubtful", "90 s"),
    ("bore", {"pipe_inner_diameter": "107.1 mm"}, "doubtful", "107.1 mm"),
    ("surroundings", {"location": "open"}, "doubtful", "open"),
]


@pytest.mark.parametrize(("point", "changes", "judgement", "figure"), WRONG, ids=[str(each[:2]) for each in WRONG])
def test_what_is_wrong_is_told_with_its_figure(
    tmp_path: Path, point: str, changes: dict[str, str], judgement: str, figure: str
) -> None:
    """One change to a sound installation changes one judgement, and says what to do."""
    found = reviewed(tmp_path, with_(SOUND, **changes))[point]
    assert found["judgement"] == judgement
    assert found["reasons"]
    assert found["advice"]
    assert figure in str(found["figures"])


def test_where_no_bore_is_known_the_nominal_diameter_stands_in_and_it_is_said(tmp_path: Path) -> None:
    """353.6777 · 700 / 100² = 24.76 m/s (continuity); a bore that is known counts alone, here one of 90 mm."""
    point = reviewed(tmp_path, with_(SOUND, bore=None, highest_flow="700 m3/h"))["velocity"]
    assert (point["judgement"], point["missing"]) == ("doubtful", [])
    assert "24.76 m/s" in str(point["figures"])
    assert "nominal diameter (DN), taken for the inner diameter of the meter" in str(point["figures"])
    known = reviewed(tmp_path, with_(SOUND, bore="90 mm", usual_flow="10 m3/h"))["velocity"]
    assert "0.4366 m/s" in str(known["figures"])  # 353.6777 · 10 / 90²
    assert "taken for" not in str(known["figures"])


def test_the_gravest_point_stands_first(tmp_path: Path) -> None:
    """Nobody should have to search for what is wrong."""
    path = tmp_path / "meter.yaml"
    path.write_text(with_(SOUND, earthing="none", bore=None), encoding="utf-8")
    done = run("data-sheet", "review", path)
    words = [line.split()[0] for line in done.out.splitlines() if line[:11].strip() in ("wrong", "cannot tell", "fine")]
    assert words == sorted(words, key=["wrong", "doubtful", "cannot", "fine"].index)
    assert done.status == 1


def test_entries_that_cannot_both_be_right_are_told_with_their_place(tmp_path: Path) -> None:
    """A bore of 50 mm in a meter of DN100: file, line, both fields, and how to mend it."""
    path = tmp_path / "meter.yaml"
    path.write_text("nominal-diameter: 100 mm\nbore: 50 mm\n", encoding="utf-8")
    done = run("data-sheet", "review", path)
    assert (done.status, done.out) == (1, "")
    assert f"{path}:2:7" in done.err
    assert "30 % away from `nominal-diameter`" in done.err


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    """No traceback for a slip of the pen."""
    done = run("data-sheet", "review", tmp_path / "none.yaml")
    assert done.status == 1
    assert "none.yaml" in done.err


# Filling in ------------------------------------------------------------------------------------------------------


def test_answers_are_kept_as_typed_and_can_be_read_back(tmp_path: Path) -> None:
    """The lamp's data sheet: a word by its number, a figure with a decimal comma, several words."""
    path = tmp_path / "lamp.yaml"
    done = run(*LAMP, "data-sheet", "new", path, stdin="2\n60,5 W\n1,2\n230 V\n")
    assert done.status == 0
    assert yaml.safe_load(path.read_text(encoding="utf-8")) == {
        "place": "outside",
        "power": "60,5 W",
        "fed-by": ["mains", "battery"],
        "nominal-voltage": "230 V",
    }
    assert run(*LAMP, "data-sheet", "review", path).status == 0


def test_what_cannot_be_read_is_asked_again_at_once(tmp_path: Path) -> None:
    """No unit, the wrong unit, and no such word: each is told, the right answer is kept."""
    path = tmp_path / "lamp.yaml"
    done = run(*LAMP, "data-sheet", "new", path, stdin="attic\ninside\n60\n60 V\n60 W\nq\n")
    assert "`place` is never `attic`" in done.out
    assert "`60` has no unit" in done.out
    assert "`V` does not measure the same thing as `W`" in done.out
    assert yaml.safe_load(path.read_text(encoding="utf-8")) == {"place": "inside", "power": "60 W"}


def test_input_that_ends_in_the_middle_loses_nothing(tmp_path: Path) -> None:
    """Every answer is in the file before the next question."""
    path = tmp_path / "lamp.yaml"
    assert run(*LAMP, "data-sheet", "new", path, stdin="inside\n60 W\n").status == 0
    assert yaml.safe_load(path.read_text(encoding="utf-8")) == {"place": "inside", "power": "60 W"}


def test_a_step_back_takes_the_answer_anew(tmp_path: Path) -> None:
    """`b` goes to the question before; an empty answer there forgets it."""
    path = tmp_path / "lamp.yaml"
    run(*LAMP, "data-sheet", "new", path, stdin="inside\n60 W\nb\n75 W\nq\n")
    assert yaml.safe_load(path.read_text(encoding="utf-8")) == {"place": "inside", "power": "75 W"}


def test_a_group_can_be_passed_over_and_help_says_where_to_look(tmp_path: Path) -> None:
    """`g` goes to the next group, `?` says where a field is found."""
    path = tmp_path / "lamp.yaml"
    done = run(*LAMP, "data-sheet", "new", path, stdin="?\ng\n\n230 V\n")
    assert "where to find it: look at it" in done.out
    assert yaml.safe_load(path.read_text(encoding="utf-8")) == {"nominal-voltage": "230 V"}


def test_what_does_not_concern_this_meter_is_not_asked(tmp_path: Path) -> None:
    """A meter with a pulse output alone is asked nothing about bus and loop."""
    path = tmp_path / "meter.yaml"
    done = run("data-sheet", "new", path, stdin="\npulse\n" + "\n" * 60)
    assert "The pulse output" in done.out
    assert "The bus" not in done.out
    assert "The current output" not in done.out


def test_a_file_that_exists_is_never_overwritten_but_continued_when_asked(tmp_path: Path) -> None:
    """What stands there stays as it stands, remarks included; only what is missing is asked."""
    path = tmp_path / "lamp.yaml"
    path.write_text("# the lamp in the hall\nplace: inside\n", encoding="utf-8")
    refused = run(*LAMP, "data-sheet", "new", path, stdin="outside\n")
    assert refused.status == 2
    assert "--continue" in refused.err
    done = run(*LAMP, "data-sheet", "new", path, "--continue", stdin="60 W\n")
    assert done.status == 0
    assert "Where the lamp hangs" not in done.out
    assert path.read_text(encoding="utf-8") == "# the lamp in the hall\nplace: inside\npower: 60 W\n"


def test_nothing_answered_is_nothing_kept(tmp_path: Path) -> None:
    """An empty form leaves no empty file."""
    path = tmp_path / "lamp.yaml"
    assert "nothing is kept" in run(*LAMP, "data-sheet", "new", path, stdin="q\n").out
    assert not path.exists()


# Schema ----------------------------------------------------------------------------------------------------------


def schema() -> dict[str, Any]:
    """Return the schema of the real rule book's data sheets."""
    done = run("schema", "data-sheet")
    assert (done.status, done.err) == (0, "")
    return json.loads(done.out)  # type: ignore[no-any-return]


def test_the_schema_is_a_schema_and_takes_every_recorded_data_sheet() -> None:
    """What the program reads, an editor does not complain of."""
    found = schema()
    jsonschema.Draft202012Validator.check_schema(found)
    validator = jsonschema.Draft202012Validator(found)
    validator.validate(yaml.safe_load(SOUND))
    cases = [yaml.safe_load(path.read_text(encoding="utf-8")) for path in Path("cases").rglob("*.yaml")]
    sheets = [case["data-sheet"] for case in cases if case.get("data-sheet")]
    assert len(sheets) > 20
    for sheet in sheets:
        validator.validate(sheet)


@pytest.mark.parametrize("line", ["boer: 100 mm", "bore: 100", "orientation: sideways", "output: [4-20 mA, smoke]"])
def test_the_schema_refuses_what_the_program_refuses(line: str) -> None:
    """A wrong field, a missing unit and a wrong word are seen while typing."""
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(yaml.safe_load(line), schema())
