"""The RS-485 line: bias, terminations, length and common mode against worked values and a network solver."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS, bus, bus_length, bus_resistance
from diagnose.calculations.bus import (
    common_mode_margin,
    greatest_bias_resistance,
    idle_voltage,
    idle_voltage_margin,
    line_resistance_with_receivers,
    parallel_resistance,
)
from diagnose.calculations.bus_length import highest_baud_rate, longest_line, longest_lines, longest_stub
from diagnose.calculations.bus_resistance import (
    conductance_of_bias,
    conductance_of_bias_and_receivers,
    conductance_of_receivers,
    expected_line_resistance,
    resistances_by_terminations,
    terminations_seen,
)
from diagnose.calculations.solving import solve
from tests.calculations.worked import Refusal, Row, without_row

DIVIDER = "facts 7.7: 5 R / (2 R_b + R); bias network of Modbus over Serial Line V1.02, 3.4.6"
LOADS = "facts 7.1 and 7.7: TIA-485, 12 kohm for a unit load"
CHECK = "facts 7.8: Modbus over Serial Line V1.02, 3.4.5 (two terminations)"
THRESHOLD = "facts 7.1: TIA-485, sure beyond 200 mV"
COMMON = "facts 7.1: TIA-485, -7 to +12 V"
LENGTH = "facts 7.2: common practice, 1e8 bit m/s, 1200 m"
STUB = "facts 7.3: Modbus over Serial Line V1.02, 3.4.3"
ROUNDED = 3e-4
"""Relative: the fact sheet gives idle voltages to four decimals."""

ROWS = [
    Row(idle_voltage, (450.0, 60.0, 5.0), 0.3125, DIVIDER, ROUNDED),
    Row(idle_voltage, (560.0, 60.0, 5.0), 0.2542, DIVIDER, ROUNDED),
    Row(idle_voltage, (650.0, 60.0, 5.0), 0.2206, DIVIDER, ROUNDED),
    Row(idle_voltage, (720.0, 60.0, 5.0), 0.2000, DIVIDER, ROUNDED),
    Row(idle_voltage, (1000.0, 60.0, 5.0), 0.1456, DIVIDER, ROUNDED),
    Row(idle_voltage, (4700.0, 60.0, 5.0), 0.0317, DIVIDER, 1e-3),
    Row(idle_voltage, (650.0, 75.0, 5.0), 0.2727, DIVIDER, ROUNDED),
    Row(idle_voltage, (560.0, 51.72, 5.0), 0.2207, DIVIDER, ROUNDED),
    Row(idle_voltage, (650.0, 51.72, 5.0), 0.1913, DIVIDER, ROUNDED),
    Row(
        idle_voltage, (560.0, 60.0), 0.2542, "5 V when nothing is given: Modbus over Serial Line V1.02, 3.4.6", ROUNDED
    ),
    Row(greatest_bias_resistance, (60.0, 5.0), 720.0, DIVIDER),
    Row(idle_voltage_margin, (0.2542,), 0.0542, THRESHOLD),
    Row(idle_voltage_margin, (0.1913,), -0.0087, THRESHOLD),
    Row(parallel_resistance, (2.0, 120.0), 60.0, CHECK),
    Row(parallel_resistance, (2.0, 150.0), 75.0, CHECK),
    Row(parallel_resistance, (1.0, 120.0), 120.0, CHECK),
    Row(parallel_resistance, (3.0, 120.0), 40.0, CHECK),
    Row(line_resistance_with_receivers, (2.0, 32.0, 120.0), 51.72, LOADS, 1e-4),
    Row(line_resistance_with_receivers, (0.0, 32.0, 120.0), 375.0, LOADS),
    Row(line_resistance_with_receivers, (2.0, 0.0, 150.0), 75.0, LOADS),
    Row(conductance_of_receivers, (32.0,), 1 / 375, LOADS),
    Row(conductance_of_bias, (560.0,), 1 / 1120, "both bias resistors in series"),
    Row(conductance_of_bias_and_receivers, (560.0, 32.0), 1 / 1120 + 1 / 375, LOADS),
    Row(expected_line_resistance, (2.0, 0.0, 120.0), 60.0, CHECK),
    Row(expected_line_resistance, (2.0, 1 / 1120, 120.0), 60 * 1120 / 1180, "facts 7.8: bias path 2 R_b in parallel"),
    Row(expected_line_resistance, (0.0, 1 / 1120, 120.0), 1120.0, "facts 7.8: bias path 2 R_b alone"),
    Row(common_mode_margin, (2.5,), 9.5, COMMON),
    Row(common_mode_margin, (-9.0,), -2.0, COMMON),
    Row(common_mode_margin, (12.5,), -0.5, COMMON),
    Row(longest_line, (83333.0,), 1200.0, LENGTH, 1e-5),
    Row(longest_line, (9600.0,), 1200.0, LENGTH),
    Row(longest_line, (115200.0,), 868.06, LENGTH, 1e-5),
    Row(terminations_seen, (60.0,), 2.0, "facts 7.8"),
    Row(terminations_seen, (1 / (1 / 60 + 1 / 375), 1 / 375), 2.0, "facts 7.8"),
    Row(highest_baud_rate, (1200.0,), 83333.3, "facts 7.2: 1200 m -> 83 kbit/s", 1e-6),
    Row(highest_baud_rate, (0.0,), 1e7, "TIA-485, 10 Mbit/s: from memory"),
    Row(longest_stub, (1.0,), 20.0, STUB),
    Row(longest_stub, (2.0,), 20.0, STUB),
    Row(longest_stub, (3.0,), 40 / 3, STUB),
    Row(longest_stub, (8.0,), 5.0, STUB),
]
REFUSED = [
    Refusal(idle_voltage, (0.0, 60.0, 5.0), "bias resistors must be greater than 0 ohm"),
    Refusal(idle_voltage, (560.0, 0.0, 5.0), "must be greater than 0 ohm"),
    Refusal(idle_voltage, (560.0, 60.0, 0.0), "must be greater than 0 V"),
    Refusal(greatest_bias_resistance, (60.0, 0.2), "greater than 0.2 V"),
    Refusal(parallel_resistance, (0.0, 120.0), "there is nothing between the lines"),
    Refusal(parallel_resistance, (2.0, -120.0), "must be greater than 0 ohm"),
    Refusal(line_resistance_with_receivers, (0.0, 0.0), "there is nothing between the lines"),
    Refusal(line_resistance_with_receivers, (2.0, -1.0), "must be not less than 0"),
    Refusal(expected_line_resistance, (0.0,), "there is nothing between the lines"),
    Refusal(idle_voltage_margin, (float("nan"),), "finite"),
    Refusal(terminations_seen, (0.0,), "shorted"),
    Refusal(longest_line, (0.0,), "must be greater than 0 baud"),
    Refusal(highest_baud_rate, (1300.0,), "repeater"),
    Refusal(longest_stub, (2.5,), "whole"),
]
POSITIVE = st.floats(1e-2, 1e4)
LINE = st.floats(1.0, 1e4)


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_worked_value(row: Row) -> None:
    """The calculation gives what its source says."""
    row.holds()


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused(refused: Refusal) -> None:
    """The refusal says what is wrong and what is wanted."""
    refused.holds()


@pytest.mark.parametrize("module", [bus, bus_resistance, bus_length], ids=lambda module: module.__name__)
def test_every_calculation_has_a_row(module: object) -> None:
    """Tables are held by tests of their own below."""
    tables = {"resistances-by-terminations", "longest-lines"}
    assert without_row(module, ROWS, tables) == set()  # type: ignore[arg-type]


@given(POSITIVE, LINE, st.floats(1.0, 24.0))
def test_idle_voltage_is_that_of_the_network(bias: float, line: float, supply: float) -> None:
    """A general solver of the network of three resistors (nodal analysis with numpy) finds the same."""
    up, across, down = 1 / bias, 1 / line, 1 / bias
    nodes = np.linalg.solve([[up + across, -across], [-across, across + down]], [up * supply, 0.0])
    assert idle_voltage(bias, line, supply) == pytest.approx(nodes[0] - nodes[1], rel=1e-6, abs=1e-9)


@given(POSITIVE, LINE, st.floats(0.5, 24.0), st.floats(1.0, 1e3))
def test_weaker_bias_lowers_the_idle_voltage(bias: float, line: float, supply: float, more: float) -> None:
    """A divider gives less than it gets, less with larger bias resistors, more with a lighter line."""
    voltage = idle_voltage(bias, line, supply)
    assert 0 < voltage < supply
    assert idle_voltage(bias + more, line, supply) < voltage < idle_voltage(bias, line + more, supply)


@given(LINE, st.floats(0.25, 24.0))
def test_largest_bias_resistors_leave_just_the_threshold(line: float, supply: float) -> None:
    """The divider there and back."""
    assert idle_voltage(greatest_bias_resistance(line, supply), line, supply) == pytest.approx(0.2)


@given(st.integers(1, 6), st.floats(0.0, 64.0), st.floats(50.0, 500.0))
def test_receivers_only_lower_the_resistance(terminations: int, loads: float, each: float) -> None:
    """None of them leave what the terminations alone make."""
    alone = parallel_resistance(terminations, each)
    assert line_resistance_with_receivers(terminations, 0.0, each) == pytest.approx(alone)
    assert line_resistance_with_receivers(terminations, loads, each) <= alone * (1 + 1e-12)


@given(st.floats(1200.0, 1e7), st.floats(1.0, 1.0001))
def test_longest_line_and_highest_baud_rate_go_together(baud: float, more: float) -> None:
    """Wherever the product decides, one gives the other back; a faster line is never longer."""
    longest = longest_line(baud)
    assert longest_line(min(baud * more, 1e7)) <= longest
    if baud > 1e8 / 1200:
        assert highest_baud_rate(longest) == pytest.approx(baud)


def test_readings_by_number_of_terminations() -> None:
    """Two of 120 ohm are 60 ohm (facts 7.8); bias and receivers beside them take something off."""
    rows = {row[0]: row[1:] for row in resistances_by_terminations(120.0, 1 / 375).rows}
    assert rows["none"] == ("open", pytest.approx(375.0))
    assert rows["two"] == (60.0, pytest.approx(1 / (1 / 60 + 1 / 375)))


def test_lengths_by_practice_and_guide() -> None:
    """Facts 7.2 and 7.3; above 9600 Bd the guide has no figure."""
    assert [row[1] for row in longest_lines(9600.0).rows] == [1200.0, 1000.0, 600.0]
    assert longest_lines(115200.0).rows[1][1] == "no figure above 9600 Bd"


class TestChain:
    """What follows from a few figures."""

    def test_from_devices_to_the_idle_voltage(self) -> None:
        """Addresses and unit load make the line's resistance, not the terminations alone: facts 7.7, 0.1913 V."""
        given_ = {
            "device-addresses": "1-31",
            "unit-load-of-device": "1",
            "bus-terminations": 2.0,
            "termination-resistance": 120.0,
            "bias-resistance": 650.0,
        }
        results = {each.calculation.gives: each.result for each in solve(given_, SUBJECTS["bus"].calculations).worked}
        assert results["bus-unit-loads"] == 32.0
        assert results["line-resistance"] == pytest.approx(51.7241, rel=1e-5)
        assert results["bus-idle-voltage"] == pytest.approx(0.1913, abs=5e-5)
        assert results["expected-line-resistance"] == pytest.approx(1 / (1 / 60 + 1 / 375 + 1 / 1300))

    def test_a_measured_voltage_that_the_network_cannot_make_is_told(self) -> None:
        """0.05 V at two terminations and 560 ohm does not fit; something else loads the line."""
        given_ = {"bus-idle-voltage": 0.05, "bus-terminations": 2.0, "line-resistance": 60.0, "bias-resistance": 560.0}
        solved = solve({**given_, "bias-supply": 5.0}, SUBJECTS["bus"].calculations)
        assert "idle-voltage" in [each.calculation.name for each in solved.contradictions]
