"""Phrases of findings are taken as their author wrote them, whatever stands in them."""

from __future__ import annotations

from pathlib import Path

from diagnose.rule_book.load import load_folder
from tests.rule_book.lamps import MINIMAL, lamp_book

SETTINGS = (MINIMAL / "book.yaml").read_text(encoding="utf-8")


def phrases(folder: Path, written: str) -> tuple[str, ...]:
    """Return the phrases of a finding of the lamp that were written so."""
    sets = "word-sets: {dim: [dim, '{0}']}\n"
    finding = f"{{id: weak, title: weak light, question: 'Weak?', phrases: {written}, source: estimate}}"
    rule = (
        "{id: weak-is-dark, when: {weak: present}, then: {present: lamp-dark}, because: it is weak, source: estimate,"
        " examples: [{given: {weak: present}, fires: true}, {given: {weak: absent}, fires: false}]}"
    )
    rules = lamp_book(folder, book=SETTINGS + sets, findings__weak=finding, inference__weak_is_dark=rule)
    return load_folder(rules).findings["weak"].phrases


def test_braces_beside_a_set_of_words_are_braces(tmp_path: Path) -> None:
    """In the phrase as in the set; nothing that is authored is taken as a template."""
    assert phrases(tmp_path, "['light } {0} {x!r:>9} <dim>']") == (
        "light } {0} {x!r:>9} dim",
        "light } {0} {x!r:>9} {0}",
    )
