"""``diagnose schema``: what commands print keeps to the schema that is promised for it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from diagnose.commands.schemas import NAMES
from diagnose.shipped import shipped_folder
from tests.commands.running import LAMP, run

READINGS = str(shipped_folder("cases") / "readings" / "three_days.csv")
SMALL = ("--single", "3", "--double", "1", "--less-skilled", "1", "--processes", "1")
FEW = ("--intermittent", "2", "--outside", "2")
ROOT = ("--pairs", "10 31.9; 25 50.3; 50 70.4; 75 86.9; 95 97.3 m3/h")
FACTOR = ("--pairs", "10 10.21; 25 25.48; 50 51.05; 75 76.4; 95 96.95 m3/h", "--flow-constant", "1.5")
CLEAN = "time;flow [m3/h]\n" + "".join(f"2026-03-01 00:{n:02};{50 + n % 3}\n" for n in range(60))
TABLE = "Display is dark.\n\ndisplay [m3/h];control system [m3/h]\n0;20,1\n24,8;39,7\n50,3;60,4\n74,9;80,0\n"
FLOW = ("calc", "flow", "--flow")

CALLS: list[tuple[str, tuple[str, ...], str]] = [
    ("diagnosis", ("triage",), "Display is dark. Supply is 230 V AC. Fuse is ok. Greetings."),
    ("diagnosis", ("triage",), "Lunch was fine, thanks for asking everybody."),
    ("diagnosis", ("triage",), "The display is dark. The display is not dark. Loop current 4 mA, or 400 A."),
    ("diagnosis", ("triage", "--top", "2"), TABLE),
    ("diagnosis", ("triage", "--trend", READINGS), "Pipe is plastic. It smells of burning. Remote version."),
    ("diagnosis", (*LAMP, "triage"), "No light."),
    ("comparison", ("compare", *ROOT, "--urv", "100m3/h", "--class", "2"), ""),
    ("comparison", ("compare", "--pairs", "10 10; 10 10.2 m3/h"), ""),
    ("comparison", ("compare", "--pairs", "10 10.01; 50 50; 90 90.03 m3/h", "--reference-uncertainty", "0.3 %"), ""),
    ("comparison", ("compare", *FACTOR), ""),
    ("comparison", ("compare", *FACTOR, "--origin", "flow-constant"), ""),
    ("trend", ("trend", READINGS), ""),
    ("trend", ("trend", "-"), CLEAN),
    ("trend", (*LAMP, "trend", READINGS), ""),
    ("calculation", (*FLOW, "36 ± 0.36 m3/h", "--bore", "100 ± 0.5 mm"), ""),
    ("calculation", (*FLOW, "60 m3/h", "--bore", "100 mm", "--velocity", "3 m/s"), ""),
    ("calculation", ("calc", "loop", "--flow", "37.5m3/h", "--urv", "100m3/h"), ""),
    ("review", ("data-sheet", "review", "meter.yaml"), "bore: 100 mm\nusual-flow: 5 m3/h\nearthing: none\n"),
    ("review", ("data-sheet", "review", "meter.yaml"), "invented: true\n"),
    ("coverage", ("rules", "coverage"), ""),
    ("coverage", (*LAMP, "rules", "coverage"), ""),
    ("learning", (*LAMP, "cases", "learn"), ""),
    ("statistics", (*LAMP, "cases", "statistics"), ""),
    ("simulation", (*LAMP, "rules", "simulate", *SMALL, *FEW), ""),
    (
        "simulation",
        (*LAMP, "rules", "simulate", "--single", "0", "--double", "2", "--less-skilled", "0", *FEW),
        "",
    ),
]
"""Schema, a call that prints such a document, and what is given to it on standard input or as its file."""


@cache
def schema(name: str) -> dict[str, Any]:
    """Return a schema as it is printed."""
    done = run("schema", name)
    assert (done.status, done.err) == (0, "")
    return json.loads(done.out)  # type: ignore[no-any-return]


def objects(part: Any) -> Iterator[dict[str, Any]]:
    """Go through the objects with fields of their own in a schema."""
    if isinstance(part, dict):
        if "properties" in part and part.get("type") == "object":
            yield part
        for each in part.values():
            yield from objects(each)
    elif isinstance(part, list):
        for each in part:
            yield from objects(each)


@pytest.mark.parametrize("name", NAMES)
def test_every_schema_is_a_strict_schema(name: str) -> None:
    """Of draft 2020-12, with a title; no object takes fields that nobody promised."""
    found = schema(name)
    jsonschema.Draft202012Validator.check_schema(found)
    assert found["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert found["title"]
    assert list(objects(found))
    assert all(each["additionalProperties"] is False for each in objects(found))


@pytest.mark.parametrize(("name", "call", "given"), CALLS, ids=[f"{n}-{i}" for i, (n, _, _) in enumerate(CALLS)])
def test_what_is_printed_keeps_to_its_schema(name: str, call: tuple[str, ...], given: str, tmp_path: Path) -> None:
    """Whatever goes in; and the schema would see a field too many and every field too few."""
    (tmp_path / "meter.yaml").write_text(given, encoding="utf-8")
    done = run(*call, "--format", "json", stdin=given, cwd=tmp_path)
    assert done.err == ""
    printed = json.loads(done.out)
    validator = jsonschema.Draft202012Validator(schema(name))
    assert [error.message for error in validator.iter_errors(printed)] == []
    assert printed["format"].split("/")[0] == name
    assert not validator.is_valid({**printed, "something_else": 1})
    for key in printed:
        assert not validator.is_valid({other: value for other, value in printed.items() if other != key}), key


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((), "name a schema; the schemas are: diagnosis, comparison, trend"),
        (("diagnoses",), "did you mean `diagnosis`? the schemas are: diagnosis"),
        (("xyz",), "there is no schema `xyz`; the schemas are: diagnosis"),
    ],
)
def test_without_a_name_or_with_a_wrong_one(arguments: tuple[str, ...], told: str) -> None:
    """The names that there are, and the one that was meant."""
    done = run("schema", *arguments)
    assert (done.status, done.out) == (2, "")
    assert told in done.err


def test_a_locale_of_ascii() -> None:
    """Letters that the output cannot carry are escapes; nothing is lost."""
    done = run("schema", "data-sheet", LC_ALL="C", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert done.out.isascii()
    assert json.loads(done.out) == schema("data-sheet")
