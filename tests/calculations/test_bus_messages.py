"""CRC, frames and register numbers against outside libraries and the protocol's own examples."""

from __future__ import annotations

import re

import crccheck.crc
import crcmod.predefined
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pymodbus.constants import ExcCodes
from pymodbus.framer import FramerRTU
from pymodbus.pdu import DecodePDU

from diagnose.calculations.bus_bytes import crc16, has_right_crc, read_bytes, spaced, with_crc
from diagnose.calculations.bus_frames import EXCEPTIONS
from diagnose.calculations.bus_messages import (
    frame_check,
    frame_meaning,
    message_crc,
    register_address,
    register_numbers,
)
from diagnose.calculations.calculation import Table
from diagnose.errors import OutOfRange
from tests.calculations.worked import Refusal

RTU = FramerRTU(DecodePDU(is_server=False))
MESSAGES = st.binary(min_size=2, max_size=254)


def wire(pdu: str, device: int = 1) -> str:
    """Return a frame as `pymodbus` builds it around a function and its data."""
    return spaced(RTU.encode(bytes.fromhex(pdu), device, 0))


def cells(table: Table, column: int = 2) -> dict[str, str]:
    """Return the first column of a table → another one."""
    return {str(row[0]): str(row[column]) for row in table.rows}


class TestCrc:
    """The CRC of Modbus RTU (facts 7.15: Modbus over Serial Line V1.02, appendix B)."""

    @pytest.mark.parametrize(
        ("message", "on_wire"),
        [
            ("31 32 33 34 35 36 37 38 39", "37 4B"),  # check value of the catalogue of CRCs for "123456789"
            ("02 07", "41 12"),  # Modbus over Serial Line V1.02, appendix B
            ("01 03 00 00 00 04", "44 09"),  # worked in a public note (R12c)
            ("01 03 00 00 00 0A", "C5 CD"),
            ("11 03 00 6B 00 03", "76 87"),
            ("01 04 00 00 00 02", "71 CB"),
            ("F7 03 00 00 00 02", "D0 9D"),
            ("01 83 02", "C0 F1"),
            ("01 03 04 42 F6 E9 79", "80 0B"),
        ],
    )
    def test_of_the_fact_sheet(self, message: str, on_wire: str) -> None:
        """Every vector of facts 7: value, order on the wire, whole frame."""
        rows = cells(message_crc(message), 1)
        assert rows["on the wire, low byte first"] == on_wire
        assert rows["complete frame"] == f"{message} {on_wire}"
        low, high = on_wire.split()
        assert rows["CRC as a number"] == f"0x{high}{low}"

    @given(MESSAGES)
    def test_as_three_libraries_have_it(self, message: bytes) -> None:
        """crccheck and crcmod give the number; pymodbus builds the frame (its number has the bytes swapped)."""
        assert crc16(message) == crccheck.crc.CrcModbus.calc(message)
        assert crc16(message) == crcmod.predefined.mkPredefinedCrcFun("modbus")(message)
        assert with_crc(message) == RTU.encode(message[1:], message[0], 0)

    @given(MESSAGES, st.integers(0, 8 * 254 - 1))
    def test_any_flipped_bit_is_noticed(self, message: bytes, bit: int) -> None:
        """A CRC sees every single wrong bit."""
        frame = bytearray(with_crc(message))
        frame[bit // 8 % len(frame)] ^= 1 << bit % 8
        assert has_right_crc(with_crc(message))
        assert not has_right_crc(bytes(frame))

    def test_of_a_frame_that_has_one_already(self) -> None:
        """Who pastes the whole frame is told so."""
        assert "already the CRC" in message_crc("01 03 00 00 00 04 44 09").remark
        assert message_crc("01 03 00 00 00 04").remark == ""


class TestBytes:
    """Hexadecimal as people paste it."""

    @pytest.mark.parametrize(
        "text",
        [
            "01 03 0a FF",
            "01030aff",
            "0x01, 0x03, 0x0A, 0xFF",
            "0X01030AFF",
            "1 3 A ff",
            "01-03-0A-FF",
            "01:03:0a:ff",
            "[01][03][0A][FF]",
            "{0x01;0x03;0x0a;0xff}",
            r"\x01\x03\x0a\xff",
            "b'\\x01\\x03\\x0a\\xff'"[1:],
            "0103 0AFF",
            "01h 03h 0Ah FFh",
            "TX: 01 03 0A FF",
            "Rx > 01 03 0A FF",
            "  01\t03\n0A\r\nFF  ",
        ],
    )
    def test_are_read(self, text: str) -> None:
        """Upper and lower case, spaces, commas, 0x and what logs put between."""
        assert read_bytes(text) == bytes([1, 3, 10, 255])

    @pytest.mark.parametrize(
        ("text", "words"),
        [
            ("01 03 0G", "`0G` is not hexadecimal; write bytes like `01 03 0A`"),
            ("hello", "`hello` is not hexadecimal"),
            ("01 0x", "`0x` is not hexadecimal"),
            ("1 3 0 107 0 3", "`107` has an odd number of digits; each byte is two hexadecimal digits"),
            ("٠١", "is not hexadecimal"),
            ("", "give 1 to 256 bytes in hexadecimal, like `01 03 00 00`; there are 0"),
            ("00" * 257, "there are 257"),
        ],
    )
    def test_are_refused_in_words(self, text: str, words: str) -> None:
        """What is wrong, and what is wanted."""
        with pytest.raises(OutOfRange) as raised:
            read_bytes(text)
        assert words in str(raised.value)

    @given(st.binary(min_size=1, max_size=256), st.sampled_from([" ", "", ",", ", ", "-", ":", " 0x"]))
    def test_are_read_back(self, data: bytes, between: str) -> None:
        """Whatever stands between them."""
        assert read_bytes(between.join(f"{each:02x}" for each in data)) == data
        assert read_bytes(spaced(data)) == data

    @given(st.text(max_size=40))
    def test_no_text_breaks_them(self, text: str) -> None:
        """Bytes come out, or a refusal in words."""
        try:
            read = read_bytes(text)
        except OutOfRange as error:
            read, words = b"", str(error)
        assert (
            read
            or "bytes in hexadecimal" in words
            or "write bytes like" in words
            or "each byte is two hexadecimal digits" in words
        )


class TestFrameCheck:
    """Whether a whole frame came through."""

    @pytest.mark.parametrize(
        ("frame", "words"),
        [
            ("01 03 00 00 00 04 44 09", "the CRC is right"),
            ("01 03 00 00 00 04 09 44", "right with its two bytes swapped"),
            ("00 01 03 00 00 00 04 44 09", "right without the first 00"),
            ("FF FE 01 83 02 C0 F1", "right without the first FF FE"),
            ("01 83 02 C0 F1 FF", "right without the last FF"),
            ("01 83 02 C0 F1 00", "ends before the last 00"),
            ("01 03 00 00 00 04 44 09 01 83 02 C0 F1", "the first ends after byte 8"),
            ("01 03 00 00 00 05 44 09", "wrong: noise"),
            ("01 03 00 00 00 04", "no CRC was pasted"),
        ],
    )
    def test_remark(self, frame: str, words: str) -> None:
        """Right, swapped, with something before or behind it, two at once, or none of these."""
        table = frame_check(frame)
        assert words in table.remark

    def test_what_would_be_right_is_told(self) -> None:
        """Beside what stands there."""
        rows = cells(frame_check("01 03 00 00 00 04 12 34"), 1)
        assert rows == {"bytes": "8", "CRC in the frame": "12 34", "correct CRC": "44 09"}

    @given(MESSAGES, st.integers(1, 247))
    def test_frames_of_pymodbus_are_right(self, payload: bytes, device: int) -> None:
        """Whatever function and data they carry."""
        frame = RTU.encode(payload[:250], device, 0)
        verdict = frame_check(spaced(frame)).remark
        assert verdict.startswith(("the CRC is right: ", "the CRC is right, but the frame ends before the last 00"))


class TestFrameMeaning:
    """What a frame says; messages are examples of Modbus Application Protocol V1.1b3, section 6, from memory."""

    @pytest.mark.parametrize(
        ("pdu", "kind"),
        [
            ("01 00 13 00 13", "request to read 19 coils from address 19, to device 1"),
            ("01 03 CD 6B 05", "reply with 3 bytes to “read coils”, from device 1"),
            ("02 00 C4 00 16", "request to read 22 discrete inputs from address 196, to device 1"),
            ("03 00 6B 00 03", "request to read 3 holding registers from address 107, to device 1"),
            ("03 06 02 2B 00 00 00 64", "reply with 3 holding registers, from device 1"),
            ("03 FF FF 00 01", "request to read 1 holding register from address 65535, to device 1"),
            ("04 00 08 00 01", "request to read 1 input register from address 8, to device 1"),
            ("04 02 00 0A", "reply with 1 input register, from device 1"),
            ("05 00 AC FF 00", "request to write one coil, or the reply that repeats it, to device 1"),
            ("06 00 01 00 03", "request to write one register, or the reply that repeats it, to device 1"),
            ("0F 00 13 00 0A 02 CD 01", "request to write 10 coils from address 19, to device 1"),
            ("0F 00 13 00 0A", "reply: 10 coils written, from device 1"),
            ("10 00 01 00 02 04 00 0A 01 02", "request to write 2 holding registers from address 1, to device 1"),
            ("10 00 01 00 02", "reply: 2 holding registers written, from device 1"),
        ],
    )
    def test_of_the_protocols_examples(self, pdu: str, kind: str) -> None:
        """Request and reply are told apart by their length and counts."""
        table = frame_meaning(wire(pdu))
        assert table.remark == kind

    @given(st.integers(3, 4), st.integers(0, 65000), st.integers(1, 125), st.integers(1, 247))
    def test_requests_as_pymodbus_decodes_them(self, function: int, start: int, count: int, device: int) -> None:
        """Address and count agree with those of its request objects."""
        pdu = bytes([function]) + start.to_bytes(2, "big") + count.to_bytes(2, "big")
        decoded = DecodePDU(is_server=True).decode(pdu)
        assert decoded is not None
        rows = cells(frame_meaning(spaced(RTU.encode(pdu, device, 0))))
        assert rows["address"] == f"device {device}"
        assert rows["first address"].split()[0] == str(decoded.address)
        assert rows["count"].split()[0] == str(decoded.count)

    @given(st.lists(st.integers(0, 65535), min_size=1, max_size=16))
    def test_replies_as_pymodbus_decodes_them(self, values: list[int]) -> None:
        """Register by register."""
        pdu = bytes([3, 2 * len(values)]) + b"".join(each.to_bytes(2, "big") for each in values)
        decoded = DecodePDU(is_server=False).decode(pdu)
        assert decoded is not None
        rows = cells(frame_meaning(spaced(RTU.encode(pdu, 1, 0))))
        assert [int(rows[f"register {at + 1}"].split()[0]) for at in range(len(values))] == decoded.registers

    def test_a_float_in_two_registers(self) -> None:
        """123.456 as 42 F6 E9 79 (facts 7, float): straight, and with the words swapped."""
        rows = cells(frame_meaning("01 03 04 42 F6 E9 79 80 0B"))
        assert rows["both as a float"] == "123.456, or -1.883367e+25 with the words swapped"
        assert rows["register 2"] == "59769 or -5767"

    def test_an_exception_reply_proves_the_line(self) -> None:
        """01 83 02 (facts 7, codes): wiring, baud rate, parity and address are right, the request is not."""
        table = frame_meaning("01 83 02 C0 F1")
        assert table.remark.startswith("exception 2, illegal address, to “read holding registers”")
        assert "wiring, baud rate, parity and address are right" in table.remark

    @pytest.mark.parametrize("code", [10, 11])
    def test_a_gateways_exception_proves_nothing_of_the_device(self, code: int) -> None:
        """0Ah and 0Bh come from the gateway; the device behind it may be dead."""
        verdict = frame_meaning(wire(f"83 {code:02X}")).remark
        assert "nothing about the device" in verdict
        assert "proves that wiring" not in verdict

    def test_exception_codes_are_those_of_pymodbus(self) -> None:
        """All ten codes of `pymodbus.constants.ExcCodes`, 7 of older editions among them."""
        assert set(EXCEPTIONS) == {each.value for each in ExcCodes}

    @pytest.mark.parametrize(
        ("frame", "words"),
        [
            (wire("03 00 00 00 7E"), "a count of 126 is outside 1 to 125; the device answers with exception 3"),
            (wire("03 00 00 00 00"), "a count of 0 is outside 1 to 125"),
            (wire("10 00 00 00 7C 00"), "a count of 124 is outside 1 to 123"),
            (wire("10 00 01 00 02 02 00 0A"), "there should be 4 bytes of values, not 2"),
            (wire("03 FF FF 00 02"), "beyond address 65535; the device answers with exception 2"),
            (wire("05 00 AC 00 01"), "it must be FF 00 or 00 00"),
            (wire("03 04 42 F6 E9 79 00"), "its length does not fit"),
            (wire("03 05 01 02 03 04 05"), "its length does not fit"),
            (wire("83 02 00"), "five bytes long"),
            (wire("00 01"), "0 is not a function code"),
            (wire("03 00 00 00 04", 248), "address 248 is reserved; valid are 1 to 247"),
            ("01 03 00 00 00 04 44 08", "the CRC is wrong, so none of this can be trusted"),
        ],
    )
    def test_what_is_wrong_is_told(self, frame: str, words: str) -> None:
        """Limits of facts 7 (codes: 1 to 125 registers) and 7.11 (addresses)."""
        table = frame_meaning(frame)
        assert words in table.remark

    def test_a_broadcast_has_no_reply(self) -> None:
        """Address 0 (facts 7.11)."""
        assert "expect no reply" in frame_meaning(wire("06 00 01 00 03", 0)).remark

    def test_other_functions_are_named_and_left_whole(self) -> None:
        """Diagnostics (08): its data stands as it is."""
        table = frame_meaning(wire("08 00 00 A5 37"))
        assert cells(table, 1)["data"] == "00 00 A5 37"
        assert cells(table)["function"] == "diagnostics"

    @given(st.binary(min_size=4, max_size=256))
    def test_no_bytes_break_it(self, data: bytes) -> None:
        """Whatever comes over the line is laid out without losing a byte."""
        table = frame_meaning(spaced(data))
        laid_out = " ".join(str(row[1]) for row in table.rows if row[0] != "both as a float")
        assert bytes.fromhex(laid_out) == data
        assert table.remark


class TestRegisters:
    """Register numbers of data sheets and addresses on the wire (facts 7: “40001” style = wire address 0)."""

    @pytest.mark.parametrize(
        ("number", "kind", "address", "request_"),
        [
            ("40001", "holding register, read with function 03", "0 (0x0000)", "03 00 00 00 01"),
            ("400001", "holding register, read with function 03", "0 (0x0000)", "03 00 00 00 01"),
            ("4x0001", "holding register, read with function 03", "0 (0x0000)", "03 00 00 00 01"),
            (" 40108 ", "holding register, read with function 03", "107 (0x006B)", "03 00 6B 00 01"),
            ("30009", "input register, read with function 04", "8 (0x0008)", "04 00 08 00 01"),
            ("10197", "discrete input, read with function 02", "196 (0x00C4)", "02 00 C4 00 01"),
            ("00020", "coil, read with function 01", "19 (0x0013)", "01 00 13 00 01"),
            ("465536", "holding register, read with function 03", "65535 (0xFFFF)", "03 FF FF 00 01"),
        ],
    )
    def test_of_a_number(self, number: str, kind: str, address: str, request_: str) -> None:
        """Registers 108, 9, inputs 197 and coils 20 are those of the protocol's own examples."""
        rows = cells(register_address(number), 1)
        assert rows["kind"] == kind
        assert rows["address in the request"] == address
        assert rows["request after the device address"] == request_

    @pytest.mark.parametrize("written", ["0x0064", "0X64", "&H64"])
    def test_an_address_in_hexadecimal_is_taken_as_it_stands(self, written: str) -> None:
        """0x64 is 100 (ISO C, positional notation); 0x0064 might be coil 64, which is said."""
        table = register_address(written)
        assert cells(table, 1)["address in the request"] == "100 (0x0064)"
        assert cells(table, 1)["to read it as holding register"] == "03 00 64 00 01"
        assert cells(table, 1)["number of it as holding register"] == "400101"
        assert "for coil 64 write 00064" in register_address("0x0064").remark
        assert cells(register_address("00064"), 1)["address in the request"] == "63 (0x003F)"

    def test_neighbours(self) -> None:
        """Off by one to either side, but not below 0."""
        assert cells(register_address("40001"), 1)["off by one would be"] == "1"
        assert cells(register_address("40002"), 1)["off by one would be"] == "0 or 2"

    @pytest.mark.parametrize(
        "refused",
        [
            Refusal(register_address, ("107",), "`107` is not a register number; write five or six digits"),
            Refusal(register_address, ("20001",), "4 (holding register)"),
            Refusal(register_address, ("40000",), "is not a register number"),
            Refusal(register_address, ("465537",), "is not a register number"),
            Refusal(register_address, ("4000one",), "is not a register number"),
            Refusal(register_address, ("٤0001",), "is not a register number"),
            Refusal(register_address, ("",), "is not a register number"),
            Refusal(register_numbers, (65536.0, "coil"), "must be not more than 65535"),
            Refusal(register_numbers, (1.5, "coil"), "whole"),
            Refusal(register_numbers, (1.0, "relay"), "must be one of: holding register"),
            Refusal(frame_check, ("01 03",), "give 4 to 256 bytes"),
            Refusal(frame_meaning, ("xyz",), "`xyz` is not hexadecimal"),
            Refusal(message_crc, ("00" * 255,), "give 1 to 254 bytes"),
        ],
        ids=lambda refused: str(refused)[:60],
    )
    def test_what_cannot_be_read_is_refused(self, refused: Refusal) -> None:
        """The refusal says what is wrong and what is wanted."""
        refused.holds()

    @given(st.integers(0, 65535), st.sampled_from(["coil", "discrete input", "input register", "holding register"]))
    def test_there_and_back(self, address: int, kind: str) -> None:
        """Numbers of an address lead back to it."""
        numbers = [
            str(row[1]) for row in register_numbers(float(address), kind).rows if re.fullmatch(r"\d+", str(row[1]))
        ]
        assert len(numbers) == (2 if address < 9999 else 1)
        for number in numbers:
            rows = cells(register_address(number), 1)
            assert rows["address in the request"].split()[0] == str(address)
            assert rows["kind"].startswith(kind)
