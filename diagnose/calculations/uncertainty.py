"""Uncertainty of a comparison: combined and expanded uncertainty, and agreement of two results (JCGM 100:2008).

An uncertainty given after ± of an input is propagated without any of these; they are for a budget that is known only as
a list, and for E_n.
"""

from __future__ import annotations

import math

from diagnose.calculations.calculation import calculation
from diagnose.errors import OutOfRange

COMBINED = "JCGM 100:2008 (GUM), 5.1.2"
RECTANGULAR = f"{COMBINED} and 4.3.7 (limits, rectangular distribution)"
E_N = "ISO 13528:2015 and ISO/IEC 17043 (E_n score, from memory)"
INDEPENDENT = "independent influences, each proportional to the result"


@calculation(gives="combined-uncertainty", formula="u_c = √(Σ u_i² + Σ a_i²/3)", source=RECTANGULAR, valid=INDEPENDENT)
def combined_uncertainty(standard_contributions: tuple[float, ...], limit_contributions: tuple[float, ...]) -> float:
    """Return the combined standard uncertainty, a ratio, of standard uncertainties and limits (ratios).

    Raises OutOfRange for one below zero. Source: JCGM 100:2008, 5.1.2 and 4.3.7; 0.3 % and ±0.5 % make 0.4163 %.

    >>> 100 * combined_uncertainty((0.003,), (0.005,))
    0.4163
    """
    return math.hypot(*standard_contributions, *(limit / math.sqrt(3) for limit in limit_contributions))


@calculation(gives="combined-uncertainty", formula="u_c = √(Σ u_i²)", source=COMBINED, valid=INDEPENDENT)
def combined_uncertainty_of_parts(standard_contributions: tuple[float, ...]) -> float:
    """Return the combined standard uncertainty, a ratio, of standard uncertainties (ratios).

    Raises OutOfRange for one below zero. Source: JCGM 100:2008, 5.1.2; 0.5 % and 0.8 % make 0.943 %.

    >>> 100 * combined_uncertainty_of_parts((0.005, 0.008))
    0.943
    """
    return math.hypot(*standard_contributions)


@calculation(gives="combined-uncertainty", formula="u_c = √(Σ a_i²/3)", source=RECTANGULAR, valid=INDEPENDENT)
def combined_uncertainty_of_limits(limit_contributions: tuple[float, ...]) -> float:
    """Return the combined standard uncertainty, a ratio, of limits ±a (ratios).

    Raises OutOfRange for one below zero. Source: JCGM 100:2008, 4.3.7; ±0.5 % is 0.2887 %.

    >>> 100 * combined_uncertainty_of_limits((0.005,))
    0.2887
    """
    return math.hypot(*limit_contributions) / math.sqrt(3)


@calculation(
    gives="indicated-uncertainty",
    formula="U_ind = |Q_ind| · U_ind/Q_ind",
    source="definition of a relative uncertainty",
)
def indicated_uncertainty(indicated: float, relative_indicated_uncertainty: float) -> float:
    """Return the expanded uncertainty [m³/s] of an ``indicated`` flow [m³/s] from the relative one (a ratio).

    Raises OutOfRange for one below zero. Source: definition; 0.5 % of 51 m³/h is 0.255 m³/h.

    >>> indicated_uncertainty(51.0, 0.005)
    0.255
    """
    return abs(indicated) * relative_indicated_uncertainty


@calculation(
    gives="reference-flow-uncertainty",
    formula="U_ref = |Q_ref| · U_ref/Q_ref",
    source="definition of a relative uncertainty",
)
def reference_uncertainty(reference: float, relative_reference_uncertainty: float) -> float:
    """Return the expanded uncertainty [m³/s] of a ``reference`` flow [m³/s] from the relative one (a ratio).

    Raises OutOfRange for one below zero. Source: definition; 0.4 % of 50 m³/h is 0.2 m³/h.

    >>> reference_uncertainty(50.0, 0.004)
    0.2
    """
    return abs(reference) * relative_reference_uncertainty


@calculation(
    gives="deviation-uncertainty",
    formula="U_e = √(U_ind² + (Q_ind/Q_ref)² U_ref²) / |Q_ref|",
    source=COMBINED,
    valid="meter and reference independent of each other, both with the same coverage factor",
)
def deviation_uncertainty(
    indicated: float, reference: float, indicated_uncertainty: float, reference_flow_uncertainty: float
) -> float:
    """Return the expanded uncertainty of a deviation, a ratio; all four in m³/s.

    Raises OutOfRange for a reference of zero or an uncertainty below zero. Source: JCGM 100:2008, 5.1.2; 51 ± 0.255
    against 50 ± 0.2 m³/h is 2 % ± 0.653 %.

    >>> 100 * deviation_uncertainty(51.0, 50.0, 0.255, 0.2)
    0.653
    """
    if reference == 0:
        raise OutOfRange("a deviation needs a reference that is not zero")
    return math.hypot(indicated_uncertainty, indicated / reference * reference_flow_uncertainty) / abs(reference)


@calculation(
    gives="deviation-uncertainty",
    formula="U_e = (1 + e) √((U_ind/Q_ind)² + (U_ref/Q_ref)²)",
    source=COMBINED,
    valid="meter and reference independent of each other, both with the same coverage factor; flows or volumes",
)
def deviation_uncertainty_of_shares(
    deviation: float, relative_indicated_uncertainty: float, relative_reference_uncertainty: float
) -> float:
    """Return the expanded uncertainty of a deviation from relative expanded uncertainties; all ratios.

    Raises OutOfRange for an uncertainty below zero. Source: JCGM 100:2008, 5.1.2; 2 % with 0.5 % and 0.4 % has 0.653 %.

    >>> 100 * deviation_uncertainty_of_shares(0.02, 0.005, 0.004)
    0.653
    """
    return abs(1 + deviation) * math.hypot(relative_indicated_uncertainty, relative_reference_uncertainty)


@calculation(
    gives="deviation-uncertainty",
    formula="U_e = k u_c",
    source="JCGM 100:2008 (GUM), 6.2.1",
    valid="k = 2 covers about 95 % unless an influence known from only a few readings dominates",
)
def expanded_uncertainty(combined_uncertainty: float, coverage_factor: float = 2.0) -> float:
    """Return the expanded uncertainty, a ratio: k times the combined standard uncertainty (a ratio).

    Raises OutOfRange for a ``coverage_factor`` that is not positive. Source: JCGM 100:2008, 6.2.1; 0.2167 % with k = 2
    is 0.4334 %.

    >>> 100 * expanded_uncertainty(0.002167)
    0.4334
    """
    return coverage_factor * combined_uncertainty


@calculation(
    gives="agreement-number",
    formula="E_n = |Q_ind - Q_ref| / √(U_ind² + U_ref²)",
    source=E_N,
    valid="meter and reference independent of each other, both with k = 2; up to 1 they agree",
)
def agreement_number(
    indicated: float, indicated_uncertainty: float, reference: float, reference_flow_uncertainty: float
) -> float:
    """Return E_n, the difference of two results divided by the uncertainty of that difference; all in m³/s.

    Raises OutOfRange when both uncertainties are zero. Source: ISO 13528 (from memory); 100.8 ± 0.5 against 100 ± 0.4
    is 1.249.

    >>> agreement_number(100.8, 0.5, 100.0, 0.4)
    1.249
    """
    spread = math.hypot(indicated_uncertainty, reference_flow_uncertainty)
    if spread == 0:
        raise OutOfRange("meter or reference must have an uncertainty greater than zero")
    return abs(indicated - reference) / spread


@calculation(
    gives="agreement-number",
    formula="E_n = |e| / √((1 + e)² (U_ind/Q_ind)² + (U_ref/Q_ref)²)",
    source=E_N,
    valid="meter and reference independent of each other, both with k = 2; up to 1 they agree",
)
def agreement_number_of_shares(
    deviation: float, relative_indicated_uncertainty: float, relative_reference_uncertainty: float
) -> float:
    """Return E_n from the ``deviation`` and the relative expanded uncertainties of both results; all ratios.

    Raises OutOfRange when both uncertainties are zero. Source: the same divided by the reference; 0.8 % with 0.5/100.8
    and 0.4/100 is 1.249.

    >>> agreement_number_of_shares(0.008, 0.5 / 100.8, 0.4 / 100)
    1.249
    """
    spread = math.hypot((1 + deviation) * relative_indicated_uncertainty, relative_reference_uncertainty)
    if spread == 0:
        raise OutOfRange("meter or reference must have an uncertainty greater than zero")
    return abs(deviation) / spread
