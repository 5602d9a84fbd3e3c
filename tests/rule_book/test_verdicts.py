"""What rules say of one figure: after a reading, and beside a worked calculation."""

from __future__ import annotations

from pathlib import Path

from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.load import load_folder
from diagnose.rule_book.verdicts import said_of, verdicts
from tests.rule_book.lamps import lamp_book, put

RULES = """\
source: estimate
entries:
  - id: too-much
    when: {expected-current: {above: 400 mA}}
    then: {present: filament-broken}
    because: no lamp draws so much
    examples: [{given: {expected-current: 500 mA}, fires: true}, {given: {expected-current: 5 mA}, fires: false}]
  - id: much-in-the-dark
    when: {all: [{lamp-dark: present}, {expected-current: {above: 400 mA}}]}
    then: {absent: filament-broken}
    because: a dark lamp draws nothing
    examples:
      - {given: {expected-current: 500 mA, lamp-dark: present}, fires: true}
      - {given: {expected-current: 5 mA, lamp-dark: present}, fires: false}
"""
REVIEW = """\
id: current
title: Current of the lamp
shows: [expected-current]
wrong: [filament-broken]
source: estimate
"""


def book(tmp_path: Path, reviewed: bool = True) -> RuleBook:
    """Return the lamp book with rules about a calculated current, and a review that shows it."""
    rules = lamp_book(tmp_path)
    put(rules, "inference/current.yaml", RULES)
    if reviewed:
        put(rules, "reviews/current.yaml", REVIEW)
    return load_folder(rules)


def test_a_worked_figure_is_judged_by_the_rules_that_need_nothing_else(tmp_path: Path) -> None:
    """One rule speaks of the current alone; the other needs a finding and stays silent."""
    found = verdicts(book(tmp_path), {}, {"supply-current": 0.5})
    assert [(each.because, each.present) for each in found] == [("no lamp draws so much", ("filament is broken",))]
    assert found[0].source


def test_a_figure_within_the_limit_has_no_verdict(tmp_path: Path) -> None:
    """Where no rule speaks, nothing is said."""
    assert verdicts(book(tmp_path), {}, {"supply-current": 0.1}) == ()


def test_only_what_an_installation_is_reviewed_by_is_judged(tmp_path: Path) -> None:
    """A rule about one circumstance does not judge every figure that the same function gives."""
    assert verdicts(book(tmp_path, reviewed=False), {}, {"supply-current": 0.5}) == ()


def test_figures_are_judged_under_the_names_that_they_were_given_by(tmp_path: Path) -> None:
    """Of power and voltage follows the current, of which a rule speaks; no review is needed for that."""
    found = verdicts(book(tmp_path, reviewed=False), {"power": 60.0, "nominal-voltage": 120.0}, {})
    assert [(each.rule, each.present) for each in found] == [("too-much", ("filament is broken",))]
    assert found[0].of == {"expected-current", "supply-current"}


def test_after_a_reading_all_rules_speak_that_it_makes_true(tmp_path: Path) -> None:
    """The power is read; the rules about the current calculated from it say what that means."""
    values = {"power": 60.0, "nominal-voltage": 120.0, "expected-current": 0.5}
    lamps = book(tmp_path)
    assert said_of(lamps, "power", {}, values) == ("no lamp draws so much",)
    both = ("no lamp draws so much", "a dark lamp draws nothing")
    assert said_of(lamps, "power", {"lamp-dark": True}, values) == both
    assert said_of(lamps, "place", {"lamp-dark": True}, values) == ()
