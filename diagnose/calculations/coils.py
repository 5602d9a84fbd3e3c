"""The coils: resistance by temperature and against the data sheet, insulation, and excitation."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.calculations.conductors import (
    COPPER_COEFFICIENT,
    COPPER_COLDEST,
    COPPER_HOTTEST,
    COPPER_RANGE,
    ROOM,
    copper_factor,
)
from diagnose.calculations.limits import not_above, not_below
from diagnose.calculations.terms import Term, declare
from diagnose.errors import OutOfRange

declare(
    Term(
        name="coil-resistance",
        title="resistance of the coil circuit",
        unit="ohm",
        symbol="R",
        at_least=0.0,
        example="85 ohm",
    ),
    Term(
        name="coil-resistance-nominal",
        title="resistance of the coil circuit at 20 degC by data sheet or earlier record",
        unit="ohm",
        symbol="R_N",
        above=0.0,
        example="80 ohm",
    ),
    Term(
        name="coil-temperature",
        title="temperature of the coils",
        unit="degC",
        symbol="t",
        at_least=COPPER_COLDEST,
        at_most=COPPER_HOTTEST,
        example="60 degC",
    ),
    Term(
        name="coil-resistance-at-20",
        title="measured coil resistance converted to 20 degC",
        unit="ohm",
        symbol="R_20",
        at_least=0.0,
    ),
    Term(
        name="expected-coil-resistance",
        title="resistance of healthy coils at their temperature",
        unit="ohm",
        symbol="R_t",
        above=0.0,
    ),
    Term(name="coil-resistance-deviation", title="deviation from healthy coils", unit="%", symbol="e"),
    Term(
        name="implied-coil-temperature",
        title="temperature at which healthy coils have the measured resistance",
        unit="degC",
        symbol="t",
    ),
    Term(
        name="coil-against-nominal",
        title="measured coils against their nominal resistance",
        choices=("fits", "too low: shorted turns or a bridge", "too high: a bad joint or open"),
    ),
    Term(
        name="coil-resistance-verdict",
        title="coil resistance against what is usual",
        choices=("usual", "unusual: compare with the data sheet", "bridged", "open"),
    ),
    Term(
        name="coil-insulation",
        title="insulation of the coils to earth",
        unit="Mohm",
        symbol="R_iso",
        at_least=0.0,
        example="200 Mohm",
    ),
    Term(name="coil-insulation-verdict", title="insulation of the coils", choices=("fine", "wrong")),
    Term(
        name="excitation-current",
        title="current through the coils",
        unit="mA",
        symbol="I",
        at_least=0.0,
        example="100 mA",
    ),
    Term(
        name="excitation-voltage",
        title="voltage across the coils, steady part",
        unit="V",
        symbol="U",
        at_least=0.0,
        example="8 V",
    ),
    Term(name="coil-power", title="power that heats the coils", unit="W", symbol="P", at_least=0.0),
)

USUAL_COIL = (20.0, 300.0)
"""Usual resistance of a coil circuit [ohm]: common practice."""

BRIDGED_BELOW, OPEN_ABOVE = 5.0, 1000.0
"""Resistances [ohm] below which a coil circuit is bridged and above which it is open: common practice."""

HEALTHY_COIL = (0.80, 1.45)
"""Range of the resistance of healthy coils over nominal, from cold (-31 °C) to hot (135 °C)."""

LEAST_COIL_INSULATION = 20e6
"""Insulation of dry coils to earth [ohm]: common practice."""

COPPER = "IEC 60028 (temperature coefficient of copper, from memory)"


@calculation(
    gives="coil-resistance-at-20",
    formula="R_20 = R / (1 + 0.00393 (t - 20 degC))",
    source=COPPER,
    valid=COPPER_RANGE,
)
def coil_resistance_at_20(coil_resistance: float, coil_temperature: float) -> float:
    """Return the resistance [ohm] at 20 °C of a coil with ``coil_resistance`` [ohm] at ``coil_temperature`` [K].

    Raises OutOfRange beyond -60 to 200 °C. Source: IEC 60028; 115.72 ohm at 60 °C are 100 ohm at 20 °C.

    >>> coil_resistance_at_20(115.72, 273.15 + 60)
    100.0
    """
    return coil_resistance / copper_factor(coil_temperature)


@calculation(
    gives="expected-coil-resistance",
    formula="R_t = R_N (1 + 0.00393 (t - 20 degC))",
    source=COPPER,
    valid=COPPER_RANGE,
)
def expected_coil_resistance(coil_resistance_nominal: float, coil_temperature: float) -> float:
    """Return the resistance [ohm] at ``coil_temperature`` [K] of a coil with a nominal one [ohm] at 20 °C.

    Raises OutOfRange beyond -60 to 200 °C. Source: IEC 60028; 100 ohm are 115.72 ohm at 60 °C, 92.14 ohm at 0 °C.

    >>> expected_coil_resistance(100.0, 273.15 + 60), expected_coil_resistance(100.0, 273.15)
    (115.72, 92.14)
    """
    return coil_resistance_nominal * copper_factor(coil_temperature)


@calculation(
    gives="coil-resistance-deviation", formula="e = R / R_t - 1", source="definition", valid="power off, leads off"
)
def coil_resistance_deviation(coil_resistance: float, expected_coil_resistance: float) -> float:
    """Return the relative deviation of a coil [ohm] from a healthy one [ohm] at its temperature.

    Raises OutOfRange for an expected resistance that is not positive. Source: definition; 60 for 80 ohm is -25 %.

    >>> 100 * coil_resistance_deviation(60.0, 80.0)
    -25.0
    """
    return coil_resistance / expected_coil_resistance - 1


@calculation(
    gives="implied-coil-temperature",
    formula="t = 20 degC + (R / R_N - 1) / 0.00393",
    source=COPPER,
    valid="healthy coils; an impossible figure means a fault",
)
def coil_temperature_from_resistance(coil_resistance: float, coil_resistance_nominal: float) -> float:
    """Return the temperature [K] at which healthy coils have ``coil_resistance`` [ohm].

    ``coil_resistance_nominal`` [ohm] at 20 °C. Raises OutOfRange unless that is positive. Source: IEC 60028;
    115.72 ohm for 100 ohm are 60 °C.

    >>> coil_temperature_from_resistance(115.72, 100.0) - 273.15
    60.0
    """
    return ROOM + (coil_resistance / coil_resistance_nominal - 1) / COPPER_COEFFICIENT


@calculation(
    gives="coil-against-nominal",
    formula="0.8 to 1.45 of nominal",
    source="copper between -31 and 135 degC (IEC 60028)",
    valid="power off, leads off",
)
def coil_against_nominal(coil_resistance: float, coil_resistance_nominal: float) -> str:
    """Return whether nominal resistance [ohm] and temperature can explain the resistance [ohm] of a coil.

    Raises OutOfRange for a nominal resistance that is not positive. Source: copper between -31 and 135 °C.

    >>> coil_against_nominal(104.0, 100.0), coil_against_nominal(60.0, 100.0)
    ('fits', 'too low: shorted turns or a bridge')
    """
    share = coil_resistance / coil_resistance_nominal
    if not not_below(share, HEALTHY_COIL[0]):
        return "too low: shorted turns or a bridge"
    return "fits" if not_above(share, HEALTHY_COIL[1]) else "too high: a bad joint or open"


@calculation(
    gives="coil-resistance-verdict",
    formula="usual 20 to 300 ohm, bridged below 5 ohm, open above 1000 ohm",
    source="common practice",
    valid="power off, leads off; the data sheet decides",
)
def coil_resistance_verdict(coil_resistance: float) -> str:
    """Return whether a coil circuit's resistance [ohm] is a usual one; the data sheet decides.

    Raises OutOfRange for a negative resistance. Source: common practice, 20 to 300 ohm.

    >>> coil_resistance_verdict(85.0), coil_resistance_verdict(0.4), coil_resistance_verdict(2e6)
    ('usual', 'bridged', 'open')
    """
    if coil_resistance < BRIDGED_BELOW:
        return "bridged"
    if coil_resistance > OPEN_ABOVE:
        return "open"
    lowest, highest = USUAL_COIL
    return "usual" if lowest <= coil_resistance <= highest else "unusual: compare with the data sheet"


@calculation(
    gives="coil-insulation-verdict",
    formula="fine from 20 Mohm",
    source="common practice",
    valid="power off, coil leads off the electronics",
)
def coil_insulation_verdict(coil_insulation: float) -> str:
    """Return whether the insulation [ohm] of the coils to earth is that of dry coils.

    Raises OutOfRange for a negative resistance. Source: common practice, more than 20 megohm.

    >>> coil_insulation_verdict(200e6), coil_insulation_verdict(0.3e6)
    ('fine', 'wrong')
    """
    return "fine" if not_below(coil_insulation, LEAST_COIL_INSULATION) else "wrong"


@calculation(gives="excitation-voltage", formula="U = I R", source="Ohm's law", valid="steady part of the excitation")
def excitation_voltage(excitation_current: float, coil_resistance: float) -> float:
    """Return the voltage [V] that drives a current [A] through coils [ohm] once the current is steady: U = I R.

    Raises OutOfRange for negative figures. Source: Ohm's law; 100 mA through 80 ohm want 8 V.

    >>> excitation_voltage(0.1, 80.0)
    8.0
    """
    return excitation_current * coil_resistance


@calculation(gives="excitation-current", formula="I = U / R", source="Ohm's law", valid="steady part of the excitation")
def excitation_current_from_voltage(excitation_voltage: float, coil_resistance: float) -> float:
    """Return the current [A] that a voltage [V] drives through coils [ohm] once it is steady: I = U / R.

    Raises OutOfRange for coils without resistance. Source: Ohm's law; 8 V across 80 ohm are 100 mA.

    >>> 1000 * excitation_current_from_voltage(8.0, 80.0)
    100.0
    """
    _require_nonzero(coil_resistance, "a coil resistance")
    return excitation_voltage / coil_resistance


@calculation(gives="coil-resistance", formula="R = U / I", source="Ohm's law", valid="steady part of the excitation")
def coil_resistance_from_excitation(excitation_voltage: float, excitation_current: float) -> float:
    """Return the resistance [ohm] of coils by voltage [V] and current [A] while they are driven: R = U / I.

    Raises OutOfRange without current. Source: Ohm's law; 8 V at 100 mA are 80 ohm.

    >>> coil_resistance_from_excitation(8.0, 0.1)
    80.0
    """
    _require_nonzero(excitation_current, "a current")
    return excitation_voltage / excitation_current


@calculation(gives="coil-power", formula="P = I² R", source="Joule's law", valid="continuous current")
def coil_power(excitation_current: float, coil_resistance: float) -> float:
    """Return the power [W] with which a current [A] heats coils [ohm]: P = I² R.

    Raises OutOfRange for negative figures. Source: Joule's law; 100 mA through 80 ohm are 0.8 W.

    >>> coil_power(0.1, 80.0)
    0.8
    """
    return excitation_current**2 * coil_resistance


def _require_nonzero(value: float, what: str) -> None:
    if value == 0:
        raise OutOfRange(f"this needs {what} that is not zero")
