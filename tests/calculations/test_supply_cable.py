"""The drop on the supply cable against Ohm's law and the circuit solved in another way."""

from __future__ import annotations

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS, supply_cable
from diagnose.calculations.solving import solve
from diagnose.calculations.supply_cable import (
    greatest_cable_length,
    greatest_cable_resistance,
    supply_drop,
    supply_drop_of_nominal,
    supply_drop_of_power,
    supply_drop_share,
    supply_voltage_from_nominal,
    supply_voltage_from_source,
)
from tests.calculations.worked import Refusal, Row, without_row

CIRCUIT = "upper root of U_t² - U_0 U_t + P R = 0: 12 + √(144 - 96) V"
SHARE = "definition; rules on the voltage lost between source and meter, 5 and 10 %"
TOO_MUCH, MUCH = "too much: a bad joint or a thin cable", "much: look for a bad joint or a thin cable"
ROWS = [
    Row(supply_drop, (0.417, 10.86), 4.52862, "facts 5.2 and 3.8: 417 mA over 300 m of 1 mm2, I 2 L r"),
    Row(supply_drop, (0.087, 24.5), 2.1315, "facts 5.2 and 3.8: 87 mA over 500 m of 0.75 mm2"),
    Row(supply_drop_of_power, (24.0, 10.0, 9.6), 12 - 48**0.5, CIRCUIT),
    Row(supply_drop_of_nominal, (24.0, 10.0, 9.6), 12 - 48**0.5, CIRCUIT),
    Row(supply_drop_of_power, (24.0, 10.0, 14.4), 12.0, "matched: at U²/4P half the voltage is lost"),
    Row(supply_drop_of_power, (24.0, 0.0, 14.4), 0.0, "without power nothing is lost"),
    Row(supply_voltage_from_source, (24.1, 4.6), 19.5, "Kirchhoff"),
    Row(supply_voltage_from_nominal, (24.0, 4.6), 19.4, "Kirchhoff"),
    Row(supply_drop_share, (24.0, 22.8), 0.05, SHARE),
    Row(greatest_cable_resistance, (24.0, 20.4, 10.0), 7.344, "by hand: 20.4 V · 3.6 V / 10 W"),
    Row(greatest_cable_length, (24.2, 12.1e-3), 1000.0, "facts 3.8: 1000 m of 1.5 mm2 have 24.2 ohm"),
    Row(greatest_cable_length, (28.35, 24.5e-3, 333.15), 500.0, "facts 3.8: 28.35 ohm at 60 degC", 1e-4),
]


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_published_value(row: Row) -> None:
    """The calculation gives what the source beside it says."""
    row.holds()


REFUSED = [
    Refusal(supply_drop, (-0.1, 10.0), "not less than 0 A"),
    Refusal(supply_drop_of_power, (24.0, 10.0, 24.5), "no more than 5.88 W to the meter, which needs 10 W"),
    Refusal(supply_drop_of_nominal, (24.0, 10.0, 24.5), "no more than 5.88 W"),
    Refusal(supply_voltage_from_source, (24.0, 25.0), "not less than 0 V"),
    Refusal(supply_voltage_from_nominal, (24.0, 25.0), "not less than 0 V"),
    Refusal(supply_drop_share, (0.0, 0.0), "greater than 0 V"),
    Refusal(greatest_cable_resistance, (24.0, 24.0, 10.0), "between half the source voltage and all of it"),
    Refusal(greatest_cable_resistance, (24.0, 10.0, 10.0), "between half the source voltage and all of it"),
    Refusal(greatest_cable_resistance, (24.0, 20.4, 0.0), "without power"),
    Refusal(greatest_cable_length, (0.0, 0.0245), "greater than 0 ohm"),
]


@pytest.mark.parametrize("row", REFUSED, ids=str)
def test_what_cannot_be_is_refused_in_words(row: Refusal) -> None:
    """No figure comes out where the formula says nothing."""
    row.holds()


def test_every_calculation_has_both() -> None:
    """A calculation has worked values, and inputs that it refuses."""
    assert without_row(supply_cable, ROWS) == set() == without_row(supply_cable, REFUSED)


@given(st.floats(5.0, 400.0), st.floats(0.1, 50.0), st.floats(0.01, 0.99))
def test_the_drop_is_the_smaller_root_of_the_circuit(voltage: float, power: float, part: float) -> None:
    """`numpy.roots` of the polynomial; the meter then draws just its power, and at the current the drop is I R."""
    resistance = part * voltage**2 / (4 * power)
    drop = supply_drop_of_power(voltage, power, resistance)
    assert drop == pytest.approx(min(numpy.roots([1, -voltage, power * resistance]).real), rel=1e-6)
    assert supply_drop(power / (voltage - drop), resistance) == pytest.approx(drop)


@given(st.floats(5.0, 400.0), st.floats(0.1, 50.0), st.floats(0.51, 0.99))
def test_a_cable_of_the_greatest_resistance_leaves_just_the_lowest_voltage(u: float, power: float, part: float) -> None:
    """Inverse pair; any less resistance leaves more."""
    most = greatest_cable_resistance(u, part * u, power)
    assert supply_voltage_from_nominal(u, supply_drop_of_nominal(u, power, most)) == pytest.approx(part * u)
    assert supply_drop_of_nominal(u, power, most / 2) < supply_drop_of_nominal(u, power, most)


def test_the_voltage_at_the_terminals_follows_from_plate_and_cable() -> None:
    """24 V d.c., 10 W, 150 m of 0.75 mm2 (7.35 ohm): just too little is left, the longest cable is 149.9 m."""
    given = {
        "nominal-supply-voltage": 24.0,
        "supply-kind": "d.c.",
        "power-consumption": 10.0,
        "cable-length": 150.0,
        "conductor-area": 0.75e-6,
    }
    solved = solve(given, SUBJECTS["supply"].calculations)
    results = {each.calculation.gives: each.result for each in solved.worked}
    assert results["cable-resistance"] == pytest.approx(7.35)
    assert results["supply-voltage"] == pytest.approx(12 + (144 - 73.5) ** 0.5)
    assert results["greatest-cable-length"] == pytest.approx(149.88, rel=1e-4)
    assert not solved.refused


def test_a_measured_current_comes_before_the_plates_power() -> None:
    """The drop is I R of what really flows; the measured source comes before the nominal voltage."""
    given = {
        "nominal-supply-voltage": 24.0,
        "power-consumption": 10.0,
        "supply-current": 0.2,
        "cable-resistance": 10.0,
        "supply-voltage-at-source": 23.5,
    }
    results = {each.calculation.gives: each.result for each in solve(given, SUBJECTS["supply"].calculations).worked}
    assert results["supply-drop"] == pytest.approx(2.0)
    assert results["supply-voltage"] == pytest.approx(21.5)
