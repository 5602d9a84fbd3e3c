"""What was once misread in reports, on the rule book that the project ships."""

from __future__ import annotations

import pytest

from diagnose.language.lexicon import Lexicon
from diagnose.language.understanding import understand
from tests.engines import real_engine


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    """Return the words of the rule book that the project ships."""
    return real_engine().lexicon


def test_a_tolerance_is_no_reading(lexicon: Lexicon) -> None:
    """What follows plus-minus says how much it moves, not that the flow is negative."""
    said = understand("The flow reading fluctuates +-20 gpm all the time.", lexicon)
    assert "displayed-flow" not in [each.quantity for each in said.understood]


@pytest.mark.parametrize("name", ["PLC", "DCS", "SCADA", "control room"])
def test_a_set_of_words_stands_for_each_of_them(name: str, lexicon: Lexicon) -> None:
    """A phrase with a set in it is understood with any word of the set."""
    said = understand(f"The {name} shows half of what the transmitter shows.", lexicon)
    found = {each.finding for each in said.understood if each.present}
    assert found & {"control-system-disagrees", "receiver-off-by-factor"}


@pytest.mark.parametrize(
    ("text", "finding", "present"),
    [
        ("dcs shows a hard zero below 2 while the display indicates 0.8", "flow-negative", None),
        ("no pulses at flow 20 m3/h", "counts-at-standstill", None),
        ("display shows 3 m3/h while nothing flows", "zero-while-flowing", None),
        ("display shows 3 m3/h while nothing flows", "reading-at-standstill", True),
        ("it shows flow with no flow in the pipe", "zero-while-flowing", None),
        ("dcs shows 20 percent although nothing flows", "zero-while-flowing", None),
        ("we changed from tap water to demin", "jumps-when-tapped", None),
        ("at low flow it counts ten times too much", "counts-too-many", None),
        ("No error on screen.", "error-indicated", False),
        ("The flow transmitter has no display.", "display-dark", True),
        ("No ground rings fitted.", "liquid-not-earthed", True),
        ("The cables were not touched.", "right-until-worked-on", None),
    ],
)
def test_once_misread(text: str, finding: str, present: bool | None, lexicon: Lexicon) -> None:
    """Each of these was understood the wrong way, or not at all."""
    said = {each.finding: each.present for each in understand(text, lexicon).understood}
    assert said.get(finding) is present


@pytest.mark.parametrize(
    ("text", "finding", "present"),
    [
        # what a reviewer found not understood
        ("The meter in the pit reads 4 m3/h although the line is shut.", "reading-at-standstill", True),
        ("It even counts when the line is shut.", "counts-at-standstill", True),
        ("New meter on an RS485 line, it does not respond at all.", "bus-silent", True),
        ("PLC shows another flow than the display of the meter.", "control-system-disagrees", True),
        ("New meter does not agree with the weigh tank.", "disagrees-with-reference", True),
        ("The totaliser never fits to the tank record.", "disagrees-with-reference", True),
        ("Flow came down over three weeks.", "came-slowly", True),
        ("This one never was good.", "never-right", True),
        ("The flow reacts only after a minute.", "reading-slow", True),
        ("The recorder stops at 120 while the display goes to 138.", "control-system-disagrees", True),
        ("The transmitter says empty pipe maybe ten times a day.", "empty-pipe-indicated", True),
        # and what was understood wrongly
        ("Pipe is not always full in the night.", "pipe-not-full", True),
        ("sight glass shows the pipe half full", "pipe-not-full", True),
        ("the totaliser counts at night although the plant stands", "total-counts-at-standstill", True),
        ("Pipe is not always full in the night.", "pipe-found-empty", None),
        ("There is grease everywhere in this pipework.", "worked-on-pipe", None),
        ("Meter: over some months the reading went down.", "reads-high", None),
        ("At full flow both agree.", "only-at-high-flow", False),
        ("Pulse value 0.1 litre, full flow 90 m3/h.", "only-at-high-flow", None),
        ("The master meter counts more water.", "pulse-count-wrong", None),
        ("We have not found any pull-up resistors on the RS485 line.", "pulse-level-stays-low", None),
        ("Intermittent communication errors.", "bus-silent", None),
        ("Intermittent communication errors.", "bus-intermittent", True),
        ("The terminator is switched on.", "supply-switch-off", None),
        ("A goes to A and B to B.", "bus-lines-reversed", None),
        ("The line is shut and the display says 0.00.", "zero-while-flowing", None),
        ("One day it is 3 % above, the next 4 % below.", "reads-low", None),
        ("The control loop is unusable.", "reading-erratic", None),
        # what tickets written since were misread to say
        ("Display 38 m3/h.", "bus-value-absurd", None),
        ("The value over Modbus is like 6,8e+30.", "bus-value-absurd", True),
        ("The book says zero point must be within 0,05.", "zero-while-flowing", None),
        ("The loop sheet says range 0-100.", "zero-while-flowing", None),
        ("No alarm for empty pipe ever came.", "empty-pipe-indicated", False),
        ("SCADA has no comms alarm for it.", "bus-silent", None),
        ("Nobody has changed any parameter.", "settings-locked", None),
        ("We disconnected the meter for a week and the RCD held.", "trips-protection", None),
        ("The softened water line says empty pipe.", "pipe-found-empty", None),
        ("It indicates no flow or jumps wildly.", "reading-erratic", True),
        ("Where do I change the units?", "unit-setting-differs", None),
        ("The arrow on the sensor is showing in flow direction.", "zero-while-flowing", None),
        ("HANDOVER NIGHT to DAY.", "failed-at-once", None),
        ("At half flow it counts exactly.", "counts-off-by-factor", None),
        ("It was out last time.", "bus-silent", None),
        ("The flow on the backwash line is small.", "flow-really-reverses", None),
        ("With the plug of the meter pulled it holds.", "supply-switch-off", None),
        ("The clamp on beside it says steady 41.", "reading-erratic", None),
        ("The clamp on beside it says steady 41.", "second-meter-disagrees", True),
        ("It got worse when they started the blower.", "came-slowly", None),
        ("230 V at the terminals is right.", "disagrees-with-reference", None),
        ("The greenhouse takes its water from there.", "moisture-seen", None),
        ("Drops of water in the housing.", "moisture-seen", True),
        ("5 % high against the prover at every point.", "meter-at-high-point", None),
        ("The sensor was replaced (liner was torn).", "liner-damage-seen", None),
        ("The new indicator: he says its wired parallel.", "second-load-in-parallel", True),
        ("Two pumps are connected in parallel there.", "second-load-in-parallel", None),
        ("The tank level stays steady with the valves shut.", "second-meter-disagrees", None),
        ("The cutoff was 'optimised' by a contractor.", "worked-on-settings", True),
    ],
)
def test_said_in_so_many_words(text: str, finding: str, present: bool | None, lexicon: Lexicon) -> None:
    """What a careful reader takes from a sentence is taken, and nothing else of the kind."""
    said = {each.finding: each.present for each in understand(text, lexicon).understood}
    assert said.get(finding) is present


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("Pulse value 0.1 litre, full flow 90 m3/h.", {"highest-flow": "90 m3/h", "pulse-value": "0.1 L"}),
        ("Display 50, SCADA 62 m3/h.", {"displayed-flow": "50 m3/h", "receiver-flow": "62 m3/h"}),
        ("The contractor is welding on the pipe rack above.", {}),
        ("The pipe there falls with 2 %.", {}),
        ("It runs normally between 30 and 50 l/s.", {}),
        ("We have changed the damping from 1 s to 5 s.", {"damping": "5 s"}),
        ("The output is set 4 to 20 mA.", {"output": "4-20 mA"}),
        ("The output was changed from 0 to 20 mA to 4 to 20 mA.", {"output": "4-20 mA"}),
        ("The speed was changed, flow 30 to 50 m3/h.", {}),
        ("There is no pull-up resistor at the pulse input.", {}),
        ('I found "low flow cut off 5,0 l/s" in the list.', {"low-flow-cut-off": "18 m3/h"}),
    ],
)
def test_values_said_in_so_many_words(text: str, values: dict[str, str], lexicon: Lexicon) -> None:
    """Figures and words give the values that they stand for, and no others."""
    understood = [each for each in understand(text, lexicon).understood if each.value is not None]
    shown = {each.quantity: lexicon.quantities[each.quantity].shown(each.value) for each in understood if each.value}
    assert shown == values


@pytest.mark.parametrize(
    ("text", "finding"),
    [
        ("The meter reads 5 % less than the tank.", "reads-low"),
        ("The meter shows less than the tank.", "reads-low"),
        ("The tank shows less than the meter.", "reads-high"),
        ("The tank reads less than the meter.", "reads-high"),
        ("The tank shows more than the meter.", "reads-low"),
        ("Master meter reads more than our mag meter.", "reads-low"),
        ("Master meter shows 5 % more than our meter.", "reads-low"),
    ],
)
def test_which_of_two_shows_less_is_not_asked_back(text: str, finding: str, lexicon: Lexicon) -> None:
    """Who is compared with whom follows from the order of the words alone."""
    said = understand(text, lexicon)
    assert {each.finding for each in said.understood if each.present} & {"reads-low", "reads-high"} == {finding}
    assert said.doubts == ()


@pytest.mark.parametrize(
    ("text", "ohms"),
    [
        ("coil insulation to earth is 20 mOhm", None),
        ("coil insulation to earth is 20 Mohm", 2e7),
        ("resistance from enclosure to protective earth is 80 mOhm", 0.08),
    ],
)
def test_a_small_m_is_asked_back_only_where_megohms_are_usual(text: str, ohms: float | None, lexicon: Lexicon) -> None:
    """An insulation of 20 mOhm may be either; an earth lead of 80 mOhm is what it says (SI: milli)."""
    said = understand(text, lexicon)
    values = [each.value for each in said.understood if each.quantity]
    assert values == ([] if ohms is None else [pytest.approx(ohms)])
    assert any("20 milliohm or 20 Mohm?" in each for each in said.doubts) == (ohms is None)
