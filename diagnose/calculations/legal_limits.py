"""Maximum permissible errors of water meters (OIML R 49-1 = ISO 4064-1), and conformity of a meter.

Chain: ``permanent-flow`` Q3 and ``flow-ratio`` R → Q1, Q2, Q4 → the zone of a flow → with ``accuracy-class`` and
``water-temperature`` the ``permissible-error`` → with a deviation and its uncertainty the ``conformity``.
"""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.errors import OutOfRange

BELOW, LOWER, UPPER, BEYOND = "below Q1", "lower zone", "upper zone", "above Q4"

FLOWS = "OIML R 49-1:2013 and ISO 4064-1:2014, Q1 to Q4 (read as in Directive 2014/32/EU, Annex III, MI-001)"
ERRORS = "OIML R 49-1:2013 and ISO 4064-1:2014 (class 2 as in Directive 2014/32/EU, Annex III; class 1 from memory)"
WARM = 303.15
"""Water warmer than this [K] has a larger permissible error in the upper zone."""

PERMISSIBLE = {"1": {LOWER: (0.03, 0.03), UPPER: (0.01, 0.02)}, "2": {LOWER: (0.05, 0.05), UPPER: (0.02, 0.03)}}
"""Class → zone → permissible error up to and above 30 °C, a ratio."""

SAME_FLOW = 1e-9
"""Tolerance for rounding errors at the edge of a zone, where tests are made."""


@calculation(gives="minimum-flow", formula="Q1 = Q3 / R", source=FLOWS)
def minimum_flow(permanent_flow: float, flow_ratio: float) -> float:
    """Return Q1 [m³/s], the lowest flow at which the permissible errors hold: Q3/R.

    ``permanent_flow`` in m³/s. Raises OutOfRange for a ``flow_ratio`` below 10 (in the EU since 2015: 40). Source: OIML
    R 49-1:2013; Q3 = 100 m³/h with R = 160 gives 0.625 m³/h.

    >>> minimum_flow(100.0, 160.0)
    0.625
    """
    return permanent_flow / flow_ratio


@calculation(gives="flow-ratio", formula="R = Q3 / Q1", source=FLOWS)
def flow_ratio(permanent_flow: float, minimum_flow: float) -> float:
    """Return R, the ratio of permanent to minimum flow (both in m³/s).

    Raises OutOfRange below 10. Source: OIML R 49-1:2013; 100 and 0.625 m³/h give 160.

    >>> flow_ratio(100.0, 0.625)
    160.0
    """
    return permanent_flow / minimum_flow


@calculation(gives="transitional-flow", formula="Q2 = 1.6 Q1", source=FLOWS)
def transitional_flow(minimum_flow: float) -> float:
    """Return Q2 [m³/s], which separates the lower from the upper zone: 1.6 Q1.

    Raises OutOfRange unless ``minimum_flow`` [m³/s] is positive. Source: OIML R 49-1:2013; 0.625 m³/h gives 1.0 m³/h.

    >>> transitional_flow(0.625)
    1.0
    """
    return 1.6 * minimum_flow


@calculation(gives="overload-flow", formula="Q4 = 1.25 Q3", source=FLOWS)
def overload_flow(permanent_flow: float) -> float:
    """Return Q4 [m³/s], the highest flow for a short time: 1.25 Q3.

    Raises OutOfRange unless ``permanent_flow`` [m³/s] is positive. Source: OIML R 49-1:2013; 100 gives 125 m³/h.

    >>> overload_flow(100.0)
    125.0
    """
    return 1.25 * permanent_flow


@calculation(gives="flow-zone", formula="lower zone Q1 ≤ Q_ref < Q2, upper zone Q2 ≤ Q_ref ≤ Q4", source=FLOWS)
def zone_of_reference(reference: float, minimum_flow: float, transitional_flow: float, overload_flow: float) -> str:
    """Return the zone in which a ``reference`` flow lies; all four in m³/s, backward flow by its size.

    Raises OutOfRange unless Q1 < Q2 < Q4. Source: OIML R 49-1:2013; 1.0 m³/h is Q2 of Q3 = 100, R = 160: upper zone.

    >>> zone_of_reference(1.0, 0.625, 1.0, 125.0)
    'upper zone'
    """
    if not minimum_flow < transitional_flow < overload_flow:
        raise OutOfRange("minimum flow (Q1), transitional flow (Q2) and overload flow (Q4) must increase in this order")
    nearly = abs(reference) * (1 + SAME_FLOW)
    if nearly < minimum_flow:
        return BELOW
    if nearly < transitional_flow:
        return LOWER
    return UPPER if abs(reference) <= overload_flow * (1 + SAME_FLOW) else BEYOND


@calculation(gives="flow-zone", formula="lower zone Q1 ≤ Q < Q2, upper zone Q2 ≤ Q ≤ Q4", source=FLOWS)
def zone_of_flow(flow: float, minimum_flow: float, transitional_flow: float, overload_flow: float) -> str:
    """Return the zone in which a ``flow`` lies; all four in m³/s, backward flow by its size.

    Raises OutOfRange unless Q1 < Q2 < Q4. Source: OIML R 49-1:2013; 0.8 m³/h of Q3 = 100, R = 160: lower zone.

    >>> zone_of_flow(0.8, 0.625, 1.0, 125.0)
    'lower zone'
    """
    return zone_of_reference(flow, minimum_flow, transitional_flow, overload_flow)


@calculation(
    gives="permissible-error",
    formula="class 1: lower zone 3 %, upper 1 % (above 30 °C 2 %); class 2: lower 5 %, upper 2 % (above 30 °C 3 %)",
    source=ERRORS,
    valid="new or newly verified water meters; in service national law applies",
)
def permissible_error(accuracy_class: str, flow_zone: str, water_temperature: float) -> float:
    """Return the maximum permissible error of a water meter, a ratio, either way.

    ``water_temperature`` in K. Raises OutOfRange below Q1 and above Q4, where none holds. Source: OIML R 49-1:2013
    (class 1 from memory); class 2, upper zone, 20 °C: 2 %.

    >>> permissible_error("2", "upper zone", 293.15)
    0.02
    """
    if flow_zone not in PERMISSIBLE[accuracy_class]:
        raise OutOfRange(
            f"no permissible error applies {flow_zone}; it applies from minimum flow (Q1) to overload flow (Q4)"
        )
    return PERMISSIBLE[accuracy_class][flow_zone][water_temperature > WARM]


@calculation(
    gives="conformity",
    formula="within: |e| + U_e ≤ MPE; outside: |e| - U_e > MPE; otherwise: cannot tell",
    source="JCGM 106:2012, 8.3.2 and 8.3.3: guarded acceptance and guarded rejection, guard band U (from memory)",
    valid="U_e with k = 2; then the probability of a wrong “within” or “outside” is at most about 2.5 %",
)
def conformity(deviation: float, deviation_uncertainty: float, permissible_error: float) -> str:
    """Return whether a deviation is within the permissible error, allowing for its uncertainty.

    All ratios. Raises OutOfRange for an uncertainty below zero. Source: JCGM 106:2012, 8.3 (from memory); 1.5 % ± 0.4 %
    is within 2 %, 1.8 % ± 0.4 % cannot be decided, 2.5 % ± 0.4 % is outside.

    >>> conformity(0.015, 0.004, 0.02), conformity(0.018, 0.004, 0.02), conformity(-0.025, 0.004, 0.02)
    ('within', 'cannot tell', 'outside')
    """
    if abs(deviation) + deviation_uncertainty <= permissible_error:
        return "within"
    return "outside" if abs(deviation) - deviation_uncertainty > permissible_error else "cannot tell"
