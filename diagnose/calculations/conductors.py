"""Copper conductors and cables: resistance by size, length and temperature, for the loop and the supply.

Chain: ``conductor-gauge`` or ``conductor-area`` with ``conductor-class`` → ``conductor-resistance`` (one core, 20 °C);
with ``cable-length`` and ``conductor-temperature`` → ``cable-resistance`` (both cores), and back to the length.
"""

from __future__ import annotations

import math
import re

from diagnose.calculations.calculation import calculation
from diagnose.errors import OutOfRange

COPPER_RANGE = "-60 to 200 degC"

ROOM = 293.15
"""20 °C [K], at which resistances of conductors are stated."""

COPPER_COEFFICIENT = 0.00393
"""Temperature coefficient of annealed copper at 20 °C [1/K]: IEC 60028, from memory."""

COPPER_RESISTIVITY = 1.7241e-8
"""Resistivity of annealed copper at 20 °C [ohm m]: IEC 60028, 1/58 ohm mm²/m."""

STANDARD_RESISTANCE = {
    "2": {0.5: 36.0, 0.75: 24.5, 1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4.0: 4.61, 6.0: 3.08, 10.0: 1.83},
    "5": {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91},
}
"""Class → nominal cross-section [mm²] → highest resistance of plain copper at 20 °C [ohm/km]: IEC 60228."""

_GAUGE = re.compile(
    r"(?:awg\s*#?|#)?\s*(?:(?P<aughts>[1-4])\s*/\s*0|(?P<zeros>0{1,4})|(?P<number>\d{1,2}))\s*(?:awg)?", re.IGNORECASE
)
THINNEST_GAUGE = 40

SAME_SIZE = 0.01
"""Relative difference up to which a cross-section counts as a standard one."""


def copper_factor(temperature: float) -> float:
    """Return the resistance of copper at ``temperature`` [K] over that at 20 °C.

    >>> copper_factor(273.15 + 60)
    1.1572
    """
    return 1 + COPPER_COEFFICIENT * (temperature - ROOM)


@calculation(
    gives="conductor-resistance",
    formula="r = 4 ρ / (π d²), d = 0.127 mm · 92^((36 - n) / 39)",
    source="ASTM B258 (diameter); IEC 60028 (ρ = 1.7241e-8 ohm m)",
    valid="solid or equal copper area; 1/0 is n = 0, 4/0 is n = -3",
)
def conductor_resistance_of_gauge(conductor_gauge: str) -> float:
    """Return the resistance [ohm/m] of one copper core of an AWG size at 20 °C: r = 4 ρ / (π d²).

    d = 0.127 mm · 92^((36 - n)/39), ρ = 1.7241e-8 ohm m. Raises OutOfRange for what is no size from 4/0 to 40.
    Source: ASTM B258 (diameter), IEC 60028 (resistivity); AWG 18 has 20.948 ohm/km.

    >>> 1000 * conductor_resistance_of_gauge("18")
    20.948
    """
    return COPPER_RESISTIVITY / _area_of_gauge(conductor_gauge)


@calculation(
    gives="conductor-area", formula="A = π d² / 4, d = 0.127 mm · 92^((36 - n) / 39)", source="ASTM B258 (diameter)"
)
def conductor_area_of_gauge(conductor_gauge: str) -> float:
    """Return the cross-section [m²] of an AWG size: A = π d²/4 with d = 0.127 mm · 92^((36 - n)/39).

    Raises OutOfRange for what is no size from 4/0 to 40. Source: ASTM B258; AWG 18 has 0.823 mm².

    >>> 1e6 * conductor_area_of_gauge("AWG 18"), 1e6 * conductor_area_of_gauge("00")
    (0.82305, 67.431)
    """
    return _area_of_gauge(conductor_gauge)


@calculation(
    gives="conductor-resistance",
    formula="table of standard cross-sections; r = ρ / A for others",
    source="IEC 60228 (highest resistance of plain copper); IEC 60028 (ρ = 1.7241e-8 ohm m)",
    valid="copper; a good cable of a standard cross-section is a few per cent below",
)
def conductor_resistance_of_area(conductor_area: float, conductor_class: str = "2") -> float:
    """Return the highest resistance [ohm/m] of one copper core of a cross-section [m²] at 20 °C.

    ``conductor_class`` 2 (stranded; solid conductors are the same) or 5 (flexible) counts for the standard
    cross-sections from 0.5 to 10 mm², whose names are not true areas; any other is taken for a true area. Raises
    OutOfRange for an area that is not positive. Source: IEC 60228, IEC 60028; 0.75 mm² of class 2 has 24.5 ohm/km,
    of class 5 26.0 ohm/km, and 0.34 mm² has 50.71 ohm/km.

    >>> 1000 * conductor_resistance_of_area(0.75e-6), 1000 * conductor_resistance_of_area(0.75e-6, "5")
    (24.5, 26.0)
    """
    for size, resistance in STANDARD_RESISTANCE[conductor_class].items():
        if abs(conductor_area * 1e6 - size) <= SAME_SIZE * size:
            return resistance / 1000
    return COPPER_RESISTIVITY / conductor_area


@calculation(
    gives="cable-resistance",
    formula="R = 2 L r (1 + 0.00393 (t - 20 degC))",
    source="definition; IEC 60028 (temperature coefficient, from memory)",
    valid=f"copper, {COPPER_RANGE}",
)
def cable_resistance(cable_length: float, conductor_resistance: float, conductor_temperature: float = ROOM) -> float:
    """Return the resistance [ohm] of both cores of a cable: R = 2 L r (1 + 0.00393/K (t - 20 °C)).

    ``cable_length`` [m] one way, ``conductor_resistance`` [ohm/m] of one core at 20 °C, ``conductor_temperature`` [K].
    Raises OutOfRange for a negative length, a resistance that is not positive, or a temperature beyond -60 to 200 °C.
    Source: definition; 500 m of 24.5 ohm/km are 24.5 ohm, at 60 °C 28.35 ohm.

    >>> cable_resistance(500.0, 0.0245), cable_resistance(500.0, 0.0245, 273.15 + 60)
    (24.5, 28.35)
    """
    return 2 * cable_length * conductor_resistance * copper_factor(conductor_temperature)


@calculation(
    gives="cable-length",
    formula="L = R / (2 r (1 + 0.00393 (t - 20 degC)))",
    source="inverse of the resistance of both cores",
    valid=f"copper, {COPPER_RANGE}; far ends joined without resistance",
)
def cable_length_from_resistance(
    cable_resistance: float, conductor_resistance: float, conductor_temperature: float = ROOM
) -> float:
    """Return the length [m] of a cable, or the distance to a short circuit, from the resistance [ohm] of both cores.

    ``conductor_resistance`` [ohm/m] of one core at 20 °C, ``conductor_temperature`` [K]. Raises OutOfRange for a
    resistance per length that is not positive. Source: inverse of 2 L r; 24.5 ohm at 24.5 ohm/km are 500 m.

    >>> cable_length_from_resistance(24.5, 0.0245)
    500.0
    """
    return cable_resistance / (2 * conductor_resistance * copper_factor(conductor_temperature))


def gauge_number(text: str) -> int:
    """Return the n of a wire size: ``18``, ``AWG 18``, ``#18``, and for thick ones ``2/0`` or ``00``, which is -1.

    Raises OutOfRange for a text that is no size.

    >>> [gauge_number(each) for each in ("AWG 18", "0", "1/0", "00", "4/0")]
    [18, 0, 0, -1, -3]
    """
    match = _GAUGE.fullmatch(text.strip())
    if match is None or (match["number"] and int(match["number"]) > THINNEST_GAUGE):
        raise OutOfRange(
            f"`{text.strip()[:20]}` is no AWG size; write a whole number up to 40, or 1/0 to 4/0 (0 to 0000)"
        )
    if match["number"]:
        return int(match["number"])
    return 1 - (int(match["aughts"]) if match["aughts"] else len(match["zeros"]))


def _area_of_gauge(gauge: str) -> float:
    diameter = 0.127e-3 * math.pow(92, (36 - gauge_number(gauge)) / 39)
    return math.pi * diameter**2 / 4
