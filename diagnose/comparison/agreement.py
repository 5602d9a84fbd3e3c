"""Agreement of meter and reference, by permissible errors (OIML R 49) or by the uncertainty of the comparison."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

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
from diagnose.comparison.fit import student_quantile
from diagnose.tables.readings import Readings, uncertainty_of_step

Verdict = Literal["agrees", "cannot tell", "disagrees"]
Decision = Literal["", "pass", "cannot tell", "fail"]

FINE_UNCERTAINTY = 0.02
"""Largest expanded uncertainty with which "no difference" means agreement, without a limit (class 2, upper zone)."""

LIKELY = 0.5
"""Probability of no difference below which a difference is likely."""

BEYOND_DOUBT = 0.1
"""Deviation beyond the uncertainty of any usual comparison on site (estimate), if the scatter is unknown."""

USUAL_TEMPERATURE = 293.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Permissible errors: of a class of OIML R 49 with Q3 and R (without them: upper zone), or a single limit."""

    accuracy_class: str = ""
    permanent_flow: float | None = None
    flow_ratio: float | None = None
    water_temperature: float = USUAL_TEMPERATURE
    limit: float | None = None

    @property
    def is_given(self) -> bool:
        """Whether a class or a limit is given."""
        return bool(self.accuracy_class) or self.limit is not None

    def at(self, reference: float) -> float | None:
        """Return the permissible error at a flow [m³/s] as a ratio, or None where none applies."""
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
class ComparedPoint:
    """One pair: deviation (a ratio, None at no flow), its expanded uncertainty, its permissible error, and conformity.

    ``conformity`` is "within", "outside" or "cannot tell"; "" if there is no permissible error. ``normalised`` is the
    normalised error E_n (None unless the uncertainties of both are stated).
    """

    reference: float
    indicated: float
    deviation: float | None
    uncertainty: float | None
    limit: float | None
    conformity: str
    normalised: float | None = None


@dataclass(frozen=True, slots=True)
class Agreement:
    """The verdict, whether there is a difference, and the reason for it; and whether limits that were given are kept.

    ``decision`` is empty where no limits were given. ``apart`` are readings far off the others.
    """

    verdict: Verdict
    because: str
    points: tuple[ComparedPoint, ...]
    decision: Decision = ""
    decision_because: str = ""
    apart: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Scatter:
    """Residual scatter of the readings: standard deviation and degrees of freedom."""

    deviation: float
    freedom: int

    @property
    def expanded(self) -> float:
        """Expanded scatter, with a coverage of 95 %."""
        return student_quantile(self.freedom) * self.deviation


def judge(
    readings: Readings,
    limits: Limits,
    no_difference: float,
    scatter: Scatter | None,
    beyond_stated: bool = False,
    apart: Sequence[int] = (),
    *,
    others_agree: bool = False,
) -> Agreement:
    """Return the verdict; ``no_difference`` is the posterior probability that there is nothing but scatter.

    ``scatter`` is used if no uncertainties are given. ``beyond_stated``: the readings scatter more than was stated.
    ``apart`` are those that lie far off the others, and the others may agree without them.
    """
    points = tuple(_point(readings, number, scatter, limits) for number in range(len(readings.reference)))
    if not any(readings.reference):
        return Agreement("cannot tell", "all readings are at no flow: they say nothing about the meter at flow", points)
    verdict, because = _by_uncertainty(points, no_difference, beyond_stated, apart, others_agree)
    decision = _by_limits(points, beyond_stated) if limits.is_given else ("", "")
    return Agreement(verdict, because, points, *decision, tuple(apart))


def _point(readings: Readings, number: int, scatter: Scatter | None, limits: Limits) -> ComparedPoint:
    true, shown = readings.reference[number], readings.indicated[number]
    if true == 0:
        return ComparedPoint(true, shown, None, None, None, "")
    error = deviation(shown, true)
    uncertainty = _expanded(readings, number, scatter)
    limit = limits.at(true)
    word = "" if limit is None else _conformity(error, uncertainty, limit)
    return ComparedPoint(true, shown, error, uncertainty, limit, word, _normalised(readings, number))


def _normalised(readings: Readings, number: int) -> float | None:
    """Return E_n: the difference over both expanded uncertainties (ISO/IEC 17043:2023, B.4; ISO 13528)."""
    if not (readings.u_reference and readings.u_indicated):
        return None
    both = 2 * math.hypot(readings.u_reference[number], readings.u_indicated[number])
    return (readings.indicated[number] - readings.reference[number]) / both if both else None


def _conformity(error: float, uncertainty: float | None, limit: float) -> str:
    if uncertainty is not None:
        return conformity(error, uncertainty, limit)
    return "outside" if abs(error) > max(limit, BEYOND_DOUBT) else "cannot tell"


def _expanded(readings: Readings, number: int, scatter: Scatter | None) -> float | None:
    """Return the expanded uncertainty of a deviation, from the given uncertainties or from the scatter."""
    true, shown = readings.reference[number], readings.indicated[number]
    other, own = (2 * uncertainty_of_step(each[number]) if each else 0.0 for each in readings.resolutions)
    if readings.known:
        own = math.hypot(own, 2 * readings.u_indicated[number] if readings.u_indicated else 0.0)
        other = math.hypot(other, 2 * readings.u_reference[number] if readings.u_reference else 0.0)
        return deviation_uncertainty(shown, true, own, other)
    if scatter is None:
        return None
    return math.hypot(scatter.expanded / abs(true), deviation_uncertainty(shown, true, own, other))


def _by_limits(points: Sequence[ComparedPoint], beyond_stated: bool) -> tuple[Decision, str]:
    if beyond_stated:
        return "cannot tell", "the readings scatter more than you state, so their uncertainty is not what you state"
    judged = [each for each in points if each.conformity]
    if not judged:
        return "cannot tell", "no permissible error applies at any of these flows"
    outside = sum(each.conformity == "outside" for each in judged)
    within = sum(each.conformity == "within" for each in judged)
    if outside:
        return (
            "fail",
            f"{outside} of {len(judged)} points are outside the permissible error, allowing for their uncertainty",
        )
    if within == len(judged):
        return "pass", "all points are within the permissible error, allowing for their uncertainty"
    if any(each.uncertainty is None for each in judged):
        return "cannot tell", UNKNOWN
    return (
        "cannot tell",
        f"at {len(judged) - within} of {len(judged)} points the uncertainty is too large for the permissible error",
    )


def _by_uncertainty(
    points: Sequence[ComparedPoint],
    no_difference: float,
    beyond_stated: bool,
    apart: Sequence[int],
    others_agree: bool,
) -> tuple[Verdict, str]:
    if no_difference < CHANCE:
        return "disagrees", f"the chance that this is only scatter is {_in_percent(no_difference)}"
    it_or_them = "it" if len(apart) == 1 else "them"
    if no_difference < LIKELY and apart and others_agree:
        return (
            "cannot tell",
            f"all agree but {numbered(apart)}: {it_or_them} alone went wrong ({_in_percent(no_difference)}), or the "
            f"meter differs there; repeat {it_or_them} before you judge",
        )
    if no_difference < LIKELY:
        return (
            "cannot tell",
            f"they probably differ, but the chance that this is only scatter is {_in_percent(no_difference)}",
        )
    if beyond_stated:
        return "cannot tell", "the readings scatter more than you state, and the scatter may hide a difference"
    if apart:
        return (
            "cannot tell",
            f"all agree but {numbered(apart)}: repeat {it_or_them} before you judge",
        )
    spreads = [each.uncertainty for each in points if each.uncertainty is not None]
    if not spreads:
        return "cannot tell", UNKNOWN
    least = min(spreads)
    if least <= FINE_UNCERTAINTY:
        return "agrees", f"any difference is within the uncertainty (±{100 * least:.2g} % at best, k = 2)"
    return "cannot tell", f"they are too uncertain (±{100 * least:.2g} % at best, k = 2) to show a small difference"


UNKNOWN = "nobody knows how good the readings are; give their uncertainty, or take at least three"


def numbered(points: Sequence[int]) -> str:
    """Return readings by their numbers, which begin with 1.

    >>> numbered([6]), numbered([0, 2, 4])
    ('reading 7', 'readings 1, 3 and 5')
    """
    return f"reading{'' if len(points) == 1 else 's'} {in_a_row([str(each + 1) for each in points])}"


def in_a_row(words: Sequence[str]) -> str:
    """Return words as a list in a sentence.

    >>> in_a_row(["1", "2", "3"]), in_a_row(["1"])
    ('1, 2 and 3', '1')
    """
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]


def _in_percent(chance: float) -> str:
    return f"{100 * chance:.2g} %" if chance >= 1e-4 else "less than 0.01 %"
