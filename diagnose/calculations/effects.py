"""Errors of the reading: a wrong bore setting, gas, deposits, a zero error, a distorted flow profile.

Each effect gives its own deviation (indicated less true, over true) and, where the true flow follows from it, its own
corrected flow, independently of the others.
"""

from __future__ import annotations

import math

from diagnose.calculations.calculation import calculation
from diagnose.errors import OutOfRange


@calculation(
    gives="deviation-by-bore",
    formula="e = (D_set / D)² - 1",
    source="continuity",
    valid="meter that calculates flow as velocity × area; D is the true bore",
)
def deviation_by_bore(bore_entered: float, bore: float) -> float:
    """Return the deviation, a ratio, by a wrong bore [m] entered where the true one is ``bore`` [m]: (D_set/D)² - 1.

    Raises OutOfRange for a bore that is not positive. Source: continuity; 102 mm for 100 mm makes +4.04 %.

    >>> 100 * deviation_by_bore(0.102, 0.1)
    4.04
    """
    return (bore_entered / bore) ** 2 - 1


@calculation(
    gives="flow-corrected-for-bore",
    formula="Q = Q_ind (D / D_set)²",
    source="continuity",
    valid="meter that calculates flow as velocity × area; D is the true bore",
)
def flow_corrected_for_bore(indicated: float, bore_entered: float, bore: float) -> float:
    """Return the true flow [m³/s] of what is shown with a wrong bore [m] entered: Q = Q_ind (D/D_set)².

    ``bore`` [m] is the true one. Raises OutOfRange for a bore that is not positive. Source: continuity; 104.04 m³/h
    with 102 mm for 100 mm are 100 m³/h.

    >>> 3600 * flow_corrected_for_bore(104.04 / 3600, 0.102, 0.1)
    100.00
    """
    return indicated * (bore / bore_entered) ** 2


@calculation(
    gives="deviation-by-gas",
    formula="e = 1 / (1 - α) - 1",
    source="continuity of the liquid; limit of dispersed bubbles: Taitel, Barnea and Dukler 1980 (from memory)",
    valid="fine bubbles, well mixed; against the liquid alone (without slip, liquid and gas together read right)",
)
def deviation_by_gas(void_fraction: float) -> float:
    """Return the deviation, a ratio, from the flow of the liquid by gas that is carried along: 1/(1 - α) - 1.

    The meter follows the liquid's velocity over the full bore; ``void_fraction`` α is gas over all volume, a ratio.
    Raises OutOfRange beyond 0 to 52 %, where bubbles cannot stay apart (Taitel, Barnea and Dukler 1980, from memory).
    Source: continuity; 5 % of gas makes +5.263 %.

    >>> 100 * deviation_by_gas(0.05)
    5.263
    """
    return void_fraction / (1 - void_fraction)


@calculation(
    gives="flow-corrected-for-gas",
    formula="Q = Q_ind (1 - α)",
    source="continuity of the liquid",
    valid="fine bubbles, well mixed",
)
def flow_corrected_for_gas(indicated: float, void_fraction: float) -> float:
    """Return the flow [m³/s] of the liquid in what is shown with gas in it: Q = Q_ind (1 - α).

    ``void_fraction`` α is a ratio. Raises OutOfRange beyond 0 to 52 %. Source: continuity; 100 m³/h with 10 % of gas
    are 90 m³/h of liquid.

    >>> 3600 * flow_corrected_for_gas(100 / 3600, 0.1)
    90.0
    """
    return indicated * (1 - void_fraction)


@calculation(
    gives="clear-bore-share", formula="b = 1 - 2 δ / D", source="geometry", valid="deposit equally thick all round"
)
def clear_bore_share(deposit_thickness: float, bore: float) -> float:
    """Return the share of the diameter, a ratio, that a deposit [m] leaves clear in ``bore`` [m]: b = 1 - 2 δ/D.

    Raises OutOfRange for a negative thickness or one that fills the bore. Source: geometry; 1 mm in 100 mm leaves 98 %.

    >>> 100 * clear_bore_share(0.001, 0.1)
    98.0
    """
    if 2 * deposit_thickness >= bore:
        raise OutOfRange("a deposit must be thinner than half the bore: this one fills the pipe")
    return 1 - 2 * deposit_thickness / bore


@calculation(gives="deposit-conductivity-ratio", formula="s = σ_deposit / σ", source="definition")
def deposit_conductivity_ratio(deposit_conductivity: float, liquid_conductivity: float) -> float:
    """Return the conductivity [S/m] of a deposit over that of the liquid [S/m], a ratio: s = σ_deposit/σ.

    Raises OutOfRange for a liquid that does not conduct. Source: definition; 50 over 500 µS/cm is 0.1.

    >>> deposit_conductivity_ratio(0.005, 0.05)
    0.1
    """
    return deposit_conductivity / liquid_conductivity


@calculation(
    gives="deviation-by-deposit",
    formula="e = 2 / ((1 + b²) + s (1 - b²)) - 1",
    source="Shercliff's two-layer solution, derived from Laplace's equation",
    valid="even deposit that stands still, uniform field, electrodes at the old wall, input that draws no current",
)
def deviation_by_deposit(clear_bore_share: float, deposit_conductivity_ratio: float) -> float:
    """Return the deviation, a ratio, by an even deposit that covers the electrodes: 2/((1 + b²) + s(1 - b²)) - 1.

    b is the share of the diameter left clear, s the deposit's conductivity over the liquid's. One that insulates reads
    high a little, one that conducts (magnetite, metal) low by much. Raises OutOfRange unless 0 < b <= 1 and s >= 0.
    Source: Shercliff's two-layer solution; b 0.98 and s 10 make -15.125 %.

    >>> 100 * deviation_by_deposit(0.98, 10.0)
    -15.125
    """
    square = clear_bore_share**2
    return 2 / ((1 + square) + deposit_conductivity_ratio * (1 - square)) - 1


@calculation(
    gives="deviation-by-flush-deposit",
    formula="e = (1 + b²) / (b ((1 + b²) + s (1 - b²))) - 1; 1 / b - 1 for s = 0",
    source="continuity and Faraday's law (s = 0); Shercliff's two-layer solution taken at the deposit's inner face",
    valid="even deposit that stands still, uniform field, electrodes at the deposit's inner face",
)
def deviation_by_flush_deposit(clear_bore_share: float, deposit_conductivity_ratio: float) -> float:
    """Return the deviation, a ratio, by an even deposit in which the electrodes lie flush: for s = 0 it is 1/b - 1.

    The liquid runs faster by 1/b², over a voltage path shorter by b; a deposit that conducts (s > 0) shunts the
    electrodes: (1 + b²)/(b((1 + b²) + s(1 - b²))) - 1. Raises OutOfRange unless 0 < b <= 1 and s >= 0. Source:
    continuity and Faraday's law; an insulating deposit that leaves b 0.98 makes +2.041 %.

    >>> 100 * deviation_by_flush_deposit(0.98, 0.0)
    2.041
    """
    square = clear_bore_share**2
    return (1 + square) / (clear_bore_share * ((1 + square) + deposit_conductivity_ratio * (1 - square))) - 1


@calculation(gives="zero-offset", formula="z = 4 Q_0 / (π D²)", source="continuity", valid="pipe full, liquid still")
def zero_offset(flow_at_standstill: float, bore: float) -> float:
    """Return as a velocity [m/s] what the meter shows [m³/s] while the liquid stands still: z = 4 Q_0/(π D²).

    ``bore`` [m]. Raises OutOfRange for a bore that is not positive. Source: continuity; 0.056549 m³/h in 100 mm are
    2 mm/s.

    >>> 1000 * zero_offset(0.056549 / 3600, 0.1)
    2.0000
    """
    return 4 * flow_at_standstill / (math.pi * bore**2)


@calculation(
    gives="deviation-by-zero-and-gain", formula="e = g + z / v", source="definition", valid="v is the true velocity"
)
def deviation_by_zero_and_gain(velocity: float, zero_offset: float, gain_error: float = 0.0) -> float:
    """Return the deviation, a ratio, at a true ``velocity`` [m/s] by zero [m/s] and gain (a ratio): g + z/v.

    An error of gain is the same share at every flow, one of zero the same velocity. Raises OutOfRange at standstill.
    Source: definition; 2 mm/s and 0.5 % make 2.5 % at 0.1 m/s and 0.6 % at 2 m/s.

    >>> 100 * deviation_by_zero_and_gain(0.1, 0.002, 0.005), 100 * deviation_by_zero_and_gain(2.0, 0.002, 0.005)
    (2.5, 0.6)
    """
    if velocity == 0:
        raise OutOfRange("a deviation needs a velocity that is not zero: at standstill the reading is the zero offset")
    return gain_error + zero_offset / velocity


@calculation(
    gives="flow-corrected-for-zero-and-gain",
    formula="Q = (Q_ind - z π D² / 4) / (1 + g)",
    source="inverse of zero and gain errors",
    valid="pipe full",
)
def flow_corrected_for_zero_and_gain(
    indicated: float, bore: float, zero_offset: float, gain_error: float = 0.0
) -> float:
    """Return the true flow [m³/s] of what is shown with zero [m/s] and gain errors: (Q_ind - z π D²/4)/(1 + g).

    ``bore`` [m], ``gain_error`` a ratio. Raises OutOfRange for a bore that is not positive or a gain of nothing.
    Source: inverse of g + z/v; 2.5 % above 2.8274 m³/h (0.1 m/s in 100 mm) comes back to it.

    >>> 3600 * flow_corrected_for_zero_and_gain(1.025 * 2.8274 / 3600, 0.1, 0.002, 0.005)
    2.8274
    """
    return (indicated - zero_offset * math.pi * bore**2 / 4) / (1 + gain_error)


@calculation(
    gives="profile-weight",
    formula="W = (1 + r² cos 2θ) / (1 + 2 r² cos 2θ + r⁴)",
    source="Shercliff (from memory), point electrodes, uniform field",
    valid="round pipe, full; electrodes at r = 1, θ = 90 deg",
)
def velocity_profile_weight(radius_share: float, field_angle: float) -> float:
    """Return the weight of the velocity at one place, 1 on average: W = (1 + r² c)/(1 + 2 r² c + r⁴), c = cos 2θ.

    ``radius_share`` r from the axis (0) to the wall (1), ``field_angle`` θ [rad] away from the direction of the
    field: the electrodes lie at 90°. Fast liquid near an electrode reads high, near the field's poles low; the mean
    over each ring is 1. Raises OutOfRange at an electrode itself. Source: Shercliff (from memory); half way to an
    electrode 1.3333.

    >>> velocity_profile_weight(0.5, math.pi / 2)
    1.3333
    """
    square, cosine = radius_share**2, math.cos(2 * field_angle)
    spread = 1 + 2 * square * cosine + square**2
    if spread < 1e-12:
        raise OutOfRange("at an electrode itself the weight is infinite; choose a point a little away from it")
    return (1 + square * cosine) / spread
