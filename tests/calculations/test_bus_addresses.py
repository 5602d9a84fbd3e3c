"""Plans of addresses and unit loads, as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import bus_addresses
from diagnose.calculations.bus_addresses import (
    SHARED,
    address_in_plan,
    address_plan,
    devices_in_plan,
    read_addresses,
    unit_loads_of_devices,
    unit_loads_of_list,
    unit_loads_with_master,
)
from diagnose.errors import OutOfRange
from tests.calculations.worked import Refusal, Row, without_row

PLAN = "facts 7.11: Modbus over Serial Line V1.02, 2.2"
LOADS = "facts 7.1: TIA-485"
ROWS = [
    Row(address_in_plan, (5.0, "1-3, 5"), SHARED, PLAN),
    Row(devices_in_plan, ("1-5, 7",), 6.0, PLAN),
    Row(devices_in_plan, ("0, 1, 1, 247, 248, 255, 300",), 2.0, PLAN),
    Row(unit_loads_of_devices, (31.0, "1"), 32.0, LOADS),
    Row(unit_loads_of_devices, (248.0, "1/8"), 32.0, "facts 7.1: 256 nodes of 1/8 less what a whole master takes"),
    Row(unit_loads_with_master, (255.0, "1/8", "1/8"), 32.0, "facts 7.1: 1/8 unit load -> 256 nodes"),
    Row(unit_loads_with_master, (20.0, "1/4", "1/2"), 5.5, LOADS),
    Row(unit_loads_of_list, ("10 x 1, 12 x 1/8",), 11.5, LOADS),
    Row(unit_loads_of_list, ("10x1,12x1/8",), 11.5, LOADS),
    Row(unit_loads_of_list, ("1; 0,125; 0.25 UL\n2×1/2",), 2.375, LOADS),
]
REFUSED = [
    Refusal(devices_in_plan, ("pump",), "`pump` is not an address; write addresses like"),
    Refusal(address_plan, ("",), "no address is given"),
    Refusal(address_plan, (" , ;",), "no address is given"),
    Refusal(address_plan, ("1, -5",), "`-5` is not an address"),
    Refusal(address_plan, ("5-1",), "write the lower end first"),
    Refusal(address_plan, ("1-9999",), "not a range of addresses"),
    Refusal(address_plan, ("1.5",), "`1.5` is not an address"),
    Refusal(address_plan, ("1-400 1-400",), "too many"),
    Refusal(address_plan, ("9" * 5000,), "is not an address"),
    Refusal(unit_loads_of_list, ("",), "no device is listed"),
    Refusal(unit_loads_of_list, ("ten",), "`ten` is not a unit load"),
    Refusal(unit_loads_of_list, ("1/0",), "`1/0` is not a unit load"),
    Refusal(unit_loads_of_list, ("9999 x 9999",), "must be not more than 1000"),
    Refusal(unit_loads_of_devices, (-1.0, "1"), "must be not less than 0"),
    Refusal(unit_loads_with_master, (1.0, "1/3", "1"), "must be one of: 1, 1/2, 1/4, 1/8"),
]


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_worked_value(row: Row) -> None:
    """The calculation gives what its source says."""
    row.holds()


@pytest.mark.parametrize("refused", REFUSED, ids=lambda refused: str(refused)[:60])
def test_what_cannot_be_read_is_refused(refused: Refusal) -> None:
    """The refusal says what is wrong and what is wanted."""
    refused.holds()


def test_every_calculation_has_a_row() -> None:
    """Tables are held by tests of their own below."""
    assert without_row(bus_addresses, ROWS, {"address-plan"}) == set()


@pytest.mark.parametrize(
    ("text", "addresses"),
    [
        ("1,2,3", (1, 2, 3)),
        ("1 2\n3\t4", (1, 2, 3, 4)),
        ("1; 2 ;3;", (1, 2, 3)),
        ("1 - 3", (1, 2, 3)),
        ("1..3, 1–2, 8 to 9", (8, 9, 1, 2, 3, 1, 2)),
        ("0x0A 0XF7 010", (10, 247, 10)),
        ("0x01-0x03", (1, 2, 3)),
    ],
)
def test_addresses_are_read_however_they_are_set_off(text: str, addresses: tuple[int, ...]) -> None:
    """Commas, semicolons, spaces, lines, ranges, hexadecimal with 0x; a zero in front does not make it octal."""
    assert sorted(read_addresses(text)) == sorted(addresses)


class TestAddressPlan:
    """What is wrong in a plan."""

    def test_a_right_plan(self) -> None:
        """Each once and from 1 to 247: nothing is wrong, and the next address is named."""
        table = address_plan("1-5, 247")
        assert "the lowest free address is 6, 241 are free" in table.remark

    def test_every_problem_has_its_row(self) -> None:
        """Duplicates, the address of all, reserved ones and what is no byte; a right one has no row."""
        table = address_plan("1, 2, 2, 0, 248, 255, 256")
        assert [(row[0], row[1]) for row in table.rows] == [
            ("0", 1.0),
            ("2", 2.0),
            ("248", 1.0),
            ("255", 1.0),
            ("256", 1.0),
        ]
        assert "answer at once" in str(table.rows[1][2])
        assert "reserved" in str(table.rows[2][2])
        assert "not an address" in str(table.rows[4][2])

    def test_a_full_bus(self) -> None:
        """Nothing is free when all 247 are taken."""
        assert "no address is free" in address_plan("1-247").remark

    @given(st.lists(st.integers(1, 247), min_size=1, max_size=40))
    def test_only_duplicates_are_wrong_among_possible_addresses(self, addresses: list[int]) -> None:
        """Devices are counted once, and the address called free is not in the plan."""
        text = ", ".join(map(str, addresses))
        table = address_plan(text)
        assert devices_in_plan(text) == len(set(addresses))
        assert table.remark.startswith("every address") == (len(set(addresses)) == len(addresses))
        free = int(table.remark.split("the lowest free address is ")[1].split(",")[0])
        assert free not in addresses
        assert set(range(1, free)) <= set(addresses)

    @given(st.text(max_size=30))
    def test_no_text_breaks_it(self, text: str) -> None:
        """Whatever is pasted is a plan or is refused in words."""
        try:
            said = address_plan(text).remark
        except OutOfRange as error:
            said = str(error)
        assert "address" in said


@pytest.mark.parametrize(
    ("own", "others", "word"),
    [(4.0, "1-3, 5", "no other device has it"), (5.0, "1-3, 5", "another device has it"), (17.0, "0x11", SHARED)],
)
def test_an_address_is_found_among_the_others(own: float, others: str, word: str) -> None:
    """Two devices with one address upset the whole bus (Modbus over Serial Line V1.02, 2.2)."""
    assert address_in_plan(own, others) == word


@pytest.mark.parametrize("own", [0.0, 248.0])
def test_an_address_that_no_device_may_have_is_refused(own: float) -> None:
    """0 is for all, 248 to 255 are reserved."""
    with pytest.raises(OutOfRange, match="the meter's address on the bus"):
        address_in_plan(own, "1, 2")
