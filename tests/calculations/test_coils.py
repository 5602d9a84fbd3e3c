"""The coils against copper's temperature coefficient, Ohm's law and the limits of the trade."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS, coils
from diagnose.calculations.coils import (
    coil_cable_drop,
    coil_circuit_resistance,
    coil_drive_voltage,
    coil_power,
    coil_resistance_at_20,
    coil_resistance_deviation,
    coil_resistance_from_excitation,
    coil_temperature_from_resistance,
    excitation_current_from_voltage,
    excitation_voltage,
    expected_coil_resistance,
)
from diagnose.calculations.solving import solve
from tests.calculations.worked import Refusal, Row, without_row

CELSIUS = 273.15
COPPER = "facts 3.12: 60 degC x 1.1572, 0 degC x 0.9214"
USUAL = "facts 5.16: typical 20 to 300 ohm"
LOW, BAD_JOINT = "too low: shorted turns or a bridge", "too high: a bad joint or open"
UNUSUAL = "unusual: compare with the data sheet"
ROWS = [
    Row(expected_coil_resistance, (100.0, CELSIUS + 60), 115.72, COPPER),
    Row(expected_coil_resistance, (100.0, CELSIUS), 92.14, COPPER),
    # three-digit factors of tables based on IEC 60228
    Row(expected_coil_resistance, (86.2, CELSIUS + 60), 100.0, "facts 3.12: 60 degC 1/0.862", 3e-3),
    Row(expected_coil_resistance, (98.0, CELSIUS + 25), 100.0, "facts 3.12: 25 degC 1/0.980", 3e-3),
    Row(coil_resistance_at_20, (115.72, CELSIUS + 60), 100.0, COPPER),
    Row(coil_temperature_from_resistance, (115.72, 100.0), CELSIUS + 60, COPPER),
    Row(coil_temperature_from_resistance, (92.14, 100.0), CELSIUS, COPPER),
    Row(coil_resistance_deviation, (60.0, 80.0), -0.25, "definition"),
    Row(excitation_voltage, (0.1, 80.0), 8.0, "Ohm's law"),
    Row(coil_circuit_resistance, (80.0, 14.7), 94.7, "series circuit; 300 m of 24.5 ohm/km (IEC 60228)"),
    Row(coil_cable_drop, (0.1, 14.7), 1.47, "Ohm's law"),
    Row(coil_drive_voltage, (8.0, 1.47), 9.47, "Kirchhoff's voltage law"),
    Row(excitation_current_from_voltage, (8.0, 80.0), 0.1, "Ohm's law"),
    Row(coil_resistance_from_excitation, (8.0, 0.1), 80.0, "Ohm's law"),
    Row(coil_power, (0.1, 80.0), 0.8, "Joule's law"),
]


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_published_value(row: Row) -> None:
    """The calculation gives what the source beside it says."""
    row.holds()


REFUSED = [
    Refusal(expected_coil_resistance, (100.0, CELSIUS + 300), "not more than 200 degC"),
    Refusal(expected_coil_resistance, (0.0, CELSIUS + 20), "greater than 0 ohm"),
    Refusal(coil_resistance_at_20, (100.0, CELSIUS - 100), "not less than -60 degC"),
    Refusal(coil_temperature_from_resistance, (100.0, 0.0), "greater than 0 ohm"),
    Refusal(coil_resistance_deviation, (100.0, 0.0), "greater than 0 ohm"),
    Refusal(excitation_voltage, (-0.1, 80.0), "not less than 0 mA"),
    Refusal(excitation_current_from_voltage, (8.0, 0.0), "a coil resistance that is not zero"),
    Refusal(coil_resistance_from_excitation, (8.0, 0.0), "a current that is not zero"),
    Refusal(coil_power, (-0.1, 80.0), "not less than 0 mA"),
    Refusal(coil_circuit_resistance, (80.0, -1.0), "not less than 0 ohm"),
    Refusal(coil_cable_drop, (-0.1, 14.7), "not less than 0 mA"),
    Refusal(coil_drive_voltage, (8.0, -1.0), "not less than 0 V"),
]


@pytest.mark.parametrize("row", REFUSED, ids=str)
def test_what_cannot_be_is_refused_in_words(row: Refusal) -> None:
    """No figure comes out where the formula says nothing."""
    row.holds()


def test_every_calculation_has_both() -> None:
    """A calculation has worked values, and inputs that it refuses."""
    assert without_row(coils, ROWS) == set() == without_row(coils, REFUSED)


@given(st.floats(1.0, 1000.0), st.floats(CELSIUS - 59, CELSIUS + 199))
def test_hot_and_cold_are_inverse(ohm: float, kelvin: float) -> None:
    """Resistance at 20 degC, at another temperature, and the temperature by both."""
    hot = expected_coil_resistance(ohm, kelvin)
    assert coil_resistance_at_20(hot, kelvin) == pytest.approx(ohm)
    assert coil_temperature_from_resistance(hot, ohm) == pytest.approx(kelvin)
    assert coil_resistance_deviation(hot, hot) == pytest.approx(0, abs=1e-12)


@given(st.floats(1e-3, 5.0), st.floats(1.0, 1000.0))
def test_voltage_current_and_power_belong_together(ampere: float, ohm: float) -> None:
    """P = U I, and each of the three of Ohm's law by the other two."""
    volt = excitation_voltage(ampere, ohm)
    assert coil_power(ampere, ohm) == pytest.approx(volt * ampere)
    assert excitation_current_from_voltage(volt, ohm) == pytest.approx(ampere)
    assert coil_resistance_from_excitation(volt, ampere) == pytest.approx(ohm)


def test_a_hot_coil_is_compared_with_itself_hot() -> None:
    """92 ohm at 55 degC is 1.1 % off a coil of 80 ohm at 20 degC, not 15 %; the only thing taken is no cable."""
    given = {"coil-resistance": 92.0, "coil-resistance-nominal": 80.0, "coil-temperature": CELSIUS + 55}
    solved = solve(given, SUBJECTS["electrodes"].calculations)
    results = {each.calculation.gives: each.result for each in solved.worked}
    assert results["coil-resistance-deviation"] == pytest.approx(92 / (80 * (1 + 0.00393 * 35)) - 1)
    assert results["implied-coil-temperature"] == pytest.approx(CELSIUS + 58.17, abs=0.01)
    assert {each.calculation.gives for each in solved.worked if each.taken} == {"coil-circuit-resistance"}
