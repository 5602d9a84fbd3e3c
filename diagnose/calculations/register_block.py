"""Raw registers of 16 bits as every type and order in which devices send values, the likely one first.

How likely a reading is goes by how seldom bits that mean nothing would look like a value so well (a small integer in 32
bits, a float of usual size with few digits), by how often flow meters send such a type, and by what is known of the
flow. Registers that hold nothing are common, so that a zero tells little, and a value of zero nothing at all. The
letters name the bytes of a value in the order in which they arrive.
"""

from __future__ import annotations

import math
import re
import struct
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple, TypeGuard

from diagnose.calculations.calculation import Column, Table, calculation
from diagnose.errors import OutOfRange
from diagnose.terms import TERMS
from diagnose.units import unit_info

MOST_REGISTERS = 125
"""Most registers of one request: Modbus Application Protocol V1.1b3, 6.3 (from memory)."""

MOST_ROWS = 24

SMALLEST, LARGEST = 1e-4, 1e7
"""Usual range of process values: estimate."""

NEAR = 0.05
"""Relative difference up to which a value is the expected one, since process values change: estimate."""

LEAST_TELLING = 0.5
"""Power of ten: what one in three meaningless patterns would look like is not shown."""

NEAR_TELLS, SCALED_TELLS = 6.0, 3.0
"""How much more an expected value tells, met as it is or by a factor of ten: estimate."""

IN_RANGE_TELLS, USUAL_TELLS = 1.0, 2.0
"""How much more a value tells that is in the measuring range, or near the usual flow, in some usual unit: estimate."""

USUAL_WITHIN = 0.3
"""Share of the usual flow by which a flow differs from it on most days: estimate."""

LEAST_OF_RANGE, MOST_OF_RANGE = 0.01, 1.1
"""Shares of the upper range value between which a flow mostly lies: estimate."""

LARGEST_TOTAL = 1e9
"""A larger integer is no total of a meter, but registers of several values read as one: estimate."""

HARDLY_TOLD_APART = 0.5

IDLE = 0.05
"""Share of registers that hold nothing, where the others do not tell another one: estimate."""

TELLS_NOTHING = 0.0

MOST_ALIKE = 9
"""Up to here a number is the same as a decimal digit and as a binary one."""

SOURCE = "IEEE 754 (binary32, binary64); two's complement; order of bytes and registers: maker's"

TYPE, ORDER, FLOW_UNIT = "register-type", "register-order", "register-flow-unit"
"""Terms that say how often a type and an order are met, and in which units a flow is sent."""

_ORDERS = ("as it is", "words swapped", "bytes swapped", "words and bytes swapped")

_DECIMAL, _HEXADECIMAL = re.compile(r"-?\d{1,5}"), re.compile(r"(?:0x)?([0-9a-f]{1,4})h?", re.IGNORECASE)


class _Reading(NamedTuple):
    """One way to read some of the registers; ``telling`` is the power of ten by which chance seldom looks so."""

    registers: str
    kind: str
    order: str
    value: float
    shown: str
    telling: float
    why: str

    @property
    def row(self) -> tuple[str, ...]:
        return (self.registers, self.kind, self.order, self.shown, self.why)


@calculation(
    title="what the registers can mean",
    formula="integers of 16, 32, 64 bits, BCD and IEEE 754 floats in four orders, the most telling first",
    source=SOURCE,
    valid="how likely is an estimate; a second reading at another flow decides",
)
def register_block(
    registers: str,
    value_expected: float | str = "",
    upper_range_value: float | str = "",
    usual_flow: float | str = "",
) -> Table:
    """Return every plausible value of raw registers, by type and order, the likely one first.

    ``registers`` are 16-bit numbers, decimal or hexadecimal, in the order in which they were read. Raises OutOfRange
    for what is no such list. Source: IEEE 754; 42F6 E979 is 123.456 as a float.

    >>> register_block("0x42F6 0xE979").rows[0][:4]
    ('1-2', '32-bit float', 'ABCD, as it is', '123.456')
    """
    words = read_registers(registers)
    expected = value_expected if isinstance(value_expected, float | int) else None
    held = _held_against(_plausible(words), expected)
    found = sorted((_beside_flow(each, upper_range_value, usual_flow) for each in held), key=_rank)
    columns = (Column("registers"), Column("type"), Column("order"), Column("value"), Column("why"))
    return Table(columns, tuple(each.row for each in found[:MOST_ROWS]), _remark(words, found, registers))


def _rank(reading: _Reading) -> float:
    return -_oftener(ORDER, reading.order.partition(", ")[2]) - reading.telling


def _oftener(term: str, word: str) -> float:
    """Return by which power of ten one word of a term is met more often than the first."""
    known = TERMS[term]
    return math.log10(known.share_of(word) / known.share_of(known.choices[0]))


def read_registers(text: str) -> tuple[int, ...]:
    """Return 16-bit numbers in a text: decimal, or hexadecimal where a letter or ``0x`` says so.

    Raises OutOfRange where it cannot be told which, or for what is no such number.

    >>> read_registers("17142, 59769") == read_registers("[0x42F6 0xE979]") == read_registers("42F6 E979")
    True
    """
    parts = [each for each in re.split(r"[\s,;|\[\](){}]+", text) if each]
    if not parts or len(parts) > MOST_REGISTERS:
        raise OutOfRange(f"give 1 to {MOST_REGISTERS} registers, like `17142 59769` or `0x42F6 0xE979`")
    if all(_DECIMAL.fullmatch(each) for each in parts):
        return tuple(map(_decimal, parts, [parts] * len(parts)))
    found = [_HEXADECIMAL.fullmatch(each) for each in parts]
    for part, match in zip(parts, found, strict=True):
        if match is None:
            raise OutOfRange(
                f"`{part[:20]}` is no register of 16 bits; write them like `17142 59769` or `0x42F6 0xE979`"
            )
    return tuple(int(match[1], 16) for match in found if match)


def _decimal(part: str, parts: Sequence[str]) -> int:
    if len(part) > 1 and part.startswith("0"):
        hexadecimal = " ".join(f"0x{each}" for each in parts)
        decimal = " ".join(each.lstrip("0") or "0" for each in parts)
        raise OutOfRange(f"`{part}` is not clear; did you mean `{hexadecimal[:60]}` or `{decimal[:60]}`?")
    number = int(part)
    if not -(2**15) <= number < 2**16:
        raise OutOfRange(f"`{part}` does not fit a register of 16 bits (-32768 to 65535)")
    return number % 2**16


def _plausible(words: Sequence[int]) -> Iterator[_Reading]:
    """Go through all readings of all registers that look like a value."""
    zeros = sum(word == 0 for word in words)
    for count in (1, 2, 4):
        for start in range(len(words) - count + 1):
            own = words[start : start + count]
            data = struct.pack(f">{count}H", *own)
            outside = zeros - sum(word == 0 for word in own)
            chance = max(IDLE, outside / (len(words) - count + 1))
            where = f"{start + 1}" if count == 1 else f"{start + 1}-{start + count}"
            for order, arranged in _orders(data, count):
                yield from _integers(where, order, arranged, chance)
                yield from _floats(where, order, arranged, chance)
                yield from _decimals(where, order, arranged, chance)


def _orders(data: bytes, count: int) -> Iterator[tuple[str, bytes]]:
    """Return the bytes in each order: words or bytes swapped, or both."""
    letters = bytes(range(ord("A"), ord("A") + len(data)))
    seen: set[bytes] = set()
    ways: tuple[Callable[[bytes], bytes], ...] = (bytes, _words_swapped, _bytes_swapped, lambda each: each[::-1])
    for word, way in zip(_ORDERS, ways, strict=True):
        if way(data) not in seen and (count > 1 or way in (bytes, _bytes_swapped)):
            seen.add(way(data))
            yield f"{way(letters).decode()}, {word}", way(data)


def _words_swapped(data: bytes) -> bytes:
    return b"".join(data[at : at + 2] for at in reversed(range(0, len(data), 2)))


def _bytes_swapped(data: bytes) -> bytes:
    return b"".join(data[at : at + 2][::-1] for at in range(0, len(data), 2))


def _too_much(words: int, chance: float) -> float:
    """Return by what zeros in whole registers tell less than any other bits would, since registers are often empty."""
    return words * max(0.0, 16 * math.log10(2) + math.log10(chance))


def _integers(where: str, order: str, data: bytes, chance: float) -> Iterator[_Reading]:
    bits = 8 * len(data)
    unsigned, signed = int.from_bytes(data), int.from_bytes(data, signed=True)
    kinds = (
        [(unsigned, "integer, signed or not")]
        if unsigned == signed
        else [(unsigned, "unsigned integer"), (signed, "signed integer")]
    )
    for value, kind in kinds:
        telling = bits * math.log10(2) - math.log10(2 * abs(value) + 1)
        telling = max(0.0, telling - _too_much((len(data) - len(data.lstrip(b"\0"))) // 2, chance))
        plain = bits == 16 and order.endswith(_ORDERS[0])
        if not value:
            if order.endswith(_ORDERS[0]):
                yield _Reading(where, f"{bits}-bit {kind}", order, 0.0, "0", TELLS_NOTHING, "zero in every type")
        elif (telling >= LEAST_TELLING and abs(value) <= LARGEST_TOTAL) or plain:
            why = (
                f"small for {bits} bits{_by_chance(telling)}" if telling >= 1 else f"any {bits} bits are such a number"
            )
            telling += _oftener(TYPE, f"{bits}-bit integer")
            yield _Reading(where, f"{bits}-bit {kind}", order, float(value), str(value), max(telling, 0.0), why)


def _floats(where: str, order: str, data: bytes, chance: float) -> Iterator[_Reading]:
    if len(data) == 2:
        return
    form, exponents, digits = (">f", 256, 7.2) if len(data) == 4 else (">d", 2048, 15.95)
    value = float(struct.unpack(form, data)[0])
    if not math.isfinite(value) or not SMALLEST <= abs(value) <= LARGEST:
        return
    shown = _shortest(value, form)
    of_size = math.log10(exponents / math.log2(LARGEST / SMALLEST))
    zeros = (fraction & -fraction).bit_length() - 1 if (fraction := int.from_bytes(data)) else 0
    few = max(0.0, digits - _digits(shown), zeros * math.log10(2))
    few = max(0.0, few - _too_much((len(data) - len(data.rstrip(b"\0"))) // 2, chance))
    roundness = f", {_digits(shown)} digits" if few >= 1 else ""
    telling = of_size + few
    bits = 8 * len(data)
    why = f"usual size{roundness}{_by_chance(telling)}"
    yield _Reading(where, f"{bits}-bit float", order, value, shown, telling + _oftener(TYPE, f"{bits}-bit float"), why)


def _decimals(where: str, order: str, data: bytes, chance: float) -> Iterator[_Reading]:
    """Go through the number of a decimal digit in each half of a byte (BCD), where all are digits."""
    digits, bits = data.hex(), 8 * len(data)
    if bits > 32 or not digits.isdecimal() or int(digits) <= MOST_ALIKE or "bytes" in order:
        return
    value = int(digits)
    telling = bits * math.log10(2) - math.log10(value + 1)
    telling = max(0.0, telling - _too_much((len(data) - len(data.lstrip(b"\0"))) // 2, chance))
    why = f"a decimal digit in each half of a byte{_by_chance(telling)}"
    yield _Reading(
        where, f"{bits}-bit BCD", order, float(value), str(value), telling + _oftener(TYPE, f"{bits}-bit BCD"), why
    )


def _shortest(value: float, form: str) -> str:
    """Return the fewest digits that stand for a float of its precision."""
    for digits in range(1, 17):
        text = f"{value:.{digits}g}"
        if struct.pack(form, float(text)) == struct.pack(form, value):
            return f"{float(text):.15g}" if digits < 16 else text
    return repr(value)


def _digits(shown: str) -> int:
    return len(shown.partition("e")[0].replace("-", "").replace(".", "").strip("0")) or 1


def _by_chance(telling: float) -> str:
    return f"; by chance one in {10 ** round(telling):,}" if telling >= 1 else ""


def _held_against(found: Iterator[_Reading], expected: float | None) -> Iterator[_Reading]:
    """Go through the readings; those that meet an expected value tell so much more."""
    for each in found:
        power = None if not expected else _power(each.value, expected)
        if power is None:
            yield each
        elif power == 0:
            yield each._replace(telling=each.telling + NEAR_TELLS, why=f"near the expected value; {each.why}")
        else:
            why = f"the expected value times {10.0**power:g}; {each.why}"
            yield each._replace(telling=each.telling + SCALED_TELLS, why=why)


def _beside_flow(reading: _Reading, upper: float | str, usual: float | str) -> _Reading:
    """Let a value tell more that is in the measuring range or near the usual flow (m³/s) in some unit of flow."""
    if not reading.value:
        return reading
    flows = [(unit, abs(reading.value) * unit_info(unit).factor) for unit in TERMS[FLOW_UNIT].choices]
    near = [unit for unit, flow in flows if _is_given(usual) and abs(flow - abs(usual)) <= USUAL_WITHIN * abs(usual)]
    if near:
        told = reading.telling + USUAL_TELLS
        return reading._replace(telling=told, why=f"near the usual flow in {' or '.join(near)}; {reading.why}")
    within = [
        unit
        for unit, flow in flows
        if _is_given(upper) and LEAST_OF_RANGE * abs(upper) <= flow <= MOST_OF_RANGE * abs(upper)
    ]
    if within:
        told = reading.telling + IN_RANGE_TELLS
        return reading._replace(telling=told, why=f"in the range in {' or '.join(within)}; {reading.why}")
    return reading


def _is_given(value: float | str) -> TypeGuard[float]:
    return isinstance(value, float | int) and value != 0


def _power(value: float, expected: float) -> int | None:
    """Return the power of ten by which a value is the expected one, or None."""
    ratio = value / expected
    if ratio <= 0:
        return None
    power = round(math.log10(ratio))
    return power if abs(power) <= 6 and abs(ratio / 10.0**power - 1) <= NEAR else None


def _remark(words: Sequence[int], found: Sequence[_Reading], text: str) -> str:
    if not any(words):
        return "all registers are zero, which is zero in every type: read again while something flows"
    first = found[0]
    alike = [each for each in found[1:] if _rank(each) - _rank(first) < HARDLY_TOLD_APART and each.value != first.value]
    said = f"most likely {first.shown}: {first.kind}, registers {first.registers}, {first.order}"
    if alike:
        said += (
            f"; hardly to be told from {' or '.join(f'{each.shown} ({each.kind}, {each.order})' for each in alike[:2])}"
        )
    if len(found) > MOST_ROWS:
        said += f"; {len(found) - MOST_ROWS} less likely ones are left out"
    read_as = (
        "decimal numbers; for hexadecimal ones write 0x before each" if _is_decimal(text) else "hexadecimal numbers"
    )
    return f"{said}; read as {read_as}"


def _is_decimal(text: str) -> bool:
    return not re.search(r"[a-fxh]", text, re.IGNORECASE)
