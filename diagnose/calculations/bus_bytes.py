"""Bytes as people paste them, and the CRC of Modbus RTU."""

from __future__ import annotations

import re

from diagnose.errors import OutOfRange

LONGEST_FRAME = 256
"""Most bytes of a frame: Modbus over Serial Line V1.02, 2.5.1."""

CRC_START, CRC_POLYNOMIAL = 0xFFFF, 0xA001
"""CRC-16 of Modbus RTU, reflected: Modbus over Serial Line V1.02, appendix B."""

_LABEL = re.compile(r"^\s*(?:tx|rx|request|reply|response|sent|received)\b\s*[:=>-]*", re.IGNORECASE)
_BETWEEN = re.compile(r"[\s,;:_|<>(){}\[\]\"'.-]+")


def read_bytes(text: str, least: int = 1, most: int = LONGEST_FRAME) -> bytes:
    """Return the bytes of a hexadecimal text: with spaces, commas or nothing in between, with or without ``0x``.

    Raises OutOfRange with what cannot be read, or for fewer or more bytes than wanted.

    >>> read_bytes("0x01, 0x03 0a0B").hex(" ")
    '01 03 0a 0b'
    """
    found = bytearray()
    for word in _BETWEEN.split(_LABEL.sub("", text).replace("\\x", " ")):
        found += _bytes_of(word)
    if not least <= len(found) <= most:
        wanted = f"{least}" if least == most else f"{least} to {most}"
        raise OutOfRange(f"give {wanted} bytes in hexadecimal, like `01 03 00 00`; there are {len(found)}")
    return bytes(found)


def spaced(data: bytes) -> str:
    """Format bytes for people.

    >>> spaced(bytes([1, 0xA3]))
    '01 A3'
    """
    return data.hex(" ").upper()


def crc16(data: bytes) -> int:
    """Return the CRC of Modbus RTU; its low byte is sent first.

    Source: Modbus over Serial Line V1.02, appendix B: start 0xFFFF, reflected polynomial 0xA001; 02 07 give 0x1241.

    >>> hex(crc16(bytes.fromhex("0207")))
    '0x1241'
    """
    crc = CRC_START
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc >> 1) ^ (CRC_POLYNOMIAL if crc & 1 else 0)
    return crc


def with_crc(data: bytes) -> bytes:
    """Return bytes followed by their CRC, low byte first."""
    return data + crc16(data).to_bytes(2, "little")


def has_right_crc(frame: bytes) -> bool:
    """Check whether the last two bytes are the CRC of those before them."""
    return len(frame) >= 4 and with_crc(frame[:-2]) == frame


def _bytes_of(word: str) -> bytes:
    """Return the bytes of one word: one or two digits are a byte, more are several bytes."""
    bare = re.sub(r"^0x|h$", "", word.casefold())
    if not re.fullmatch(r"[0-9a-f]*", bare, re.ASCII) or (word and not bare):
        raise OutOfRange(f"`{word}` is not hexadecimal; write bytes like `01 03 0A`")
    if len(bare) > 1 and len(bare) % 2:
        raise OutOfRange(f"`{word}` has an odd number of digits; each byte is two hexadecimal digits, like `01 03 0A`")
    return bytes.fromhex(bare.zfill(2)) if bare else b""
