"""Time on an RS-485 line that speaks Modbus RTU: characters, frames, transactions, poll cycles.

Chain: ``baud-rate`` with ``character-format`` → ``character-time`` → silences and frames → ``wire-time``; with
``device-response-time`` → ``transaction-time``; with ``bus-devices`` → ``poll-cycle`` → is a ``poll-period`` too fast?
"""

from __future__ import annotations

from diagnose.calculations.calculation import calculation

BITS = {"8E1": 11, "8O1": 11, "8N2": 11, "8N1": 10}
"""Format → bits of a character: start, 8 data, parity if any, stop."""

FIXED_ABOVE, FIXED_INSIDE, FIXED_BETWEEN = 19200.0, 750e-6, 1.750e-3
"""Above this baud rate [1/s] the silences have fixed values [s]."""

GUIDE = "Modbus over Serial Line V1.02"
SILENCE = f"{GUIDE}, 2.5.1.1"


@calculation(
    gives="character-time",
    formula="t_c = bits / f; 11 bits, 8N1 has 10",
    source=f"{GUIDE}, 2.5.1 (8E1, without parity 8N2)",
    valid="8N1 is common, but not in the Modbus guide",
)
def character_time(bus_baud_rate: float, character_format: str = "8E1") -> float:
    """Return the time [s] of one character at a baud rate [1/s]: 11 bits / f, with 8N1 10 bits.

    Raises OutOfRange for a rate that is not positive or a format that is not in the list. Source: Modbus over Serial
    Line V1.02, 2.5.1; 9600 Bd and 8E1 give 1.14583 ms.

    >>> 1000 * character_time(9600.0), 1000 * character_time(9600.0, "8N1")
    (1.14583, 1.04167)
    """
    return BITS[character_format] / bus_baud_rate


@calculation(gives="silence-inside-frame", formula="t1.5 = 1.5 t_c; 0.750 ms above 19200 Bd", source=SILENCE)
def silence_inside_frame(character_time: float, bus_baud_rate: float) -> float:
    """Return the longest silence [s] inside a frame, t1.5: 1.5 characters [s], 0.750 ms above 19200 Bd.

    Raises OutOfRange unless both are positive. Source: Modbus over Serial Line V1.02, 2.5.1.1; 9600 Bd: 1.71875 ms.

    >>> 1000 * silence_inside_frame(11 / 9600, 9600.0)
    1.71875
    """
    return FIXED_INSIDE if bus_baud_rate > FIXED_ABOVE else 1.5 * character_time


@calculation(gives="silence-between-frames", formula="t3.5 = 3.5 t_c; 1.750 ms above 19200 Bd", source=SILENCE)
def silence_between_frames(character_time: float, bus_baud_rate: float) -> float:
    """Return the least silence [s] between frames, t3.5: 3.5 characters [s], 1.750 ms above 19200 Bd.

    Raises OutOfRange unless both are positive. Source: Modbus over Serial Line V1.02, 2.5.1.1; 9600 Bd: 4.01042 ms.

    >>> 1000 * silence_between_frames(11 / 9600, 9600.0)
    4.01042
    """
    return FIXED_BETWEEN if bus_baud_rate > FIXED_ABOVE else 3.5 * character_time


@calculation(
    gives="reply-length",
    formula="N_rep = 5 + 2 n_r",
    source="Modbus Application Protocol V1.1b3, 6.3 and 6.4 (from memory); address and CRC added",
    valid="functions 03 and 04",
)
def reply_length(register_count: float) -> float:
    """Return the length [bytes] of a reply with so many registers: address, function, count, 2 each, CRC.

    Raises OutOfRange beyond 1 to 125 registers. Source: Modbus Application Protocol V1.1b3, 6.3; 2 registers: 9.

    >>> reply_length(2.0)
    9.0
    """
    return 5 + 2 * register_count


@calculation(gives="request-time", formula="t_req = N_req t_c", source=f"{GUIDE}, 2.5.1", valid="no gap inside")
def request_time(character_time: float, request_length: float = 8.0) -> float:
    """Return the time [s] of a request of so many bytes; to read takes 8.

    Raises OutOfRange beyond 4 to 256 bytes. Source: Modbus over Serial Line V1.02, 2.5.1; 9600 Bd, 8E1: 9.16667 ms.

    >>> 1000 * request_time(11 / 9600)
    9.16667
    """
    return request_length * character_time


@calculation(gives="reply-time", formula="t_rep = N_rep t_c", source=f"{GUIDE}, 2.5.1", valid="no gap inside")
def reply_time(character_time: float, reply_length: float) -> float:
    """Return the time [s] of a reply of so many bytes.

    Raises OutOfRange beyond 4 to 256 bytes. Source: Modbus over Serial Line V1.02, 2.5.1; 9 at 9600 Bd: 10.3125 ms.

    >>> 1000 * reply_time(11 / 9600, 9.0)
    10.3125
    """
    return reply_length * character_time


@calculation(gives="wire-time", formula="t_w = t_req + t_rep + 2 t3.5", source=SILENCE)
def wire_time(request_time: float, reply_time: float, silence_between_frames: float) -> float:
    """Return the time [s] of request, reply and two silences, without the device's own delay.

    Source: Modbus over Serial Line V1.02, 2.5.1.1; 2 registers at 9600 Bd take 27.5 ms.

    >>> 1000 * wire_time(8 * 11 / 9600, 9 * 11 / 9600, 3.5 * 11 / 9600)
    27.5
    """
    return request_time + reply_time + 2 * silence_between_frames


@calculation(
    gives="transaction-time",
    formula="t_t = t_w + t_d",
    source=f"{GUIDE}, 2.4",
    valid="the device's delay counted from the silence after the request",
)
def transaction_time(wire_time: float, device_response_time: float) -> float:
    """Return the time [s] of one request with its reply, the device's delay [s] included.

    Raises OutOfRange for a negative delay. Source: Modbus over Serial Line V1.02, 2.4; 27.5 ms and 50 ms: 77.5 ms.

    >>> 1000 * transaction_time(0.0275, 0.050)
    77.5
    """
    return wire_time + device_response_time


@calculation(gives="transaction-rate", formula="f_t = 1 / (t_t + t_p)", source="definition")
def transaction_rate(transaction_time: float, turnaround_time: float = 0.0) -> float:
    """Return the transactions per second, including the master's pause [s].

    Raises OutOfRange for a time that is not positive. Source: definition; 77.5 ms: 12.903 in a second.

    >>> transaction_rate(0.0775)
    12.903
    """
    return 1 / (transaction_time + turnaround_time)


@calculation(
    gives="poll-cycle",
    formula="T_c = N (t_t + t_p)",
    source="definition",
    valid="one request per device, every device answers",
)
def poll_cycle(bus_devices: float, transaction_time: float, turnaround_time: float = 0.0) -> float:
    """Return the time [s] to poll all devices once, with the master's pause [s] between requests.

    Raises OutOfRange for negative figures. Source: definition; 10 devices of 77.5 ms with pauses of 20 ms: 0.975 s.

    >>> poll_cycle(10.0, 0.0775, 0.020)
    0.975
    """
    return bus_devices * (transaction_time + turnaround_time)


@calculation(
    gives="cycle-with-silent-device",
    formula="T = T_c - t_t + t_req + t_out",
    source=f"{GUIDE}, 2.4 (a silent device costs the time-out)",
    valid="no retries; each retry costs as much again",
)
def cycle_with_silent_device(
    poll_cycle: float, transaction_time: float, request_time: float, reply_time_out: float
) -> float:
    """Return the time [s] to poll every device once if one of them does not answer.

    Its transaction is replaced by the request and the master's time-out. Source: Modbus over Serial Line V1.02, 2.4;
    0.975 s with one of 77.5 ms silent for 1 s: 1.907 s.

    >>> cycle_with_silent_device(0.975, 0.0775, 8 * 11 / 9600, 1.0)
    1.9067
    """
    return poll_cycle - transaction_time + request_time + reply_time_out


@calculation(
    gives="most-devices", formula="N = T / (t_t + t_p)", source="definition", valid="every device answers; round down"
)
def most_devices(poll_period: float, transaction_time: float, turnaround_time: float = 0.0) -> float:
    """Return how many devices can be polled within a poll period [s]; round down.

    Raises OutOfRange for a period that is not positive. Source: definition; 1 s over 77.5 ms and 20 ms: 10.26.

    >>> most_devices(1.0, 0.0775, 0.020)
    10.26
    """
    return poll_period / (transaction_time + turnaround_time)


@calculation(gives="line-busy-share", formula="T_c / T", source="definition", valid="no retries, every device replies")
def line_busy_share(poll_cycle: float, poll_period: float) -> float:
    """Return the share of a poll period [s] that the poll cycle [s] takes; above 100 % polling never keeps up.

    Raises OutOfRange for a period that is not positive. Source: definition; 0.975 s of 0.5 s are 195 %.

    >>> 100 * line_busy_share(0.975, 0.5)
    195.0
    """
    return poll_cycle / poll_period
