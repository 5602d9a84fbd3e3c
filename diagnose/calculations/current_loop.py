"""The 4–20 mA current loop (IEC 60381-1)."""

from __future__ import annotations

from diagnose.errors import OutOfRange

LIVE_ZERO = 0.004
SPAN = 0.016


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


def flow_from_current(current: float, lower_range_value: float, upper_range_value: float) -> float:
    """Return the flow for a loop current [A], in the unit of the range values.

    Raises OutOfRange when both range values are equal. Source: inverse of the scaling; 13.6 mA of 0 to 250 gives 150.

    >>> flow_from_current(0.0136, 0.0, 250.0)
    150.0
    """
    if upper_range_value == lower_range_value:
        raise OutOfRange("lower and upper range value must differ")
    return lower_range_value + (current - LIVE_ZERO) / SPAN * (upper_range_value - lower_range_value)


def highest_current(supply_voltage: float, least_terminal_voltage: float, load: float) -> float:
    """Return the highest current [A] that a loop can drive: I = (U - U_min)/R.

    ``supply_voltage`` and ``least_terminal_voltage`` in V, ``load`` in ohm, all resistances of the loop together.
    Raises OutOfRange for a load that is not positive. Source: Ohm's law; 24 V, 12 V, 750 ohm gives 16.0 mA.

    >>> 1000 * highest_current(24.0, 12.0, 750.0)
    16.0
    """
    if load <= 0:
        raise OutOfRange("a load is greater than zero")
    return max(0.0, supply_voltage - least_terminal_voltage) / load


def current_from_shunt_voltage(voltage: float, resistance: float) -> float:
    """Return the current [A] through a shunt [ohm] with ``voltage`` [V] across it.

    Raises OutOfRange for a resistance that is not positive. Source: Ohm's law; 3.000 V across 250 ohm is 12 mA.

    >>> 1000 * current_from_shunt_voltage(3.0, 250.0)
    12.0
    """
    if resistance <= 0:
        raise OutOfRange("a resistance is greater than zero")
    return voltage / resistance
