"""A trainer's own rule book gets the order of isolation by saying what goes with what."""

from __future__ import annotations

from pathlib import Path

from diagnose.observations import State
from diagnose.reasoning.steps import way_to
from diagnose.rule_book.load import load_folder
from tests.rule_book.lamps import lamp_book, problems_of, put

HOOD = """\
id: hood
title: Hood
order: 2
values: [shut, open]
initial: shut
changes:
  - {from: shut, to: open, minutes: 1, competence: instructed, steps: [Open the hood.]}
  - {from: open, to: shut, minutes: 1, competence: instructed, steps: [Shut the hood.]}
source: estimate
"""
WIRES = """\
id: wires
title: Wires
order: 3
values: [not tested, tested]
initial: not tested
goes-with: {tested: {supply: isolated, hood: open}}
changes:
  - {from: not tested, to: tested, minutes: 2, competence: skilled, steps: [Test them.]}
  - {from: tested, to: not tested, minutes: 0, competence: skilled, steps: [They count as live.]}
source: estimate
"""
TOUCH = """\
id: touch-wires
title: Touch the wires
ask: Are they loose?
steps: [Touch them.]
minutes: 1
needs: {wires: tested, hood: shut}
competence: skilled
outcomes:
  - {answer: loose, present: [filament-broken]}
  - {answer: tight, absent: [filament-broken]}
source: estimate
"""


def with_hood(folder: Path) -> Path:
    """Return the lamp book with a hood over wires that are to be tested."""
    rules = lamp_book(folder)
    put(rules, "states/hood.yaml", HOOD)
    put(rules, "states/wires.yaml", WIRES)
    return rules


def test_the_order_follows_from_the_states(tmp_path: Path) -> None:
    """A step that wants the supply off and the hood open touches wires that were tested."""
    book = load_folder(with_hood(tmp_path))
    way = way_to(book, State().standing(book), {"supply": ("isolated",), "hood": ("open",)})
    assert [each.state for each in way.changes] == ["supply", "hood", "wires"]


def test_a_step_cannot_ask_for_what_never_holds_together(tmp_path: Path) -> None:
    """Tested with the hood shut: told where it stands."""
    rules = with_hood(tmp_path)
    put(rules, "checks/touch_wires.yaml", TOUCH)
    found = [(each.code, each.place.line, each.text) for each in problems_of(rules)]
    assert found == [("contradiction", 6, "`wires` is `tested` only with `hood` open")]
