# ruff: noqa: D103 - the names of tests are sentences
"""Figures and words that seem to tell of this meter, and are of something else or were brought about; and their twins.

Each class of mistake stands beside sentences of the same make that must still be read.
"""

from __future__ import annotations

import pytest

from diagnose.language.results import Understanding
from tests.engines import real_engine
from tests.language.test_tickets import understood


def told(text: str) -> dict[str, str]:
    """Return the quantities that a text gives, as people read them."""
    quantities = real_engine().rule_book.quantities
    said = [each for each in understood(text).understood if each.quantity and each.value is not None]
    return {each.quantity: quantities[each.quantity].shown(each.value) for each in said if each.value is not None}


READ: list[tuple[str, str, str]] = [
    # a reading, though a test, a tray or another circuit is not far
    ("FT on the pipe bridge, output 12 mA", "loop-current", "12 mA"),
    ("Mains fed, output reads 7.2 mA", "loop-current", "7.2 mA"),
    ("the 3.6 mA in the loop came at night", "loop-current", "3.6 mA"),
    ("Pulse output dead. Loop current 12 mA", "loop-current", "12 mA"),
    ("24.3 V at the supply terminals with the meter connected", "supply-voltage", "24.3 V"),
    ("supply dips to 165 V when the pump starts", "lowest-supply-voltage", "165 V"),
    ("40 m of signal cable", "signal-cable-length", "40 m"),
    ("core to screen of the signal cable 45 kohm", "signal-cable-insulation", "0.045 Mohm"),
    # a figure beside another that has its own name
    ("the meter shows 10 l/s where the tank test gives 25 l/s", "displayed-flow", "36 m3/h"),
    ("the meter shows 10 l/s where the tank test gives 25 l/s", "reference-flow", "90 m3/h"),
    ("coil 62 ohm, electrode open", "coil-resistance", "62 ohm"),
    ("at 30 m3/h the display reads 28 m3/h", "displayed-flow", "28 m3/h"),
    ("at 30 m3/h on the display it drips", "displayed-flow", "30 m3/h"),
    # the size of the meter, and what is set
    ("plate says DN 80", "nominal-diameter", "80 mm"),
    ("DN 50 meter with reducers", "nominal-diameter", "50 mm"),
    ("Line is DN 100 with reducers to the DN 50 meter", "nominal-diameter", "50 mm"),
    ("the menu says DN 50", "bore-set", "50 mm"),
    ("slave address 7", "bus-address", "7"),
    ("1 pulse is 10 litres", "pulse-value", "10 L"),
    # facts in words
    ("the meter is used for billing", "signal-duty", "custody, …"),
    ("it is our billing meter", "signal-duty", "custody, …"),
    ("only for local indication", "signal-duty", "indication only"),
    ("meter sits right after the pump", "flow-disturbance", "pump"),
    ("meter installed in the workshop", "location", "building, …"),
    ("it is on the beer line", "liquid", "food"),
    ("sauce line", "liquid", "food"),
    ("the water line feeds the boiler", "liquid", "water"),
    ("supply is 230 V AC", "supply-kind", "a.c."),
    ("24 VDC from the panel", "supply-kind", "d.c."),
    ("fuse: T", "fuse-characteristic", "T"),
    ("liner: other", "liner", "other"),
    ("no VFD anywhere", "drive-near", "no"),
]


@pytest.mark.parametrize(("text", "quantity", "value"), READ, ids=[row[0] for row in READ])
def test_what_is_said_of_the_meter_is_read(text: str, quantity: str, value: str) -> None:
    assert told(text).get(quantity, "").removesuffix(", …") == value.removesuffix(", …")


ASKED: list[tuple[str, str]] = [
    ("Injected 12 mA into the loop: the card follows", "loop-current"),
    ("Simulated 16 mA in the loop, screen 75 %", "loop-current"),
    ("When I bridge the isolator: full 20 mA", "loop-current"),
    ("In the output test 12 mA came out", "loop-current"),
    ("With the calibrator on it the loop takes 20 mA", "loop-current"),
    ("Pulse output takes 20 mA", "loop-current"),
    ("The 24 V goes to the wrong terminal", "supply-voltage"),
    ("24.4 V on the terminals with the wires off", "supply-voltage"),
    ("Supply unloaded 27 V", "supply-voltage"),
    ("On the scope the pulse line dropped to 0.3 V", "lowest-supply-voltage"),
    ("900 m of cable to the control room", "signal-cable-length"),
    ("signal cable and motor cable run side by side for 30 m", "signal-cable-length"),
    ("signal cable between electrode cores with full pipe 30 ohm", "signal-cable-insulation"),
    ("Pipe is DN 100 either side with reducers", "nominal-diameter"),
    ("230 V AC between housing and earth", "nominal-supply-voltage"),
    ("display shows 12 or 13 m3/h", "displayed-flow"),
    ("at 30 m3/h it shows the same as before", "displayed-flow"),
]


@pytest.mark.parametrize(("text", "quantity"), ASKED, ids=[row[0] for row in ASKED])
def test_a_figure_that_may_be_of_something_else_is_asked_back(text: str, quantity: str) -> None:
    """It is neither taken nor dropped without a word."""
    assert quantity not in told(text)
    figures = [each for each in understood(text).doubts if any(sign.isdigit() for sign in each)]
    assert figures


NOT_READ: list[tuple[str, str]] = [
    # how far something is off, and what leaps to and fro
    ("tried address ±1", "bus-address"),
    ("reading leaps 0...40...0 l/h", "displayed-flow"),
    ("flow 10-20-10 l/h", "displayed-flow"),
    ("the count goes up by 40 or 50 litres each stop", "pulse-value"),
    ("pulses get lost: yesterday 120 m3 here and 83 m3 there", "pulse-value"),
    # another meter for billing, a paper, a display on site
    ("our billing meter 300 m further on fits with ours", "signal-duty"),
    ("the custody meter agrees", "signal-duty"),
    ("0.3 % difference to the fiscal meter", "signal-duty"),
    ("invoice 4711 shows two items", "signal-duty"),
    ("local displays of both are believable", "signal-duty"),
    # volts of something else
    ("multimeter between housing and the handrail: 96 V AC", "supply-kind"),
    ("3 V AC from pipe to the rail", "supply-kind"),
    ("a week ago somebody put 230 V on those terminals", "supply-kind"),
    ("230 V got onto the output by mistake", "supply-kind"),
    # a place or a time of something else
    ("foam in the sight glass after the pump", "flow-disturbance"),
    ("it jumps after the pump starts", "flow-disturbance"),
    ("for half an hour after every start of the pump", "flow-disturbance"),
    ("tested it in the workshop", "location"),
    ("swapped in the workshop converter", "location"),
    # a word that only looks like it
    ("he admitted it over a beer", "liquid"),
    ("I owe you a beer", "liquid"),
    ("le signal saute", "liquid"),
    ("quiet with water in the line", "liquid"),
    ("Kind regards, T.", "fuse-characteristic"),
    ("one electrode 40 Mohm, the other 0.02 Mohm", "electrode-material"),
    ("restarts when the pump goes in (direct on line)", "drive-near"),
    ("a 1k5 to 24 V at the card", "receiver-input"),
]


@pytest.mark.parametrize(("text", "quantity"), NOT_READ, ids=[row[0] for row in NOT_READ])
def test_what_is_not_said_of_the_meter_is_not_read(text: str, quantity: str) -> None:
    assert quantity not in told(text)


def test_two_sizes_in_a_sentence_are_asked_back_where_neither_is_the_meters() -> None:
    said: Understanding = understood("DN 100 here and DN 50 there")
    assert not any(each.quantity == "nominal-diameter" for each in said.understood)
    assert len(said.doubts) == len(("100", "50"))
