"""Times on the bus against the table of the fact sheet."""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS, bus_timing
from diagnose.calculations.bus_timing import (
    character_time,
    cycle_with_silent_device,
    line_busy_share,
    most_devices,
    poll_cycle,
    reply_length,
    reply_time,
    request_time,
    silence_between_frames,
    silence_inside_frame,
    transaction_rate,
    transaction_time,
    wire_time,
)
from diagnose.calculations.solving import solve
from tests.calculations.worked import Refusal, Row, without_row

SIX = 5e-6
"""Relative: the fact sheet gives times to six digits."""

TABLE = "facts 7, table of times: Modbus over Serial Line V1.02, 2.5.1 (11 bits) and 2.5.1.1 (silences)"
TIMES = {
    9600.0: (1.14583, 1.71875, 4.01042, 9.16667, 10.3125, 27.5),
    19200.0: (0.572917, 0.859375, 2.00521, 4.58333, 5.15625, 13.75),
    38400.0: (0.286458, 0.75, 1.75, 2.29167, 2.57813, 8.36979),
    115200.0: (0.0954861, 0.75, 1.75, 0.763889, 0.859375, 5.12326),
}
"""Baud rate → character, t1.5, t3.5, request, reply, both with two t3.5 [ms]; 8E1, 2 registers."""

NAMES = (
    "character-time",
    "silence-inside-frame",
    "silence-between-frames",
    "request-time",
    "reply-time",
    "wire-time",
)
TIMEOUT = "facts 7.13: Modbus over Serial Line V1.02, 2.4"
DEFINITION = "definition"
ROWS = [
    Row(line_busy_share, (0.975, 0.5), 1.95, "definition"),
    Row(character_time, (9600.0,), 1.14583e-3, "facts 7.9 and the table of times: 8E1 when nothing is given", SIX),
    Row(character_time, (9600.0, "8N1"), 1.04167e-3, TABLE, SIX),
    Row(character_time, (9600.0, "8N2"), 1.14583e-3, "facts 7.9: without parity 2 stop bits", SIX),
    Row(character_time, (9600.0, "8O1"), 1.14583e-3, "facts 7.9: odd parity as even", SIX),
    Row(silence_inside_frame, (11 / 19200, 19200.0), 0.859375e-3, TABLE, SIX),
    Row(silence_inside_frame, (11 / 19201, 19201.0), 0.75e-3, "facts 7.12: above 19200 baud 750 us"),
    Row(silence_between_frames, (11 / 19200, 19200.0), 2.00521e-3, TABLE, SIX),
    Row(silence_between_frames, (11 / 19201, 19201.0), 1.75e-3, "facts 7.12: above 19200 baud 1.750 ms"),
    Row(reply_length, (2.0,), 9.0, "facts 7, table of times: 9-byte reply = 2 registers"),
    Row(reply_length, (125.0,), 255.0, "facts 7.14: max 256 bytes; codes: 1 to 125 registers"),
    Row(request_time, (11 / 9600,), 9.16667e-3, TABLE, SIX),
    Row(request_time, (11 / 9600, 13.0), 13 * 11 / 9600, DEFINITION),
    Row(reply_time, (11 / 9600, 9.0), 10.3125e-3, TABLE, SIX),
    Row(wire_time, (9.16667e-3, 10.3125e-3, 4.01042e-3), 27.5e-3, TABLE, SIX),
    Row(transaction_time, (27.5e-3, 50e-3), 77.5e-3, DEFINITION),
    Row(transaction_rate, (27.5e-3,), 36.3636, DEFINITION, SIX),
    Row(transaction_rate, (77.5e-3, 20e-3), 10.2564, DEFINITION, SIX),
    Row(poll_cycle, (10.0, 77.5e-3, 20e-3), 0.975, DEFINITION),
    Row(poll_cycle, (10.0, 77.5e-3), 0.775, DEFINITION),
    Row(cycle_with_silent_device, (0.975, 0.0775, 0.0091667, 1.0), 1.9066667, TIMEOUT),
    Row(most_devices, (1.0, 77.5e-3, 20e-3), 10.2564, DEFINITION, SIX),
]
REFUSED = [
    Refusal(character_time, (0.0,), "baud rate of the line must be greater than 0 baud"),
    Refusal(character_time, (inf,), "must be a finite number"),
    Refusal(character_time, (9600.0, "7E1"), "must be one of: 8E1, 8O1, 8N2, 8N1"),
    Refusal(reply_length, (126.0,), "must be not more than 125"),
    Refusal(reply_length, (0.0,), "must be not less than 1"),
    Refusal(request_time, (11 / 9600, 257.0), "must be not more than 256"),
    Refusal(reply_time, (11 / 9600, 3.0), "must be not less than 4"),
    Refusal(transaction_time, (0.0275, -0.001), "must be not less than 0 ms"),
    Refusal(transaction_rate, (0.0,), "must be greater than 0 ms"),
    Refusal(poll_cycle, (-1.0, 0.0775), "must be not less than 0"),
]
BAUD = st.floats(300.0, 1e6)


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_worked_value(row: Row) -> None:
    """The calculation gives what its source says."""
    row.holds()


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused(refused: Refusal) -> None:
    """The refusal says what is wrong and what is wanted."""
    refused.holds()


def test_every_calculation_has_a_row() -> None:
    """The table is held by a test of its own below."""
    assert without_row(bus_timing, ROWS) == set()


@pytest.mark.parametrize("baud", TIMES)
def test_the_table_of_times_follows_from_a_baud_rate(baud: float) -> None:
    """Baud rate and two registers make every time of the fact sheet's table."""
    solved = solve({"bus-baud-rate": baud, "register-count": 2.0}, SUBJECTS["bus"].calculations)
    results = {each.calculation.gives: each.result for each in solved.worked}
    assert [1000 * results[name] for name in NAMES] == pytest.approx(list(TIMES[baud]), rel=SIX)
    assert "transaction-time" not in results, "a device's delay is not to be guessed"


def test_a_poll_period_is_judged_from_the_settings() -> None:
    """Ten devices that take 50 ms each at 9600 baud cannot be asked every half second."""
    given_ = {"bus-baud-rate": 9600.0, "register-count": 2.0, "device-response-time": 0.05, "bus-devices": 10.0}
    solved = solve({**given_, "poll-period": 0.5, "turnaround-time": 0.02}, SUBJECTS["bus"].calculations)
    results = {each.calculation.gives: each.result for each in solved.worked}
    assert results["poll-cycle"] == pytest.approx(0.975)
    assert results["line-busy-share"] == pytest.approx(1.95)


@given(BAUD, st.floats(1.001, 10.0))
def test_a_faster_line_takes_no_longer(baud: float, faster: float) -> None:
    """Characters grow shorter; silences too, down to their fixed values."""
    assert character_time(baud * faster) < character_time(baud)
    for silence, least in ((silence_inside_frame, 0.75e-3), (silence_between_frames, 1.75e-3)):
        slow = silence(character_time(baud), baud)
        fast = silence(character_time(baud * faster), baud * faster)
        assert least <= fast <= slow


@given(st.floats(0.001, 5.0), st.floats(0.0, 1.0), st.floats(1.0, 247.0))
def test_as_many_devices_as_fit_fill_the_period(transaction: float, pause: float, devices: float) -> None:
    """Devices and poll cycle there and back."""
    cycle = poll_cycle(devices, transaction, pause)
    assert most_devices(cycle, transaction, pause) == pytest.approx(devices)
    assert transaction_rate(transaction, pause) * cycle == pytest.approx(devices)
