"""Zero and gain of a comparison with confidence intervals, residuals, lack of fit and outliers.

Works on plain figures in any unit. The line itself is :func:`diagnose.calculations.straight_line.fit`; uncertainties of
the reference, times the gain, are added to those of the indication, iterated until the gain converges.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from diagnose.calculations.significance import chi_squared_tail, normal_tail, student_tail
from diagnose.calculations.straight_line import CHANCE, FEWEST, ROUNDING, StraightLine, fit

MOST_FIT_ROUNDS = 20
FEWEST_FOR_BEND = 5
"""Fewest points with which curvature can be told from scatter."""

BY_SPREAD = "chi-squared of the residuals"
"""The test for lack of fit where uncertainties are stated: a bend shows in it, and so do uncertainties too small."""

FEWEST_FOR_OUTLIER = 5
MOST_OUTLIERS = 1 / 3
"""Share of the points above which none stands apart: then it is the line or the uncertainties that are wrong."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A figure with its confidence interval of 95 %; nan if that is unknown."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Outlier:
    """An outlier: its number (from 0), its standardised residual, and the probability of one by chance."""

    point: int
    ratio: float
    chance: float


@dataclass(frozen=True, slots=True)
class LackOfFit:
    """A test for lack of fit to a straight line: its name and p-value."""

    test: str
    chance: float

    @property
    def shown(self) -> bool:
        """Whether it is significant."""
        return self.chance < CHANCE


@dataclass(frozen=True, slots=True)
class Fit:
    """The line through a comparison with its statistics.

    The standard errors of ``line`` are nan for two points without uncertainties.
    """

    line: StraightLine
    zero: Interval
    gain: Interval
    residuals: tuple[float, ...]
    lack: LackOfFit | None
    outliers: tuple[Outlier, ...]
    no_difference: float
    """The p-value of zero 0 and gain 1 together; nan if it is unknown."""


def fit_pairs(
    reference: Sequence[float],
    indicated: Sequence[float],
    u_reference: Sequence[float] = (),
    u_indicated: Sequence[float] = (),
) -> Fit | None:
    """Fit the line of a comparison; None unless there are two different flows."""
    top = max(map(abs, reference))
    if len(reference) < 2 or max(reference) - min(reference) <= ROUNDING * top:
        return None
    spread = _combined_uncertainty(reference, indicated, u_reference, u_indicated)
    line = fit(reference, indicated, spread) if len(reference) >= FEWEST else _through_two(reference, indicated, spread)
    residuals = tuple(shown - line.at(true) for true, shown in zip(reference, indicated, strict=True))
    return Fit(
        line=line,
        zero=_interval(line.zero, line.zero_error, line),
        gain=_interval(line.gain, line.gain_error, line),
        residuals=residuals,
        lack=_lack_of_fit(line, reference, residuals),
        outliers=_outliers(line, reference, residuals, spread),
        no_difference=_no_difference(line),
    )


def _combined_uncertainty(
    reference: Sequence[float], indicated: Sequence[float], u_reference: Sequence[float], u_indicated: Sequence[float]
) -> tuple[float, ...]:
    """Return the standard uncertainties of the indication, including those of the reference."""
    if not u_reference:
        return tuple(u_indicated)
    own = u_indicated or [0.0] * len(reference)
    gain = 1.0
    for _ in range(MOST_FIT_ROUNDS):
        spread = tuple(math.hypot(a, gain * b) for a, b in zip(own, u_reference, strict=True))
        line = fit if len(reference) >= FEWEST else _through_two
        before, gain = gain, line(reference, indicated, spread).gain
        if abs(gain - before) <= ROUNDING * abs(gain):
            break
    return spread


def _through_two(x: Sequence[float], y: Sequence[float], spread: Sequence[float]) -> StraightLine:
    """Return the line through two points; its standard errors follow from the given uncertainties."""
    distance = x[1] - x[0]
    gain = (y[1] - y[0]) / distance
    u = spread or (math.nan, math.nan)
    variance = (u[0] ** 2 + u[1] ** 2) / distance**2
    at_zero = math.hypot(x[1] * u[0], x[0] * u[1]) / abs(distance)
    covariance = -(x[1] * u[0] ** 2 + x[0] * u[1] ** 2) / distance**2
    return StraightLine(
        y[0] - gain * x[0], gain, at_zero, math.sqrt(variance), covariance, None, 0.0 if spread else math.nan, 0
    )


def quantile(line: StraightLine) -> float:
    """Return the coverage factor for 95 %: Student's t, or normal with given uncertainties."""
    return student_quantile(line.freedom) if line.residual is not None else 1.959963984540054


@lru_cache(maxsize=64)
def student_quantile(freedom: int, chance: float = CHANCE) -> float:
    """Return the two-sided quantile of Student's t for a tail probability ``chance``, by bisection.

    Source: any table of Student's t; 3 degrees of freedom, 5 %: 3.182.

    >>> student_quantile(3)
    3.182446
    """
    low, high = 0.0, 2.0
    while student_tail(high, freedom) > chance:
        high *= 2
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if student_tail(middle, freedom) > chance else (low, middle)
    return (low + high) / 2


def _interval(value: float, error: float, line: StraightLine) -> Interval:
    half = quantile(line) * error
    return Interval(value, value - half, value + half)


def _lack_of_fit(line: StraightLine, x: Sequence[float], residuals: Sequence[float]) -> LackOfFit | None:
    if line.chi_squared is not None and line.freedom > 0:
        return LackOfFit(BY_SPREAD, chi_squared_tail(line.chi_squared, line.freedom))
    if line.residual is None or len(x) < FEWEST_FOR_BEND or len(set(x)) < 3:
        return None
    return _bend(x, residuals)


def _bend(x: Sequence[float], residuals: Sequence[float]) -> LackOfFit:
    """Test for curvature: Student's t of a quadratic term added to the line."""
    middle, reach = (max(x) + min(x)) / 2, (max(x) - min(x)) / 2
    scaled = [(each - middle) / reach for each in x]
    bent = fit(scaled, [each**2 for each in scaled])
    curve = [each**2 - bent.at(each) for each in scaled]
    square = math.fsum(each**2 for each in curve)
    if square < 1e-9:
        return LackOfFit("bend", 1.0)
    size = math.fsum(a * b for a, b in zip(curve, residuals, strict=True)) / square
    left = math.fsum((b - size * a) ** 2 for a, b in zip(curve, residuals, strict=True))
    freedom = len(x) - 3
    error = math.sqrt(left / freedom / square)
    if error <= ROUNDING * max(1e-300, *map(abs, residuals)):
        return LackOfFit("bend", 0.0 if size else 1.0)
    return LackOfFit("bend", student_tail(size / error, freedom))


def _outliers(
    line: StraightLine, x: Sequence[float], residuals: Sequence[float], spread: Sequence[float]
) -> tuple[Outlier, ...]:
    """Return the outliers by their standardised residuals.

    Without uncertainties, the scatter of the other points is used (externally studentised residuals). The probability
    is multiplied by the number of points (Bonferroni).
    """
    count = len(x)
    if count < FEWEST_FOR_OUTLIER:
        return ()
    weights = [u**-2 for u in spread] or [1.0] * count
    if len(weights) == 1:
        weights *= count
    total = math.fsum(weights)
    mean = math.fsum(w * a for w, a in zip(weights, x, strict=True)) / total
    square = math.fsum(w * (a - mean) ** 2 for w, a in zip(weights, x, strict=True))
    squares = math.fsum(w * each**2 for w, each in zip(weights, residuals, strict=True))
    # A tail takes as many terms as there are points, so it is worked out only where it can be small enough.
    least = 0.999 * student_quantile(line.freedom - 1, CHANCE / count) if line.residual is not None else 0.0
    found = []
    for number, (a, w, residual) in enumerate(zip(x, weights, residuals, strict=True)):
        free = 1 - w / total - w * (a - mean) ** 2 / square
        if free <= 1e-9:
            continue
        own_square = w * residual**2 / free
        if line.residual is None:
            ratio, chance = math.sqrt(own_square), normal_tail(math.sqrt(own_square))
        else:
            others = max(0.0, squares - own_square) / (line.freedom - 1)
            if others <= (ROUNDING * max(map(abs, x))) ** 2:
                continue
            ratio = math.sqrt(own_square / others)
            if ratio < least:
                continue
            chance = student_tail(ratio, line.freedom - 1)
        if chance * count < CHANCE:
            found.append(Outlier(number, math.copysign(ratio, residual), min(1.0, chance * count)))
    return tuple(found) if len(found) <= MOST_OUTLIERS * count else ()


def _no_difference(line: StraightLine) -> float:
    """Return the joint p-value of zero 0 and gain 1: F or chi-squared with two degrees of freedom."""
    zero, gain = line.zero, line.gain - 1
    a, b, c = line.zero_error**2, line.covariance, line.gain_error**2
    determinant = a * c - b * b
    if math.isnan(determinant):
        return math.nan
    if determinant <= 0:
        return 1.0 if zero == 0 and gain == 0 else 0.0
    distance = (c * zero**2 - 2 * b * zero * gain + a * gain**2) / determinant
    if line.residual is None:
        return chi_squared_tail(distance, 2)
    return float((1 + distance / line.freedom) ** (-line.freedom / 2))
