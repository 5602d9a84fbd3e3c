"""The coils: resistance by temperature and against the data sheet, insulation, and excitation."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.calculations.conductors import (
    COPPER_COEFFICIENT,
    COPPER_RANGE,
    ROOM,
    copper_factor,
)
from diagnose.errors import OutOfRange

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


@calculation(
    gives="coil-circuit-resistance",
    formula="R = R_N + R_cable",
    source="series circuit",
    valid="20 degC; measured at the transmitter's end of the coil cable",
)
def coil_circuit_resistance(coil_resistance_nominal: float, cable_resistance: float = 0.0) -> float:
    """Return the resistance [ohm] that the transmitter sees: that of the coils and of both cores of the coil cable.

    Raises OutOfRange for negative figures. Source: series circuit; 80 ohm behind 300 m of 24.5 ohm/km are 94.7 ohm.

    >>> coil_circuit_resistance(80.0, 14.7)
    94.7
    """
    return coil_resistance_nominal + cable_resistance


@calculation(
    gives="coil-cable-drop", formula="U = I R_cable", source="Ohm's law", valid="steady part of the excitation"
)
def coil_cable_drop(excitation_current: float, cable_resistance: float) -> float:
    """Return the voltage [V] that the coil cable takes of what the transmitter can drive: U = I R_cable.

    A driver that holds the current makes up for it, up to its highest voltage. Raises OutOfRange for negative figures.
    Source: Ohm's law; 100 mA through 14.7 ohm take 1.47 V.

    >>> coil_cable_drop(0.1, 14.7)
    1.47
    """
    return excitation_current * cable_resistance


@calculation(gives="coil-drive-voltage", formula="U = U_coil + U_cable", source="Kirchhoff's voltage law")
def coil_drive_voltage(excitation_voltage: float, coil_cable_drop: float = 0.0) -> float:
    """Return the voltage [V] that the transmitter must drive: across the coils, and what the cable takes.

    Raises OutOfRange for negative figures. Source: Kirchhoff's voltage law; 8 V and 1.47 V are 9.47 V.

    >>> coil_drive_voltage(8.0, 1.47)
    9.47
    """
    return excitation_voltage + coil_cable_drop


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
