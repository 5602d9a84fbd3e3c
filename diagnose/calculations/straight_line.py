"""Straight line of the meter against the reference: zero and gain with their standard errors.

:func:`fit` works on plain figures in any unit; the calculations put it into a table.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.calculations.calculation import Column, Table, calculation
from diagnose.calculations.comparison import deviation
from diagnose.calculations.significance import chi_squared_tail, normal_tail, student_tail
from diagnose.errors import OutOfRange
from diagnose.terms import TERMS

CHANCE = 0.05
"""Significance level."""

FEWEST = 3
"""Fewest points for a line with residual scatter."""

ROUNDING = 1e-12
"""Share of the largest figure below which a difference is rounding."""


@dataclass(frozen=True, slots=True)
class StraightLine:
    """A fitted line ``y = zero + gain x`` with the standard errors of both.

    ``residual`` is the residual standard deviation, None if the points have uncertainties of their own; then
    ``chi_squared`` is the sum of squared weighted residuals. ``covariance`` is that of zero and gain.
    """

    zero: float
    gain: float
    zero_error: float
    gain_error: float
    covariance: float
    residual: float | None
    chi_squared: float | None
    freedom: int

    def at(self, x: float) -> float:
        """Return the line's value at ``x``."""
        return self.zero + self.gain * x

    def p_value(self, value: float, error: float) -> float:
        """Return the two-sided p-value of ``value`` against zero."""
        if error == 0:
            return 0.0 if value else 1.0
        return normal_tail(value / error) if self.residual is None else student_tail(value / error, self.freedom)


def fit(x: Sequence[float], y: Sequence[float], uncertainties: Sequence[float] = ()) -> StraightLine:
    """Return the least-squares line of ``y`` over ``x``, weighted by 1/u² if ``y`` has standard ``uncertainties``.

    With weights w, means x̄ and ȳ: gain = Σw(x-x̄)(y-ȳ) / Σw(x-x̄)², zero = ȳ - gain x̄, sd(gain) = 1/√Σw(x-x̄)²,
    sd(zero) = √(1/Σw + x̄²/Σw(x-x̄)²); without uncertainties w = 1, and both are scaled by the residual s.d.
    Raises OutOfRange when points do not pair up, are fewer than three, or all lie at one ``x``. Source: texts on least
    squares; in this form it loses no digits (NIST StRD Norris: twelve digits).

    >>> line = fit([5, 10, 20, 40, 60], [5.31, 10.42, 20.59, 41.01, 61.42])
    >>> line.zero, line.gain
    (0.206106, 1.020144)
    """
    weights = _weights(x, y, uncertainties)
    total = math.fsum(weights)
    mean_x = math.fsum(w * a for w, a in zip(weights, x, strict=True)) / total
    mean_y = math.fsum(w * b for w, b in zip(weights, y, strict=True)) / total
    spread = math.fsum(w * (a - mean_x) ** 2 for w, a in zip(weights, x, strict=True))
    if spread <= total * (ROUNDING * max(map(abs, x))) ** 2:
        raise OutOfRange("the flows of the reference must not all be the same")
    gain = math.fsum(w * (a - mean_x) * (b - mean_y) for w, a, b in zip(weights, x, y, strict=True)) / spread
    residuals = [b - mean_y - gain * (a - mean_x) for a, b in zip(x, y, strict=True)]
    squares = math.fsum(w * each**2 for w, each in zip(weights, residuals, strict=True))
    freedom = len(x) - 2
    scatter = 1.0 if uncertainties else math.sqrt(squares / freedom)
    return StraightLine(
        zero=mean_y - gain * mean_x,
        gain=gain,
        zero_error=scatter * math.sqrt(1 / total + mean_x**2 / spread),
        gain_error=scatter / math.sqrt(spread),
        covariance=-(scatter**2) * mean_x / spread,
        residual=None if uncertainties else scatter,
        chi_squared=squares if uncertainties else None,
        freedom=freedom,
    )


def _weights(x: Sequence[float], y: Sequence[float], uncertainties: Sequence[float]) -> list[float]:
    if len(x) != len(y):
        raise OutOfRange(
            f"each point needs both figures: there are {len(x)} of the reference and {len(y)} of the meter"
        )
    if len(x) < FEWEST:
        raise OutOfRange(f"a straight line needs {FEWEST} points or more; there are {len(x)}")
    if not uncertainties:
        return [1.0] * len(x)
    if len(uncertainties) not in (1, len(x)):
        raise OutOfRange(
            f"give one standard uncertainty for all or one for each of {len(x)} points; there are {len(uncertainties)}"
        )
    each = list(uncertainties) * (len(x) if len(uncertainties) == 1 else 1)
    return [u**-2 for u in each]


@calculation(
    title="straight line of the meter against the reference",
    formula="Q_ind = zero + gain · Q_ref, least squares, weights 1/u² when uncertainties are given",
    source="least squares; significance by Student's t, or by normal and chi-squared with given uncertainties",
    valid="uncertainty of the reference much smaller than that of the meter, independent points",
)
def straight_line(
    reference_flows: tuple[float, ...],
    indicated_flows: tuple[float, ...],
    standard_uncertainties: tuple[float, ...] = (),
) -> Table:
    """Return zero [m³/s] and gain of the meter with their standard errors and significance.

    All in m³/s. Raises OutOfRange as :func:`fit` does. Source: least squares.

    >>> table = straight_line((5.0, 10.0, 20.0, 40.0, 60.0), (5.31, 10.42, 20.59, 41.01, 61.42))
    >>> table.rows[0][2]
    1.020144
    """
    line = fit(reference_flows, indicated_flows, standard_uncertainties)
    remark = _significance(line, max(map(abs, indicated_flows)))
    scatter, of_scatter = _scatter(line)
    columns = (
        Column("zero", "m3/h"),
        Column("standard error", "m3/h"),
        Column("gain"),
        Column("gain error", "%"),
        Column("standard error", "%"),
        scatter,
        Column("points"),
    )
    row = (
        line.zero,
        line.zero_error,
        line.gain,
        line.gain - 1,
        line.gain_error,
        of_scatter,
        float(len(reference_flows)),
    )
    return Table(columns, (row,), remark)


def _scatter(line: StraightLine) -> tuple[Column, float]:
    if line.residual is not None:
        return Column("residual s.d.", "m3/h"), line.residual
    return Column("chi²"), line.chi_squared or 0.0


def _significance(line: StraightLine, largest: float) -> str:
    """Return in words what is significant."""
    zero = line.zero if abs(line.zero) > ROUNDING * largest else 0.0
    gain = line.gain - 1 if abs(line.gain - 1) > ROUNDING else 0.0
    said = {
        f"zero {TERMS['flow'].exactly(zero, 3)}": line.p_value(zero, line.zero_error) < CHANCE,
        f"gain error {100 * gain:+.3g} %": line.p_value(gain, line.gain_error) < CHANCE,
    }
    parts = [f"{what} is {'significant' if more else 'not significant'}" for what, more in said.items()]
    if line.chi_squared is not None and chi_squared_tail(line.chi_squared, line.freedom) < CHANCE:
        parts.append("the points scatter more than their uncertainties allow, or are not on a straight line")
    return "; ".join(parts)


@calculation(
    title="deviation point by point",
    formula="e = (Q_ind - Q_ref) / Q_ref",
    source="ISO/IEC Guide 99:2007 (relative measurement error)",
)
def deviations(reference_flows: tuple[float, ...], indicated_flows: tuple[float, ...]) -> Table:
    """Return each point with its deviation (a ratio); at a reference of zero there is none.

    All in m³/s. Raises OutOfRange when points do not pair up. Source: ISO/IEC Guide 99; 51 against 50 is 2 %.

    >>> deviations((50.0,), (51.0,)).rows
    ((50.0, 51.0, 0.02),)
    """
    if len(reference_flows) != len(indicated_flows):
        raise OutOfRange("each point needs both figures, of the reference and of the meter")
    rows = tuple(
        (of_reference, of_meter, deviation(of_meter, of_reference) if of_reference else "none")
        for of_reference, of_meter in zip(reference_flows, indicated_flows, strict=True)
    )
    return Table((Column("reference", "m3/h"), Column("meter", "m3/h"), Column("deviation", "%")), rows)
