"""The trade's calculations against worked values, each re-computed by hand from the formula that is named."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from diagnose.calculations import FUNCTIONS, inputs_of
from diagnose.calculations.bus import idle_voltage, parallel_resistance
from diagnose.calculations.current_loop import (
    current_from_flow,
    current_from_shunt_voltage,
    flow_from_current,
    highest_current,
)
from diagnose.calculations.electrodes import electrode_to_earth_resistance
from diagnose.calculations.flow import deviation, ratio, velocity
from diagnose.calculations.supply import supply_current
from diagnose.errors import OutOfRange

VALUES: list[tuple[Callable[..., float], tuple[float, ...], float, float]] = [
    # v = 4 Q / (pi D^2), continuity: m3/h and mm to m/s
    (velocity, (60 / 3600, 0.100), 2.12207, 5e-6),
    (velocity, (10 / 3600, 0.050), 1.41471, 5e-6),
    (velocity, (36 / 3600, 0.080), 1.98944, 5e-6),
    (velocity, (400 / 3600, 0.300), 1.57190, 5e-6),
    (velocity, (8.4823 / 3600, 0.100), 0.3, 1e-5),
    (velocity, (28.2743 / 3600, 0.100), 1.0, 1e-5),
    (velocity, (282.743 / 3600, 0.100), 10.0, 2e-5),
    (velocity, (-60 / 3600, 0.100), -2.12207, 5e-6),
    # I = 4 mA + 16 mA (Q - LRV) / (URV - LRV), IEC 60381-1
    (flow_from_current, (0.008, 0.0, 250.0), 62.5, 1e-9),
    (flow_from_current, (0.012, 0.0, 250.0), 125.0, 1e-9),
    (flow_from_current, (0.0136, 0.0, 250.0), 150.0, 1e-9),
    (flow_from_current, (0.020, 0.0, 250.0), 250.0, 1e-9),
    (flow_from_current, (0.012, -100.0, 100.0), 0.0, 1e-9),
    (current_from_flow, (37.5, 0.0, 100.0), 0.010, 1e-12),
    (current_from_flow, (0.0, -100.0, 100.0), 0.012, 1e-12),
    # limits of NAMUR NE 43 as shares of span
    (flow_from_current, (0.0036, 0.0, 100.0), -2.5, 1e-9),
    (flow_from_current, (0.0038, 0.0, 100.0), -1.25, 1e-9),
    (flow_from_current, (0.0205, 0.0, 100.0), 103.125, 1e-9),
    (flow_from_current, (0.0210, 0.0, 100.0), 106.25, 1e-9),
    # Ohm's law: shunt of 250 ohm
    (current_from_shunt_voltage, (0.900, 250.0), 0.0036, 1e-12),
    (current_from_shunt_voltage, (1.000, 250.0), 0.004, 1e-12),
    (current_from_shunt_voltage, (3.000, 250.0), 0.012, 1e-12),
    (current_from_shunt_voltage, (5.125, 250.0), 0.0205, 1e-12),
    (current_from_shunt_voltage, (5.250, 250.0), 0.021, 1e-12),
    # the highest resistance drives exactly the current that it was worked out for: (U - U_min) / I
    (highest_current, (24.0, 12.0, 585.4), 0.0205, 2e-6),
    (highest_current, (24.0, 12.0, 571.4), 0.0210, 2e-6),
    (highest_current, (24.0, 12.0, 545.5), 0.0220, 2e-6),
    (highest_current, (24.0, 10.5, 613.6), 0.0220, 2e-6),
    (highest_current, (24.0, 12.0, 750.0), 0.0160, 1e-9),
    (highest_current, (24.0, 12.0, 250.0 + 600.0 + 24.5), 0.01372, 5e-6),
    (highest_current, (10.0, 12.0, 250.0), 0.0, 0.0),
    # 20 VA at the limits of 230 V +-10 % (IEC 60038); 10 W at 24 V d.c.
    (supply_current, (20.0, 207.0), 0.097, 5e-4),
    (supply_current, (20.0, 230.0), 0.087, 5e-4),
    (supply_current, (20.0, 253.0), 0.079, 5e-4),
    (supply_current, (10.0, 24.0), 0.417, 5e-4),
    # one disc electrode, 1 / (2 sigma d), 10 mm; the pair has twice that: 1 M, 200 k, 20 k, 2 k, 200 ohm
    (electrode_to_earth_resistance, (1e-4, 0.010), 500e3, 1e-3),
    (electrode_to_earth_resistance, (5e-4, 0.010), 100e3, 1e-3),
    (electrode_to_earth_resistance, (50e-4, 0.010), 10e3, 1e-3),
    (electrode_to_earth_resistance, (500e-4, 0.010), 1e3, 1e-6),
    (electrode_to_earth_resistance, (5000e-4, 0.010), 100.0, 1e-6),
    # 5 V R / (2 R_b + R), Modbus over Serial Line V1.02
    (idle_voltage, (5.0, 450.0, 60.0), 0.3125, 5e-5),
    (idle_voltage, (5.0, 560.0, 60.0), 0.2542, 5e-5),
    (idle_voltage, (5.0, 650.0, 60.0), 0.2206, 5e-5),
    (idle_voltage, (5.0, 720.0, 60.0), 0.2000, 5e-5),
    (idle_voltage, (5.0, 1000.0, 60.0), 0.1456, 5e-5),
    (idle_voltage, (5.0, 4700.0, 60.0), 0.0317, 5e-5),
    (idle_voltage, (5.0, 650.0, 75.0), 0.2727, 5e-5),
    (idle_voltage, (5.0, 560.0, 51.72), 0.2207, 5e-5),
    (idle_voltage, (5.0, 650.0, 51.72), 0.1913, 5e-5),
    (parallel_resistance, (120.0, 2.0), 60.0, 1e-9),
    (parallel_resistance, (150.0, 2.0), 75.0, 1e-9),
    # relative error of indication: 51 indicated, 50 by the reference
    (deviation, (51.0, 50.0), 0.02, 1e-12),
    (deviation, (49.0, 50.0), -0.02, 1e-12),
    (ratio, (36.0, 100.0), 0.36, 1e-12),
]


@pytest.mark.parametrize(
    ("function", "inputs", "value", "within"),
    VALUES,
    ids=[f"{function.__name__}{inputs}" for function, inputs, _, _ in VALUES],
)
def test_a_worked_value(function: Callable[..., float], inputs: tuple[float, ...], value: float, within: float) -> None:
    """The function gives the value that the formula gives by hand."""
    assert function(*inputs) == pytest.approx(value, abs=within)


OUT_OF_RANGE: list[tuple[Callable[..., float], tuple[float, ...]]] = [
    (velocity, (1.0, 0.0)),
    (velocity, (1.0, -0.1)),
    (current_from_flow, (1.0, 5.0, 5.0)),
    (flow_from_current, (0.012, 5.0, 5.0)),
    (highest_current, (24.0, 12.0, 0.0)),
    (highest_current, (24.0, 12.0, -1.0)),
    (current_from_shunt_voltage, (1.0, 0.0)),
    (electrode_to_earth_resistance, (0.0, 0.01)),
    (electrode_to_earth_resistance, (0.05, -0.01)),
    (supply_current, (20.0, 0.0)),
    (idle_voltage, (5.0, 0.0, 60.0)),
    (idle_voltage, (5.0, 560.0, 0.0)),
    (parallel_resistance, (120.0, 0.0)),
    (parallel_resistance, (-120.0, 2.0)),
    (deviation, (1.0, 0.0)),
    (ratio, (1.0, 0.0)),
]


@pytest.mark.parametrize(
    ("function", "inputs"), OUT_OF_RANGE, ids=[f"{function.__name__}{inputs}" for function, inputs in OUT_OF_RANGE]
)
def test_out_of_range_is_refused_in_words(function: Callable[..., float], inputs: tuple[float, ...]) -> None:
    """No figure comes out of inputs for which the formula says nothing."""
    with pytest.raises(OutOfRange) as raised:
        function(*inputs)
    assert str(raised.value).strip()


def test_every_calculation_has_worked_values_and_a_limit() -> None:
    """A calculation that rules can name stands in both tables above, and its inputs can be named."""
    named = {function.__name__.replace("_", "-") for function, *_ in VALUES}
    assert named == set(FUNCTIONS) == {function.__name__.replace("_", "-") for function, _ in OUT_OF_RANGE}
    assert all(inputs_of(name) for name in FUNCTIONS)
