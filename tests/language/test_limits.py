# ruff: noqa: D103 - the names of tests are sentences
"""Limits in reports: what was read becomes a measurement, what is asked for or only a circumstance does not."""

from __future__ import annotations

import pytest

from diagnose.language.understanding import understand
from diagnose.observations import Measurement
from diagnose.rule_book.quantities import Limit
from tests.engines import real_engine
from tests.language.book import LEXICON as SMALL

READ: list[tuple[str, dict[str, str]]] = [
    ("electrode to earth OL", {"electrode-a-resistance": "over range"}),
    ("Electrode A to earth: O.L", {"electrode-a-resistance": "over range"}),
    (
        "electrode a 1.4 kohm, electrode b OL",
        {"electrode-a-resistance": "1.4 kohm", "electrode-b-resistance": "over range"},
    ),
    ("Coil resistance reads OL.", {"coil-resistance": "over range"}),
    ("coil resistance 0L", {"coil-resistance": "over range"}),
    ("the coil measures infinite", {"coil-resistance": "over range"}),
    ("electrode insulation: OVLD", {"electrode-insulation-drained": "over range"}),
    ("coil insulation > 20 Mohm", {"coil-insulation": "above 20 Mohm"}),
    ("coil insulation >200MΩ, rest not checked", {"coil-insulation": "above 200 Mohm"}),
    ("coil insulation is above 200 Mohm", {"coil-insulation": "above 200 Mohm"}),
    ("Insulation of the coils to earth: > 1000 Mohm", {"coil-insulation": "above 1000 Mohm"}),
    ("We measured coil to earth, > 20 Mohm", {"coil-insulation": "above 20 Mohm"}),
    ("coil insulation (> 500 Mohm)", {"coil-insulation": "above 500 Mohm"}),
    ("measured bond resistance <0.1 ohm", {"bond-resistance": "below 0.1 ohm"}),
    ("bond resistance reads below 0,2 ohm", {"bond-resistance": "below 0.2 ohm"}),
    ("signal cable insulation measured over 500 Mohm", {"signal-cable-insulation": "above 500 Mohm"}),
    ("supply cable insulation ≥ 100 Mohm", {"supply-insulation": "above 100 Mohm"}),
    ("coil resistance was more than 2 Mohm", {"coil-resistance": "above 2 Mohm"}),
    ("bus resistance is less than 10 ohm", {"bus-line-resistance": "below 10 ohm"}),
    ("electrode B reads > 5 Mohm", {"electrode-b-resistance": "above 5000 kohm"}),
    ("earth continuity <0.5 ohm between enclosure and PE", {"earth-continuity": "below 0.5 ohm"}),
    ("loop current reads > 22 mA", {"loop-current": "above 22 mA"}),
    ("conductivity was less than 5 uS/cm", {"measured-conductivity": "below 5 uS/cm"}),
]


@pytest.mark.parametrize(("text", "wanted"), READ, ids=[text for text, _ in READ])
def test_a_limit_that_was_read_is_a_measurement(text: str, wanted: dict[str, str]) -> None:
    book = real_engine().rule_book
    said = understand(text, real_engine().lexicon)
    assert said.doubts == ()
    assert {
        item.quantity: book.quantities[item.quantity].shown(item.value)
        for item in said.understood
        if item.quantity and item.value is not None
    } == wanted


ASKED_FOR = [
    "bond resistance should be below 1 ohm",
    "coil insulation must be > 20 Mohm",
    "coil insulation has to be more than 20 Mohm",
    "The manual says electrode insulation > 20 Mohm",
    "minimum coil insulation > 20 Mohm",
    "coil insulation: spec > 20 Mohm",
    "electrode insulation > 20 Mohm required",
    "bond resistance < 1 ohm is what the standard wants",
    "bond resistance needs to be < 1 ohm",
    "we want bond resistance < 0.1 ohm",
    "loop load shall not be more than 500 ohm",
    "loop current limit is < 22 mA",
    "permitted bond resistance < 0.1 ohm",
    "expected coil insulation > 20 Mohm",
    "coil insulation normally > 20 Mohm",
    "coil resistance should read OL when the cable is off",
    "if electrode to earth reads OL call us",
    "does the electrode read OL?",
    "is the coil insulation > 20 Mohm?",
    "recommended: bus resistance less than 65 ohm",
    "we set the alarm, supply voltage < 18 V is the limit",
    "the OL lamp is on",
]


@pytest.mark.parametrize("text", ASKED_FOR)
def test_what_is_asked_for_is_neither_a_measurement_nor_a_doubt(text: str) -> None:
    said = understand(text, real_engine().lexicon)
    assert [item for item in said.understood if item.quantity] == []
    assert said.doubts == ()


UNCLEAR = [
    "when the loop current is above 21 mA the alarm comes",
    "at flow > 50 m3/h the reading jumps",
    "flow above 50 m3/h reads low",
    "flow > 50 m3/h gives noise",
    "supply voltage drops below 18 V",
    "coil insulation not above 20 Mohm",
    "loop resistance up to 600 ohm",
    "maybe coil insulation > 20 Mohm",
    "I guess the coil resistance is above 1 Mohm",
    "insulation > 20 Mohm",
]


@pytest.mark.parametrize("text", UNCLEAR)
def test_what_may_be_a_circumstance_or_a_guess_is_asked_back(text: str) -> None:
    said = understand(text, real_engine().lexicon)
    assert [item for item in said.understood if item.quantity] == []
    assert len(said.doubts) == 1


def test_the_name_of_what_was_measured_is_no_finding() -> None:
    # `coil grounded` is a way to say that the insulation is gone, `coil to earth` beside a figure is not.
    said = understand("coil to earth > 500 Mohm", real_engine().lexicon)
    assert [(item.finding, item.quantity) for item in said.understood] == [("", "coil-insulation")]
    said = understand("coil is grounded", real_engine().lexicon)
    assert [item.finding for item in said.understood] == ["coil-insulation-low"]


def test_a_limit_is_observed_with_its_words() -> None:
    (observed,) = understand("The coil reads > 5 Mohm", SMALL).observations()
    assert observed == Measurement(
        quantity="coil-resistance",
        value=Limit(5e6, "above"),
        quote="The coil reads > 5 Mohm",
        heard=True,
    )
