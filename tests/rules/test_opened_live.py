"""A housing opened live where the atmosphere may explode: told, intended or asked about, in one sentence or more."""

from __future__ import annotations

import pytest

from diagnose.cases.events import Case
from diagnose.observations import FindingSeen
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import StopPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.typed import reply_to
from diagnose.triage.report import triage
from tests.engines import real_engine

ENGINE = real_engine()
HAZARD = "opened-live-where-explosive"


def hazards(text: str) -> tuple[str, ...]:
    """Return the hazards for which a report stops all work."""
    stop = triage(ENGINE, text, {}).stop
    return stop.findings if stop else ()


@pytest.mark.parametrize(
    "text",
    [
        "Ex zone 1, open the cover live",
        "meter is in zone 1. we opened the cover under power",
        "hazardous area, housing opened while energised",
        "ATEX area, housing opened while energised",
        "we r in ex zone and want to open the head under voltage ok?",
        "the box is in zone 2, can we open it without switching off?",
        "it's an Ex area. Opened the terminal box, supply still on",
        "Zone 1. No display. Can I open the lid with the power on to check the fuse?",
        "may we open it live in zone 1?",
        "if we open the cover live in the ex area, may we look at the LEDs",
        "Zone 1. Lid is off. Power is still on.",
    ],
)
def test_opened_live_in_an_explosive_area_stops(text: str) -> None:
    """Who intends it, or asks about it, has told it."""
    assert HAZARD in hazards(text)


@pytest.mark.parametrize(
    "text",
    [
        "not a hazardous area, housing opened while energised",
        "no Ex zone here, opened the box under power",
        "Lid is off. Power is still on. safe area",
        "housing opened while energised",
        "zone 1 meter, we isolated it, proved it dead, then opened the cover",
        "ex zone, cover opened after isolation",
        "Ex meter, loop open, live zero missing",
        "zone 2, valve opened under power of the actuator",
        "explosion proof meter, display live values off",
        "zone 1, never opened live, display dark",
        "zone 1, cover opened to check fuse with power off",
        "ex area, opened it to look at the power board after isolation",
    ],
)
def test_elsewhere_or_otherwise_it_is_no_danger_of_explosion(text: str) -> None:
    """Neither another area, nor a housing that was isolated, nor another thing that is open or live."""
    assert HAZARD not in hazards(text)


@pytest.mark.parametrize("text", ["yes, housing opened while energised", "12 mA, shall I open the cover live?"])
def test_it_stops_at_a_prompt_where_the_data_sheet_names_the_area(text: str) -> None:
    """Beside an answer or a figure, with the area known from the data sheet alone."""
    case = Case(name="ex", data_sheet={"hazardous-area": "yes"})
    case = case.after(FindingSeen(finding="display-dark", present=True))
    prompt = prompt_of(ENGINE, case)
    reply = reply_to(ENGINE, case.data_sheet, prompt, text)
    assert isinstance(reply, replies.Words)
    case = case.after(*respond(ENGINE, case, prompt, reply).events)
    stop = prompt_of(ENGINE, case)
    assert isinstance(stop, StopPrompt)
    assert HAZARD in stop.findings
