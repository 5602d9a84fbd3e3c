"""The contents of a Modbus frame between address and CRC: requests, replies and exception replies, field by field.

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
    1: ("illegal function", "the device does not support this function, or not in its present state"),
    2: ("illegal address", "a requested register is outside the register map of the device"),
    3: ("illegal value", "a count or a value in the request is not allowed"),
    4: ("device failure", "the device failed while it processed the request"),
    5: ("acknowledge", "the device is still processing the request; poll again later"),
    6: ("busy", "the device is busy with something else; try again later"),
    7: ("negative acknowledge", "the device cannot do it (older devices)"),
    8: ("memory parity error", "the device detected a parity error in its memory"),
    10: ("no path in the gateway", "the gateway is not set up for this device"),
    11: ("target silent behind the gateway", "the device behind the gateway did not answer"),
}
"""Code → name, what it means. Modbus Application Protocol V1.1b3, section 7; 7 from older editions."""

GATEWAY = (10, 11)
"""Codes that a gateway sends for a device behind it: they prove nothing about the line of that device."""

MOST_READ = {1: 2000, 2: 2000, 3: 125, 4: 125}
MOST_WRITTEN = {15: 1968, 16: 123}
"""Function → most coils or registers in one request; all but that of 10h from memory."""

MOST_SHOWN = 16
"""Registers of a reply that are listed one by one."""


class FrameField(NamedTuple):
    """A field of a frame: its title, its bytes and their meaning."""

    title: str
    data: bytes
    meaning: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameContents:
    """The contents of a frame: a summary, its fields, and what is wrong with it, if anything."""

    kind: str
    fields: tuple[FrameField, ...]
    wrong: str = ""
    is_reply: bool = False
    is_exception: bool = False
    from_gateway: bool = False


def parse_frame(function: int, data: bytes) -> FrameContents:
    """Parse a function code and the data after it.

    >>> parse_frame(0x83, bytes([2])).kind
    'exception 2, illegal address, to “read holding registers”'
    """
    name = FUNCTIONS.get(function & 0x7F, f"function {function & 0x7F}")
    if function & 0x80:
        return _exception(function, name, data)
    parser = _PARSERS.get(function)
    contents = parser(function, name, data) if parser else None
    field = FrameField("function", bytes([function]), name)
    if contents is None:
        rest = (FrameField("data", data, "not decoded here"),) if data else ()
        return FrameContents(kind=f"“{name}”, request or reply", fields=(field, *rest), wrong=_length_problem(function))
    return replace(contents, fields=(field, *contents.fields))


def _length_problem(function: int) -> str:
    if function == 0:
        return "0 is not a function code; they run from 1 to 127"
    return "its length does not fit: there are too few or too many bytes" if function in _PARSERS else ""


def _exception(function: int, name: str, data: bytes) -> FrameContents:
    field = FrameField("function", bytes([function]), f"exception reply to “{name}” ({function & 0x7F:02d} + 80h)")
    if len(data) != 1:
        rest = (FrameField("data", data, "this should be one byte"),)
        return FrameContents(
            kind="exception reply", fields=(field, *rest), wrong="a complete one is five bytes long", is_reply=True
        )
    title, meaning = EXCEPTIONS.get(data[0], ("a code that is not in the protocol", "see the device's data sheet"))
    return FrameContents(
        kind=f"exception {data[0]}, {title}, to “{name}”",
        fields=(field, FrameField("exception code", data, f"{title}: {meaning}")),
        is_reply=True,
        is_exception=True,
        from_gateway=data[0] in GATEWAY,
    )


def _items(function: int, count: int) -> str:
    word = {1: "coil", 15: "coil", 2: "discrete input", 4: "input register"}.get(function, "holding register")
    return f"{count} {word}{'' if count == 1 else 's'}"


def _start_and_count(function: int, data: bytes, most: int) -> tuple[int, tuple[FrameField, ...], str]:
    start, count = struct.unpack(">HH", data[:4])
    fields = (
        FrameField("first address", data[:2], f"{start} (0x{start:04X})"),
        FrameField("count", data[2:4], _items(function, count)),
    )
    if not 1 <= count <= most:
        return count, fields, f"a count of {count} is outside 1 to {most}; the device answers with exception 3"
    beyond = "it goes beyond address 65535; the device answers with exception 2" if start + count > 0x10000 else ""
    return count, fields, beyond


def _read(function: int, name: str, data: bytes) -> FrameContents | None:
    """Parse a read request or its reply; a reply with three bytes of coils is as long as a request."""
    is_reply = len(data) >= 2 and data[0] == len(data) - 1 and (function <= 2 or data[0] % 2 == 0)
    if len(data) == 4:
        count, fields, wrong = _start_and_count(function, data, MOST_READ[function])
        if not (is_reply and wrong):
            unsure = " (or a reply of three bytes)" if is_reply else ""
            start = int.from_bytes(data[:2], "big")
            kind = f"request to read {_items(function, count)} from address {start}{unsure}"
            return FrameContents(kind=kind, fields=fields, wrong=wrong)
    if not is_reply:
        return None
    length = FrameField("bytes that follow", data[:1], str(data[0]))
    if function <= 2:
        bits = FrameField("states", data[1:], "lowest bit first: " + " ".join(f"{each:08b}"[::-1] for each in data[1:]))
        return FrameContents(kind=f"reply with {data[0]} bytes to “{name}”", fields=(length, bits), is_reply=True)
    kind = f"reply with {_items(function, data[0] // 2)}"
    return FrameContents(kind=kind, fields=(length, *_registers(data[1:])), is_reply=True)


def _registers(data: bytes) -> tuple[FrameField, ...]:
    values = struct.unpack(f">{len(data) // 2}H", data)
    fields = [
        FrameField(
            f"register {at + 1}",
            data[2 * at : 2 * at + 2],
            _with_signed(value),
        )
        for at, value in enumerate(values[:MOST_SHOWN])
    ]
    if len(values) == 2:
        straight, swapped = (struct.unpack(">f", each)[0] for each in (data, data[2:] + data[:2]))
        fields.append(FrameField("both as a float", data, f"{straight:.7g}, or {swapped:.7g} with the words swapped"))
    if len(values) > MOST_SHOWN:
        fields.append(FrameField("more", data[2 * MOST_SHOWN :], f"{len(values) - MOST_SHOWN} registers"))
    return tuple(fields)


def _with_signed(value: int) -> str:
    return str(value) if value < 0x8000 else f"{value} or {value - 0x10000}"


def _write_one(function: int, name: str, data: bytes) -> FrameContents | None:
    if len(data) != 4:
        return None
    address, value = struct.unpack(">HH", data)
    meaning, wrong = str(value), ""
    if function == 5:
        meaning = {0xFF00: "on", 0: "off"}.get(value, "neither FF 00 (on) nor 00 00 (off)")
        wrong = "" if value in (0, 0xFF00) else "it must be FF 00 or 00 00; the device answers with exception 3"
    fields = (FrameField("address", data[:2], f"{address} (0x{address:04X})"), FrameField("value", data[2:], meaning))
    return FrameContents(kind=f"request to {name}, or the reply that repeats it", fields=fields, wrong=wrong)


def _write_many(function: int, name: str, data: bytes) -> FrameContents | None:
    if len(data) < 4:
        return None
    count, fields, wrong = _start_and_count(function, data, MOST_WRITTEN[function])
    if len(data) == 4:
        return FrameContents(
            kind=f"reply: {_items(function, count)} written", fields=fields, wrong=wrong, is_reply=True
        )
    wanted = 2 * count if function == 16 else (count + 7) // 8
    values = data[5:]
    if len(values) != data[4]:
        return None
    if not wrong and len(values) != wanted:
        wrong = f"there should be {wanted} bytes of values, not {len(values)}; the device answers with exception 3"
    shown = (
        _registers(values) if function == 16 and len(values) % 2 == 0 else (FrameField("values", values, "undecoded"),)
    )
    length = FrameField("bytes that follow", data[4:5], str(data[4]))
    kind = f"request to write {_items(function, count)} from address {int.from_bytes(data[:2], 'big')}"
    return FrameContents(kind=kind, fields=(*fields, length, *shown), wrong=wrong)


_PARSERS: dict[int, Callable[[int, str, bytes], FrameContents | None]] = {
    **dict.fromkeys(MOST_READ, _read),
    **dict.fromkeys((5, 6), _write_one),
    **dict.fromkeys(MOST_WRITTEN, _write_many),
}
"""Function → parser of its data, which returns None if the length fits neither request nor reply."""
