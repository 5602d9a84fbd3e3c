"""Raw registers against Python's struct and `pymodbus`: every type and order, and which comes first."""

from __future__ import annotations

import struct

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace
from pymodbus.client.mixin import ModbusClientMixin

from diagnose.calculations.register_block import MOST_REGISTERS, MOST_ROWS, read_registers, register_block
from diagnose.errors import OutOfRange
from diagnose.terms import TERMS, vocabulary
from tests.calculations.worked import Refusal

TYPES = ModbusClientMixin.DATATYPE

# registers, type, order, value; made with struct (IEEE 754, two's complement)
FIRST = [
    ("17142 59769", "32-bit float", "ABCD", "123.456"),
    ("0x42F6 0xE979", "32-bit float", "ABCD", "123.456"),
    ("E979 42F6", "32-bit float", "CDAB", "123.456"),
    ("F642 79E9", "32-bit float", "BADC", "123.456"),
    ("79E9 F642", "32-bit float", "DCBA", "123.456"),
    ("16712 0", "32-bit float", "ABCD", "12.5"),
    ("0 16712", "32-bit float", "CDAB", "12.5"),
    ("0 1234", "32-bit integer, signed or not", "ABCD", "1234"),
    ("1234 0", "32-bit integer, signed or not", "CDAB", "1234"),
    ("65535 65531", "32-bit signed integer", "ABCD", "-5"),
    ("405E DD2F 1A9F BE77", "64-bit float", "ABCDEFGH", "123.456"),
    ("BE77 1A9F DD2F 405E", "64-bit float", "GHEFCDAB", "123.456"),
    ("5E40 2FDD 9F1A 77BE", "64-bit float", "BADCFEHG", "123.456"),
    ("77BE 9F1A 2FDD 5E40", "64-bit float", "HGFEDCBA", "123.456"),
    ("0 0 1 34464", "64-bit integer, signed or not", "ABCDEFGH", "100000"),
    ("1234", "16-bit integer, signed or not", "AB", "1234"),
    ("-5", "16-bit signed integer", "AB", "-5"),
]


@pytest.mark.parametrize(("registers", "kind", "order", "value"), FIRST, ids=[row[0] for row in FIRST])
def test_the_likely_reading_comes_first(registers: str, kind: str, order: str, value: str) -> None:
    """What bits that mean nothing would hardly look like."""
    table = register_block(registers)
    first = table.rows[0]
    assert (first[1], str(first[2]).partition(",")[0], first[3]) == (kind, order, value)
    assert f"most likely {value}" in table.remark


def test_each_row_says_what_makes_it_likely() -> None:
    """Size, digits, and the expected value where one is given."""
    assert "usual size, 6 digits" in str(register_block("17142 59769").rows[0][4])
    assert "near the expected value" in str(register_block("17142 59769", 120.0).rows[0][4])
    assert "the expected value times 10" in str(register_block("0 1234", 123.4).rows[0][4])
    assert "small for 32 bits" in str(register_block("0 1234").rows[0][4])


@given(st.integers(0, 65535), st.integers(0, 65535))
def test_integers_and_floats_are_those_of_pymodbus(first: int, second: int) -> None:
    """Whatever the bits: each row of two registers, with its words in order or swapped, is what `pymodbus` reads."""
    kinds = {"float": TYPES.FLOAT32, "unsigned": TYPES.UINT32, "integer,": TYPES.UINT32, "signed": TYPES.INT32}
    for where, kind, order, value, _ in register_block(f"{first:#06x} {second:#06x}").rows:
        if where != "1-2" or "bytes" in str(order) or "BCD" in str(kind):
            continue
        words = "little" if "words" in str(order) else "big"
        read = ModbusClientMixin.convert_from_registers([first, second], kinds[str(kind).split()[1]], words)  # type: ignore[arg-type]
        assert isinstance(read, int | float)
        assert struct.pack(">f", float(str(value))) == struct.pack(">f", read) or int(str(value)) == read


@given(
    st.floats(0.01, 1e5).map(lambda each: float(f"{each:.4g}")),
    st.sampled_from([TYPES.FLOAT32, TYPES.FLOAT64]),
    st.sampled_from(["big", "little"]),
)
def test_a_float_of_few_digits_comes_first(value: float, kind: ModbusClientMixin.DATATYPE, words: str) -> None:
    """Sent by `pymodbus`, in either order of the registers, beside a value expected within two per cent."""
    sent = ModbusClientMixin.convert_to_registers(value, kind, words)  # type: ignore[arg-type]
    first = register_block(" ".join(f"{each:#06x}" for each in sent), value * 1.02).rows[0]
    assert float(str(first[3])) == pytest.approx(value, rel=1e-6)


@given(st.integers(1, 10**7), st.sampled_from([TYPES.UINT32, TYPES.INT32, TYPES.UINT64, TYPES.INT64]))
def test_an_integer_is_among_the_rows(value: int, kind: ModbusClientMixin.DATATYPE) -> None:
    """Whatever its type, in the order of its registers."""
    sent = ModbusClientMixin.convert_to_registers(value, kind, "big")
    rows = register_block(" ".join(f"{each:#06x}" for each in sent)).rows
    assert str(value) in {str(row[3]) for row in rows if str(row[2]).endswith("as it is")}


@given(st.lists(st.integers(0, 65535), min_size=1, max_size=MOST_REGISTERS))
def test_any_registers_have_an_answer_of_bounded_length(words: list[int]) -> None:
    """However many."""
    assume(len(words) == 1 or any(words))
    table = register_block(" ".join(f"0x{each:04X}" for each in words))
    assert 1 <= len(table.rows) <= MOST_ROWS
    assert read_registers(" ".join(map(str, words))) == tuple(words)


def test_zero_is_said_to_tell_nothing() -> None:
    """Zero is zero in every type."""
    assert "all registers are zero" in register_block("0 0").remark


REFUSED = [
    Refusal(register_block, ("0042 1234",), "did you mean `0x0042 0x1234` or `42 1234`?"),
    Refusal(register_block, ("70000",), "does not fit a register of 16 bits"),
    Refusal(register_block, ("-40000",), "does not fit a register of 16 bits"),
    Refusal(register_block, ("12.5",), "is no register of 16 bits"),
    Refusal(register_block, ("42F6E979",), "is no register of 16 bits"),
    Refusal(register_block, ("",), "give 1 to 125 registers"),
    Refusal(register_block, (" ".join(["1"] * 126),), "give 1 to 125 registers"),
]


@pytest.mark.parametrize("row", REFUSED, ids=str)
def test_what_is_no_block_of_registers_is_refused(row: Refusal) -> None:
    """With what is meant, where that cannot be told."""
    row.holds()


@pytest.mark.parametrize(
    ("registers", "known", "value", "comes"),
    [
        ("0x42F6 0xE979 0 0", {}, "123.456", 1),
        ("0x42F6 0xE979 0 0x3039", {"usual_flow": 120 / 3600, "upper_range_value": 200 / 3600}, "123.456", 1),
        ("0x0012 0x3456", {}, "123456", 3),
    ],
    ids=["beside empty registers", "near the usual flow", "in decimal digits"],
)
def test_what_a_flow_meter_sends(registers: str, known: dict[str, float], value: str, comes: int) -> None:
    """Empty registers tell nothing, what is known of the flow does; BCD is on the list."""
    rows = register_block(registers, **known).rows
    assert [row[3] for row in rows].index(value) < comes
    assert all(row[3] != "0" for row in rows[:2])


def test_how_often_a_type_is_sent_is_what_the_vocabulary_says() -> None:
    """Where nothing but 16-bit integers were sent, the first of two registers is one; what lacks a share is told."""
    floats = register_block("17142 59769")
    rare = {name: 1e-12 for name in TERMS["register-type"].choices} | {"16-bit integer": 1.0}
    with vocabulary({"register-type": replace(TERMS["register-type"], shares=rare)}):
        integers = register_block("17142 59769")
    assert floats.rows[0][1] == "32-bit float"
    assert str(integers.rows[0][1]).startswith("16-bit")
    with (
        vocabulary({"register-type": replace(TERMS["register-type"], shares={"16-bit integer": 1.0})}),
        pytest.raises(OutOfRange, match="nothing says how often type of a value in registers is"),
    ):
        register_block("17142 59769")
