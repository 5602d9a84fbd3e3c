"""How deep every entry of the real rule book goes: causes, checks, remedies, and the words that people use."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from diagnose.rule_book.work import Step
from tests.reasoning.books import RULES, real_rule_book

BOOK = real_rule_book()
CAUSES = {each.id: each for each in BOOK.causes.values() if not BOOK.remedies[each.remedy].escalates}
CHECKS = {each.id: each for each in BOOK.checks.values() if each.steps}
STEPS: dict[str, Step] = {
    **{f"check {each.id}": each for each in CHECKS.values()},
    **{f"remedy {each.id}": each for each in BOOK.remedies.values()},
}
MOST_WORDS = 25
LEAST_PHRASES = 8


@pytest.mark.parametrize("name", STEPS)
def test_steps_can_be_read_with_gloves_on(name: str) -> None:
    """There are steps, each of 25 words at most, and minutes for them."""
    step = STEPS[name]
    assert step.steps
    assert step.minutes > 0
    assert [each for each in step.steps if len(each.split()) > MOST_WORDS] == []


def _written(folder: str) -> list[dict[str, Any]]:
    """Return the entries of a folder as they are written."""
    files = [
        yaml.load(each.read_text(encoding="utf-8"), yaml.CSafeLoader) for each in RULES.glob(f"{folder}/**/*.yaml")
    ]
    return [entry for each in files for entry in each.get("entries", [each])]


def test_every_check_and_remedy_says_who_may_do_it() -> None:
    """Left out, it would mean anybody, and nobody could tell whether it was thought of."""
    remedies = [each["remedy"] for each in _written("causes") if isinstance(each["remedy"], dict)]
    steps = [*_written("checks"), *_written("remedies"), *_written("disturbances"), *remedies]
    assert len(steps) > 400
    assert [each["title"] for each in steps if "competence" not in each] == []


@pytest.mark.parametrize("name", CHECKS)
def test_every_outcome_says_what_it_means(name: str) -> None:
    """Whoever answers is told what the answer means; a reading without outcomes has something to be held against."""
    check = CHECKS[name]
    assert [each.answer for each in check.outcomes if not each.means] == []
    if not check.outcomes:
        told = " ".join(check.steps)
        assert check.expect or any(character.isdigit() for character in told) or "limit" in told


@pytest.mark.parametrize("name", CAUSES)
def test_a_cause_is_explained_and_told_from_its_like(name: str) -> None:
    """An explanation of more than a few words, a look-alike, what it shows, and a remedy proved by a check."""
    cause = CAUSES[name]
    assert len(cause.explanation.split()) >= 14
    assert cause.looks_like
    assert any(BOOK.findings[each].kind == "symptom" for each in cause.shows)
    assert BOOK.remedies[cause.remedy].proved_by in BOOK.checks


def authored_phrases() -> dict[str, set[str]]:
    """Return the phrases of each finding as written, before sets of words are spread."""
    found = {}
    for file in sorted((Path(RULES) / "findings").rglob("*.yaml")):
        content = yaml.load(file.read_text(encoding="utf-8"), Loader=yaml.CSafeLoader)
        for entry in content.get("entries", [content]):
            found[entry["id"]] = set(entry.get("phrases", []))
    return found


PHRASES = authored_phrases()
SAID = [
    each.id
    for each in BOOK.findings.values()
    if each.kind in ("symptom", "history") or each.complaint or each.keep_away is not None
]


@pytest.mark.parametrize("name", SAID)
def test_people_say_it_in_many_ways(name: str) -> None:
    """At least eight ways to say each symptom, each piece of history and each hazard."""
    assert len(PHRASES[name]) >= LEAST_PHRASES
