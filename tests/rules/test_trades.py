"""A whole piece of work, as a trainer's title names it, is refused until it says what it takes; said, it is taken."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from diagnose.place import Problem
from diagnose.rule_book.load import examine_folder
from diagnose.shipped import shipped_folder

OPENED = "needs: {line: drained, supply: isolated, enclosure: open}"
WELDING = "meets: [hot-work, line-opened, line-drained, bond-opened]"
ANYWHERE_SAFE = 'not-when: {hazardous-area: "yes"}'

WORKS: dict[str, tuple[str, ...]] = {
    "Replace the supply cable": ("needs: {supply: isolated, enclosure: open}", "competence: skilled"),
    "Lay a new mains cable": ("meets: [isolation]", "competence: skilled"),
    "Splice the supply cable": ("meets: [isolation]", "competence: skilled"),
    "Connect the mains": ("meets: [isolation]", "competence: skilled"),
    "Replace the transmitter": ("needs: {supply: isolated, enclosure: open}", "competence: skilled"),
    "Swap the module": ("needs: {supply: isolated, enclosure: open}", "competence: skilled"),
    "Tighten the flange bolts": ("needs: {line: drained}", "meets: [line-opened]", "competence: skilled"),
    "Retighten the bolts of the flange": ("needs: {line: drained}", "meets: [line-opened]", "competence: skilled"),
    "Weld a patch": ("needs: {line: drained}", WELDING, "competence: skilled", ANYWHERE_SAFE),
    "Braze the leak in the pipe": ("needs: {line: drained}", WELDING, "competence: skilled", ANYWHERE_SAFE),
    "Cut the pipe": ("needs: {line: drained}", "meets: [line-opened, bond-opened]", "competence: skilled"),
    "Saw through the pipe": ("needs: {line: drained}", "meets: [line-opened, bond-opened]", "competence: skilled"),
    "Lift the sensor out": (OPENED, "meets: [line-opened, bond-opened, heavy-lift]", "competence: skilled"),
    "Take the meter out of the line": (OPENED, "meets: [line-opened, bond-opened, heavy-lift]", "competence: skilled"),
    "Remove the sensor": (OPENED, "meets: [line-opened, bond-opened, heavy-lift]", "competence: skilled"),
    "Drill a hole in the housing": (
        "needs: {supply: isolated, enclosure: open}",
        "meets: [hot-work]",
        "competence: skilled",
        ANYWHERE_SAFE,
    ),
    "Enter the chamber": (
        "meets: [confined-space, at-the-meter, work-at-height]",
        "competence: instructed",
        "steps: [With a permit and an attendant outside., Do it.]",
    ),
    "Climb down into the vault": (
        "meets: [confined-space, at-the-meter, work-at-height]",
        "competence: instructed",
        "steps: [With a permit and an attendant outside., Do it.]",
    ),
    "Blow the tube through with compressed air": (
        "needs: {line: drained}",
        "meets: [compressed-gas, line-drained, line-opened]",
        "competence: skilled",
    ),
    "Dig a trench for the cable": (
        "meets: [ground-dug]",
        "competence: instructed",
        "steps: [With a permit and all buried services found., Do it.]",
    ),
    "Excavate the pipe": (
        "meets: [ground-dug]",
        "competence: instructed",
        "steps: [With a permit and all buried services found., Do it.]",
    ),
    "Work beside the density gauge": (
        "meets: [radiation-source]",
        "competence: instructed",
        "steps: [Shutter closed and locked by the radiation protection officer., Do it.]",
    ),
    "Take the guard off": ("meets: [rotating-plant, isolation]", "competence: skilled"),
}
"""Titles of works, and what each must say at least."""

HARMLESS = (
    "Replace the label",
    "Tighten the gland",
    "Cut the grass around the meter",
    "Take the meter off the list",
    "Read the last digit of the total",
    "Compare the meter with the level gauge",
    "Lift the receiver and call the control room",
    "Change the display language",
    "Take the reading out of the log",
)
"""What only sounds like one of them."""


def written(title: str, said: tuple[str, ...] = ()) -> str:
    """Return a remedy of that title with these lines."""
    lines = {
        line.split(":")[0]: line for line in ("steps: [Do it as the drawing shows.]", "competence: ordinary", *said)
    }
    body = "\n".join(f"    {line}" for line in lines.values())
    return (
        f"source: common practice\nentries:\n  - id: {_id(title)}\n    title: {title!r}\n    minutes: 30\n"
        f"    proved-by: watch-the-meter\n{body}\n"
    )


def _id(title: str) -> str:
    return "trade-" + title.lower().replace(" ", "-")


def problems(tmp_path: Path, books: dict[str, str]) -> dict[str, list[Problem]]:
    """Return what is told of each remedy that a trainer adds to the shipped book, an idle one for want of a cause."""
    rules = tmp_path / "rules"
    shutil.copytree(shipped_folder("rules"), rules)
    for name, text in books.items():
        (rules / "remedies" / f"{name.replace('-', '_')}.yaml").write_text(text, encoding="utf-8")
    found: dict[str, list[Problem]] = {name: [] for name in books}
    for problem in examine_folder(rules)[1]:
        name = Path(problem.place.file).stem.replace("_", "-")
        if name in found and problem.code != "idle-remedy":
            found[name].append(problem)
    return found


def test_a_title_alone_is_refused(tmp_path: Path) -> None:
    """With what to write; nothing else needs to be known of the work."""
    told = problems(tmp_path, {_id(title): written(title) for title in WORKS})
    for name, found in told.items():
        codes = {each.code for each in found}
        assert codes & {"unmet-hazard", "unsafe-state"}, name
        assert "too-little-competence" in codes, name
        assert all(each.help for each in found)


def test_a_work_that_says_what_it_takes_is_taken(tmp_path: Path) -> None:
    """Nothing more is asked for than the help says."""
    told = problems(tmp_path, {_id(title): written(title, said) for title, said in WORKS.items()})
    assert {name: [each.in_one_line() for each in found] for name, found in told.items() if found} == {}


@pytest.mark.parametrize("left_out", ["needs", "meets", "competence"])
def test_each_demand_stands_by_itself(tmp_path: Path, left_out: str) -> None:
    """Whoever says all but one is told of that one."""
    books = {
        _id(title): written(title, tuple(line for line in said if not line.startswith(left_out)))
        for title, said in WORKS.items()
        if any(line.startswith(left_out) for line in said)
    }
    assert [name for name, found in problems(tmp_path, books).items() if not found] == []


def test_what_only_sounds_like_it_is_left_alone(tmp_path: Path) -> None:
    """By skilled persons and said so, nothing is asked for."""
    books = {_id(title): written(title, ("competence: skilled",)) for title in HARMLESS}
    told = problems(tmp_path, books)
    assert {name: [each.in_one_line() for each in found] for name, found in told.items() if found} == {}
