"""The meter compared with a reference: deviation, meter factor, and the flow constant that corrects it."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.errors import OutOfRange

RELATIVE_ERROR = "ISO/IEC Guide 99:2007 (relative measurement error)"
METER_FACTOR = "definition of the meter factor (ISO 4124, from memory)"


@calculation(gives="deviation", formula="e = (Q_ind - Q_ref) / Q_ref", source=RELATIVE_ERROR, valid="at the same time")
def deviation(indicated: float, reference: float) -> float:
    """Return (indicated - reference) / reference, a ratio; 0.02 is 2 % high.

    Raises OutOfRange for a reference of zero. Source: ISO/IEC Guide 99 (relative error); 51 against 50 is 2 %.

    >>> deviation(51.0, 50.0)
    0.02
    """
    if reference == 0:
        raise OutOfRange("a deviation needs a reference that is not zero")
    return (indicated - reference) / reference


@calculation(
    gives="deviation", formula="e = (V_ind - V_ref) / V_ref", source=RELATIVE_ERROR, valid="of the same liquid"
)
def deviation_of_volumes(indicated_volume: float, reference_volume: float) -> float:
    """Return (indicated - reference) / reference of two volumes [m³], a ratio.

    Raises OutOfRange unless the reference is positive. Source: ISO/IEC Guide 99 (relative error); 20.4 L against 20 L
    is 2 %.

    >>> deviation_of_volumes(0.0204, 0.0200)
    0.02
    """
    return (indicated_volume - reference_volume) / reference_volume


@calculation(gives="meter-factor", formula="MF = Q_ref / Q_ind", source=METER_FACTOR)
def meter_factor(indicated: float, reference: float) -> float:
    """Return the factor that corrects an indication: reference / indicated.

    Both in m³/s. Raises OutOfRange for an indication of zero. Source: definition; 51 against 50 gives 0.980392.

    >>> meter_factor(51.0, 50.0)
    0.980392
    """
    if indicated == 0:
        raise OutOfRange("a meter factor needs an indication that is not zero")
    return reference / indicated


@calculation(gives="meter-factor", formula="MF = V_ref / V_ind", source=METER_FACTOR)
def meter_factor_of_volumes(indicated_volume: float, reference_volume: float) -> float:
    """Return the meter factor from two volumes [m³]: reference / indicated.

    Raises OutOfRange when the meter counted nothing. Source: definition; 20.4 L against 20 L gives 0.980392.

    >>> meter_factor_of_volumes(0.0204, 0.0200)
    0.980392
    """
    if indicated_volume == 0:
        raise OutOfRange("a meter factor needs a meter that has counted something")
    return reference_volume / indicated_volume


@calculation(gives="meter-factor", formula="MF = 1 / (1 + e)", source=METER_FACTOR)
def meter_factor_from_deviation(deviation: float) -> float:
    """Return the meter factor of a meter that deviates by ``deviation`` (a ratio): 1 / (1 + e).

    Raises OutOfRange for a deviation of -100 %. Source: definitions of both; 2 % high gives 0.980392.

    >>> meter_factor_from_deviation(0.02)
    0.980392
    """
    if deviation == -1:
        raise OutOfRange("a meter that shows nothing (deviation -100 %) has no meter factor")
    return 1 / (1 + deviation)


@calculation(
    gives="new-flow-constant",
    formula="C_new = C_old MF",
    source="the reading is proportional to the constant",
    valid="zero right, cause of the deviation known; for a constant to which the reading is proportional",
)
def new_flow_constant(old_flow_constant: float, meter_factor: float) -> float:
    """Return the flow constant that corrects the meter: old constant times meter factor.

    Both plain numbers; for constants to which the reading is proportional. Source: proportionality; 1.2340 with
    0.980392 is 1.20980.

    >>> new_flow_constant(1.2340, 0.980392)
    1.20980
    """
    return old_flow_constant * meter_factor
