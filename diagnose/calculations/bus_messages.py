"""Messages of Modbus RTU: their CRC, whether a frame is intact, and what it means.

Modbus Application Protocol V1.1b3 (functions, exceptions) and Modbus over Serial Line V1.02 (frame, CRC).
"""

from __future__ import annotations

import re

from diagnose.calculations.bus_bytes import LONGEST_FRAME, crc16, has_right_crc, read_bytes, spaced, with_crc
from diagnose.calculations.bus_frames import FrameContents, FrameField, parse_frame
from diagnose.calculations.calculation import Column, Table, calculation
from diagnose.errors import OutOfRange

CRC_SOURCE = "Modbus over Serial Line V1.02, appendix B (start 0xFFFF, reflected polynomial 0xA001)"
PROTOCOL = "Modbus Application Protocol V1.1b3"
FUNCTIONS_SOURCE = f"{PROTOCOL}; functions and their counts from memory, but for 10h"

NUMBERS_SOURCE = f"{PROTOCOL}, 4.4 (from memory); five-digit numbers: common practice"

REGISTER_TABLES = {
    "0": ("coil", 1),
    "1": ("discrete input", 2),
    "3": ("input register", 4),
    "4": ("holding register", 3),
}
"""First digit of a register's number → kind, function that reads it."""

_HEXADECIMAL = re.compile(r"(?:0x|&h|h')([0-9a-f]{1,4})'?", re.IGNORECASE)
_OF_WORDS = (3, 4)
"""Functions that read registers of 16 bits."""

NOISE = "the line is not quiet between frames, check the bias"

PROVES = "any exception reply of the device proves that wiring, baud rate, parity and address are right"


@calculation(title="CRC of a message", formula="CRC-16, low byte first on the wire", source=CRC_SOURCE)
def message_crc(message_bytes: str) -> Table:
    """Return the CRC of a message's bytes (a hexadecimal text) and the whole frame.

    Raises OutOfRange for a text that is not hexadecimal or longer than 254 bytes. Source: Modbus over Serial Line
    V1.02, appendix B; 02 07 give 0x1241, 01 03 00 00 00 04 give 0x0944.

    >>> message_crc("01 03 00 00 00 04").rows[-1][1]
    '01 03 00 00 00 04 44 09'
    """
    message = read_bytes(message_bytes, 1, LONGEST_FRAME - 2)
    frame = with_crc(message)
    rows = (
        ("CRC as a number", f"0x{crc16(message):04X}"),
        ("on the wire, low byte first", spaced(frame[-2:])),
        ("complete frame", spaced(frame)),
    )
    if has_right_crc(message):
        text = "the last two bytes are already the CRC of those before them: this is a complete frame"
        return Table((Column("what"), Column("value")), rows, text)
    return Table((Column("what"), Column("value")), rows)


@calculation(
    title="CRC of the frame",
    formula="last two bytes = CRC-16 of those before them, low byte first",
    source=CRC_SOURCE,
    valid="at most 256 bytes",
)
def frame_check(frame_bytes: str) -> Table:
    """Check the CRC of a frame and, if it is wrong, look for a simple reason.

    Raises OutOfRange for a text that is not hexadecimal, or beyond 4 to 256 bytes. Source: Modbus over Serial Line
    V1.02, appendix B.

    >>> frame_check("01 03 00 00 00 04 09 44").remark
    'the CRC is right with its two bytes swapped; Modbus sends the low byte first'
    """
    frame = _frame(frame_bytes)
    rows = (
        ("bytes", str(len(frame))),
        ("CRC in the frame", spaced(frame[-2:])),
        ("correct CRC", spaced(with_crc(frame[:-2])[-2:])),
    )
    remark = _of_crc(frame)
    return Table((Column("what"), Column("value")), rows, remark)


@calculation(title="meaning of the frame", formula="address, function, data, CRC", source=FUNCTIONS_SOURCE)
def frame_meaning(frame_bytes: str) -> Table:
    """Decode a request, a reply or an exception reply, field by field.

    Raises OutOfRange for a text that is not hexadecimal, or beyond 4 to 256 bytes. Source: Modbus Application Protocol
    V1.1b3.

    >>> frame_meaning("01 03 00 00 00 04 44 09").remark
    'request to read 4 holding registers from address 0, to device 1'
    """
    frame = _frame(frame_bytes)
    contents = parse_frame(frame[1], frame[2:-2])
    crc = "right" if has_right_crc(frame) else "wrong"
    fields = (_address(frame[0]), *contents.fields, FrameField("CRC", frame[-2:], crc))
    remark = _of_frame(frame, contents)
    rows = tuple((each.title, spaced(each.data), each.meaning) for each in fields)
    return Table((Column("field"), Column("bytes"), Column("meaning")), rows, remark)


@calculation(
    title="register address in the request",
    formula="address sent = number - 1, without the first digit; 0x... is the address itself",
    source=NUMBERS_SOURCE,
    valid="a data sheet may count from 0: if every value is that of its neighbour, shift by one",
)
def register_address(register_notation: str) -> Table:
    """Return the request for a register that a data sheet numbers like 40001 or 400001.

    Raises OutOfRange for a text that is no such number. Source: Modbus Application Protocol V1.1b3, 4.4 (counted from
    0 in the request); the numbers are common practice. 40001 is holding register 0. ``0x0064`` is a hexadecimal
    address as it is sent, of a kind that it does not say.

    >>> register_address("40001").rows[1], register_address("0x0064").rows[0]
    (('address in the request', '0 (0x0000)'), ('address in the request', '100 (0x0064)'))
    """
    hexadecimal = _HEXADECIMAL.fullmatch(register_notation.strip())
    if hexadecimal:
        return _of_hexadecimal(int(hexadecimal[1], 16), register_notation.strip())
    digits = register_notation.strip().casefold().replace("x", "", 1)
    number = int(digits[1:]) if re.fullmatch("[0134][0-9]{4,5}", digits) else 0
    if not 1 <= number <= 65536:
        raise OutOfRange(
            f"`{register_notation.strip()[:40]}` is not a register number; write five or six digits, like 40001, "
            "beginning with 0 (coil), 1 (discrete input), 3 (input register) or 4 (holding register), or an address in "
            "hexadecimal, like 0x0064"
        )
    kind, function = REGISTER_TABLES[digits[0]]
    address = number - 1
    rows = (
        ("kind", f"{kind}, read with function {function:02d}"),
        ("address in the request", f"{address} (0x{address:04X})"),
        ("request after the device address", spaced(bytes([function]) + address.to_bytes(2, "big") + b"\0\1")),
        ("off by one would be", " or ".join(str(each) for each in (address - 1, address + 1) if 0 <= each <= 0xFFFF)),
    )
    return Table((Column("what"), Column("value")), rows)


@calculation(
    title="register number in data sheets",
    formula="number = address + 1, after the digit of its kind",
    source=NUMBERS_SOURCE,
)
def register_numbers(wire_address: float, register_table: str) -> Table:
    """Return the five-digit and six-digit numbers in data sheets of a register by its address in a request.

    Raises OutOfRange for an address beyond 0 to 65535 or one that is not whole. Source: Modbus Application Protocol
    V1.1b3, 4.4; the numbers are common practice. Holding register 107 is 40108.

    >>> register_numbers(107.0, "holding register").rows[0]
    ('five digits', '40108')
    """
    if wire_address != int(wire_address):
        raise OutOfRange(f"an address must be whole; it is {wire_address:g}")
    number = int(wire_address) + 1
    digit = next(digit for digit, (kind, _) in REGISTER_TABLES.items() if kind == register_table)
    five = f"{digit}{number:04d}" if number <= 9999 else "not possible beyond 9999"
    return Table((Column("by"), Column("number")), (("five digits", five), ("six digits", f"{digit}{number:05d}")))


def _of_hexadecimal(address: int, written: str) -> Table:
    """Return the requests for an address as it is sent; digits alone might also be a coil's number with an x."""
    registers = [each for each in REGISTER_TABLES.values() if each[1] in _OF_WORDS]
    rows = (
        ("address in the request", f"{address} (0x{address:04X})"),
        *(
            (f"to read it as {kind}", spaced(bytes([function]) + address.to_bytes(2, "big") + b"\0\1"))
            for kind, function in registers
        ),
        *((f"number of it as {kind}", f"{digit}{address + 1:05d}") for digit, (kind, _) in REGISTER_TABLES.items()),
    )
    digits = written[2:]
    coil = f"; for coil {int(digits)} write 0{int(digits):04d}" if digits.isdigit() and 1 <= int(digits) <= 9999 else ""
    return Table((Column("what"), Column("value")), rows, f"taken as a hexadecimal address{coil}")


def _frame(text: str) -> bytes:
    return read_bytes(text, 4, LONGEST_FRAME)


def _of_crc(frame: bytes) -> str:
    if has_right_crc(frame) and _ends_before_zero(frame):
        return f"the CRC is right, but the frame ends before the last 00, which a CRC cannot detect: {NOISE}"
    if has_right_crc(frame):
        return "the CRC is right: the frame is intact"
    if with_crc(frame[:-2])[:-3:-1] == frame[-2:]:
        return "the CRC is right with its two bytes swapped; Modbus sends the low byte first"
    split = next((at for at in range(4, len(frame) - 3) if _two_frames(frame, at)), 0)
    if split:
        return f"these are two frames: the first ends after byte {split}; check each separately"
    for least in (1, 2):
        if has_right_crc(frame[least:]):
            return f"the CRC is right without the first {spaced(frame[:least])}: {NOISE}"
        if has_right_crc(frame[:-least]):
            return f"the CRC is right without the last {spaced(frame[-least:])}: {NOISE}"
    return "the CRC is wrong: noise, a truncated or merged frame, another baud rate, or no CRC was pasted"


def _two_frames(frame: bytes, at: int) -> bool:
    return has_right_crc(frame[:at]) and has_right_crc(frame[at:])


def _ends_before_zero(frame: bytes) -> bool:
    """Check whether a valid frame fits its function only without its last zero: a CRC of zero stays zero."""
    if len(frame) < 5 or frame[-1]:
        return False
    return bool(parse_frame(frame[1], frame[2:-2]).wrong) and not parse_frame(frame[1], frame[2:-3]).wrong


def _address(address: int) -> FrameField:
    if address == 0:
        return FrameField("address", b"\0", "0: broadcast to all devices; none replies")
    reserved = "" if address <= 247 else ": reserved, valid are 1 to 247"
    return FrameField("address", bytes([address]), f"device {address}{reserved}")


def _of_frame(frame: bytes, contents: FrameContents) -> str:
    if not has_right_crc(frame):
        return f"the CRC is wrong, so none of this can be trusted; it reads: {contents.kind}"
    if contents.wrong:
        return f"{contents.kind}: {contents.wrong}"
    if frame[0] > 247:
        return f"{contents.kind}, but address {frame[0]} is reserved; valid are 1 to 247"
    if contents.from_gateway:
        return (
            f"{contents.kind}; this is from a gateway: it proves the path to the gateway, but nothing about the device"
        )
    if contents.is_exception:
        return f"{contents.kind}; {PROVES}: check the request and the register map"
    if frame[0] == 0:
        return f"{contents.kind}, broadcast to all devices; expect no reply"
    return f"{contents.kind}, {'from' if contents.is_reply else 'to'} device {frame[0]}"
