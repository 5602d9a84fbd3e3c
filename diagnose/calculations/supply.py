"""The power supply of the meter."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.calculations.terms import Term, declare

declare(
    Term(name="power", title="power that the meter draws", unit="W", symbol="P", at_least=0.0, example="10 W"),
    Term(name="voltage", title="supply voltage", unit="V", symbol="U", above=0.0, example="230 V"),
    Term(name="supply-current", title="current that the meter draws", unit="mA", symbol="I"),
)


@calculation(gives="supply-current", formula="I = P / U", source="definition", valid="resistive or with P in VA")
def supply_current(power: float, voltage: float) -> float:
    """Return the current [A] that a meter of ``power`` [VA or W] draws at ``voltage`` [V].

    Raises OutOfRange for a voltage that is not positive. Source: definition; 20 VA at 230 V is 87 mA.

    >>> 1000 * supply_current(20.0, 230.0)
    86.957
    """
    return power / voltage
