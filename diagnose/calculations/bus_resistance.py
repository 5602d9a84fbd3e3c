"""Resistance between the lines of an RS-485 bus as a multimeter shows it, power off, and what it means.

Beside the terminations lie the bias resistors and the receivers: ``bias-resistance``, ``unit-loads`` →
``other-conductance``; with ``terminations`` → ``expected-line-resistance``.
"""

from __future__ import annotations

from diagnose.calculations.bus import UNIT_LOAD, parallel
from diagnose.calculations.calculation import Column, Judgement, Table, calculation
from diagnose.calculations.terms import Term, declare

declare(
    Term(
        name="other-conductance",
        title="conductance of bias and receivers between the lines",
        unit="mS",
        symbol="G",
        at_least=0.0,
        example="0.9 mS",
    ),
    Term(
        name="expected-line-resistance",
        title="resistance that a multimeter should show between the lines, power off",
        unit="ohm",
        symbol="R_exp",
        above=0.0,
    ),
    Term(
        name="measured-line-resistance",
        title="resistance measured between the lines, power off",
        unit="ohm",
        symbol="R_m",
        at_least=0.0,
        example="60 ohm",
    ),
)

TWO_FROM, TWO_TO = 4 / 3, 2.5
"""Range of readings that count as two terminations: with 120 ohm, 48 to 90 ohm; two of 150 ohm are within."""

SHORT = 10.0
"""Resistance [ohm] that no set of terminations falls below: common practice."""


@calculation(
    gives="other-conductance",
    formula="G = 1 / (2 R_b) + UL / 12 kohm",
    source="TIA-485 (12 kohm for a unit load); both bias resistors in series",
)
def conductance_of_bias_and_receivers(bias_resistance: float, unit_loads: float) -> float:
    """Return the conductance [S] between the lines of two bias resistors in series and of the receivers.

    ``bias_resistance`` [ohm] of each, ``unit_loads`` of 12 kohm each. Raises OutOfRange for a resistance that is not
    positive. Source: TIA-485; 560 ohm and 32 unit loads make 3.5595 mS.

    >>> 1000 * conductance_of_bias_and_receivers(560.0, 32.0)
    3.5595
    """
    return 1 / (2 * bias_resistance) + unit_loads / UNIT_LOAD


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
def conductance_of_receivers(unit_loads: float) -> float:
    """Return the conductance [S] between the lines of receivers of so many unit loads: G = UL / 12 kohm.

    Raises OutOfRange for a negative number. Source: TIA-485; 32 unit loads make 2.6667 mS.

    >>> 1000 * conductance_of_receivers(32.0)
    2.6667
    """
    return unit_loads / UNIT_LOAD


@calculation(
    gives="expected-line-resistance",
    formula="R_exp = 1 / (n / R_t + G)",
    source="definition; Modbus over Serial Line V1.02, 3.4.5 (two terminations)",
    valid="power off, terminations without a capacitor in series",
)
def expected_line_resistance(
    terminations: float, other_conductance: float = 0.0, termination_resistance: float = 120.0
) -> float:
    """Return the resistance [ohm] that a multimeter should show between the lines: R = 1 / (n / R_t + G).

    ``other_conductance`` [S] of bias and receivers. Raises OutOfRange when nothing lies between the lines. Source:
    definition; two of 120 ohm show 60 ohm, with 560 ohm bias resistors 56.95 ohm.

    >>> expected_line_resistance(2.0), expected_line_resistance(2.0, 1 / 1120)
    (60.0, 56.95)
    """
    return parallel(terminations / termination_resistance + other_conductance)


@calculation(
    title="meaning of the measured resistance between the lines",
    formula="n = R_t (1 / R_m - G): two from 1.33 to 2.5, one from 0.5 to 1.33, none up to 0.12; short below 10 ohm",
    source="Modbus over Serial Line V1.02, 3.4.5 (two terminations); bounds: common practice",
    valid="power off, both bus cables connected; a termination with a capacitor in series does not show",
)
def measured_terminations(
    measured_line_resistance: float, other_conductance: float = 0.0, termination_resistance: float = 120.0
) -> Table:
    """Return the readings for each number of terminations, and which number a measured resistance [ohm] means.

    ``other_conductance`` [S] of bias and receivers is taken off first. Raises OutOfRange for a negative resistance.
    Source: exactly two terminations, Modbus over Serial Line V1.02, 3.4.5; the bounds are common practice.

    >>> measured_terminations(121.0).verdict
    'one of the two terminations is missing, or the line is open between them'
    """
    verdict, judgement = _meaning(measured_line_resistance, other_conductance, termination_resistance)
    rows = tuple(
        (
            word,
            termination_resistance / number if number else "open",
            1 / (number / termination_resistance + other_conductance) if number or other_conductance else "open",
        )
        for number, word in enumerate(("none", "one", "two", "three", "four"))
    )
    columns = (Column("fitted"), Column("terminations only", "ohm"), Column("with bias and receivers", "ohm"))
    return Table(columns, rows, verdict, judgement)


def _meaning(measured: float, other_conductance: float, each: float) -> tuple[str, Judgement]:
    if measured < SHORT:
        return "the lines are shorted: a short circuit, or a device that has failed", "wrong"
    shown = each * (1 / measured - other_conductance)
    if shown > TWO_TO:
        return f"more than two terminations: it looks like {max(3, round(shown))} of {each:g} ohm", "wrong"
    if shown >= TWO_FROM:
        return "two terminations, as it should be", "fine"
    if shown >= 0.5:
        return "one of the two terminations is missing, or the line is open between them", "wrong"
    if shown > each / 1000:
        return "no intact termination: only receivers and bias, or a bad contact; check both ends", "doubtful"
    return "no termination is fitted, or each has a capacitor in series; check both ends", "wrong"
