"""An RS-485 line (TIA-485; Modbus over Serial Line V1.02)."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.calculations.terms import Term, declare

declare(
    Term(name="bias-supply", title="voltage that feeds the bias resistors", unit="V", above=0.0, example="5 V"),
    Term(name="bias-resistance", title="each of the two bias resistors", unit="ohm", above=0.0, example="560 ohm"),
    Term(name="line-resistance", title="resistance between the lines", unit="ohm", above=0.0, example="60 ohm"),
    Term(name="idle-voltage", title="idle voltage between the lines", unit="V"),
    Term(name="resistance", title="resistance of each", unit="ohm", above=0.0, example="120 ohm"),
    Term(name="count", title="how many", above=0.0, example="2"),
)


@calculation(gives="idle-voltage", formula="U = U_b R / (2 R_b + R)", source="voltage divider; Modbus over Serial Line V1.02, 3.4.6")
def idle_voltage(bias_supply: float, bias_resistance: float, line_resistance: float) -> float:
    """Return the idle voltage [V] between the lines: U = U_b R / (2 R_b + R).

    ``bias_supply`` in V, ``bias_resistance`` of each of the two bias resistors and ``line_resistance`` (terminations
    and receivers in parallel) in ohm. Raises OutOfRange unless both resistances are positive. Source: voltage divider
    of the bias network in Modbus over Serial Line V1.02, 3.4.6; 5 V, 560 ohm and 60 ohm give 0.2542 V.

    >>> idle_voltage(5.0, 560.0, 60.0)
    0.2542
    """
    return bias_supply * line_resistance / (2 * bias_resistance + line_resistance)


@calculation(gives="line-resistance", formula="R = R_1 / n", source="definition")
def parallel_resistance(resistance: float, count: float) -> float:
    """Return the resistance [ohm] of ``count`` equal resistors [ohm] in parallel.

    Raises OutOfRange unless both are positive. Source: definition; two terminations of 120 ohm give 60 ohm.

    >>> parallel_resistance(120.0, 2.0)
    60.0
    """
    return resistance / count
