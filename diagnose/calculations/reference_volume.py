"""Reference volume and flow by scale, bucket, tank and clock, to compare the meter with.

Chains: ``weighed-mass`` (with ``water-temperature`` or ``liquid-density``) or a tank's size and ``level-change`` →
``reference-volume``; with ``collection-time`` → ``reference``. Pulses that the meter sent meanwhile →
``indicated-volume``.
"""

from __future__ import annotations

import math

from diagnose.calculations.calculation import calculation
from diagnose.calculations.pulse_count import counted_volume, pulse_resolution
from diagnose.errors import OutOfRange

ISO_4185 = "ISO 4185:1980, weighing method (from memory)"
ISO_8316 = "ISO 8316:1987, collection in a volumetric tank (from memory)"


@calculation(
    gives="buoyancy-factor",
    formula="f_b = (1 - ρ_a/ρ_w) / (1 - ρ_a/ρ)",
    source=f"{ISO_4185}; conventional air 1.2 and weights 8000 kg/m3: OIML D 28",
    valid="scale adjusted with weights in air",
)
def buoyancy_factor(liquid_density: float, air_density: float = 1.2, weight_density: float = 8000.0) -> float:
    """Return the correction factor for the buoyancy of air on a scale: (1 - ρ_a/ρ_w) / (1 - ρ_a/ρ).

    ``liquid_density``, ``air_density`` and ``weight_density`` in kg/m³; if left out, the last two are the conventional
    ones of OIML D 28. Raises OutOfRange unless liquid and weights are denser than air. Source: ISO 4185 (form from
    memory); water at 20 °C gives 1.0010534.

    >>> buoyancy_factor(998.2072)
    1.0010534
    """
    if air_density >= min(liquid_density, weight_density):
        raise OutOfRange("the liquid and the weights must be denser than the air")
    return (1 - air_density / weight_density) / (1 - air_density / liquid_density)


@calculation(
    gives="reference-volume",
    formula="V_ref = M / ρ · f_b",
    source=ISO_4185,
    valid="no air in the pipe between meter and scale, nothing lost; ρ at the meter",
)
def weighed_volume(weighed_mass: float, liquid_density: float, buoyancy_factor: float) -> float:
    """Return the volume [m³] of a weighed mass: V = M/ρ · f_b.

    ``weighed_mass`` in kg as the scale shows it, ``liquid_density`` in kg/m³, ``buoyancy_factor`` a ratio. Raises
    OutOfRange unless all are positive. Source: ISO 4185 (form from memory); 1000 kg of water at 20 °C are 1.0028514 m³.

    >>> weighed_volume(1000.0, 998.2072, 1.0010534)
    1.0028514
    """
    return weighed_mass / liquid_density * buoyancy_factor


@calculation(gives="tank-area", formula="A_t = π d² / 4", source="geometry", valid="upright round tank")
def round_tank_area(tank_diameter: float) -> float:
    """Return the area [m²] of an upright round tank of ``tank_diameter`` [m]: π d²/4.

    Raises OutOfRange unless it is positive. Source: geometry; 2 m gives 3.14159 m².

    >>> round_tank_area(2.0)
    3.14159
    """
    return math.pi * tank_diameter**2 / 4


@calculation(gives="tank-area", formula="A_t = l w", source="geometry", valid="walls upright, no fittings inside")
def rectangular_tank_area(tank_length: float, tank_width: float) -> float:
    """Return the area [m²] of a rectangular tank of ``tank_length`` by ``tank_width`` [m].

    Raises OutOfRange unless both are positive. Source: geometry; 3 m by 2 m is 6 m².

    >>> rectangular_tank_area(3.0, 2.0)
    6.0
    """
    return tank_length * tank_width


@calculation(gives="level-change", formula="Δh = |h_2 - h_1|", source="definition", valid="the same mark for both")
def level_change(level_before: float, level_after: float) -> float:
    """Return the change of a level [m].

    ``level_before`` and ``level_after`` in m. Raises OutOfRange when they are the same. Source: definition; from 1.8 m
    to 1.3 m is 0.5 m.

    >>> level_change(1.8, 1.3)
    0.5
    """
    return abs(level_after - level_before)


@calculation(
    gives="reference-volume",
    formula="V_ref = A_t Δh",
    source=ISO_8316,
    valid="every other way in or out of the tank shut and tight",
)
def tank_volume(tank_area: float, level_change: float) -> float:
    """Return the volume [m³] that a tank received or gave: A Δh.

    ``tank_area`` in m², ``level_change`` in m. Raises OutOfRange unless both are positive. Source: ISO 8316 (form from
    memory); 2 m across, 0.5 m down: 1.570796 m³.

    >>> tank_volume(3.14159265, 0.5)
    1.570796
    """
    return tank_area * level_change


@calculation(
    gives="reference",
    formula="Q_ref = V_ref / T",
    source=f"definition of mean flow; {ISO_8316}",
    valid="steady flow, or what the meter shows averaged over the same time",
)
def reference_flow(reference_volume: float, collection_time: float) -> float:
    """Return the mean flow [m³/s] of ``reference_volume`` [m³] in ``collection_time`` [s].

    Raises OutOfRange unless both are positive. Source: definition; 20 L in 25 s are 2.88 m³/h.

    >>> 3600 * reference_flow(0.020, 25.0)
    2.88
    """
    return reference_volume / collection_time


@calculation(gives="indicated-volume", formula="V_ind = N V_p", source="definition", valid="no pulse lost or added")
def indicated_volume_of_pulses(pulse_count: float, pulse_value: float) -> float:
    """Return the volume [m³] that the meter reported as ``pulse_count`` pulses of ``pulse_value`` [m³] each.

    Raises OutOfRange unless both are positive. Source: definition; 1000 pulses of 1 L are 1 m³.

    >>> indicated_volume_of_pulses(1000.0, 0.001)
    1.0
    """
    return counted_volume(pulse_count, pulse_value)


@calculation(
    gives="indicated",
    formula="Q_ind = V_ind / T",
    source="definition of mean flow",
    valid="the meter counted over the same time as the reference",
)
def indicated_mean_flow(indicated_volume: float, collection_time: float) -> float:
    """Return the mean flow [m³/s] of what the meter counted, ``indicated_volume`` [m³] in ``collection_time`` [s].

    Raises OutOfRange unless the time is positive. Source: definition; 20.4 L in 25 s are 2.9376 m³/h.

    >>> 3600 * indicated_mean_flow(0.0204, 25.0)
    2.9376
    """
    return indicated_volume / collection_time


@calculation(gives="pulse-resolution", formula="r = 1/N", source="one pulse more or less at the ends of the count")
def resolution_of_comparison(pulse_count: float) -> float:
    """Return by how much one pulse more or less changes the comparison, a ratio: 1/N.

    Raises OutOfRange for less than one pulse. Source: definition; 1000 pulses give 0.1 %.

    >>> 100 * resolution_of_comparison(1000.0)
    0.1
    """
    return pulse_resolution(pulse_count)
