"""An RS-485 line (TIA-485; Modbus over Serial Line V1.02)."""

from __future__ import annotations

from diagnose.errors import OutOfRange


def idle_voltage(bias_supply: float, bias_resistance: float, line_resistance: float) -> float:
    """Return the idle voltage [V] between the lines: U = U_b R / (2 R_b + R).

    ``bias_supply`` in V, ``bias_resistance`` of each of the two bias resistors and ``line_resistance`` (terminations
    and receivers in parallel) in ohm. Raises OutOfRange unless both resistances are positive. Source: voltage divider
    of the bias network in Modbus over Serial Line V1.02, 3.4.6; 5 V, 560 ohm and 60 ohm give 0.2542 V.

    >>> idle_voltage(5.0, 560.0, 60.0)
    0.2542
    """
    if bias_resistance <= 0 or line_resistance <= 0:
        raise OutOfRange("bias and line resistance are greater than zero")
    return bias_supply * line_resistance / (2 * bias_resistance + line_resistance)


def parallel_resistance(resistance: float, count: float) -> float:
    """Return the resistance [ohm] of ``count`` equal resistors [ohm] in parallel.

    Raises OutOfRange unless both are positive. Source: definition; two terminations of 120 ohm give 60 ohm.

    >>> parallel_resistance(120.0, 2.0)
    60.0
    """
    if resistance <= 0 or count <= 0:
        raise OutOfRange("resistance and count are greater than zero")
    return resistance / count
