"""An RS-485 line: terminations, bias, common mode (TIA-485; Modbus over Serial Line V1.02).

Chain: ``terminations`` with ``unit-loads`` (see `bus_addresses`) → ``line-resistance``; with ``bias-resistance`` →
``idle-voltage`` → its margin and verdict.
"""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.calculations.terms import Term, declare
from diagnose.errors import OutOfRange

declare(
    Term(name="terminations", title="number of terminations fitted", at_least=0.0, at_most=64.0, example="2"),
    Term(
        name="termination-resistance",
        title="resistance of each termination",
        unit="ohm",
        symbol="R_t",
        above=0.0,
        example="120 ohm",
    ),
    Term(
        name="bias-supply",
        title="voltage that feeds the bias resistors",
        unit="V",
        symbol="U_b",
        above=0.0,
        example="5 V",
    ),
    Term(
        name="bias-resistance",
        title="each of the two bias resistors",
        unit="ohm",
        symbol="R_b",
        above=0.0,
        example="560 ohm",
    ),
    Term(
        name="line-resistance",
        title="resistance between the lines: terminations and receivers, no bias",
        unit="ohm",
        symbol="R",
        above=0.0,
        example="60 ohm",
    ),
    Term(
        name="idle-voltage",
        title="idle voltage between the lines, D1 (B) against D0 (A)",
        unit="V",
        symbol="U",
        example="0.25 V",
    ),
    Term(
        name="idle-voltage-margin", title="idle voltage above the receivers' threshold of 0.2 V", unit="V", symbol="U_m"
    ),
    Term(
        name="idle-voltage-verdict",
        title="idle voltage against the receivers' threshold",
        choices=(
            "fine",
            "just enough: nothing left for tolerances",
            "too low: receivers may see anything",
            "reversed: the two lines are swapped",
        ),
    ),
    Term(
        name="greatest-bias-resistance",
        title="largest bias resistors that still give 0.2 V",
        unit="ohm",
        symbol="R_b,max",
        above=0.0,
    ),
    Term(
        name="common-mode-voltage",
        title="voltage from a bus line to the common of a device, with its sign",
        unit="V",
        symbol="U_cm",
        example="2.5 V",
    ),
    Term(name="common-mode-margin", title="margin to the nearer limit of -7 and +12 V", unit="V", symbol="U_m"),
    Term(
        name="common-mode-verdict",
        title="voltage to common against the limits of a receiver",
        choices=("fine", "beyond the limits: earth potentials differ, or the common wire is missing"),
    ),
)

THRESHOLD = 0.2
"""Voltage [V] between the lines from which a receiver is certain to switch: TIA-485."""

SURE = 0.22
"""Idle voltage [V] that leaves a tenth for tolerances of resistors and supply: estimate."""

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
    terminations: float, unit_loads: float, termination_resistance: float = 120.0
) -> float:
    """Return the resistance [ohm] of terminations and receivers in parallel: R = 1 / (n / R_t + UL / 12 kohm).

    ``termination_resistance`` of each [ohm], ``unit_loads`` of 12 kohm each. Raises OutOfRange with neither, or for
    negative ones. Source: TIA-485; two of 120 ohm and 32 unit loads (375 ohm) give 51.72 ohm.

    >>> line_resistance_with_receivers(2.0, 32.0)
    51.72
    """
    return parallel(terminations / termination_resistance + unit_loads / UNIT_LOAD)


@calculation(
    gives="line-resistance",
    formula="R = R_t / n",
    source="definition",
    valid="receivers left out: 32 unit loads make 51.7 of 60 ohm",
)
def parallel_resistance(terminations: float, termination_resistance: float = 120.0) -> float:
    """Return the resistance [ohm] of equal terminations [ohm] in parallel, receivers left out: R = R_t / n.

    Raises OutOfRange unless there is one at least. Source: definition; two terminations of 120 ohm give 60 ohm.

    >>> parallel_resistance(2.0, 120.0)
    60.0
    """
    return parallel(terminations / termination_resistance)


@calculation(
    gives="idle-voltage",
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
def idle_voltage_margin(idle_voltage: float) -> float:
    """Return by how much an idle voltage [V] exceeds the receivers' threshold of 0.2 V; negative when it does not.

    Source: TIA-485; 0.2542 V leaves 54 mV.

    >>> idle_voltage_margin(0.2542)
    0.0542
    """
    return idle_voltage - THRESHOLD


@calculation(
    gives="idle-voltage-verdict",
    formula="fine from 0.22 V, just enough from 0.2 V, reversed below -0.2 V",
    source="TIA-485 (0.2 V); a tenth for tolerances: estimate",
    valid="no device sends",
)
def idle_voltage_verdict(idle_voltage: float) -> str:
    """Return how receivers respond to an idle voltage [V] from D1 (B) to D0 (A).

    Source: TIA-485: a receiver is sure from 0.2 V on either side; a tenth more for tolerances is an estimate. Three
    terminations at 650 ohm leave 0.1493 V.

    >>> idle_voltage_verdict(0.2542), idle_voltage_verdict(0.1493), idle_voltage_verdict(-0.25)
    ('fine', 'too low: receivers may see anything', 'reversed: the two lines are swapped')
    """
    if idle_voltage <= -THRESHOLD:
        return "reversed: the two lines are swapped"
    if idle_voltage < THRESHOLD:
        return "too low: receivers may see anything"
    return "fine" if idle_voltage >= SURE else "just enough: nothing left for tolerances"


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
def common_mode_margin(common_mode_voltage: float) -> float:
    """Return the margin of a voltage [V] from a line to common within -7 to +12 V; negative if it is outside.

    Source: TIA-485; 2.5 V leaves 9.5 V.

    >>> common_mode_margin(2.5), common_mode_margin(-9.0)
    (9.5, -2.0)
    """
    lowest, highest = COMMON_MODE
    return min(common_mode_voltage - lowest, highest - common_mode_voltage)


@calculation(gives="common-mode-verdict", formula="-7 V ≤ U_cm ≤ +12 V", source="TIA-485 (-7 to +12 V at a receiver)")
def common_mode_verdict(common_mode_voltage: float) -> str:
    """Return whether a voltage [V] from a line to a device's common lets its receiver work.

    Source: TIA-485: -7 to +12 V.

    >>> common_mode_verdict(2.5)
    'fine'
    """
    lowest, highest = COMMON_MODE
    if lowest <= common_mode_voltage <= highest:
        return "fine"
    return "beyond the limits: earth potentials differ, or the common wire is missing"


def parallel(conductance: float) -> float:
    """Return the resistance [ohm] of a conductance [S]; raises OutOfRange if it is zero."""
    if conductance <= 0:
        raise OutOfRange("there is nothing between the lines; give at least one termination or one unit load")
    return 1 / conductance
