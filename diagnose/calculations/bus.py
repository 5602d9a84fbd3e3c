"""An RS-485 line: terminations, bias, common mode (TIA-485; Modbus over Serial Line V1.02).

Chain: ``terminations`` with ``bus-unit-loads`` (see `bus_addresses`) → ``line-resistance``; with ``bias-resistance`` →
``bus-idle-voltage`` → its margin.
"""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.errors import OutOfRange

THRESHOLD = 0.2
"""Voltage [V] between the lines from which a receiver is certain to switch: TIA-485."""

UNIT_LOAD = 12000.0
"""Input resistance [ohm] of one unit load, the least that TIA-485 allows."""

COMMON_MODE = (-7.0, 12.0)
"""Lowest and highest voltage [V] from a line to common at which a receiver works reliably: TIA-485."""

BIAS_SOURCE = "voltage divider; Modbus over Serial Line V1.02, 3.4.6 (450 to 650 ohm, from 5 V)"


@calculation(
    gives="line-resistance",
    formula="R = 1 / (n / R_t + UL / 12 kohm)",
    source="TIA-485 (12 kohm for a unit load)",
    valid="every device loads the line as much as its unit load allows",
)
def line_resistance_with_receivers(
    bus_terminations: float, bus_unit_loads: float, termination_resistance: float = 120.0
) -> float:
    """Return the resistance [ohm] of terminations and receivers in parallel: R = 1 / (n / R_t + UL / 12 kohm).

    ``termination_resistance`` of each [ohm], ``bus_unit_loads`` of 12 kohm each. Raises OutOfRange with neither, or for
    negative ones. Source: TIA-485; two of 120 ohm and 32 unit loads (375 ohm) give 51.72 ohm.

    >>> line_resistance_with_receivers(2.0, 32.0)
    51.72
    """
    return parallel(bus_terminations / termination_resistance + bus_unit_loads / UNIT_LOAD)


@calculation(
    gives="line-resistance",
    formula="R = R_t / n",
    source="definition",
    valid="receivers left out: 32 unit loads make 51.7 of 60 ohm",
)
def parallel_resistance(bus_terminations: float, termination_resistance: float = 120.0) -> float:
    """Return the resistance [ohm] of equal terminations [ohm] in parallel, receivers left out: R = R_t / n.

    Raises OutOfRange unless there is one at least. Source: definition; two terminations of 120 ohm give 60 ohm.

    >>> parallel_resistance(2.0, 120.0)
    60.0
    """
    return parallel(bus_terminations / termination_resistance)


@calculation(
    gives="bus-idle-voltage",
    formula="U = U_b R / (2 R_b + R)",
    source=BIAS_SOURCE,
    valid="no device sends; bias at one place only",
)
def idle_voltage(bias_resistance: float, line_resistance: float, bias_supply: float = 5.0) -> float:
    """Return the idle voltage [V] between the lines: U = U_b R / (2 R_b + R).

    ``bias_supply`` in V, ``bias_resistance`` of each of the two bias resistors and ``line_resistance`` (terminations
    and receivers in parallel) in ohm. Raises OutOfRange unless all are positive. Source: voltage divider of the bias
    network in Modbus over Serial Line V1.02, 3.4.6; 5 V, 560 ohm and 60 ohm give 0.2542 V.

    >>> idle_voltage(560.0, 60.0, 5.0)
    0.2542
    """
    return bias_supply * line_resistance / (2 * bias_resistance + line_resistance)


@calculation(gives="idle-voltage-margin", formula="U - 0.2 V", source="TIA-485 (receivers are sure beyond ±0.2 V)")
def idle_voltage_margin(bus_idle_voltage: float) -> float:
    """Return by how much an idle voltage [V] exceeds the receivers' threshold of 0.2 V; negative when it does not.

    Source: TIA-485; 0.2542 V leaves 54 mV.

    >>> idle_voltage_margin(0.2542)
    0.0542
    """
    return bus_idle_voltage - THRESHOLD


@calculation(
    gives="greatest-bias-resistance",
    formula="R_b,max = R (U_b / 0.2 V - 1) / 2",
    source="inverse of the divider; TIA-485 (0.2 V)",
    valid="no tolerance left; the Modbus guide wants 450 to 650 ohm",
)
def greatest_bias_resistance(line_resistance: float, bias_supply: float = 5.0) -> float:
    """Return the bias resistors [ohm, each] at which the idle voltage is just 0.2 V: R_b = R (U_b / 0.2 V - 1) / 2.

    ``line_resistance`` [ohm], ``bias_supply`` [V]. Raises OutOfRange for a supply that is not above 0.2 V. Source:
    inverse of the divider; 60 ohm and 5 V give 720 ohm.

    >>> greatest_bias_resistance(60.0, 5.0)
    720.0
    """
    if bias_supply <= THRESHOLD:
        raise OutOfRange("no bias resistors can give 0.2 V from this supply; it must be greater than 0.2 V")
    return line_resistance * (bias_supply / THRESHOLD - 1) / 2


@calculation(
    gives="common-mode-margin",
    formula="the lesser of U_cm + 7 V and 12 V - U_cm",
    source="TIA-485 (-7 to +12 V at a receiver)",
)
def common_mode_margin(bus_common_voltage: float) -> float:
    """Return the margin of a voltage [V] from a line to common within -7 to +12 V; negative if it is outside.

    Source: TIA-485; 2.5 V leaves 9.5 V.

    >>> common_mode_margin(2.5), common_mode_margin(-9.0)
    (9.5, -2.0)
    """
    lowest, highest = COMMON_MODE
    return min(bus_common_voltage - lowest, highest - bus_common_voltage)


def parallel(conductance: float) -> float:
    """Return the resistance [ohm] of a conductance [S]; raises OutOfRange if it is zero."""
    if conductance <= 0:
        raise OutOfRange("there is nothing between the lines; give at least one termination or one unit load")
    return 1 / conductance
