"""Velocity, flow and bore; Faraday's voltage; Reynolds number, with the viscosity of water against `iapws`."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from fluids import Reynolds, nearest_pipe
from hypothesis import assume, given
from hypothesis import strategies as st
from iapws import IAPWS95

from diagnose.calculations import SUBJECTS
from diagnose.calculations.flow import (
    bore_from_velocity,
    electrode_voltage,
    flow_from_velocity,
    flow_regime,
    flux_density_from_electrode_voltage,
    greatest_velocity,
    kinematic_viscosity_of_water,
    reynolds_number,
    velocity,
    velocity_from_electrode_voltage,
)
from diagnose.calculations.solving import solve
from diagnose.errors import OutOfRange

HOUR = 3600.0
POSITIVE = st.floats(1e-3, 1e3)
SIGNED = st.floats(-1e3, -1e-3) | POSITIVE

VALUES: list[tuple[Callable[..., float], tuple[float, ...], float, float]] = [
    # v = 4 Q / (pi D^2): continuity; fact 1.3
    (velocity, (60 / HOUR, 0.100), 2.12207, 5e-6),
    (velocity, (10 / HOUR, 0.050), 1.41471, 5e-6),
    (velocity, (36 / HOUR, 0.080), 1.98944, 5e-6),
    (velocity, (400 / HOUR, 0.300), 1.57190, 5e-6),
    (velocity, (-60 / HOUR, 0.100), -2.12207, 5e-6),
    # v[m/s] = 353.6777 Q[m3/h] / D[mm]^2: continuity; fact 1.2
    (velocity, (1 / HOUR, 0.001), 353.6777, 5e-5),
    # Q = v pi D^2 / 4: continuity; fact 1.4
    (greatest_velocity, (60 / HOUR, 0.1, 84.8230 / HOUR), 3.0, 5e-6),
    (greatest_velocity, (-84.8230 / HOUR, 0.1), 3.0, 5e-6),
    (flow_from_velocity, (0.3, 0.1), 8.4823 / HOUR, 5e-5 / HOUR),
    (flow_from_velocity, (0.5, 0.1), 14.1372 / HOUR, 5e-5 / HOUR),
    (flow_from_velocity, (1.0, 0.1), 28.2743 / HOUR, 5e-5 / HOUR),
    (flow_from_velocity, (3.0, 0.1), 84.8230 / HOUR, 5e-5 / HOUR),
    (flow_from_velocity, (10.0, 0.1), 282.743 / HOUR, 5e-4 / HOUR),
    (bore_from_velocity, (84.8230 / HOUR, 3.0), 0.1, 1e-7),
    # e = k B D v: Faraday; fact 1.1 (ISO 6817)
    (electrode_voltage, (2.0, 0.1, 0.005), 1.000e-3, 1e-9),
    (electrode_voltage, (2.0, 0.1, 0.005, 0.9), 0.900e-3, 1e-9),
    (velocity_from_electrode_voltage, (1e-3, 0.1, 0.005), 2.0, 1e-9),
    (flux_density_from_electrode_voltage, (1e-3, 2.0, 0.1), 0.005, 1e-12),
    # Re = v D / nu: definition
    (reynolds_number, (2.0, 0.1, 1e-6), 200_000.0, 1e-6),
    (reynolds_number, (-2.0, 0.1, 1e-6), 200_000.0, 1e-6),
]


@pytest.mark.parametrize(
    ("function", "inputs", "value", "within"), VALUES, ids=[f"{each[0].__name__}{each[1]}" for each in VALUES]
)
def test_a_worked_value(function: Callable[..., float], inputs: tuple[float, ...], value: float, within: float) -> None:
    """The function gives the value that stands in the table beside its source."""
    assert function(*inputs) == pytest.approx(value, abs=within)


@pytest.mark.parametrize("celsius", [0.5, 4.0, 10.0, 20.0, 25.0, 40.0, 60.0, 80.0, 99.9])
def test_viscosity_of_water_is_that_of_iapws_95(celsius: float) -> None:
    """Within 0.01 % of the scientific formulation (IAPWS-95, IAPWS R12-08), which the short one is not part of."""
    water = IAPWS95(T=273.15 + celsius, P=0.101325)
    assert kinematic_viscosity_of_water(273.15 + celsius) == pytest.approx(water.nu, rel=1e-4)


@pytest.mark.parametrize(("size", "schedule"), [(2, "40"), (4, "40"), (4, "80"), (12, "40")])
def test_reynolds_number_is_that_of_fluids(size: float, schedule: str) -> None:
    """In pipes of ASME B36.10 at 1.5 m/s, as the `fluids` library has them."""
    bore = nearest_pipe(NPS=size, schedule=schedule)[1]
    assert reynolds_number(1.5, bore, 1.0034e-6) == pytest.approx(Reynolds(V=1.5, D=bore, nu=1.0034e-6))


@pytest.mark.parametrize(
    ("number", "word"),
    [  # textbook limits for a round pipe: 2300 and 4000
        (0.0, "laminar"),
        (2299.0, "laminar"),
        (2300.0, "transitional"),
        (4000.0, "transitional"),
        (4001.0, "turbulent"),
    ],
)
def test_kind_of_flow(number: float, word: str) -> None:
    """The two limits stand on the side of transition."""
    assert flow_regime(number) == word


@given(SIGNED, POSITIVE)
def test_velocity_flow_and_bore_are_inverse(flow: float, bore: float) -> None:
    """Any two of the three give the third back."""
    speed = velocity(flow, bore)
    assert flow_from_velocity(speed, bore) == pytest.approx(flow)
    assert bore_from_velocity(flow, speed) == pytest.approx(bore)


@given(SIGNED, POSITIVE, POSITIVE, st.floats(0.5, 1.5))
def test_voltage_velocity_and_flux_density_are_inverse(speed: float, bore: float, flux: float, factor: float) -> None:
    """The voltage knows velocity and flux density when it knows one of them."""
    voltage = electrode_voltage(speed, bore, flux, factor)
    assert velocity_from_electrode_voltage(voltage, bore, flux, factor) == pytest.approx(speed)
    assert flux_density_from_electrode_voltage(voltage, speed, bore, factor) == pytest.approx(flux)


@given(st.floats(273.15, 373.15), st.floats(273.15, 373.15))
def test_warmer_water_is_thinner(one: float, other: float) -> None:
    """From 0 to 100 °C the kinematic viscosity only falls."""
    assume(other - one > 1e-3)
    assert kinematic_viscosity_of_water(one) > kinematic_viscosity_of_water(other) > 0


@given(SIGNED, POSITIVE, POSITIVE, st.floats(1.01, 10.0))
def test_reynolds_number_rises_with_velocity_and_bore(speed: float, bore: float, thick: float, more: float) -> None:
    """It is proportional to both, and inverse to the viscosity."""
    number = reynolds_number(speed, bore, thick)
    assert reynolds_number(speed * more, bore, thick) == pytest.approx(more * number)
    assert reynolds_number(speed, bore * more, thick * more) == pytest.approx(number)


OUT_OF_RANGE: list[tuple[Callable[..., float | str], tuple[float, ...]]] = [
    (velocity, (1.0, 0.0)),
    (velocity, (1.0, -0.1)),
    (velocity, (math.inf, 0.1)),
    (flow_from_velocity, (1.0, 0.0)),
    (bore_from_velocity, (0.0, 1.0)),
    (bore_from_velocity, (1.0, 0.0)),
    (bore_from_velocity, (1.0, -1.0)),
    (electrode_voltage, (1.0, 0.1, 0.0)),
    (electrode_voltage, (1.0, 0.1, 0.005, 0.0)),
    (velocity_from_electrode_voltage, (0.001, 0.0, 0.005)),
    (velocity_from_electrode_voltage, (0.001, 0.1, -0.005)),
    (flux_density_from_electrode_voltage, (0.001, 0.0, 0.1)),
    (flux_density_from_electrode_voltage, (0.001, -1.0, 0.1)),
    (kinematic_viscosity_of_water, (273.14,)),
    (kinematic_viscosity_of_water, (373.16,)),
    (reynolds_number, (1.0, 0.1, 0.0)),
    (flow_regime, (-1.0,)),
]


@pytest.mark.parametrize(
    ("function", "inputs"), OUT_OF_RANGE, ids=[f"{each[0].__name__}{each[1]}" for each in OUT_OF_RANGE]
)
def test_out_of_range_is_refused(function: Callable[..., float | str], inputs: tuple[float, ...]) -> None:
    """No figure comes out of inputs for which the formula says nothing."""
    with pytest.raises(OutOfRange):
        function(*inputs)


def test_all_follows_from_flow_bore_temperature_and_flux_density() -> None:
    """One chain, each term once: velocity, viscosity, Reynolds number, kind of flow, voltage."""
    given = {"flow": 60 / HOUR, "bore": 0.1, "temperature": 293.15, "flux-density": 0.005}
    solved = solve(given, SUBJECTS["flow"].calculations)
    results = {each.calculation.gives: each.result for each in solved.worked}
    assert results == {
        "velocity": pytest.approx(2.12207, abs=5e-6),
        "kinematic-viscosity": pytest.approx(1.0034e-6, abs=5e-11),
        "reynolds-number": pytest.approx(211_490, abs=20),
        "flow-regime": "turbulent",
        "electrode-voltage": pytest.approx(1.06103e-3, abs=1e-8),
    }
    assert (solved.refused, solved.contradictions, solved.unused) == ((), (), ())


@pytest.mark.parametrize("name", ["flow", "bore", "velocity", "indicated", "temperature"])
def test_nothing_follows_from_one_input_that_says_nothing_alone(name: str) -> None:
    """Only the temperature tells something by itself: how thick water is."""
    solved = solve({name: 0.1 if name != "temperature" else 293.15}, SUBJECTS["flow"].calculations)
    assert [each.calculation.gives for each in solved.worked] == ["kinematic-viscosity"] * (name == "temperature")
