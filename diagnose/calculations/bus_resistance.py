"""Resistance between the lines of an RS-485 bus as a multimeter shows it, power off, and what it means.

Beside the terminations lie the bias resistors and the receivers: ``bias-resistance``, ``bus-unit-loads`` →
``other-conductance``; with ``terminations`` → ``expected-line-resistance``.
"""

from __future__ import annotations

from diagnose.calculations.bus import UNIT_LOAD, parallel
from diagnose.calculations.calculation import Column, Table, calculation
from diagnose.errors import OutOfRange


@calculation(
    gives="other-conductance",
    formula="G = 1 / (2 R_b) + UL / 12 kohm",
    source="TIA-485 (12 kohm for a unit load); both bias resistors in series",
)
def conductance_of_bias_and_receivers(bias_resistance: float, bus_unit_loads: float) -> float:
    """Return the conductance [S] between the lines of two bias resistors in series and of the receivers.

    ``bias_resistance`` [ohm] of each, ``bus_unit_loads`` of 12 kohm each. Raises OutOfRange for a resistance that
    is not positive. Source: TIA-485; 560 ohm and 32 unit loads make 3.5595 mS.

    >>> 1000 * conductance_of_bias_and_receivers(560.0, 32.0)
    3.5595
    """
    return 1 / (2 * bias_resistance) + bus_unit_loads / UNIT_LOAD


@calculation(
    gives="other-conductance",
    formula="G = 1 / (2 R_b)",
    source="both bias resistors in series",
    valid="receivers left out",
)
def conductance_of_bias(bias_resistance: float) -> float:
    """Return the conductance [S] between the lines of two bias resistors [ohm, each] in series: G = 1 / (2 R_b).

    Raises OutOfRange for a resistance that is not positive. Source: definition; 560 ohm make 0.89286 mS.

    >>> 1000 * conductance_of_bias(560.0)
    0.89286
    """
    return 1 / (2 * bias_resistance)


@calculation(
    gives="other-conductance", formula="G = UL / 12 kohm", source="TIA-485 (12 kohm for a unit load)", valid="no bias"
)
def conductance_of_receivers(bus_unit_loads: float) -> float:
    """Return the conductance [S] between the lines of receivers of so many unit loads: G = UL / 12 kohm.

    Raises OutOfRange for a negative number. Source: TIA-485; 32 unit loads make 2.6667 mS.

    >>> 1000 * conductance_of_receivers(32.0)
    2.6667
    """
    return bus_unit_loads / UNIT_LOAD


@calculation(
    gives="expected-line-resistance",
    formula="R_exp = 1 / (n / R_t + G)",
    source="definition; Modbus over Serial Line V1.02, 3.4.5 (two terminations)",
    valid="power off, terminations without a capacitor in series",
)
def expected_line_resistance(
    bus_terminations: float, other_conductance: float = 0.0, termination_resistance: float = 120.0
) -> float:
    """Return the resistance [ohm] that a multimeter should show between the lines: R = 1 / (n / R_t + G).

    ``other_conductance`` [S] of bias and receivers. Raises OutOfRange when nothing lies between the lines. Source:
    definition; two of 120 ohm show 60 ohm, with 560 ohm bias resistors 56.95 ohm.

    >>> expected_line_resistance(2.0), expected_line_resistance(2.0, 1 / 1120)
    (60.0, 56.95)
    """
    return parallel(bus_terminations / termination_resistance + other_conductance)


@calculation(
    title="resistance between the lines by number of terminations",
    formula="R = 1 / (n / R_t + G)",
    source="Modbus over Serial Line V1.02, 3.4.5 (two terminations)",
    valid="power off, both bus cables connected; a termination with a capacitor in series does not show",
)
def resistances_by_terminations(termination_resistance: float, other_conductance: float = 0.0) -> Table:
    """Return the readings [ohm] for each number of terminations, with ``other_conductance`` [S] beside them.

    Raises OutOfRange for a resistance that is not positive. Source: exactly two terminations, Modbus over Serial Line
    V1.02, 3.4.5; two of 120 ohm are 60 ohm.

    >>> resistances_by_terminations(120.0).rows[2]
    ('two', 60.0, 60.0)
    """
    rows = tuple(
        (
            word,
            termination_resistance / number if number else "open",
            1 / (number / termination_resistance + other_conductance) if number or other_conductance else "open",
        )
        for number, word in enumerate(("none", "one", "two", "three", "four"))
    )
    return Table((Column("fitted"), Column("terminations only", "ohm"), Column("with bias and receivers", "ohm")), rows)


@calculation(
    gives="terminations-seen",
    formula="n = R_t (1 / R_m - G)",
    source="resistances in parallel",
    valid="power off, both bus cables connected; a termination with a capacitor in series does not show",
)
def terminations_seen(
    bus_line_resistance: float, other_conductance: float = 0.0, termination_resistance: float = 120.0
) -> float:
    """Return as how many terminations a measured resistance [ohm] looks.

    ``other_conductance`` [S] of bias and receivers is taken off first. Raises OutOfRange for a dead short. Source:
    resistances in parallel; 60 ohm are two of 120 ohm.

    >>> terminations_seen(60.0)
    2.0
    """
    if bus_line_resistance == 0:
        raise OutOfRange("the lines are shorted: no number of terminations has no resistance at all")
    return termination_resistance * (1 / bus_line_resistance - other_conductance)
