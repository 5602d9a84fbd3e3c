"""Facts about the meter that people tell in passing, in the words of the shipped rule book."""

from __future__ import annotations

import pytest

from diagnose.observations import Measurement
from diagnose.reasoning.evidence import told_fields
from diagnose.rule_book.quantities import AND_MORE, Value
from tests.engines import real_engine
from tests.language.test_tickets import understood


def fields(text: str) -> dict[str, Value]:
    """Return the fields of the data sheet that a text fills in."""
    told = [each for each in understood(text).observations() if isinstance(each, Measurement)]
    return told_fields(real_engine().rule_book, {}, told)


def shown(text: str) -> dict[str, str]:
    """Return them as people read them."""
    quantities = real_engine().rule_book.quantities
    return {name: quantities[name].shown(value) for name, value in fields(text).items()}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("sensor is in a building, indication only", {"location": "building", "signal-duty": "indication only"}),
        ("electronics are on the wall", {"build": "remote"}),
        ("head sits on the tube", {"build": "compact"}),
        ("remote, PTFE, horizontal", {"build": "remote", "liner": "PTFE", "orientation": "horizontal"}),
        ("it is DN80", {"nominal-diameter": "80 mm"}),
        ("DN 400, caustic line", {"nominal-diameter": "400 mm", "liquid": "acid or caustic"}),
        ("valve half open 2 D upstream", {"straight-run-upstream": "2"}),
        ("slave address 7, 9600 baud, 8E1", {"bus-address": "7", "bus-baud-rate": "9600 baud", "bus-format": "8E1"}),
        ("1 pulse = 10 liters", {"pulse-value": "10 L"}),
        ("35 m of cable down to the sensor", {"signal-cable-length": "35 m", "build": "remote"}),
        ("no VFDs or large motors near", {"drive-near": "no"}),
        ("the line is cathodically protected", {"cathodic-protection": "yes"}),
        ("flanges strapped together", {"earthing": "flanges bonded"}),
        ("tantalum electrodes", {"electrode-material": "tantalum"}),
        ("no reply on the bus", {"output": "RS-485"}),
        ("there is no ladder in the pit", {"location": "pit or vault"}),
    ],
)
def test_a_fact_is_taken_in_the_words_of_the_trade(text: str, told: dict[str, str]) -> None:
    """Each as a technician would say it."""
    found = shown(text)
    assert {name: found.get(name) for name in told} == told


@pytest.mark.parametrize(
    "text",
    [
        "RS-485 unused",
        "it is not on the bus",
        "pulse output is not used",
        "earthing rings were forgotten",
        "the display shows only 31",
        "the pump trips",
        "loop current reads 12 mA",
        "the operators in the control room called",
        "the flow goes up in the afternoon",
        "the electrode to earth is dry",
    ],
)
def test_what_is_no_fact_is_not_taken(text: str) -> None:
    """Though it shares words with one."""
    taken = fields(text)
    assert not taken.keys() & {"output", "signal-duty", "earthing", "orientation"}, taken


def test_who_names_one_use_of_the_signal_does_not_say_that_there_is_no_other() -> None:
    """Cautions for the others may still come up."""
    assert fields("it is used for dosing")["signal-duty"] == ("dosing", AND_MORE)
    assert fields("for indication only")["signal-duty"] == ("indication only",)


def test_a_use_told_outweighs_that_there_is_none() -> None:
    """Whoever says *indication only* and names a use was wrong in the first."""
    assert fields("indication only. It is used for billing")["signal-duty"] == ("custody", AND_MORE)
