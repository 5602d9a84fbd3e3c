"""Complaints in strangers' words: how often they say what is wrong, and how often harmless words seem to."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from diagnose.language.understanding import understand
from tests.engines import real_engine

PARTS: dict[str, Any] = yaml.safe_load(Path(__file__).with_name("complaints.yaml").read_text(encoding="utf-8"))
ENGINE = real_engine()


def _present(text: str) -> set[str]:
    return {each.finding for each in understand(text, ENGINE.lexicon).understood if each.finding and each.present}


@pytest.mark.parametrize(("part", "least"), [("first", 60), ("second", 42)])
def test_a_complaint_says_what_is_wrong(part: str, least: int) -> None:
    """Before the phrases were mended: 37 of 62 and 25 of 45."""
    rows = PARTS[part]
    assert sum(bool(_present(row["text"]) & set(row["any-of"])) for row in rows) >= least


def test_every_finding_wanted_is_one_of_the_rule_book() -> None:
    """A misspelt id would never be read."""
    wanted = {name for part in ("first", "second") for row in PARTS[part] for name in row["any-of"]}
    assert wanted <= set(ENGINE.rule_book.findings)


def test_words_that_only_resemble_complaints_are_seldom_taken_for_one() -> None:
    """Words about price, pumps and papers; before the phrases were mended 11 of 51 were taken for a complaint."""
    findings = ENGINE.rule_book.findings
    taken = [text for text in PARTS["harmless"] if any(findings[name].says_what_is_wrong for name in _present(text))]
    assert len(taken) <= 13


def test_the_title_of_a_finding_is_read_as_that_finding_alone() -> None:
    """Whoever types what stood in the menu has said just that; dangers have words of their own."""
    findings = ENGINE.rule_book.findings
    wrong = []
    for finding in findings.values():
        if finding.keep_away or finding.heard_as_danger:
            continue
        said = [each for each in understand(finding.title, ENGINE.lexicon).understood if each.finding]
        others = [each for each in said if each.finding != finding.id]
        misread = any(not each.present for each in said) or any(findings[x.finding].kind == "symptom" for x in others)
        if misread or (finding.kind == "symptom" and len(said) == len(others)):
            wrong.append(finding.id)
    assert not wrong
