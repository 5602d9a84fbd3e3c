"""A resistance that reads open (OL, more than the instrument can show) decides what any very high figure decides."""

from __future__ import annotations

import pytest

from diagnose.observations import FindingSeen, Measurement, Observation, State
from diagnose.reasoning.diagnosis import diagnose
from diagnose.rule_book.conditions import names_in, truth
from diagnose.rule_book.data_sheet import read_value
from diagnose.rule_book.quantities import Limit
from tests.engines import real_engine

BOOK = real_engine().rule_book
RESISTANCES = [
    each for each in BOOK.told_quantities().values() if each.unit in ("ohm", "kohm", "Mohm") and not each.calculate
]
BY_AC = {"electrode-instrument": "a.c. resistance meter"}


@pytest.mark.parametrize("quantity", [each.id for each in RESISTANCES])
def test_open_decides_what_a_very_high_figure_decides(quantity: str) -> None:
    """In every rule that compares this resistance, whatever else its examples give."""
    assert BOOK.quantities[quantity].plausible
    most = BOOK.quantities[quantity].plausible[1]
    for rule in BOOK.inference.values():
        if quantity not in names_in(rule.when)[1]:
            continue
        for example in rule.examples:
            findings = {name: said == "present" for name, said in example.given.items() if name in BOOK.findings}
            values = {
                name: read_value(BOOK.quantities[name], said)
                for name, said in example.given.items()
                if name in BOOK.quantities
            }
            very_high = truth(rule.when, findings, {**values, quantity: 2 * most})
            assert truth(rule.when, findings, {**values, quantity: Limit(most, "above")}) is very_high, rule.id


@pytest.mark.parametrize(
    ("reads", "sheet", "finding", "stands"),
    [
        ({"coil-resistance": "OL"}, {}, "coil-circuit-open", True),
        ({"coil-resistance": "OL"}, {"coil-resistance-nominal": "100 ohm"}, "coil-resistance-low", False),
        ({"electrode-a-resistance": "OL", "electrode-b-resistance": "3 kohm"}, {}, "electrode-circuit-open", True),
        ({"electrode-a-resistance": "3 kohm", "electrode-b-resistance": "OL"}, BY_AC, "electrodes-unequal", True),
        (
            {"electrode-a-resistance": "OL", "electrode-b-resistance": "OL"},
            {"liquid-conductivity": "500 uS/cm"},
            "electrode-resistance-high",
            True,
        ),
        ({"electrode-a-resistance": "OL", "electrode-b-resistance": "OL"}, {}, "electrode-resistance-high", None),
        ({"bond-resistance": "OL"}, {}, "bond-bad", True),
        ({"earth-continuity": "OL"}, {}, "protective-earth-poor", True),
        ({"shunt-resistance": "OL"}, {"receiver-resistance": "250 ohm"}, "shunt-not-as-planned", True),
        ({"loop-load": "OL"}, {"isolator-in-loop": "no"}, "loop-has-no-path", True),
        ({"loop-load": "OL"}, {"receiver-resistance": "250 ohm"}, "loop-load-above-plan", None),
        ({"loop-load": "OL"}, {"receiver-resistance": "250 ohm"}, "loop-load-too-small", False),
        ({"bus-line-resistance": "OL"}, {"bus-termination-kind": "resistor alone"}, "bus-resistance-high", True),
        ({"bus-line-resistance": "OL"}, {}, "bus-lines-shorted", False),
        ({"coil-insulation": ">20 Mohm"}, {}, "coil-insulation-low", False),
        ({"signal-cable-insulation": "OL"}, {}, "signal-cable-insulation-low", False),
        ({"electrode-insulation-drained": "OL"}, {}, "electrode-insulation-low", False),
        ({"loop-cable-insulation": "OL"}, {}, "loop-cable-insulation-low", False),
        ({"supply-insulation": ">20 Mohm"}, {"nominal-supply-voltage": "230 V"}, "supply-insulation-low", False),
    ],
)
def test_what_follows_from_an_open_reading(
    reads: dict[str, str], sheet: dict[str, str], finding: str, stands: bool | None
) -> None:
    """On the real rule book, as an instrument shows it."""
    said: list[Observation] = [FindingSeen(finding="error-indicated", present=True)]
    said += [Measurement(quantity=name, value=read_value(BOOK.quantities[name], text)) for name, text in reads.items()]
    known = {name: read_value(BOOK.quantities[name], text) for name, text in sheet.items()}
    assert diagnose(real_engine(), known, tuple(said), State()).findings.get(finding) is stands
