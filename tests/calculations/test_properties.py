"""What holds for every input: pairs of inverses, and which way a result goes."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.calculations.bus import idle_voltage
from diagnose.calculations.current_loop import (
    current_from_flow,
    current_from_shunt_voltage,
    flow_from_current,
    highest_current,
)
from diagnose.calculations.electrodes import electrode_to_earth_resistance
from diagnose.calculations.flow import deviation, ratio, velocity
from diagnose.calculations.supply import supply_current

POSITIVE = st.floats(1e-3, 1e4)
FLOW = st.floats(-1e3, 1e3)


@given(FLOW, FLOW, FLOW)
def test_flow_and_current_are_inverse(flow: float, lower: float, upper: float) -> None:
    """The flow that a current stands for drives that current, also with a falling characteristic."""
    assume(abs(upper - lower) > 1e-3)
    assert flow_from_current(current_from_flow(flow, lower, upper), lower, upper) == pytest.approx(flow, abs=1e-6)


@given(FLOW, FLOW)
def test_range_values_are_4_and_20_milliampere(lower: float, upper: float) -> None:
    """By definition."""
    assume(abs(upper - lower) > 1e-3)
    assert current_from_flow(lower, lower, upper) == pytest.approx(0.004)
    assert current_from_flow(upper, lower, upper) == pytest.approx(0.020)


@given(FLOW, st.floats(1e-3, 1e3), POSITIVE)
def test_more_flow_is_more_current(flow: float, more: float, span: float) -> None:
    """With a rising characteristic, beyond both ends too."""
    assert current_from_flow(flow + more, 0.0, span) > current_from_flow(flow, 0.0, span)


@given(POSITIVE, POSITIVE, st.floats(1.01, 10.0))
def test_velocity_falls_with_the_square_of_the_bore(flow: float, bore: float, wider: float) -> None:
    """A bore wider by a factor slows the liquid by its square; the flow's sign is the velocity's."""
    assert velocity(flow, bore * wider) * wider**2 == pytest.approx(velocity(flow, bore))
    assert velocity(-flow, bore) == -velocity(flow, bore)


@given(st.floats(0, 60), st.floats(0, 60), POSITIVE, POSITIVE)
def test_load_never_helps_and_supply_never_hurts(supply: float, least: float, load: float, more: float) -> None:
    """More load never lets more current flow, more supply never less, and no current is negative."""
    current = highest_current(supply, least, load)
    assert 0 <= highest_current(supply, least, load + more) <= current <= highest_current(supply + more, least, load)


@given(st.floats(-0.03, 0.03), POSITIVE)
def test_shunt_voltage_gives_the_current_back(current: float, resistance: float) -> None:
    """Ohm's law there and back."""
    assert current_from_shunt_voltage(current * resistance, resistance) == pytest.approx(current)


@given(POSITIVE, POSITIVE, st.floats(1.01, 10.0))
def test_better_conductivity_is_less_resistance(conductivity: float, diameter: float, factor: float) -> None:
    """Resistance is inverse to conductivity and to diameter alike."""
    resistance = electrode_to_earth_resistance(conductivity, diameter)
    assert electrode_to_earth_resistance(conductivity * factor, diameter) * factor == pytest.approx(resistance)
    assert electrode_to_earth_resistance(conductivity, diameter * factor) * factor == pytest.approx(resistance)


@given(POSITIVE, POSITIVE)
def test_power_is_voltage_times_current(power: float, voltage: float) -> None:
    """By definition."""
    assert supply_current(power, voltage) * voltage == pytest.approx(power)


@given(POSITIVE, POSITIVE, POSITIVE, POSITIVE)
def test_weaker_bias_lowers_the_idle_voltage(supply: float, bias: float, line: float, more: float) -> None:
    """A divider gives less than it gets, less with larger bias resistors, more with a lighter line."""
    voltage = idle_voltage(supply, bias, line)
    assert 0 < voltage < supply
    assert idle_voltage(supply, bias + more, line) <= voltage <= idle_voltage(supply, bias, line + more)


@given(FLOW, st.floats(0.1, 1e3) | st.floats(-1e3, -0.1))
def test_deviation_is_ratio_less_one(indicated: float, reference: float) -> None:
    """Both speak of the same two readings."""
    assert deviation(indicated, reference) == pytest.approx(ratio(indicated, reference) - 1, abs=1e-9)
