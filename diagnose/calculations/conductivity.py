"""Conductivity of the liquid: at another temperature, against what the meter needs, and of typical liquids."""

from __future__ import annotations

from diagnose.calculations.calculation import Column, Table, calculation
from diagnose.errors import OutOfRange
from diagnose.terms import TERMS

REFERENCE = 298.15
"""25 °C [K], to which conductivity is usually referred."""


@calculation(
    gives="liquid-conductivity",
    formula="σ = σ_25 (1 + α (t - 25 degC))",
    source="definition; 2 %/K common practice",
    valid="waters, 0 to 50 degC; with 2 %/K sea water comes out 1 % low at 15 and 5 % low at 5 degC",
)
def conductivity_at_temperature(
    reference_conductivity: float,
    temperature: float,
    temperature_coefficient: float = 0.02,
    reference_temperature: float = REFERENCE,
) -> float:
    """Return the conductivity [S/m] of a liquid at a ``temperature`` [K]: σ = σ_25 (1 + α (t - 25 °C)).

    ``reference_conductivity`` [S/m] at ``reference_temperature`` [K], ``temperature_coefficient`` [1/K]. Raises
    OutOfRange so far below the reference that the rule gives nothing. Source: definition; 2 %/K is common practice;
    500 µS/cm at 25 °C are 400 µS/cm at 15 °C.

    >>> conductivity_at_temperature(0.05, 273.15 + 15)
    0.04
    """
    return reference_conductivity * _factor(temperature, temperature_coefficient, reference_temperature)


@calculation(
    gives="reference-conductivity",
    formula="σ_25 = σ / (1 + α (t - 25 degC))",
    source="inverse of the linear rule; 2 %/K common practice",
    valid="waters, 0 to 50 degC; measured without temperature compensation",
)
def conductivity_at_reference(
    liquid_conductivity: float,
    temperature: float,
    temperature_coefficient: float = 0.02,
    reference_temperature: float = REFERENCE,
) -> float:
    """Return the conductivity [S/m] that a liquid would have at the reference temperature.

    ``liquid_conductivity`` [S/m] as it is at ``temperature`` [K]; ``temperature_coefficient`` [1/K]. Raises OutOfRange
    so far below the reference that the rule says nothing. Source: inverse of the linear rule; 400 µS/cm at 15 °C.

    >>> 1e4 * conductivity_at_reference(0.04, 273.15 + 15)
    500.0
    """
    return liquid_conductivity / _factor(temperature, temperature_coefficient, reference_temperature)


@calculation(gives="conductivity-margin", formula="σ / σ_min", source="definition")
def conductivity_margin(liquid_conductivity: float, least_conductivity: float) -> float:
    """Return the conductivity [S/m] of a liquid over the least conductivity [S/m] of the meter.

    Raises OutOfRange unless both are positive. Source: definition; 500 µS/cm are a hundred times 5 µS/cm.

    >>> conductivity_margin(0.05, 0.0005)
    100.0
    """
    return liquid_conductivity / least_conductivity


@calculation(title="typical conductivity at 25 degC", formula="table", source="named in each row")
def typical_conductivity(typical_liquid: str) -> Table:
    """Return the typical conductivity of a liquid, or of all.

    Raises OutOfRange for a liquid that is not listed. Source: named in each row.

    >>> round(typical_conductivity("drinking water").rows[0][1], 3)
    0.02
    """
    figures = TERMS["typical-liquid"].figures["liquid-conductivity"]
    names = tuple(figures) if typical_liquid == "all" else (typical_liquid,)
    columns = (Column("liquid"), Column("lowest", "uS/cm"), Column("highest", "uS/cm"), Column("source"))
    return Table(columns, tuple(_row(name) for name in names))


def _row(liquid: str) -> tuple[str | float, ...]:
    term = TERMS["typical-liquid"]
    lowest, *highest = term.figures_of("liquid-conductivity", liquid)
    return liquid, lowest, highest[0] if highest else lowest, term.figures_from.get(liquid, term.source)


def _factor(temperature: float, coefficient: float, reference: float) -> float:
    factor = 1 + coefficient * (temperature - reference)
    if factor <= 0:
        raise OutOfRange("the linear rule is not valid so far below the reference temperature")
    return factor
