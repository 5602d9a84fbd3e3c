"""The 4–20 mA current loop (IEC 60381-1): flow, share of range, current, voltage across a shunt, and back."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.errors import OutOfRange

LIVE_ZERO = 0.004
SPAN = 0.016

SMALLEST_BACKWARDS = 0.0005
"""What a milliammeter shows below zero without any current [A], and more: estimate."""

FAILURE_HIGH = 0.021
"""Least current [A] of the failure signal above the range (NAMUR NE 43): what a loop should be able to carry."""


@calculation(
    gives="loop-current", formula="I = 4 mA + 16 mA (Q - LRV) / (URV - LRV)", source="IEC 60381-1 (ranges from memory)"
)
def current_from_flow(flow: float, upper_range_value: float, lower_range_value: float = 0.0) -> float:
    """Return the loop current [A] for ``flow``: I = 4 mA + 16 mA (Q - LRV)/(URV - LRV).

    ``flow`` and both range values in the same unit [m³/s]. Not limited to the measuring range: NAMUR NE 43 lets an
    output follow to 3.8 and 20.5 mA. Raises OutOfRange when both range values are equal. Source: IEC 60381-1 scaling;
    37.5 of 0 to 100 m³/h gives 10.0 mA.

    >>> 1000 * current_from_flow(37.5, 100.0)
    10.0
    """
    return LIVE_ZERO + SPAN * share_of(flow, upper_range_value, lower_range_value)


@calculation(
    gives="flow", formula="Q = LRV + (I - 4 mA) / 16 mA (URV - LRV)", source="IEC 60381-1 (ranges from memory)"
)
def flow_from_current(loop_current: float, upper_range_value: float, lower_range_value: float = 0.0) -> float:
    """Return the flow [m³/s] that a loop current [A] stands for, in the unit of the range values.

    Raises OutOfRange when both range values are equal, or for a current that flows backwards. Source: inverse of the
    scaling; 13.6 mA of 0 to 250 gives 150.

    >>> flow_from_current(0.0136, 250.0)
    150.0
    """
    _flows_forward(loop_current)
    return flow_at((loop_current - LIVE_ZERO) / SPAN, upper_range_value, lower_range_value)


@calculation(gives="loop-current", formula="I = U_s / R_s", source="Ohm's law")
def current_from_shunt_voltage(shunt_voltage: float, shunt_resistance: float) -> float:
    """Return the current [A] through a shunt [ohm] with ``shunt_voltage`` [V] across it.

    Raises OutOfRange for a resistance that is not positive. Source: Ohm's law; 3.000 V across 250 ohm is 12 mA.

    >>> 1000 * current_from_shunt_voltage(3.0, 250.0)
    12.0
    """
    return shunt_voltage / shunt_resistance


@calculation(gives="share-of-range", formula="x = (I - 4 mA) / 16 mA", source="IEC 60381-1 (ranges from memory)")
def share_from_current(loop_current: float) -> float:
    """Return the share of the range that a loop current [A] stands for: x = (I - 4 mA)/16 mA.

    Raises OutOfRange for a current that flows backwards. Source: IEC 60381-1 scaling; 20.5 mA is 103.125 %.

    >>> 100 * share_from_current(0.0205)
    103.125
    """
    _flows_forward(loop_current)
    return (loop_current - LIVE_ZERO) / SPAN


@calculation(gives="loop-current", formula="I = 4 mA + 16 mA x", source="IEC 60381-1 (ranges from memory)")
def current_from_share(share_of_range: float) -> float:
    """Return the loop current [A] for a share of the range: I = 4 mA + 16 mA x.

    Source: IEC 60381-1 scaling; 37.5 % is 10.0 mA.

    >>> 1000 * current_from_share(0.375)
    10.0
    """
    return LIVE_ZERO + SPAN * share_of_range


@calculation(gives="share-of-range", formula="x = (Q - LRV) / (URV - LRV)", source="definition")
def share_from_flow(flow: float, upper_range_value: float, lower_range_value: float = 0.0) -> float:
    """Return the share of the range for ``flow``; all three in the same unit [m³/s].

    Raises OutOfRange when both range values are equal. Source: definition; 0 of -100 to 100 is 50 %.

    >>> share_from_flow(0.0, 100.0, -100.0)
    0.5
    """
    return share_of(flow, upper_range_value, lower_range_value)


@calculation(gives="flow", formula="Q = LRV + x (URV - LRV)", source="definition")
def flow_from_share(share_of_range: float, upper_range_value: float, lower_range_value: float = 0.0) -> float:
    """Return the flow [m³/s] at a share of the range, in the unit of the range values.

    Raises OutOfRange when both range values are equal. Source: definition; half of -100 to 100 is 0.

    >>> flow_from_share(0.5, 100.0, -100.0)
    0.0
    """
    return flow_at(share_of_range, upper_range_value, lower_range_value)


@calculation(gives="upper-range-value", formula="URV = LRV + (Q - LRV) / x", source="inverse of the share of range")
def upper_range_value_from_share(flow: float, share_of_range: float, lower_range_value: float = 0.0) -> float:
    """Return the upper range value [m³/s] by which ``flow`` [m³/s] makes this share of the range.

    The range that is actually set, from the display and the loop current. Raises OutOfRange for a share of
    zero, from which no range follows. Source: inverse of the share; 37.5 at 37.5 % is of 0 to 100.

    >>> upper_range_value_from_share(37.5, 0.375)
    100.0
    """
    if share_of_range == 0:
        raise OutOfRange("at 4 mA the upper range value cannot be determined; take a reading at a higher current")
    return lower_range_value + (flow - lower_range_value) / share_of_range


@calculation(gives="shunt-voltage", formula="U_s = I R_s", source="Ohm's law")
def shunt_voltage(loop_current: float, shunt_resistance: float) -> float:
    """Return the voltage [V] that a loop current [A] makes across a shunt [ohm].

    Raises OutOfRange for a resistance that is not positive. Source: Ohm's law; 20.5 mA through 250 ohm is 5.125 V.

    >>> shunt_voltage(0.0205, 250.0)
    5.125
    """
    return loop_current * shunt_resistance


@calculation(gives="shunt-resistance", formula="R_s = U_s / I", source="Ohm's law")
def shunt_resistance_from_voltage(shunt_voltage: float, loop_current: float) -> float:
    """Return the resistance [ohm] of a shunt from the voltage [V] across it at a loop current [A].

    A parallel path shows as a lower resistance. Raises OutOfRange without current. Source: Ohm's
    law; 6.000 V at 12 mA is 500 ohm.

    >>> shunt_resistance_from_voltage(6.0, 0.012)
    500.0
    """
    if loop_current == 0:
        raise OutOfRange("without current the resistance cannot be determined; let the loop carry 4 mA or more")
    return shunt_voltage / loop_current


def _flows_forward(current: float) -> None:
    if current < -SMALLEST_BACKWARDS:
        raise OutOfRange(
            f"a current of {1000 * current:.4g} mA stands for no flow: the leads are reversed, of the milliammeter or "
            f"of the meter; the loop carries {-1000 * current:.4g} mA"
        )


def share_of(flow: float, upper: float, lower: float) -> float:
    """Return the share of a range that a flow is; raises OutOfRange when the range has no span.

    >>> share_of(37.5, 100.0, 0.0)
    0.375
    """
    _has_span(upper, lower)
    return (flow - lower) / (upper - lower)


def flow_at(share: float, upper: float, lower: float) -> float:
    """Return the flow at a share of a range; raises OutOfRange when the range has no span.

    >>> flow_at(0.375, 100.0, 0.0)
    37.5
    """
    _has_span(upper, lower)
    return lower + share * (upper - lower)


def _has_span(upper: float, lower: float) -> None:
    if upper == lower:
        raise OutOfRange("lower and upper range value must differ")
    if upper < lower:
        raise OutOfRange("the upper range value (URV) must be above the lower (LRV); are the two swapped?")
