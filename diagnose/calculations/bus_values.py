"""Values of two registers: byte orders of a float, and why a value arrives wrong.

Each register is sent high byte first; the order of the two registers of one value is not specified. The letters name
the bytes of the value in the order in which they arrive: ABCD is right, CDAB has the words swapped, BADC the bytes of
each word, DCBA both. Each order is its own inverse.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Iterator
from decimal import Decimal

from diagnose.calculations.bus_bytes import read_bytes, spaced
from diagnose.calculations.calculation import Column, Table, calculation
from diagnose.errors import OutOfRange

GREATEST_FLOAT = struct.unpack(">f", b"\x7f\x7f\xff\xff")[0]

ORDERS = {"ABCD": (0, 1, 2, 3), "CDAB": (2, 3, 0, 1), "BADC": (1, 0, 3, 2), "DCBA": (3, 2, 1, 0)}
"""Order → position of each byte of the value among those that arrive."""

WRONG_ORDERS = ("CDAB", "BADC", "DCBA")

ORDER_WORDS = {"ABCD": "as it is", "CDAB": "words swapped", "BADC": "bytes swapped", "DCBA": "words and bytes swapped"}

LIKELY = (1e-4, 1e7)
"""Usual range of process values: estimate."""

NEAR = 0.05
"""Relative difference up to which a value is the expected one, since process values change: estimate."""

MOST_PATTERNS = 2048
"""Most bit patterns that a value shown with few digits may stand for; with more, a match would be chance."""

SOURCE = "IEEE 754 (binary32); Modbus Application Protocol V1.1b3, 4.2 (from memory); order of registers: maker's"


@calculation(title="value of two registers", formula="IEEE 754 binary32 and integers, in four orders", source=SOURCE)
def register_readings(register_bytes: str) -> Table:
    """Return the float and the integers that four bytes are, in each of four orders.

    Raises OutOfRange for a text that is not four hexadecimal bytes. Source: IEEE 754; 42 F6 E9 79 is 123.456.

    >>> register_readings("42F6 E979").rows[0]
    ('ABCD', 123.456, 1123477881.0, 1123477881.0, 'as it is')
    """
    arrived = read_bytes(register_bytes, 4, 4)
    rows = []
    likely = []
    for order in ORDERS:
        data = reordered(arrived, order)
        value = as_float(data)
        unsigned, signed = struct.unpack(">I", data)[0], struct.unpack(">i", data)[0]
        rows.append((order, _cell(value), float(unsigned), float(signed), ORDER_WORDS[order]))
        likely += [order] if value == 0 or LIKELY[0] <= abs(value) <= LIKELY[1] else []
    found = " or ".join(likely) or "none"
    columns = (Column("order"), Column("float"), Column("unsigned"), Column("signed"), Column("meaning"))
    return Table(columns, tuple(rows), f"plausible as a float: {found}")


@calculation(title="bytes of a value", formula="IEEE 754 binary32 in four orders", source=SOURCE)
def register_bytes_of_value(register_value: float) -> Table:
    """Return the bytes of a value as a float, and of a whole number as a 32-bit integer, in each of four orders.

    Raises OutOfRange for a number that is too great for a float. Source: IEEE 754; 123.456 is 42 F6 E9 79.

    >>> register_bytes_of_value(123.456).rows[1]
    ('CDAB', 'E9 79 42 F6', '-', 'words swapped')
    """
    plain = struct.pack(">f", register_value)
    whole = _integer_bytes(register_value)
    rows = tuple(
        (order, spaced(reordered(plain, order)), spaced(reordered(whole, order)) if whole else "-", ORDER_WORDS[order])
        for order in ORDERS
    )
    return Table((Column("order"), Column("as a float"), Column("as an integer"), Column("meaning")), rows)


@calculation(
    title="why the value arrives wrong",
    formula="value sent if the shown value was read with one mistake; it fits within 5 %",
    source=f"{SOURCE}; 5 %: estimate",
    valid="give every digit that is shown; the expected value may be approximate",
)
def wrong_value(value_shown: float, value_expected: float) -> Table:
    """Return which mistake in reading registers turns the expected value into the one shown.

    Raises OutOfRange for an expected value of zero. Source: IEEE 754; 1 with its words swapped shows as 65536.

    >>> wrong_value(65536.0, 1.0).remark
    '32-bit integer, words swapped'
    """
    if value_expected == 0:
        raise OutOfRange("an expected value of zero shows nothing; take a moment with another value")
    columns = (Column("mistake"), Column("value sent"), Column("fits"))
    rows: list[tuple[str, float, str]] = []
    for mistake, sent in _mistakes(value_shown):
        candidates = [each for each in sent if math.isfinite(each)]
        if candidates:
            nearest = min(candidates, key=lambda each: abs(each - value_expected))
            rows.append((mistake, nearest, "yes" if _near(nearest, value_expected) else "no"))
    if _near(value_shown, value_expected):
        return Table(columns, tuple(rows), "none: the value shown is the one expected")
    rows += _scaled(value_shown, value_expected)
    fitting = [mistake for mistake, _, fits in rows if fits == "yes"]
    none = f"none of these; the ratio is {value_shown / value_expected:.6g}: another unit, scale or register?"
    return Table(columns, tuple(rows), "; or ".join(fitting) or none)


def reordered(data: bytes, order: str) -> bytes:
    """Return four bytes put into another order; doing it twice gives them back.

    >>> reordered(bytes.fromhex("42F6E979"), "CDAB").hex()
    'e97942f6'
    """
    return bytes(data[at] for at in ORDERS[order])


def as_float(data: bytes) -> float:
    """Return four bytes as a float, high byte first."""
    return float(struct.unpack(">f", data)[0])


def _cell(value: float) -> float | str:
    if math.isfinite(value):
        return value
    return "not a number" if math.isnan(value) else f"{'-' if value < 0 else ''}infinite"


def _integer_bytes(value: float) -> bytes:
    if value != int(value) or not -(2**31) <= value < 2**32:
        return b""
    return (int(value) % 2**32).to_bytes(4, "big")


def _near(value: float, expected: float) -> bool:
    return abs(value - expected) <= NEAR * abs(expected)


def _mistakes(shown: float) -> Iterator[tuple[str, Iterator[float]]]:
    """Yield the possible mistakes, each with the values that it would turn into ``shown``."""
    for order in WRONG_ORDERS:
        yield f"float, {ORDER_WORDS[order]}", (as_float(reordered(each, order)) for each in _patterns(shown))
    yield "32-bit integer read as a float", (float(int.from_bytes(each, signed=True)) for each in _patterns(shown))
    if _integer_bytes(shown):
        yield from _mistakes_with_integers(int(shown))


def _mistakes_with_integers(shown: int) -> Iterator[tuple[str, Iterator[float]]]:
    arrived = _integer_bytes(shown)
    for order in WRONG_ORDERS:
        yield f"32-bit integer, {ORDER_WORDS[order]}", _integers(reordered(arrived, order))
    yield "float read as a 32-bit integer", iter([as_float(arrived)])
    yield "float read as a 32-bit integer, words swapped", iter([as_float(reordered(arrived, "CDAB"))])
    if -(2**15) <= shown < 2**16:
        yield "16-bit integer, bytes swapped", _integers(arrived[:1:-1])
        yield "only the first register of a float, read as an integer", iter([as_float(arrived[2:] + b"\x80\0")])
    for bits in (16, 32):
        if 2 ** (bits - 1) <= shown < 2**bits:
            yield f"negative {bits}-bit integer read as unsigned", iter([float(shown - 2**bits)])
        if -(2 ** (bits - 1)) <= shown < 0:
            yield f"unsigned {bits}-bit integer read as signed", iter([float(shown + 2**bits)])


def _integers(data: bytes) -> Iterator[float]:
    """Yield bytes as an unsigned and as a signed integer."""
    return iter([float(int.from_bytes(data)), float(int.from_bytes(data, signed=True))])


def _patterns(shown: float) -> Iterator[bytes]:
    """Yield the floats that are displayed as ``shown``; only the nearest if there are too many."""
    magnitude = abs(shown)
    if magnitude > GREATEST_FLOAT:
        return
    half = 10.0 ** _last_digit(shown) / 2
    low, high = _bits(max(magnitude - half, 0.0)), _bits(min(magnitude + half, GREATEST_FLOAT))
    if high - low > MOST_PATTERNS:
        low = high = _bits(magnitude)
    sign = 1 << 31 if shown < 0 else 0
    for bits in range(low, high + 1):
        yield (sign | bits).to_bytes(4, "big")


def _last_digit(shown: float) -> int:
    """Return the power of ten of the last digit of a number as written."""
    return int(Decimal(repr(shown)).normalize().as_tuple().exponent)


def _bits(magnitude: float) -> int:
    return int.from_bytes(struct.pack(">f", magnitude), "big")


def _scaled(shown: float, expected: float) -> list[tuple[str, float, str]]:
    """Return the powers of ten between the two values, as rows."""
    return [
        (f"scaled by {10.0**power:g}: the scale factor of the register was ignored", shown / 10.0**power, "yes")
        for power in range(-6, 7)
        if power and _near(shown / 10.0**power, expected)
    ]
