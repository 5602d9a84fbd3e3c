"""The power supply of the meter."""

from __future__ import annotations

from diagnose.errors import OutOfRange


def supply_current(power: float, voltage: float) -> float:
    """Return the current [A] that a meter of ``power`` [VA or W] draws at ``voltage`` [V].

    Raises OutOfRange for a voltage that is not positive. Source: definition; 20 VA at 230 V is 87 mA.

    >>> 1000 * supply_current(20.0, 230.0)
    86.957
    """
    if voltage <= 0:
        raise OutOfRange("a supply voltage is greater than zero")
    return power / voltage
