"""What stands between address and CRC of a Modbus frame: requests, replies and exception replies, field by field.

Modbus Application Protocol V1.1b3, section 6 (functions; all but 10h from memory) and 7 (exceptions).
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

FUNCTIONS = {
    1: "read coils",
    2: "read discrete inputs",
    3: "read holding registers",
    4: "read input registers",
    5: "write one coil",
    6: "write one register",
    7: "read exception status",
    8: "diagnostics",
    11: "read event counter",
    12: "read event log",
    15: "write coils",
    16: "write registers",
    17: "report device identification",
    20: "read file record",
    21: "write file record",
    22: "mask one register",
    23: "write and read registers",
    24: "read queue",
    43: "read device identification",
}

EXCEPTIONS = {
    1: ("illegal function", "the device does not know this function, or not now"),
    2: ("illegal address", "a register asked for, or start and count together, lies beyond the device's map"),
    3: ("illegal value", "a count or a value in the request is not allowed"),
    4: ("device failure", "the device failed while it did what was asked"),
    5: ("acknowledge", "the device is at it and takes long; ask again later"),
    6: ("busy", "the device does something else; ask again later"),
    7: ("negative acknowledge", "the device cannot do it (older devices)"),
    8: ("memory parity error", "the device found its own memory wrong"),
    10: ("no path in the gateway", "the gateway is not set up for this device"),
    11: ("target silent behind the gateway", "the device behind the gateway did not answer"),
}
"""Code → name, what it means. Modbus Application Protocol V1.1b3, section 7; 7 from older editions."""

GATEWAY = (10, 11)
"""Codes that a gateway sends for a device behind it: they prove nothing of that device's line."""

MOST_READ = {1: 2000, 2: 2000, 3: 125, 4: 125}
MOST_WRITTEN = {15: 1968, 16: 123}
"""Function → most coils or registers in one request; all but that of 10h from memory."""

MOST_SHOWN = 16
"""Registers of a reply that are listed one by one."""


class Field(NamedTuple):
    """One part of a frame: what it is called, its bytes, what they mean."""

    title: str
    data: bytes
    meaning: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What a frame says: in one line, its fields, and what is wrong in it when something is."""

    kind: str
    fields: tuple[Field, ...]
    wrong: str = ""
    is_reply: bool = False
    is_exception: bool = False
    from_gateway: bool = False


def said_in(function: int, data: bytes) -> Said:
    """Return what a function code and the data behind it say.

    >>> said_in(0x83, bytes([2])).kind
    'exception 2, illegal address, to “read holding registers”'
    """
    name = FUNCTIONS.get(function & 0x7F, f"function {function & 0x7F}")
    if function & 0x80:
        return _exception(function, name, data)
    reader = _READERS.get(function)
    said = reader(function, name, data) if reader else None
    field = Field("function", bytes([function]), name)
    if said is None:
        rest = (Field("data", data, "not taken apart here"),) if data else ()
        return Said(kind=f"“{name}”, request or reply", fields=(field, *rest), wrong=_misfit(function))
    return replace(said, fields=(field, *said.fields))


def _misfit(function: int) -> str:
    if function == 0:
        return "0 is no function; 1 to 127 are wanted"
    return "its length does not fit: bytes are missing or too many" if function in _READERS else ""


def _exception(function: int, name: str, data: bytes) -> Said:
    field = Field("function", bytes([function]), f"exception reply to “{name}” ({function & 0x7F:02d} + 80h)")
    if len(data) != 1:
        rest = (Field("data", data, "one byte is wanted here"),)
        return Said(
            kind="exception reply", fields=(field, *rest), wrong="it is five bytes long when whole", is_reply=True
        )
    title, meaning = EXCEPTIONS.get(data[0], ("a code that the protocol does not name", "see the device's data sheet"))
    return Said(
        kind=f"exception {data[0]}, {title}, to “{name}”",
        fields=(field, Field("exception code", data, f"{title}: {meaning}")),
        is_reply=True,
        is_exception=True,
        from_gateway=data[0] in GATEWAY,
    )


def _things(function: int, count: int) -> str:
    word = {1: "coil", 15: "coil", 2: "discrete input", 4: "input register"}.get(function, "holding register")
    return f"{count} {word}{'' if count == 1 else 's'}"


def _start_and_count(function: int, data: bytes, most: int) -> tuple[int, tuple[Field, ...], str]:
    start, count = struct.unpack(">HH", data[:4])
    fields = (
        Field("first address", data[:2], f"{start} (0x{start:04X})"),
        Field("how many", data[2:4], _things(function, count)),
    )
    if not 1 <= count <= most:
        return count, fields, f"{count} at once is beyond 1 to {most}; the device answers with exception 3"
    beyond = "it asks beyond address 65535; the device answers with exception 2" if start + count > 0x10000 else ""
    return count, fields, beyond


def _read(function: int, name: str, data: bytes) -> Said | None:
    """Return a request to read or its reply; a reply of three bytes of coils is as long as a request."""
    is_reply = len(data) >= 2 and data[0] == len(data) - 1 and (function <= 2 or data[0] % 2 == 0)
    if len(data) == 4:
        count, fields, wrong = _start_and_count(function, data, MOST_READ[function])
        if not (is_reply and wrong):
            unsure = " (or a reply of three bytes)" if is_reply else ""
            start = int.from_bytes(data[:2], "big")
            kind = f"request to read {_things(function, count)} from address {start}{unsure}"
            return Said(kind=kind, fields=fields, wrong=wrong)
    if not is_reply:
        return None
    length = Field("bytes that follow", data[:1], str(data[0]))
    if function <= 2:
        bits = Field("states", data[1:], "lowest bit first: " + " ".join(f"{each:08b}"[::-1] for each in data[1:]))
        return Said(kind=f"reply with {data[0]} bytes to “{name}”", fields=(length, bits), is_reply=True)
    kind = f"reply with {_things(function, data[0] // 2)}"
    return Said(kind=kind, fields=(length, *_registers(data[1:])), is_reply=True)


def _registers(data: bytes) -> tuple[Field, ...]:
    values = struct.unpack(f">{len(data) // 2}H", data)
    fields = [
        Field(
            f"register {at + 1}",
            data[2 * at : 2 * at + 2],
            _signed_too(value),
        )
        for at, value in enumerate(values[:MOST_SHOWN])
    ]
    if len(values) == 2:
        straight, swapped = (struct.unpack(">f", each)[0] for each in (data, data[2:] + data[:2]))
        fields.append(Field("both as one float", data, f"{straight:.7g}, or {swapped:.7g} with the words swapped"))
    if len(values) > MOST_SHOWN:
        fields.append(Field("more", data[2 * MOST_SHOWN :], f"{len(values) - MOST_SHOWN} registers"))
    return tuple(fields)


def _signed_too(value: int) -> str:
    return str(value) if value < 0x8000 else f"{value} or {value - 0x10000}"


def _write_one(function: int, name: str, data: bytes) -> Said | None:
    if len(data) != 4:
        return None
    address, value = struct.unpack(">HH", data)
    meaning, wrong = str(value), ""
    if function == 5:
        meaning = {0xFF00: "on", 0: "off"}.get(value, "neither FF 00 (on) nor 00 00 (off)")
        wrong = "" if value in (0, 0xFF00) else "FF 00 or 00 00 is wanted; the device answers with exception 3"
    fields = (Field("address", data[:2], f"{address} (0x{address:04X})"), Field("value", data[2:], meaning))
    return Said(kind=f"request to {name}, or the reply that repeats it", fields=fields, wrong=wrong)


def _write_many(function: int, name: str, data: bytes) -> Said | None:
    if len(data) < 4:
        return None
    count, fields, wrong = _start_and_count(function, data, MOST_WRITTEN[function])
    if len(data) == 4:
        return Said(kind=f"reply: {_things(function, count)} written", fields=fields, wrong=wrong, is_reply=True)
    wanted = 2 * count if function == 16 else (count + 7) // 8
    values = data[5:]
    if len(values) != data[4]:
        return None
    if not wrong and len(values) != wanted:
        wrong = f"{wanted} bytes of values are wanted, not {len(values)}; the device answers with exception 3"
    shown = _registers(values) if function == 16 and len(values) % 2 == 0 else (Field("values", values, "as they are"),)
    length = Field("bytes that follow", data[4:5], str(data[4]))
    kind = f"request to write {_things(function, count)} from address {int.from_bytes(data[:2], 'big')}"
    return Said(kind=kind, fields=(*fields, length, *shown), wrong=wrong)


_READERS: dict[int, Callable[[int, str, bytes], Said | None]] = {
    **dict.fromkeys(MOST_READ, _read),
    **dict.fromkeys((5, 6), _write_one),
    **dict.fromkeys(MOST_WRITTEN, _write_many),
}
"""Function → what takes its data apart; it returns None when the length fits neither request nor reply."""
