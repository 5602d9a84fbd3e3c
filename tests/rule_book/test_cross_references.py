"""What only the whole rule book shows. Its mistakes stand in ``tests/wrong_rules``; here is what is no mistake."""

from __future__ import annotations

from pathlib import Path

from tests.rule_book.lamps import MINIMAL, lamp_book, problems_of


def test_a_finding_that_only_a_rule_uses_is_not_idle(tmp_path: Path) -> None:
    """A finding may serve other findings alone."""
    rules = lamp_book(
        tmp_path,
        findings__more="{id: glass-sooty, title: sooty, question: Is it sooty?, phrases: [soot], source: estimate}",
        inference__more=(
            "id: more\nwhen: {glass-sooty: present}\nthen: {present: lamp-dark}\nbecause: x\nsource: estimate\n"
            "examples: [{given: {glass-sooty: present}, fires: true}, {given: {glass-sooty: absent}, fires: false}]\n"
        ),
    )
    assert not [problem for problem in problems_of(rules) if problem.code == "idle-finding"]


def test_an_input_may_be_a_figure_with_its_unit(tmp_path: Path) -> None:
    """A calculation takes quantities, and figures that never change."""
    rules = lamp_book(
        tmp_path,
        quantities__more=(
            "{id: more, title: more, unit: mA, source: estimate, "
            "calculate: {function: supply-current, inputs: {power-consumption: power, nominal-supply-voltage: 230 V}}}"
        ),
    )
    assert problems_of(rules) == []


def test_a_calculation_of_a_calculation_is_no_circle(tmp_path: Path) -> None:
    """Quantities may follow from each other in a chain."""
    rules = lamp_book(
        tmp_path,
        quantities__more=(
            "{id: more, title: more, source: estimate, "
            "calculate: {function: ratio, inputs: {part: expected-current, whole: expected-current}}}"
        ),
    )
    assert problems_of(rules) == []


def test_remedies_may_be_shared(tmp_path: Path) -> None:
    """A cause may name the remedy of another, written inside that one."""
    cause = (MINIMAL / "causes/bulb_blown.yaml").read_text(encoding="utf-8")
    shared = cause.replace("remedy: change-bulb", "remedy: supply-missing")
    rules = lamp_book(tmp_path, causes__bulb_blown=shared, remedies__change_bulb=None)
    assert problems_of(rules) == []
