"""A pipe that is not full: the wetted cross-section, the reading of the meter, and the true flow.

Chain: ``fill-depth`` and ``bore`` → ``fill-share`` → ``wet-area-share`` → ``deviation-by-filling``; with
``wet-velocity`` (that of the liquid itself) or with what the meter shows → ``part-full-flow``.
"""

from __future__ import annotations

import math

from diagnose.calculations.calculation import calculation
from diagnose.errors import OutOfRange

HALF = 0.5
"""Wetted share of the cross-section below which electrodes on a horizontal axis are out of the liquid."""

_FIRST_ORDER = "horizontal pipe, at least half full, electrodes level; first order: the real weighting differs"


@calculation(gives="fill-share", formula="h / D", source="definition", valid="horizontal pipe")
def fill_share(fill_depth: float, bore: float) -> float:
    """Return the depth [m] of the liquid over the ``bore`` [m], a ratio: h/D.

    Raises OutOfRange for a depth greater than the bore. Source: definition; 80 of 100 mm are 80 %.

    >>> 100 * fill_share(0.08, 0.1)
    80.0
    """
    if fill_depth > bore:
        raise OutOfRange("the liquid cannot be deeper than the bore; give its depth from the bottom of the pipe")
    return fill_depth / bore


@calculation(gives="fill-depth", formula="h = (h / D) D", source="definition", valid="horizontal pipe")
def fill_depth(fill_share: float, bore: float) -> float:
    """Return the depth [m] of the liquid by its share of the ``bore`` [m].

    Raises OutOfRange beyond 0 to 100 %. Source: definition; 80 % of 100 mm are 80 mm.

    >>> 1000 * fill_depth(0.8, 0.1)
    80.0
    """
    return fill_share * bore


@calculation(
    gives="wet-area-share",
    formula="A_wet / A = (φ - sin φ cos φ) / π, cos φ = 1 - 2 h / D",
    source="geometry (segment of a circle)",
    valid="horizontal round pipe",
)
def wet_area_share(fill_share: float) -> float:
    """Return the share of the cross-section, a ratio, that is wet at a depth h/D: (φ - sin φ cos φ)/π.

    cos φ = 1 - 2 h/D. Raises OutOfRange beyond 0 to 100 %. Source: segment of a circle; h/D 0.8 wets 85.762 %.

    >>> 100 * wet_area_share(0.8)
    85.762
    """
    cosine = 1 - 2 * fill_share
    half_angle = math.acos(max(-1.0, min(1.0, cosine)))
    return (half_angle - math.sin(half_angle) * cosine) / math.pi


@calculation(gives="deviation-by-filling", formula="e = A / A_wet - 1", source="continuity", valid=_FIRST_ORDER)
def deviation_by_filling(wet_area_share: float) -> float:
    """Return the deviation, a ratio, of a meter that multiplies the liquid's velocity by the full bore: A/A_wet - 1.

    First order: the real weighting changes with the depth. Raises OutOfRange below half, where electrodes on a level
    axis leave the liquid and the reading says nothing. Source: continuity; h/D 0.8 (85.762 % wet) makes +16.602 %.

    >>> 100 * deviation_by_filling(0.85762)
    16.602
    """
    _electrodes_wet(wet_area_share)
    return 1 / wet_area_share - 1


@calculation(
    gives="part-full-flow", formula="Q_wet = v_wet π D² / 4 · A_wet / A", source="continuity", valid="horizontal pipe"
)
def part_full_flow(wet_velocity: float, bore: float, wet_area_share: float) -> float:
    """Return the flow [m³/s] of a liquid that runs at ``wet_velocity`` [m/s] in a pipe not full: v_wet A_wet.

    ``bore`` [m], ``wet_area_share`` a ratio. Raises OutOfRange for a bore that is not positive. Source: continuity;
    1 m/s in 100 mm, half full, are 14.1372 m³/h.

    >>> 3600 * part_full_flow(1.0, 0.1, 0.5)
    14.1372
    """
    return wet_velocity * math.pi * bore**2 / 4 * wet_area_share


@calculation(gives="part-full-flow", formula="Q_wet = Q_ind A_wet / A", source="continuity", valid=_FIRST_ORDER)
def flow_corrected_for_filling(indicated: float, wet_area_share: float) -> float:
    """Return the true flow [m³/s] from the reading of a meter for full pipes in one that is not full: Q_ind A_wet/A.

    First order: the real weighting changes with the depth. Raises OutOfRange below half, where electrodes on a level
    axis leave the liquid. Source: continuity; 100 m³/h shown at 85.762 % wet are 85.762 m³/h.

    >>> 3600 * flow_corrected_for_filling(100 / 3600, 0.85762)
    85.762
    """
    _electrodes_wet(wet_area_share)
    return indicated * wet_area_share


@calculation(
    gives="wet-velocity", formula="v_wet = 4 Q_wet / (π D² A_wet / A)", source="continuity", valid="horizontal pipe"
)
def wet_velocity(part_full_flow: float, bore: float, wet_area_share: float) -> float:
    """Return the mean velocity [m/s] of the liquid itself in a pipe that is not full: Q_wet / A_wet.

    ``part_full_flow`` [m³/s], ``bore`` [m], ``wet_area_share`` a ratio. Raises OutOfRange for a pipe that is dry.
    Source: continuity; 14.1372 m³/h in 100 mm, half full, run at 1 m/s.

    >>> wet_velocity(14.1372 / 3600, 0.1, 0.5)
    1.0000
    """
    if wet_area_share == 0:
        raise OutOfRange("there is no velocity in a dry pipe; give the depth of the liquid")
    return 4 * part_full_flow / (math.pi * bore**2 * wet_area_share)


def _electrodes_wet(wet_area_share: float) -> None:
    if wet_area_share < HALF - 1e-9:
        raise OutOfRange(
            "below half full the electrodes are out of the liquid: the reading says nothing about the flow"
        )
