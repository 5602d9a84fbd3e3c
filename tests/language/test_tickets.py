"""Invented tickets against the rule book as it is shipped: what must be taken from them, and what must not."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from diagnose.language.cleaning import clean
from diagnose.language.results import Understanding
from diagnose.language.understanding import understand
from diagnose.observations import Measurement
from diagnose.rule_book.book import RuleBook
from tests.engines import real_engine

HERE = Path(__file__).parent
TICKETS: list[dict[str, Any]] = [
    ticket
    for path in sorted((HERE / "tickets").glob("*.yaml"))
    for ticket in yaml.safe_load(path.read_text(encoding="utf-8"))
]
PRESENCE = {"present": True, "absent": False}


def book() -> RuleBook:
    """Return the shipped rule book."""
    return real_engine().rule_book


def understood(text: str) -> Understanding:
    """Return what the shipped rule book understands of a text."""
    return understand(clean(text), real_engine().lexicon)


def read(ticket: dict[str, Any]) -> Understanding:
    """Return what is understood of a ticket."""
    return understood(ticket["text"])


def taken(said: Understanding) -> set[tuple[str, bool | None]]:
    """Return findings with what is said of them."""
    return {(item.finding, item.present) for item in said.understood if item.finding}


each_ticket = pytest.mark.parametrize("ticket", TICKETS, ids=[ticket["id"] for ticket in TICKETS])


@each_ticket
def test_what_a_careful_reader_takes_is_taken(ticket: dict[str, Any]) -> None:
    """Every finding that is listed for a ticket is understood, present or absent as listed."""
    wanted = {(finding, PRESENCE[presence]) for finding, presence in ticket["takes"].items()}
    assert wanted <= taken(read(ticket))


@each_ticket
def test_nothing_is_taken_that_the_ticket_does_not_say(ticket: dict[str, Any]) -> None:
    """No finding is understood in the way that is listed as a misreading; `either` means in no way at all."""
    said = taken(read(ticket))
    for finding, presence in ticket["never"].items():
        wrong = PRESENCE.values() if presence == "either" else [PRESENCE[presence]]
        assert not said.intersection((finding, way) for way in wrong), finding


@pytest.mark.parametrize(
    "ticket", [ticket for ticket in TICKETS if "values" in ticket], ids=lambda ticket: ticket["id"]
)
def test_values_are_taken(ticket: dict[str, Any]) -> None:
    """Figures are tied to their quantities, and words choose a value of the data sheet."""
    found = {item.quantity: item.value for item in read(ticket).understood if item.value is not None}
    for name, value in ticket["values"].items():
        quantity = book().quantities[name]
        assert name in found
        assert quantity.shown(found[name]) == value


def test_tickets_name_only_what_the_rule_book_has() -> None:
    """A finding that nobody can state would make `never` pass whatever is understood."""
    named = {name for ticket in TICKETS for name in (*ticket["takes"], *ticket["never"])}
    assert named <= set(book().findings)
    assert len({ticket["id"] for ticket in TICKETS}) == len(TICKETS) >= 60


def test_outputs_that_are_spoken_of_are_taken_together() -> None:
    """As one fact about the meter, not one replacing the other."""
    said = understood("Pulses to the counter are right. The output is 4-20 mA, and the bus output is read by the PLC.")
    (told,) = (each for each in said.observations() if isinstance(each, Measurement))
    assert (told.quantity, told.value) == ("output", ("pulse", "4-20 mA", "RS-485"))


@pytest.mark.parametrize(
    ("text", "duties"),
    [
        ("output 4-20 mA, signal is used for dosing", {"dosing"}),
        ("it trips on low flow, and the total is used for billing", {"protection", "custody"}),
        ("we only read it off the display", {"indication only"}),
        ("the dosing pump runs all day, the control room called, the control valve is upstream", set()),
    ],
)
def test_what_uses_the_signal_is_taken_from_what_says_so(text: str, duties: set[str]) -> None:
    """Not from a mention: who says dosing may speak of a pump."""
    assert {item.value for item in understood(text).understood if item.quantity == "signal-duty"} == duties
