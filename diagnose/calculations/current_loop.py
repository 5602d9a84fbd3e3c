"""The 4–20 mA current loop (IEC 60381-1)."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.calculations.terms import Term, declare
from diagnose.errors import OutOfRange

declare(
    Term(name="current", title="loop current", unit="mA", symbol="I", example="12 mA"),
    Term(name="supply-voltage", title="voltage that feeds the loop", unit="V", symbol="U", at_least=0.0, example="24 V"),
    Term(name="least-terminal-voltage", title="least voltage that the output needs", unit="V", symbol="U_min", at_least=0.0, example="12 V"),
    Term(name="load", title="resistance of the loop without the meter", unit="ohm", symbol="R", above=0.0, example="250 ohm"),
    Term(name="highest-current", title="highest current that the loop can carry", unit="mA", symbol="I_max"),
)

LIVE_ZERO = 0.004
SPAN = 0.016


@calculation(gives="current", formula="I = 4 mA + 16 mA (Q - LRV) / (URV - LRV)", source="IEC 60381-1")
def current_from_flow(flow: float, lower_range_value: float, upper_range_value: float) -> float:
    """Return the loop current [A] for ``flow``; all three in the same unit: I = 4 mA + 16 mA (Q - LRV)/(URV - LRV).

    Not limited to the measuring range: NAMUR NE 43 lets an output follow to 3.8 and 20.5 mA. Raises OutOfRange when
    both range values are equal. Source: IEC 60381-1 scaling; 37.5 of 0 to 100 m³/h gives 10.0 mA.

    >>> 1000 * current_from_flow(37.5, 0.0, 100.0)
    10.0
    """
    if upper_range_value == lower_range_value:
        raise OutOfRange("lower and upper range value must differ")
    return LIVE_ZERO + SPAN * (flow - lower_range_value) / (upper_range_value - lower_range_value)


@calculation(gives="flow", formula="Q = LRV + (I - 4 mA) / 16 mA (URV - LRV)", source="IEC 60381-1")
def flow_from_current(current: float, lower_range_value: float, upper_range_value: float) -> float:
    """Return the flow for a loop current [A], in the unit of the range values.

    Raises OutOfRange when both range values are equal. Source: inverse of the scaling; 13.6 mA of 0 to 250 gives 150.

    >>> flow_from_current(0.0136, 0.0, 250.0)
    150.0
    """
    if upper_range_value == lower_range_value:
        raise OutOfRange("lower and upper range value must differ")
    return lower_range_value + (current - LIVE_ZERO) / SPAN * (upper_range_value - lower_range_value)


@calculation(gives="highest-current", formula="I_max = (U - U_min) / R", source="Ohm's law")
def highest_current(supply_voltage: float, least_terminal_voltage: float, load: float) -> float:
    """Return the highest current [A] that a loop can drive: I = (U - U_min)/R.

    ``supply_voltage`` and ``least_terminal_voltage`` in V, ``load`` in ohm, all resistances of the loop together.
    Raises OutOfRange for a load that is not positive. Source: Ohm's law; 24 V, 12 V, 750 ohm gives 16.0 mA.

    >>> 1000 * highest_current(24.0, 12.0, 750.0)
    16.0
    """
    return max(0.0, supply_voltage - least_terminal_voltage) / load


@calculation(gives="current", formula="I = U / R", source="Ohm's law")
def current_from_shunt_voltage(voltage: float, resistance: float) -> float:
    """Return the current [A] through a shunt [ohm] with ``voltage`` [V] across it.

    Raises OutOfRange for a resistance that is not positive. Source: Ohm's law; 3.000 V across 250 ohm is 12 mA.

    >>> 1000 * current_from_shunt_voltage(3.0, 250.0)
    12.0
    """
    return voltage / resistance
