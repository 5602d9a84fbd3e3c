"""The electrode circuit."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.calculations.terms import Term, declare

declare(
    Term(name="electrode-diameter", title="diameter of an electrode's face", unit="mm", symbol="d", above=0.0, example="10 mm"),
    Term(name="electrode-to-earth-resistance", title="electrode to liquid earth, pipe full", unit="kohm", symbol="R"),
)


@calculation(gives="electrode-to-earth-resistance", formula="R = 1 / (2 σ d)", source="spreading resistance of a disc in an insulating wall", valid="pipe full, electrode clean; within a factor of two")
def electrode_to_earth_resistance(conductivity: float, electrode_diameter: float) -> float:
    """Return the resistance [ohm] from one disc electrode to the liquid: R = 1 / (2 σ d).

    ``conductivity`` in S/m, ``electrode_diameter`` in m; pipe full, electrode clean. An order of magnitude: the real
    shape adds a factor of up to two. Raises OutOfRange unless both are positive. Source: spreading resistance of a
    disc in an insulating wall; 10 mm at 500 µS/cm gives 1 kilohm (the pair 2 kilohm).

    >>> electrode_to_earth_resistance(0.05, 0.010)
    1000.0
    """
    return 1 / (2 * conductivity * electrode_diameter)
