"""What was once misread in reports, on the rule book that the project ships."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.language.understanding import understand
from diagnose.rule_book.load import load_folder
from diagnose.rule_book.types import RuleBook
from diagnose.shipped import shipped_folder


@pytest.fixture(scope="module")
def rule_book() -> RuleBook:
    """Return the rule book that the project ships."""
    folder: Path = shipped_folder("rules")
    return load_folder(folder)


def test_a_tolerance_is_no_reading(rule_book: RuleBook) -> None:
    """What follows plus-minus says how much it moves, not that the flow is negative."""
    said = understand("The flow reading fluctuates +-20 gpm all the time.", rule_book)
    assert "displayed-flow" not in [each.quantity for each in said.understood]


@pytest.mark.parametrize("name", ["PLC", "DCS", "SCADA", "control room"])
def test_a_set_of_words_stands_for_each_of_them(name: str, rule_book: RuleBook) -> None:
    """A phrase with a set in it is understood with any word of the set."""
    said = understand(f"The {name} shows half of what the transmitter shows.", rule_book)
    found = {each.finding for each in said.understood if each.present}
    assert found & {"control-system-disagrees", "receiver-off-by-factor"}


@pytest.mark.parametrize(
    ("text", "finding", "present"),
    [
        ("No error on screen.", "error-indicated", False),
        ("The flow transmitter has no display.", "display-dark", True),
        ("No ground rings fitted.", "liquid-not-earthed", True),
        ("The cables were not touched.", "right-until-worked-on", None),
    ],
)
def test_once_misread(text: str, finding: str, present: bool | None, rule_book: RuleBook) -> None:
    """Each of these was understood the wrong way, or not at all."""
    said = {each.finding: each.present for each in understand(text, rule_book).understood}
    assert said.get(finding) is present
