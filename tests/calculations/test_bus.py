"""The RS-485 line: bias, terminations, length and common mode against worked values and a network solver."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS, bus, bus_length, bus_resistance
from diagnose.calculations.bus import (
    common_mode_margin,
    common_mode_verdict,
    greatest_bias_resistance,
    idle_voltage,
    idle_voltage_margin,
    idle_voltage_verdict,
    line_resistance_with_receivers,
    parallel_resistance,
)
from diagnose.calculations.bus_length import highest_baud_rate, length_check, longest_line, longest_stub, stub_check
from diagnose.calculations.bus_resistance import (
    conductance_of_bias,
    conductance_of_bias_and_receivers,
    conductance_of_receivers,
    expected_line_resistance,
    measured_terminations,
)
from diagnose.calculations.solving import solve
from tests.calculations.worked import Refusal, Row, without_row

DIVIDER = "facts 7.7: 5 R / (2 R_b + R); bias network of Modbus over Serial Line V1.02, 3.4.6"
CHECK = "facts 7.8: Modbus over Serial Line V1.02, 3.4.5 (two terminations)"
LOADS = "facts 7.1 and 7.7: TIA-485, 12 kohm for a unit load"
THRESHOLD = "facts 7.1: TIA-485, sure beyond 200 mV"
COMMON = "facts 7.1: TIA-485, -7 to +12 V"
LENGTH = "facts 7.2: common practice, 1e8 bit m/s, 1200 m"
STUB = "facts 7.3: Modbus over Serial Line V1.02, 3.4.3"
LOW, JUST = "too low: receivers may see anything", "just enough: nothing left for tolerances"
REVERSED = "reversed: the two lines are swapped"
BEYOND = "beyond the limits: earth potentials differ, or the common wire is missing"
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
    Row(idle_voltage_verdict, (0.3125,), "fine", THRESHOLD),
    Row(idle_voltage_verdict, (0.2206,), "fine", THRESHOLD),
    Row(idle_voltage_verdict, (0.2000,), JUST, THRESHOLD),
    Row(idle_voltage_verdict, (0.1913,), LOW, "facts 7.7: 650 ohm and 32 unit loads are below 0.2 V"),
    Row(idle_voltage_verdict, (-0.1999,), LOW, THRESHOLD),
    Row(idle_voltage_verdict, (-0.2,), REVERSED, THRESHOLD),
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
    Row(common_mode_verdict, (-7.0,), "fine", COMMON),
    Row(common_mode_verdict, (12.0,), "fine", COMMON),
    Row(common_mode_verdict, (12.1,), BEYOND, COMMON),
    Row(common_mode_verdict, (-7.1,), BEYOND, COMMON),
    Row(longest_line, (83333.0,), 1200.0, LENGTH, 1e-5),
    Row(longest_line, (9600.0,), 1200.0, LENGTH),
    Row(longest_line, (115200.0,), 868.06, LENGTH, 1e-5),
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
    Refusal(measured_terminations, (-1.0,), "must be not less than 0 ohm"),
    Refusal(idle_voltage_margin, (float("nan"),), "finite"),
    Refusal(longest_line, (0.0,), "must be greater than 0 Bd"),
    Refusal(highest_baud_rate, (1300.0,), "repeater"),
    Refusal(length_check, (-1.0, 9600.0), "must be not less than 0 m"),
    Refusal(longest_stub, (2.5,), "whole"),
    Refusal(stub_check, (5.0, 0.0), "must be not less than 1"),
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
    tables = {"measured-terminations", "length-check", "stub-check"}
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


class TestMeasuredTerminations:
    """What a resistance between the lines means (facts 7.8)."""

    @pytest.mark.parametrize(
        ("measured", "words", "judgement"),
        [
            (60.0, "two terminations", "fine"),
            (75.0, "two terminations", "fine"),
            (48.0, "two terminations", "fine"),
            (90.0, "two terminations", "fine"),
            (120.0, "one of the two", "wrong"),
            (150.0, "one of the two", "wrong"),
            (40.0, "like 3 of 120 ohm", "wrong"),
            (30.0, "like 4 of 120 ohm", "wrong"),
            (600.0, "no intact termination", "doubtful"),
            (1500.0, "no termination is fitted", "wrong"),
            (2e6, "no termination is fitted", "wrong"),
            (0.4, "shorted", "wrong"),
            (0.0, "shorted", "wrong"),
        ],
    )
    def test_bare(self, measured: float, words: str, judgement: str) -> None:
        """About 60 is right, 120 one missing, 40 three, above 1 kohm none, about 0 a short; 48 and 90 as the rules."""
        table = measured_terminations(measured)
        assert words in table.verdict
        assert table.judgement == judgement

    @pytest.mark.parametrize("fitted", [0, 1, 2, 3, 4])
    @pytest.mark.parametrize("each", [120.0, 150.0])
    def test_full_line_with_bias(self, fitted: int, each: float) -> None:
        """With 32 unit loads and bias given, what should be measured is read as what is fitted."""
        other = conductance_of_bias_and_receivers(560.0, 32.0)
        table = measured_terminations(expected_line_resistance(float(fitted), other, each), other, each)
        words = ["no termination is fitted", "one of the two", "two terminations", "like 3 of", "like 4 of"]
        assert words[fitted] in table.verdict
        assert table.rows[fitted][2] == pytest.approx(expected_line_resistance(float(fitted), other, each))

    def test_rows(self) -> None:
        """Each number of terminations with what it would show; none of them is open."""
        assert [row[1] for row in measured_terminations(60.0).rows] == ["open", 120.0, 60.0, 40.0, 30.0]


class TestLength:
    """The line's length (facts 7.2 and 7.3)."""

    @pytest.mark.parametrize(
        ("length", "baud", "judgement", "kept"),
        [
            (500.0, 9600.0, "fine", ["yes", "yes", "yes"]),
            (900.0, 9600.0, "fine", ["yes", "yes", "no"]),
            (1100.0, 9600.0, "doubtful", ["yes", "no", "no"]),
            (1300.0, 9600.0, "wrong", ["no", "no", "no"]),
            (900.0, 115200.0, "wrong", ["no", "-", "-"]),
            (800.0, 115200.0, "fine", ["yes", "-", "-"]),
        ],
    )
    def test_against_practice_and_guide(self, length: float, baud: float, judgement: str, kept: list[str]) -> None:
        """1200 m and 1e8 bit m/s; to 9600 Bd 1000 m with AWG26, 600 m with category 5 cable."""
        table = length_check(length, baud)
        assert table.judgement == judgement
        assert [row[2] for row in table.rows] == kept

    @pytest.mark.parametrize(
        ("stub", "stubs", "judgement"),
        [(20.0, 1.0, "fine"), (20.1, 1.0, "wrong"), (10.0, 4.0, "fine"), (10.1, 4.0, "wrong")],
    )
    def test_stub(self, stub: float, stubs: float, judgement: str) -> None:
        """20 m, or 40 m over the number of stubs."""
        assert stub_check(stub, stubs).judgement == judgement


class TestChain:
    """What follows from a few figures."""

    def test_from_devices_to_the_verdict(self) -> None:
        """Addresses and unit load make the line's resistance, not the terminations alone: facts 7.7, 0.1913 V."""
        given_ = {
            "device-addresses": "1-31",
            "unit-load-of-device": "1",
            "terminations": 2.0,
            "termination-resistance": 120.0,
            "bias-resistance": 650.0,
        }
        results = {each.calculation.gives: each.result for each in solve(given_, SUBJECTS["bus"].calculations).worked}
        assert results["unit-loads"] == 32.0
        assert results["line-resistance"] == pytest.approx(51.7241, rel=1e-5)
        assert results["idle-voltage"] == pytest.approx(0.1913, abs=5e-5)
        assert results["idle-voltage-verdict"] == LOW
        assert results["expected-line-resistance"] == pytest.approx(1 / (1 / 60 + 1 / 375 + 1 / 1300))

    def test_a_measured_voltage_that_the_network_cannot_make_is_told(self) -> None:
        """0.05 V at two terminations and 560 ohm does not fit; something else loads the line."""
        given_ = {"idle-voltage": 0.05, "terminations": 2.0, "line-resistance": 60.0, "bias-resistance": 560.0}
        solved = solve({**given_, "bias-supply": 5.0}, SUBJECTS["bus"].calculations)
        assert "idle-voltage" in [each.calculation.name for each in solved.contradictions]
