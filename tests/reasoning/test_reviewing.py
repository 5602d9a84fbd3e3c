"""The review of a data sheet by the real rule book: what is told of the loop counts in its budget."""

from __future__ import annotations

import pytest

from diagnose.reasoning.reviewing import review
from diagnose.rule_book.data_sheet import read_value
from tests.engines import real_engine

LOOP = {
    "output": "4-20 mA",
    "loop-supply-voltage": "24 V",
    "least-terminal-voltage": "12 V",
    "receiver-resistance": "250 ohm",
}
LONG = {"loop-cable-length": "20 km"}


@pytest.mark.parametrize(
    ("more", "judgement", "missing"),
    [
        ({}, "fine", ()),
        (LONG | {"loop-conductor-area": "1.5 mm2"}, "wrong", ()),
        ({"loop-cable-length": "500 m", "loop-conductor-area": "1.5 mm2"}, "fine", ()),
        (LONG, "cannot tell", ("loop-conductor-area",)),
    ],
    ids=["no cable told", "20 km of 1.5 mm2", "500 m of 1.5 mm2", "20 km of who knows what"],
)
def test_the_loop_cable_counts(more: dict[str, str], judgement: str, missing: tuple[str, ...]) -> None:
    """20 km of 1.5 mm2 (IEC 60228: 12.1 ohm/km) add 484 ohm: (24 - 12) V over 734 ohm are 16.3 mA."""
    engine = real_engine()
    quantities = engine.rule_book.quantities
    sheet = {name: read_value(quantities[name], text) for name, text in (LOOP | more).items()}
    point = next(each for each in review(engine, sheet) if each.id == "loop-budget")
    assert (point.judgement, point.missing) == (judgement, missing)
