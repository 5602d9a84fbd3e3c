"""The supply cable: voltage drop, voltage at the terminals, greatest length.

Chain: ``cable-resistance`` (see :mod:`diagnose.calculations.conductors`) and a measured current or the meter's power →
``supply-drop`` → ``supply-voltage``.
"""

from __future__ import annotations

import math

from diagnose.calculations.calculation import calculation
from diagnose.calculations.conductors import COPPER_RANGE, ROOM, copper_factor
from diagnose.errors import OutOfRange

CONSTANT_POWER = "a supply that draws constant power (switched-mode); in-phase current"


@calculation(
    gives="supply-drop",
    formula="ΔU = I R",
    source="Ohm's law",
    valid="both cores together; a.c. with cores up to 10 mm2",
)
def supply_drop(supply_current: float, cable_resistance: float) -> float:
    """Return the voltage [V] that a measured current [A] loses on both cores of the cable [ohm]: ΔU = I R.

    Raises OutOfRange for negative figures. Source: Ohm's law; 400 mA through 24.5 ohm lose 9.8 V.

    >>> supply_drop(0.4, 24.5)
    9.8
    """
    return supply_current * cable_resistance


@calculation(
    gives="supply-drop",
    formula="ΔU = (U_0 - √(U_0² - 4 P R)) / 2",
    source="P = U_t (U_0 - U_t) / R",
    valid=CONSTANT_POWER,
)
def supply_drop_of_power(supply_voltage_at_source: float, power_consumption: float, cable_resistance: float) -> float:
    """Return the voltage [V] lost on a cable [ohm] to a meter that draws a constant power [W] at any voltage.

    ``supply_voltage_at_source`` in V. Raises OutOfRange when the cable cannot carry that power. Source: quadratic of
    P = U_t (U_0 - U_t) / R; 24 V, 10 W over 9.6 ohm leave 18.93 V, so 5.07 V are lost.

    >>> supply_drop_of_power(24.0, 10.0, 9.6)
    5.0718
    """
    return _drop(supply_voltage_at_source, power_consumption, cable_resistance)


@calculation(
    gives="supply-drop",
    formula="ΔU = (U - √(U² - 4 P R)) / 2",
    source="P = U_t (U - U_t) / R",
    valid="the source gives its nominal voltage; " + CONSTANT_POWER,
)
def supply_drop_of_nominal(nominal_supply_voltage: float, power_consumption: float, cable_resistance: float) -> float:
    """Return the voltage [V] lost on a cable [ohm] when the source gives its nominal ``nominal_supply_voltage`` [V].

    The power [W] is constant. Raises OutOfRange when the cable cannot carry that power. Source: as with a measured
    source; 24 V, 10 W over 9.6 ohm lose 5.07 V.

    >>> supply_drop_of_nominal(24.0, 10.0, 9.6)
    5.0718
    """
    return _drop(nominal_supply_voltage, power_consumption, cable_resistance)


@calculation(gives="supply-voltage", formula="U_t = U_0 - ΔU", source="Kirchhoff's voltage law")
def supply_voltage_from_source(supply_voltage_at_source: float, supply_drop: float) -> float:
    """Return what is left at the terminals [V] of the voltage at the source [V] after the drop on the cable [V].

    Raises OutOfRange when nothing is left. Source: Kirchhoff's voltage law; 24 V less 5.07 V are 18.93 V.

    >>> supply_voltage_from_source(24.0, 5.07)
    18.93
    """
    return supply_voltage_at_source - supply_drop


@calculation(
    gives="supply-voltage",
    formula="U_t = U - ΔU",
    source="Kirchhoff's voltage law",
    valid="the source gives its nominal voltage",
)
def supply_voltage_from_nominal(nominal_supply_voltage: float, supply_drop: float) -> float:
    """Return what is left at the terminals [V] when the source gives its nominal ``nominal_supply_voltage`` [V].

    Raises OutOfRange when nothing is left. Source: Kirchhoff's voltage law; 24 V less 5.07 V are 18.93 V.

    >>> supply_voltage_from_nominal(24.0, 5.07)
    18.93
    """
    return nominal_supply_voltage - supply_drop


@calculation(
    gives="supply-drop-share", formula="(U_0 - U_t) / U_0", source="definition", valid="both measured under load"
)
def supply_drop_share(supply_voltage_at_source: float, supply_voltage: float) -> float:
    """Return the share of the voltage at the source [V] that does not reach the terminals [V].

    Raises OutOfRange for a source that gives nothing. Source: definition; 24 V and 22.8 V are 5 %.

    >>> 100 * supply_drop_share(24.0, 22.8)
    5.0
    """
    return (supply_voltage_at_source - supply_voltage) / supply_voltage_at_source


@calculation(
    gives="greatest-cable-resistance",
    formula="R_max = U_min (U - U_min) / P",
    source="P = U_t (U - U_t) / R at U_t = U_min",
    valid="the source gives its nominal voltage; " + CONSTANT_POWER,
)
def greatest_cable_resistance(
    nominal_supply_voltage: float, least_supply_voltage_allowed: float, power_consumption: float
) -> float:
    """Return the resistance [ohm] of both cores at which only the lowest voltage allowed [V] reaches the meter.

    ``nominal_supply_voltage`` [V] at the source, ``power_consumption`` [W] drawn. Raises OutOfRange without power, and
    for a lowest voltage that is not between half the voltage at the source and all of it. Source:
    P = U_t (U - U_t) / R; 24 V, 20.4 V and 10 W leave 7.344 ohm.

    >>> greatest_cable_resistance(24.0, 20.4, 10.0)
    7.344
    """
    if power_consumption == 0:
        raise OutOfRange("without power there is no limit to the cable resistance")
    if not nominal_supply_voltage / 2 <= least_supply_voltage_allowed < nominal_supply_voltage:
        raise OutOfRange("the lowest allowed voltage must be between half the source voltage and all of it")
    return least_supply_voltage_allowed * (nominal_supply_voltage - least_supply_voltage_allowed) / power_consumption


@calculation(
    gives="greatest-cable-length",
    formula="L_max = R_max / (2 r (1 + 0.00393 (t - 20 degC)))",
    source="inverse of the resistance of both cores",
    valid=f"copper, {COPPER_RANGE}",
)
def greatest_cable_length(
    greatest_cable_resistance: float, conductor_resistance: float, conductor_temperature: float = ROOM
) -> float:
    """Return the length [m] of a cable whose two cores together have the greatest resistance [ohm].

    ``conductor_resistance`` [ohm/m] of one core at 20 °C, ``conductor_temperature`` [K]. Raises OutOfRange for a
    resistance that is not positive. Source: inverse of 2 L r; 7.344 ohm at 24.5 ohm/km are 149.9 m.

    >>> greatest_cable_length(7.344, 0.0245)
    149.9
    """
    return greatest_cable_resistance / (2 * conductor_resistance * copper_factor(conductor_temperature))


def _drop(voltage: float, power: float, resistance: float) -> float:
    root = voltage**2 - 4 * power * resistance
    if root < 0:
        most = voltage**2 / (4 * resistance)
        raise OutOfRange(f"this cable can carry no more than {most:.3g} W to the meter, which needs {power:.3g} W")
    return (voltage - math.sqrt(root)) / 2
