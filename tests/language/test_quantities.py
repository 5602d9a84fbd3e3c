# ruff: noqa: D103 - the names of tests are sentences
"""What sentences say about quantities, read as a specification: text → {quantity: figure in its own unit}."""

from __future__ import annotations

import pytest

from diagnose.language.understanding import understand
from diagnose.observations import FindingSeen, Measurement
from tests.language.book import BOOK, LEXICON

ROWS: list[tuple[str, dict[str, float | str]]] = [
    ("loop current is 3.6 mA", {"loop-current": 3.6}),
    ("0,0036 A in the loop", {"loop-current": 3.6}),
    ("12.5mA", {"loop-current": 12.5}),
    ("117 V AC at the supply terminals", {"supply-voltage": 117}),
    ("mains 230VAC", {"supply-voltage": 230}),
    ("24 VDC supply, 12 V at the output terminals", {"supply-voltage": 24, "loop-voltage": 12}),
    ("flow 38 m3/h", {"displayed-flow": 38}),
    ("38 m³/h on the display", {"displayed-flow": 38}),
    ("PLC shows 45 m3/h", {"receiver-flow": 45}),
    ("display 38 m3/h, tank 45 m3/h", {"displayed-flow": 38, "reference-flow": 45}),
    ("38 m3/h on the display and 45 m3/h in the PLC", {"displayed-flow": 38, "receiver-flow": 45}),
    ("The PLC reads 45 m3/h but the meter reads 38 m3/h", {"receiver-flow": 45, "displayed-flow": 38}),
    ("clamp-on says 10 l/s", {"reference-flow": 36}),
    ("meter shows 600 litres per minute", {"displayed-flow": 36}),
    ("shows -5 m3/h", {"displayed-flow": -5}),
    ("shows minus 5 m3/h", {"displayed-flow": -5}),
    ("flow is about 1 250,5 m3/h", {"displayed-flow": 1250.5}),
    ("the coil has 0.06 kohm", {"coil-resistance": 60}),
    ("85 Ω", {"coil-resistance": 85}),
    ("input card gets 4.1 mA", {"receiver-current": 4.1}),
    ("draws 0.2 A", {"supply-current": 0.2}),
    # a range gives its upper and its lower end
    ("range 0-100 m3/h", {"upper-range-value": 100, "lower-range-value": 0}),
    ("range at meter 0..80 m3/h", {"upper-range-value": 80, "lower-range-value": 0}),
    ("range from -50 to 50 m3/h", {"upper-range-value": 50, "lower-range-value": -50}),
    ("range 0-10 l/s", {"upper-range-value": 36, "lower-range-value": 0}),
    ("4-20 mA = 0-60 m3/h", {"upper-range-value": 60, "lower-range-value": 0}),
    ("0-60 m3/h for 4-20 mA", {"upper-range-value": 60, "lower-range-value": 0}),
    ("4-20 mA =\n0-60 m3/h", {"upper-range-value": 60, "lower-range-value": 0}),
    ("flow 0-60 m3/h today", {}),
    (
        "Range on the meter 0-100 m3/h, output 10.1 mA",
        {"upper-range-value": 100, "lower-range-value": 0, "loop-current": 10.1},
    ),
    # of two values the measured one
    ("supply is 24 V, measured 21 V at the terminals", {"supply-voltage": 21}),
    # words that choose a value
    ("it is a remote version", {"build": "remote"}),
    ("not a remote version", {}),
    ("no ex area", {"hazardous-area": "no"}),
    ("it is not in an ex area", {"hazardous-area": "no"}),
    ("inside the ex area", {"hazardous-area": "yes"}),
    ("is it a compact unit?", {}),
    ("maybe a compact unit", {}),
    ("the other one is a compact unit", {}),
    ("pulse output in use", {"output": "pulse"}),
    ("URV 100 m3/h, flow 20 m3/h", {"upper-range-value": 100, "displayed-flow": 20}),
    ("should be 40 m3/h", {"reference-flow": 40}),
    ("the medium is slurry", {"liquid": "slurry"}),
    ("liquid is not sewage", {}),
    # a bare number takes the unit that stands near, unless it may be a name or counts something
    ("display 50, plc 62 m3/h", {"displayed-flow": 50, "receiver-flow": 62}),
    ("the display shows 50 and the plc 62 m3/h", {"displayed-flow": 50, "receiver-flow": 62}),
    ("flow 38 m3/h. The plc says 45", {"displayed-flow": 38, "receiver-flow": 45}),
    ("tank 14, meter 12 m3/h", {"displayed-flow": 12}),
    ("PLC shows 2 alarms, flow 38 m3/h", {"displayed-flow": 38}),
    ("plc shows 12:30, flow 38 m3/h", {"displayed-flow": 38}),
    ("display says 3 m3/h and tank 12 m3/h", {"displayed-flow": 3, "reference-flow": 12}),
    # volts and milliamperes need no unit behind their name, resistances no more than a multiplier
    ("loop current 3.6", {"loop-current": 3.6}),
    ("loop current reads 21.5, still", {"loop-current": 21.5}),
    ("coil 4k7", {"coil-resistance": 4700}),
    ("coil: 20M", {"coil-resistance": 20e6}),
    ("coil resistance 60", {}),
    ("current output 1", {}),
    ("loop current 4 times", {}),
    # by how much something is off is no reading
    ("reads 2 m3/h too high", {}),
    ("loop has 0.4 mA more", {}),
    ('it says "flow 5 m3/h"', {"displayed-flow": 5}),
    ("mA and the range 0-100 of the display", {}),
    # no measured values
    ("output is 4-20 mA", {}),
    ("output is 4..20 mA, another 0-20mA", {}),
    ("a 4 to 20 mA output", {}),
    ("pipe DN100, DN 100 mm", {}),
    ("on 12.03.2024 at 10:30 h and 2024-03-12", {}),
    ("call 0123 456789 or +44 123 456 7890", {}),
    ("serial no. 12345A, tag FT-101 A", {}),
    ("reads 10 % too high", {}),
    ("supply should be 24 V", {}),
    ("loop: no 24 V", {}),
    ("is the supply 24 V?", {}),
    ("if the output is 4 mA, call", {}),
    ("reads 5 m3/h too high by 2 m3/h", {"displayed-flow": 5}),
    ("see it in 5 a minute", {}),
    ("pressure is 3 bar at 20 °C", {}),
]


@pytest.mark.parametrize(("text", "expected"), ROWS, ids=[row[0][:50] for row in ROWS])
def test_a_sentence_says_of_quantities(text: str, expected: dict[str, float | str]) -> None:
    found = {}
    for item in understand(text, LEXICON).understood:
        if item.quantity:
            factor = BOOK.quantities[item.quantity].si_factor
            found[item.quantity] = item.value / factor if isinstance(item.value, float) else item.value
            assert item.unit == BOOK.quantities[item.quantity].unit
    assert found == {
        name: pytest.approx(value) if isinstance(value, int | float) else value for name, value in expected.items()
    }


@pytest.mark.parametrize(
    ("text", "doubt"),
    [
        (
            "400 A in the loop",
            "`400 A` as current in the loop is outside the plausible range (−30 … 60 mA): please check it",
        ),
        ("display shows 5 flurbs", "`5 flurbs`: unknown unit"),
        ("flow is 1,250 m3/h", "`1,250 m3/h` can be read as 1250 or 1.250: which is it?"),
        ("measured 24 V", "`24 V`: what is it a reading of (supply voltage; voltage across the output)?"),
        ("loop is between 3 and 4 mA", "`3 and 4 mA` as current in the loop is a range: what is the usual value?"),
        ("output below 3.6 mA", "`3.6 mA` as current in the loop is only a limit: what was the reading?"),
        ("tank 30 m3/h vs 36 m3/h", "`tank 30 m3/h vs 36 m3/h`: which figure belongs to which quantity?"),
        (
            "remote version. It is a compact unit.",
            "`remote version`, `It is a compact unit`: how it is built: remote or compact?",
        ),
        (
            "range in the PLC 0-100 m3/h",
            "`0-100 m3/h` is next to `plc`: does it mean flow at 20 mA?",
        ),
        ("maybe 12 mA in the loop", "`12 mA` as current in the loop is only a guess: please check it"),
        ("i would guess flow 15 m3/h", "`15 m3/h` as flow on the meter's display is only an opinion: please check it"),
        ("flow up to say 70 m3/h", "`70 m3/h` as flow on the meter's display is only a limit: what was the reading?"),
    ],
)
def test_what_is_unclear_is_asked_back(text: str, doubt: str) -> None:
    said = understand(text, LEXICON)
    assert said.doubts == (doubt,)
    assert not said.understood


@pytest.mark.parametrize("text", ["after 2 weeks and 3 times", "4 people came", "flow meter, 2 pumps and 3 valves"])
def test_counts_of_things_are_no_unknown_units(text: str) -> None:
    assert understand(text, LEXICON).doubts == ()


def test_observations_carry_quotes() -> None:
    observations = understand("Display dark, 3.6 mA in the loop", LEXICON).observations()
    assert observations == (
        FindingSeen(finding="display-dark", present=True, quote="Display dark", heard="affirmed"),
        Measurement(quantity="loop-current", value=3.6 * 0.001, quote="3.6 mA in the loop", heard=True),
    )
