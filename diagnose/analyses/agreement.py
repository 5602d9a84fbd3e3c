"""Does the meter agree with the reference: by permissible errors (OIML R 49) or by the comparison's own uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from diagnose.analyses.comparison_fit import Fit, student_quantile
from diagnose.analyses.readings import Readings
from diagnose.calculations.comparison import deviation
from diagnose.calculations.legal_limits import (
    BELOW,
    BEYOND,
    UPPER,
    conformity,
    minimum_flow,
    overload_flow,
    permissible_error,
    transitional_flow,
    zone_of_reference,
)
from diagnose.calculations.straight_line import CHANCE
from diagnose.calculations.uncertainty import deviation_uncertainty

Verdict = Literal["agrees", "cannot tell", "disagrees"]

FINE_ENOUGH = 0.02
"""Expanded uncertainty up to which "no difference" means agreement where no limit is given (class 2, upper zone)."""

BEYOND_DOUBT = 0.1
"""Deviation that no usual comparison on site is unsure by (estimate), for readings of which no scatter is known."""

USUAL_TEMPERATURE = 293.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Permissible errors: of a class of OIML R 49 with Q3 and R (upper zone throughout without them), or one figure."""

    accuracy_class: str = ""
    permanent_flow: float | None = None
    flow_ratio: float | None = None
    water_temperature: float = USUAL_TEMPERATURE
    limit: float | None = None

    @property
    def given(self) -> bool:
        """Tell whether there is any."""
        return bool(self.accuracy_class) or self.limit is not None

    def at(self, reference: float) -> float | None:
        """Return the permissible error at a flow [m³/s], a ratio; None where none holds."""
        if self.limit is not None:
            return self.limit
        zone = self._zone(reference)
        if not self.accuracy_class or zone in (BELOW, BEYOND):
            return None
        return permissible_error(self.accuracy_class, zone, self.water_temperature)

    def _zone(self, reference: float) -> str:
        if self.permanent_flow is None or self.flow_ratio is None:
            return UPPER
        least = minimum_flow(self.permanent_flow, self.flow_ratio)
        return zone_of_reference(reference, least, transitional_flow(least), overload_flow(self.permanent_flow))


@dataclass(frozen=True, slots=True)
class Point:
    """One pair: its deviation (a ratio, None at standstill), expanded uncertainty and permissible error of it, verdict.

    ``conformity`` is "within", "outside" or "cannot tell"; "" where there is no permissible error.
    """

    reference: float
    indicated: float
    deviation: float | None
    uncertainty: float | None
    limit: float | None
    conformity: str


@dataclass(frozen=True, slots=True)
class Agreement:
    """The verdict, and why."""

    verdict: Verdict
    because: str
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Scatter:
    """How far readings scatter about what is behind them: standard deviation, and degrees of freedom."""

    deviation: float
    freedom: int

    @property
    def expanded(self) -> float:
        """Return what covers 95 %."""
        return student_quantile(self.freedom) * self.deviation


def judge(
    readings: Readings, fit: Fit | None, limits: Limits, no_difference: float, scatter: Scatter | None
) -> Agreement:
    """Return the verdict; ``no_difference`` is the probability that nothing but scatter is there.

    ``scatter`` counts where no uncertainties are given.
    """
    points = tuple(_point(readings, number, scatter, limits) for number in range(len(readings.reference)))
    if not any(readings.reference):
        return Agreement("cannot tell", "all readings are at no flow: nothing is known of the meter at flow", points)
    verdict, because = _by_limits(points) if limits.given else _by_uncertainty(points, fit, no_difference)
    return Agreement(verdict, because, points)


def _point(readings: Readings, number: int, scatter: Scatter | None, limits: Limits) -> Point:
    true, shown = readings.reference[number], readings.indicated[number]
    if true == 0:
        return Point(true, shown, None, None, None, "")
    off = deviation(shown, true)
    spread = _expanded(readings, number, scatter)
    limit = limits.at(true)
    word = "" if limit is None else _conforms(off, spread, limit)
    return Point(true, shown, off, spread, limit, word)


def _conforms(off: float, spread: float | None, limit: float) -> str:
    if spread is not None:
        return conformity(off, spread, limit)
    return "outside" if abs(off) > max(limit, BEYOND_DOUBT) else "cannot tell"


def _expanded(readings: Readings, number: int, scatter: Scatter | None) -> float | None:
    """Return the expanded uncertainty of a deviation: from those given, else from the scatter."""
    true, shown = readings.reference[number], readings.indicated[number]
    if readings.known:
        own = 2 * readings.of_indicated[number] if readings.of_indicated else 0.0
        other = 2 * readings.of_reference[number] if readings.of_reference else 0.0
        return deviation_uncertainty(shown, true, own, other)
    return scatter.expanded / abs(true) if scatter else None


def _by_limits(points: Sequence[Point]) -> tuple[Verdict, str]:
    judged = [each for each in points if each.conformity]
    if not judged:
        return "cannot tell", "at none of these flows a permissible error holds"
    outside = sum(each.conformity == "outside" for each in judged)
    within = sum(each.conformity == "within" for each in judged)
    if outside:
        return (
            "disagrees",
            f"{outside} of {len(judged)} points lie outside the permissible error, uncertainty considered",
        )
    if within == len(judged):
        return "agrees", "all points lie within the permissible error, uncertainty considered"
    if any(each.uncertainty is None for each in judged):
        return "cannot tell", "nothing says how sure the readings are; give their uncertainty, or three points or more"
    return (
        "cannot tell",
        f"at {len(judged) - within} of {len(judged)} points the uncertainty is too large for the permissible error",
    )


def _by_uncertainty(points: Sequence[Point], fit: Fit | None, no_difference: float) -> tuple[Verdict, str]:
    chance = fit.no_difference if fit else math.nan
    if chance < CHANCE:
        return "disagrees", f"chance alone makes so large a zero or gain error in {_in_percent(chance)} of comparisons"
    far = [each for each in points if each.deviation is not None and _beyond(each)]
    if far:
        return "disagrees", f"{len(far)} of {len(points)} points deviate by more than their uncertainty can explain"
    if no_difference < CHANCE:
        return "disagrees", f"the probability that there is no difference is {_in_percent(no_difference)} only"
    spreads = [each.uncertainty for each in points if each.uncertainty is not None]
    if not spreads:
        return "cannot tell", "nothing says how sure the readings are; give their uncertainty, or three points or more"
    least = min(spreads)
    if least <= FINE_ENOUGH:
        return "agrees", f"no difference beyond the uncertainty (±{100 * least:.2g} % at best, k = 2)"
    return "cannot tell", f"the uncertainty (±{100 * least:.2g} % at best, k = 2) hides smaller differences"


def _in_percent(chance: float) -> str:
    return f"{100 * chance:.2g} %" if chance >= 1e-4 else "less than 0.01 %"


def _beyond(point: Point) -> bool:
    """Tell whether a point deviates by more than chance would make one of a dozen do."""
    assert point.deviation is not None
    if point.uncertainty is None:
        return abs(point.deviation) > BEYOND_DOUBT
    return abs(point.deviation) > 1.5 * point.uncertainty
