"""Byte orders of two registers against Python's struct and `pymodbus`, and mistakes made on purpose."""

from __future__ import annotations

import struct

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from pymodbus.client.mixin import ModbusClientMixin

from diagnose.calculations.bus_values import (
    ORDERS,
    as_float,
    register_bytes_of_value,
    register_readings,
    reordered,
    wrong_value,
)
from tests.calculations.worked import Refusal

FLOAT32 = ModbusClientMixin.DATATYPE.FLOAT32
UINT32 = ModbusClientMixin.DATATYPE.UINT32

READINGS = {
    "42F6E979": {"ABCD": 123.456, "CDAB": -1.883367e25, "BADC": -9.861115e32, "DCBA": 1.518500e35},
    "41480000": {"ABCD": 12.5, "CDAB": 2.34185e-41, "BADC": 197632.0, "DCBA": 2.59198e-41},
}
"""Facts 7, float: four bytes → order → value; made with Python's struct."""

PROCESS = st.floats(2.0**-7, 2.0**17, width=32) | st.floats(-(2.0**17), -(2.0**-7), width=32)


def fitting(shown: float, expected: float) -> list[str]:
    """Return the mistakes that fit."""
    return [str(row[0]) for row in wrong_value(shown, expected).rows if row[2] == "yes"]


class TestReadings:
    """Four bytes as they arrive."""

    @pytest.mark.parametrize("data", READINGS)
    @pytest.mark.parametrize("order", ORDERS)
    def test_of_the_fact_sheet(self, data: str, order: str) -> None:
        """Each order of each example."""
        rows = {row[0]: row[1] for row in register_readings(data).rows}
        assert rows[order] == pytest.approx(READINGS[data][order], rel=4e-6)

    def test_likely_orders_are_named(self) -> None:
        """12.5 could also be 197632; 123.456 can be nothing else."""
        assert register_readings("42F6E979").remark.endswith(": ABCD")
        assert register_readings("41480000").remark.endswith(": ABCD or BADC")

    @given(st.integers(0, 65535), st.integers(0, 65535))
    def test_as_pymodbus_reads_them(self, first: int, second: int) -> None:
        """Words in order and swapped, float and unsigned."""
        rows = {row[0]: row for row in register_readings(f"{first:04X} {second:04X}").rows}
        for order, words in (("ABCD", "big"), ("CDAB", "little")):
            value = ModbusClientMixin.convert_from_registers([first, second], FLOAT32, words)  # type: ignore[arg-type]
            whole = ModbusClientMixin.convert_from_registers([first, second], UINT32, words)  # type: ignore[arg-type]
            shown = rows[order][1]
            assert shown == value or (isinstance(shown, str) and isinstance(value, float) and value - value != 0)
            assert rows[order][2] == whole

    @pytest.mark.parametrize(
        ("data", "word"), [("7FC00000", "not a number"), ("7F800000", "infinite"), ("FF800000", "-infinite")]
    )
    def test_what_is_no_number_is_a_word(self, data: str, word: str) -> None:
        """IEEE 754: not a number and both infinities."""
        assert register_readings(data).rows[0][1] == word

    def test_signed_and_unsigned(self) -> None:
        """FF FF FF FE is -2 or 4294967294."""
        assert register_readings("FFFFFFFE").rows[0][2:4] == (4294967294.0, -2.0)


class TestBytesOfValue:
    """A value as it is sent."""

    @pytest.mark.parametrize(
        ("order", "data"),
        [("ABCD", "42 F6 E9 79"), ("CDAB", "E9 79 42 F6"), ("BADC", "F6 42 79 E9"), ("DCBA", "79 E9 F6 42")],
    )
    def test_of_the_fact_sheet(self, order: str, data: str) -> None:
        """123.456 = 42F6E979 in four orders."""
        assert {row[0]: row[1] for row in register_bytes_of_value(123.456).rows}[order] == data

    def test_whole_numbers_are_integers_too(self) -> None:
        """1 with its words swapped is 00 01 00 00, which reads as 65536."""
        assert [row[2] for row in register_bytes_of_value(1.0).rows][:2] == ["00 00 00 01", "00 01 00 00"]
        assert [row[2] for row in register_bytes_of_value(-1.0).rows] == ["FF FF FF FF"] * 4
        assert [row[2] for row in register_bytes_of_value(2.0**32).rows] == ["-"] * 4
        assert [row[2] for row in register_bytes_of_value(0.5).rows] == ["-"] * 4

    @given(st.floats(width=32, allow_nan=False, allow_infinity=False), st.sampled_from(list(ORDERS)))
    def test_there_and_back(self, value: float, order: str) -> None:
        """Bytes of a value in any order, read in that order, are the value."""
        data = {row[0]: str(row[1]) for row in register_bytes_of_value(value).rows}[order]
        assert {row[0]: row[1] for row in register_readings(data).rows}[order] == value
        if order == "CDAB":
            words = struct.unpack(">HH", bytes.fromhex(data))
            assert list(words) == ModbusClientMixin.convert_to_registers(value, FLOAT32, "little")

    @given(st.binary(min_size=4, max_size=4), st.sampled_from(list(ORDERS)))
    def test_an_order_twice_is_none(self, data: bytes, order: str) -> None:
        """Each order is its own inverse."""
        assert reordered(reordered(data, order), order) == data


class TestWrongValue:
    """Which mistake makes one value of another."""

    @pytest.mark.parametrize(
        ("shown", "expected", "mistake"),
        [
            (-1.883367e25, 123.456, "float, words swapped"),
            (-9.861115e32, 123.456, "float, bytes swapped"),
            (1.518500e35, 123.456, "float, words and bytes swapped"),
            (-1.8834e25, 120.0, "float, words swapped"),
            (2.34185e-41, 12.5, "float, words swapped"),
            (197632.0, 12.5, "float, bytes swapped"),
            (2.59198e-41, 12.5, "float, words and bytes swapped"),
            (65536.0, 1.0, "32-bit integer, words swapped"),
            (-65537.0, -2.0, "32-bit integer, words swapped"),
            (16777216.0, 1.0, "32-bit integer, words and bytes swapped"),
            (256.0, 1.0, "16-bit integer, bytes swapped"),
            (1123477881.0, 123.4, "float read as a 32-bit integer"),
            (3917038326.0, 123.4, "float read as a 32-bit integer, words swapped"),
            (17142.0, 123.4, "only the first register of a float, read as an integer"),
            (1.7236e-43, 123.0, "32-bit integer read as a float"),
            (65531.0, -5.0, "negative 16-bit integer read as unsigned"),
            (4294967291.0, -5.0, "negative 32-bit integer read as unsigned"),
            (-5536.0, 60000.0, "unsigned 16-bit integer read as signed"),
            (1234.0, 123.4, "scaled by 10: the scale factor of the register was ignored"),
            (0.1234, 123.4, "scaled by 0.001: the scale factor of the register was ignored"),
        ],
    )
    def test_a_mistake_made_on_purpose(self, shown: float, expected: float, mistake: str) -> None:
        """Facts 7: float 123.456 and 12.5 in four orders, U32 words swapped; the rest made with struct."""
        assert mistake in fitting(shown, expected)
        table = wrong_value(shown, expected)
        assert mistake in table.remark

    @given(PROCESS, st.sampled_from(["CDAB", "BADC", "DCBA"]), st.floats(0.97, 1.03))
    def test_an_order_is_found_from_seven_digits(self, value: float, order: str, moved: float) -> None:
        """Whatever the value, and though the expected one was read a moment later."""
        shown = as_float(reordered(struct.pack(">f", value), order))
        assume(shown == shown and abs(shown) < 3e38)
        assume(abs(shown) > 1e-44)
        names = {"CDAB": "words swapped", "BADC": "bytes swapped", "DCBA": "words and bytes swapped"}
        assume(abs(shown - value * moved) > 0.05 * abs(value * moved))
        assert f"float, {names[order]}" in fitting(float(f"{shown:.7g}"), value * moved)

    @given(st.integers(1, 2**31 - 1))
    def test_swapped_words_of_an_integer_are_found(self, value: int) -> None:
        """Every integer whose swap is another number."""
        swapped = (value & 0xFFFF) << 16 | value >> 16
        assume(abs(swapped - value) > 0.05 * value)
        assert "32-bit integer, words swapped" in fitting(float(swapped), float(value))

    def test_the_middle_of_what_one_register_can_mean_is_told(self) -> None:
        """42 F6 alone is 123.0 to 123.5 (IEEE 754: 7 bits of the fraction stand in the first register)."""
        sent = {row[0]: row[1] for row in wrong_value(17142.0, 123.456).rows}
        assert sent["only the first register of a float, read as an integer"] == 123.25

    def test_agreement_is_told(self) -> None:
        """Nothing is wrong within 5 %."""
        table = wrong_value(101.0, 100.0)
        assert "the value shown is the one expected" in table.remark

    def test_what_nothing_explains(self) -> None:
        """3.6 between them is a unit, not an order: the ratio is told."""
        table = wrong_value(36.0, 10.0)
        assert "the ratio is 3.6" in table.remark

    @given(st.floats(allow_nan=False, allow_infinity=False), st.floats(allow_nan=False, allow_infinity=False))
    def test_no_figures_break_it(self, shown: float, expected: float) -> None:
        """Whatever is shown, there is an answer."""
        assume(expected != 0)
        assert wrong_value(shown, expected).remark

    @pytest.mark.parametrize(
        "refused",
        [
            Refusal(wrong_value, (1.0, 0.0), "take a moment with another value"),
            Refusal(wrong_value, (float("inf"), 1.0), "finite"),
            Refusal(register_bytes_of_value, (1e39,), "must be not more than"),
            Refusal(register_readings, ("42 F6 E9",), "give 4 bytes in hexadecimal"),
            Refusal(register_readings, ("42 F6 E9 79 00",), "there are 5"),
            Refusal(register_readings, ("123.456",), "has an odd number of digits"),
        ],
        ids=str,
    )
    def test_what_cannot_be_is_refused(self, refused: Refusal) -> None:
        """The refusal says what is wrong and what is wanted."""
        refused.holds()
