"""Voltages and loads of a current loop: what it can drive, what it needs, where it saturates."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.calculations.current_loop import FAILURE_HIGH, LIVE_ZERO, SPAN, flow_at
from diagnose.errors import OutOfRange


@calculation(gives="loop-load", formula="R = R_rx + R_b + R_cable", source="resistances in series")
def loop_load(receiver_resistance: float, barrier_resistance: float = 0.0, cable_resistance: float = 0.0) -> float:
    """Return the load [ohm] of a loop: receiver, barriers and all else, both cores of the cable, each in ohm.

    Raises OutOfRange when all are zero, or one is below. Source: resistances in series; 250 + 600 + 24.5 ohm are
    874.5 ohm.

    >>> loop_load(250.0, 600.0, 24.5)
    874.5
    """
    return receiver_resistance + barrier_resistance + cable_resistance


@calculation(gives="highest-loop-current", formula="I_max = (U - U_min) / R", source="Ohm's law", valid="d.c. supply")
def highest_current(loop_supply_voltage: float, least_terminal_voltage: float, loop_load: float) -> float:
    """Return the highest current [A] that a loop can drive: I = (U - U_min)/R, at least 0.

    ``loop_supply_voltage`` and ``least_terminal_voltage`` in V, ``loop_load`` in ohm, all resistances of the loop
    together. Raises OutOfRange for a load that is not positive. Source: Ohm's law; 24 V, 12 V, 750 ohm gives 16.0 mA.

    >>> 1000 * highest_current(24.0, 12.0, 750.0)
    16.0
    """
    return max(0.0, loop_supply_voltage - least_terminal_voltage) / loop_load


@calculation(gives="saturation-share", formula="x_max = (I_max - 4 mA) / 16 mA", source="IEC 60381-1 scaling")
def saturation_share(highest_loop_current: float) -> float:
    """Return the share of the range at which a loop saturates that carries at most ``highest_loop_current`` [A].

    Source: IEC 60381-1 scaling; 16.0 mA is 75 %.

    >>> 100 * saturation_share(0.016)
    75.0
    """
    return (highest_loop_current - LIVE_ZERO) / SPAN


@calculation(gives="saturation-flow", formula="Q_max = LRV + x_max (URV - LRV)", source="IEC 60381-1 scaling")
def saturation_flow(saturation_share: float, upper_range_value: float, lower_range_value: float = 0.0) -> float:
    """Return the flow [m³/s] above which the current does not follow, in the unit of the range values.

    Raises OutOfRange when both range values are equal. Source: scaling; 75 % of 0 to 250 is 187.5.

    >>> saturation_flow(0.75, 250.0)
    187.5
    """
    return flow_at(saturation_share, upper_range_value, lower_range_value)


@calculation(gives="greatest-load", formula="R_max = (U - U_min) / I_need", source="Ohm's law; 21 mA: NAMUR NE 43")
def greatest_load(
    loop_supply_voltage: float, least_terminal_voltage: float, needed_current: float = FAILURE_HIGH
) -> float:
    """Return the greatest load [ohm] through which the supply drives ``needed_current`` [A]: (U - U_min)/I.

    Voltages in V; 21 mA is the least current of the failure signal (NAMUR NE 43). Raises OutOfRange when the supply
    does not even reach the output's own need. Source: Ohm's law; 24 V, 12 V at 20.5 mA gives 585.4 ohm.

    >>> greatest_load(24.0, 12.0, 0.0205)
    585.4
    """
    if loop_supply_voltage < least_terminal_voltage:
        raise OutOfRange("the supply is less than the output alone needs; it cannot drive any load")
    return (loop_supply_voltage - least_terminal_voltage) / needed_current


@calculation(gives="least-supply-voltage", formula="U_need = U_min + I_need R", source="Ohm's law; 21 mA: NAMUR NE 43")
def least_supply_voltage(
    least_terminal_voltage: float, loop_load: float, needed_current: float = FAILURE_HIGH
) -> float:
    """Return the least voltage [V] that drives ``needed_current`` [A] through a load [ohm]: U_min + I R.

    Raises OutOfRange for a load that is not positive. Source: Ohm's law; 12 V, 585.37 ohm, 20.5 mA needs 24.0 V.

    >>> least_supply_voltage(12.0, 585.37, 0.0205)
    24.000
    """
    return least_terminal_voltage + needed_current * loop_load


@calculation(gives="loop-terminal-voltage", formula="U_t = U - I R", source="Ohm's law")
def terminal_voltage(loop_supply_voltage: float, loop_current: float, loop_load: float) -> float:
    """Return the voltage [V] that is left at the output's terminals at a loop current [A]: U - I R.

    ``loop_supply_voltage`` in V, ``loop_load`` in ohm. Raises OutOfRange when the load takes more than there is.
    Source: Ohm's law; 24 V, 16 mA, 750 ohm leaves 12.0 V.

    >>> terminal_voltage(24.0, 0.016, 750.0)
    12.0
    """
    left = loop_supply_voltage - loop_current * loop_load
    if left < 0:
        raise OutOfRange(
            "the supply cannot drive this current through this load; reduce the load or raise the supply voltage"
        )
    return left


@calculation(gives="loop-load", formula="R = (U - U_t) / I", source="Ohm's law")
def loop_load_from_voltages(loop_supply_voltage: float, loop_terminal_voltage: float, loop_current: float) -> float:
    """Return the load [ohm] from the voltage lost between supply and output [V] at a loop current [A]: (U - U_t)/I.

    For a loop that must not be opened. Raises OutOfRange without current, or when nothing is lost. Source: Ohm's law;
    24 V, 12 V at 16 mA are 750 ohm.

    >>> loop_load_from_voltages(24.0, 12.0, 0.016)
    750.0
    """
    if loop_current == 0:
        raise OutOfRange("without current the load cannot be determined; let the loop carry 4 mA or more")
    return (loop_supply_voltage - loop_terminal_voltage) / loop_current
