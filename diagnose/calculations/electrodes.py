"""The electrode circuit."""

from __future__ import annotations

from diagnose.errors import OutOfRange


def electrode_to_earth_resistance(conductivity: float, electrode_diameter: float) -> float:
    """Return the resistance [ohm] from one disc electrode to the liquid: R = 1 / (2 σ d).

    ``conductivity`` in S/m, ``electrode_diameter`` in m; pipe full, electrode clean. An order of magnitude: the real
    shape adds a factor of up to two. Raises OutOfRange unless both are positive. Source: spreading resistance of a
    disc in an insulating wall; 10 mm at 500 µS/cm gives 1 kilohm (the pair 2 kilohm).

    >>> electrode_to_earth_resistance(0.05, 0.010)
    1000.0
    """
    if conductivity <= 0 or electrode_diameter <= 0:
        raise OutOfRange("conductivity and electrode diameter are greater than zero")
    return 1 / (2 * conductivity * electrode_diameter)
