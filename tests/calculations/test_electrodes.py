"""The electrode circuit against fact sheet, circuit theory and the field of a disc."""

from __future__ import annotations

import cmath
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from diagnose.calculations import SUBJECTS, electrodes
from diagnose.calculations.electrodes import (
    cable_capacitance,
    cable_loading_error,
    cable_loading_phase,
    capacitive_impedance,
    conductivity_from_electrode,
    conductivity_from_pair,
    electrode_comparison,
    electrode_to_earth_resistance,
    least_input_impedance,
    loading_error,
    source_resistance,
)
from diagnose.calculations.solving import solve
from tests.calculations.worked import Refusal, Row, without_row

MICRO = 1e-4
"""1 µS/cm in S/m."""

PAIRS = [(1, 1e6), (5, 200e3), (20, 50e3), (50, 20e3), (500, 2e3), (5000, 200.0)]
"""Facts 1.10: µS/cm → ohm between two electrodes of 10 mm."""

DIVIDER = "facts 1.11, voltage divider"
CABLE = "facts 1.12, 100 pF/m · 10 m at 25 Hz"
ROWS = [
    *(Row(source_resistance, (sigma * MICRO, 0.010), ohm, "facts 1.10") for sigma, ohm in PAIRS),
    *(Row(electrode_to_earth_resistance, (sigma * MICRO, 0.010), ohm / 2, "facts 1.9") for sigma, ohm in PAIRS),
    *(Row(conductivity_from_pair, (ohm, 0.010), sigma * MICRO, "facts 1.10, inverse") for sigma, ohm in PAIRS),
    *(Row(conductivity_from_electrode, (ohm / 2, 0.010), sigma * MICRO, "facts 1.9, inverse") for sigma, ohm in PAIRS),
    Row(loading_error, (200e3, 10e6), -0.01961, DIVIDER, 5e-4),
    Row(loading_error, (50e3, 10e6), -0.00498, DIVIDER, 1e-3),
    Row(loading_error, (200e3, 1e6), -0.1667, DIVIDER, 5e-4),
    Row(least_input_impedance, (200e3,), 199.8e6, "facts 1.11: 999 R_s at 5 µS/cm for 0.1 %"),
    Row(least_input_impedance, (200e3, 0.01), 19.8e6, "by hand: 99 R_s for 1 %"),
    Row(cable_capacitance, (100e-12, 10.0), 1e-9, CABLE),
    Row(capacitive_impedance, (1e-9, 25.0), 6.366e6, CABLE, 1e-4),
    Row(cable_loading_error, (200e3, 6.3662e6), -0.00049, CABLE, 1e-2),
    Row(cable_loading_phase, (200e3, 6.3662e6), math.radians(1.80), CABLE, 1e-3),
]


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_published_value(row: Row) -> None:
    """The calculation gives what the source beside it says."""
    row.holds()


REFUSED = [
    Refusal(electrode_to_earth_resistance, (0.0, 0.01), "greater than 0 uS/cm"),
    Refusal(electrode_to_earth_resistance, (0.05, -0.01), "greater than 0 mm"),
    Refusal(source_resistance, (0.05, 0.0), "greater than 0 mm"),
    Refusal(conductivity_from_electrode, (0.0, 0.01), "greater than 0 kohm"),
    Refusal(conductivity_from_pair, (0.0, 0.01), "greater than 0 kohm"),
    Refusal(loading_error, (1e3, 0.0), "greater than 0 Mohm"),
    Refusal(least_input_impedance, (1e3, 0.0), "greater than 0 %"),
    Refusal(least_input_impedance, (1e3, 0.6), "not more than 50 %"),
    Refusal(cable_capacitance, (1e-10, 0.0), "greater than 0 pF"),
    Refusal(capacitive_impedance, (1e-9, 0.0), "greater than 0 Hz"),
    Refusal(cable_loading_error, (0.0, 1e6), "greater than 0 kohm"),
    Refusal(cable_loading_phase, (1e3, 0.0), "greater than 0 Mohm"),
    Refusal(electrode_comparison, (-1.0, 1e3, 1e3), "not less than 0 kohm"),
]


@pytest.mark.parametrize("row", REFUSED, ids=str)
def test_what_cannot_be_is_refused_in_words(row: Refusal) -> None:
    """No figure comes out where the formula says nothing."""
    row.holds()


def test_every_calculation_has_both() -> None:
    """A calculation has worked values, and inputs that it refuses."""
    assert without_row(electrodes, ROWS, tables=["electrode-comparison"]) == set()
    assert without_row(electrodes, REFUSED) == set()


def test_the_spreading_resistance_is_that_of_a_discs_field() -> None:
    """The potential at the centre of a disc whose current density is I / (2 π a √(a² - r²)), integrated (`scipy`).

    That density is the one that makes a disc in an insulating wall an equipotential (Weber 1873, from memory).
    """
    sigma, a = 0.05, 0.005

    def from_ring(r: float) -> float:
        """Each ring 2 π r dr adds I / (2 π a √(a² - r²)) / (2 π σ r); `alg` weighs with 1 / √(a - r)."""
        return 1 / (2 * math.pi * a * sigma * math.sqrt(a + r))

    potential = quad(from_ring, 0, a, weight="alg", wvar=(0, -0.5))[0]
    assert electrode_to_earth_resistance(sigma, 2 * a) == pytest.approx(potential)


@given(st.floats(1.0, 1e7), st.floats(1e-12, 1e-7), st.floats(1.0, 1000.0))
def test_the_cables_load_is_that_of_the_complex_divider(ohm: float, farad: float, hertz: float) -> None:
    """1 / (1 + j ω R C), by complex numbers: magnitude and phase."""
    impedance = capacitive_impedance(farad, hertz)
    divider = 1 / (1 + 2j * math.pi * hertz * ohm * farad)
    assert 1 + cable_loading_error(ohm, impedance) == pytest.approx(abs(divider))
    assert -cable_loading_phase(ohm, impedance) == pytest.approx(cmath.phase(divider), abs=1e-12)


@given(st.floats(1e-6, 10), st.floats(1e-3, 0.05), st.floats(1.01, 10.0))
def test_better_conductivity_or_larger_electrodes_are_less_resistance(sigma: float, metres: float, k: float) -> None:
    """Resistance is inverse to conductivity and to diameter alike, and the pair has twice that of one."""
    one = electrode_to_earth_resistance(sigma, metres)
    assert electrode_to_earth_resistance(sigma * k, metres) * k == pytest.approx(one)
    assert electrode_to_earth_resistance(sigma, metres * k) * k == pytest.approx(one)
    assert source_resistance(sigma, metres) == pytest.approx(2 * one)
    assert conductivity_from_electrode(one, metres) == pytest.approx(sigma)
    assert conductivity_from_pair(2 * one, metres) == pytest.approx(sigma)


@given(st.floats(1.0, 1e7), st.floats(1e-5, 0.5))
def test_the_least_input_impedance_loads_by_just_the_accepted_error(ohm: float, error: float) -> None:
    """Inverse pair: the reading is never high, and a larger impedance loads less."""
    least = least_input_impedance(ohm, error)
    assert loading_error(ohm, least) == pytest.approx(-error)
    assert loading_error(ohm, least) < loading_error(ohm, 2 * least) < 0


def test_both_electrodes_stand_beside_what_is_expected() -> None:
    """Each with how many times it is what the liquid gives; what that means the rules say."""
    assert [row[1:] for row in electrode_comparison(1600.0, 500.0, 1000.0).rows] == [
        (1600.0, 1000.0, 1.6),
        (500.0, 1000.0, 0.5),
    ]


def test_all_of_the_electrode_circuit_follows_from_liquid_cable_and_input() -> None:
    """Facts 1.10 to 1.12 in one go, with the 0.1 % named as taken."""
    given = {
        "liquid-conductivity": 5 * MICRO,
        "electrode-diameter": 0.010,
        "input-impedance": 10e6,
        "capacitance-by-length": 100e-12,
        "cable-length": 10.0,
        "excitation-frequency": 25.0,
    }
    solved = solve(given, SUBJECTS["electrodes"].calculations)
    results = {each.calculation.gives: each.result for each in solved.worked}
    assert not solved.refused
    assert not solved.unused
    assert results["source-resistance"] == pytest.approx(200e3)
    assert results["loading-error"] == pytest.approx(-0.01961, rel=5e-4)
    assert results["least-input-impedance"] == pytest.approx(199.8e6)
    assert results["cable-loading-phase"] == pytest.approx(math.radians(1.80), rel=1e-3)
    taken = {name for each in solved.worked for name in each.taken}
    assert taken == {"greatest-loading-error"}
