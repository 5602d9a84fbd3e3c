"""From a comparison to its typed document; texts and pictures are made from that."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import islice

import numpy as np

from diagnose.comparison.agreement import ComparedPoint
from diagnose.comparison.comparing import MOST_PAIRS, Comparison, separation_text
from diagnose.comparison.estimates import Estimate, estimates, interpretation
from diagnose.comparison.findings import Conclusion
from diagnose.comparison.fit import Fit, Interval, LackOfFit
from diagnose.comparison.noise import SCATTER_GSD, SCATTER_MEDIAN
from diagnose.comparison.ranking import AmbiguityGroup, RankedMechanism
from diagnose.comparison.separating import Separation, posterior_predictive
from diagnose.comparison.smooth import PRIOR_TEXT
from diagnose.documents.comparison_types import (
    ComparisonDocument,
    ConstantDocument,
    CurveDocument,
    DrawnCurve,
    EvidenceDocument,
    FitDocument,
    IntervalDocument,
    LackOfFitDocument,
    LikelyCause,
    MechanismDocument,
    OutlierDocument,
    PairDocument,
    ParameterDocument,
    PictureDocument,
    SeparationDocument,
)
from diagnose.documents.typed import FindingDocument
from diagnose.reasoning.diagnosis import RankedCause
from diagnose.rule_book.book import RuleBook
from diagnose.units import unit_info

DRAWN = 61
"""Points of a drawn curve."""

MOST_CURVES = 3
LEAST_DRAWN = 0.02
"""Probability of its curve from which a mechanism is drawn."""


MOST_CAUSES = 6

ALONE = 0.8
"""Share of the probability of its curve from which one mechanism stands for all of them."""

BY_LIMITS = (
    "A point passes if its deviation and its expanded uncertainty together stay within the permissible error, and "
    "fails if the deviation is beyond it by more than that uncertainty (guard bands, JCGM 106:2012, 8.3); between the "
    "two it stays open."
)
BY_PROBABILITY = (
    "They disagree if the chance that there is no difference is below 5 %. They agree if no difference is likelier "
    "than not, no reading is far off the others, and the uncertainty is 2 % or better."
)


def with_limits(value: float, low: float, high: float) -> str:
    """Return a figure and its limits with as many digits as the limits justify.

    >>> with_limits(1.020144, 1.01919, 1.02109), with_limits(20.0, 20.0, 20.0), with_limits(-3e-15, -3e-15, 3e-15)
    ('1.0201 (1.0192 to 1.0211)', '20', '0')
    """
    width = high - low
    if not width > 1e-7 * max(abs(low), abs(high), 1e-6):
        return f"{round(value, 9) + 0.0:.5g}"
    decimals = min(8, max(0, 1 - math.floor(math.log10(width)))) if width < math.inf else 4
    value, low, high = (round(each, decimals) + 0.0 for each in (value, low, high))
    return f"{value:.{decimals}f} ({low:.{decimals}f} to {high:.{decimals}f})"


def limits_of(figure: IntervalDocument) -> str:
    """Return a fitted figure with its 95 % limits."""
    if figure.low is None or figure.high is None:
        return f"{round(figure.value, 9) + 0.0:.5g}"
    return with_limits(figure.value, figure.low, figure.high)


def comparison_document(
    comparison: Comparison, rule_book: RuleBook, causes: Iterable[RankedCause] = ()
) -> ComparisonDocument:
    """Return everything that a comparison says, flows in the unit of the readings, shares as plain ratios.

    ``causes`` are those of the diagnosis that follows from it, most probable first.
    """
    factor = unit_info(comparison.readings.unit).factor
    ranked = sorted((each for of in comparison.groups for each in of.members), key=lambda each: -each.probability)
    return ComparisonDocument(
        part=comparison.readings.name or None,
        unit=comparison.readings.unit,
        verdict=comparison.agreement.verdict,
        because=comparison.agreement.because,
        decision=comparison.agreement.decision or None,
        decision_because=comparison.agreement.decision_because or None,
        pairs=tuple(_pair(each, factor) for each in comparison.agreement.points),
        fit=_fit(comparison.fit, factor) if comparison.fit else None,
        assumed=_assumed(comparison),
        decision_rule=BY_LIMITS if any(each.conformity for each in comparison.agreement.points) else BY_PROBABILITY,
        mechanisms=tuple(_mechanism(each, comparison) for each in ranked),
        curves=tuple(_curve(each) for each in comparison.groups),
        causes=() if comparison.no_cause else _causes(causes),
        no_cause=comparison.no_cause or None,
        evidence=_evidence(comparison),
        separating=tuple(_separation(each, comparison) for each in comparison.separations),
        advice=tuple(comparison.advice),
        new_constant=_constant(comparison),
        findings=tuple(_finding(each, rule_book) for each in comparison.findings),
        warnings=tuple(comparison.warnings),
        picture=_picture(comparison, factor),
    )


def _causes(causes: Iterable[RankedCause]) -> tuple[LikelyCause, ...]:
    return tuple(
        LikelyCause(id=each.id, title=each.title, probability=round(each.probability, 6))
        for each in islice(causes, MOST_CAUSES)
    )


def _plain(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)


def _pair(point: ComparedPoint, factor: float) -> PairDocument:
    return PairDocument(
        reference=point.reference / factor,
        indicated=point.indicated / factor,
        deviation=_plain(point.deviation),
        expanded_uncertainty=_plain(point.uncertainty),
        permissible_error=_plain(point.limit),
        conformity=point.conformity or None,
        normalised_error=_plain(point.normalised),
    )


def _fit(fit: Fit, factor: float) -> FitDocument:
    line = fit.line
    return FitDocument(
        zero=_interval(fit.zero, factor, line.zero_error),
        gain=_interval(fit.gain, 1.0, line.gain_error),
        covariance=_plain(line.covariance / factor),
        weighted=line.residual is None and not math.isnan(line.zero_error),
        residual_deviation=_plain(line.residual / factor) if line.residual is not None else None,
        chi_squared=_plain(line.chi_squared),
        degrees_of_freedom=line.freedom,
        residuals=tuple(each / factor for each in fit.residuals),
        lack_of_fit=_lack(fit.lack) if fit.lack else None,
        outliers=tuple(
            OutlierDocument(pair=each.point + 1, ratio=each.ratio, chance=each.chance) for each in fit.outliers
        ),
        chance_without_difference=_plain(fit.no_difference),
    )


def _lack(lack: LackOfFit) -> LackOfFitDocument:
    return LackOfFitDocument(test=lack.test, chance=lack.chance, shown=lack.shown)


def _interval(interval: Interval, factor: float, error: float) -> IntervalDocument:
    spread, low, high = (_plain(each / factor) for each in (error, interval.low, interval.high))
    return IntervalDocument(value=interval.value / factor, standard_error=spread, low=low, high=high)


def _assumed(comparison: Comparison) -> tuple[str, ...]:
    held = [f"“none of these” stands for {PRIOR_TEXT}"]
    if not comparison.readings.known:
        median, factor = f"{100 * SCATTER_MEDIAN:g} %", f"{SCATTER_GSD:g}"
        usual = f"about {median} of the reading or of the range, give or take a factor of {factor} (estimate)"
        held.append(f"no uncertainties given: readings are taken to scatter by {usual}")
    if comparison.scene.upper is None:
        held.append("no range given: its upper end is taken as 0.95 to 4 times the largest reference flow")
    if comparison.scene.bore is None:
        held.append("no bore given: a zero error is told as a flow, not as a velocity")
    return tuple(held)


def _mechanism(ranked: RankedMechanism, comparison: Comparison) -> MechanismDocument:
    mechanism, found = ranked.mechanism, estimates(ranked, comparison.scene)
    return MechanismDocument(
        id=mechanism.id,
        title=mechanism.title,
        curve=mechanism.model.draws,
        probability=round(ranked.probability, 6),
        log_evidence=round(_log_evidence(ranked, comparison), 3),
        parameters={each.name: _parameter(each) for each in found},
        means=interpretation(ranked, comparison.scene, found),
        look=mechanism.known.look,
        remedy=mechanism.known.remedy,
    )


def _log_evidence(ranked: RankedMechanism, comparison: Comparison) -> float:
    """Return the log marginal likelihood of the readings in their own unit (a density changes with the unit)."""
    count = min(len(comparison.readings.reference), MOST_PAIRS)
    return ranked.log_evidence + count * math.log(unit_info(comparison.readings.unit).factor)


def _evidence(comparison: Comparison) -> EvidenceDocument | None:
    """Return how strongly the readings alone favour the leading mechanism over the best one with another curve."""
    if len(comparison.groups) < 2:
        return None
    first, second = (group.members[0] for group in comparison.groups[:2])
    apart = first.log_evidence - second.log_evidence
    return EvidenceDocument(
        mechanism=first.mechanism.id,
        log_marginal_likelihood=round(_log_evidence(first, comparison), 3),
        next=second.mechanism.id,
        log_marginal_likelihood_of_next=round(_log_evidence(second, comparison), 3),
        bayes_factor=float(f"{math.exp(min(apart, 700.0)):.3g}"),
    )


def _finding(found: Conclusion, rule_book: RuleBook) -> FindingDocument:
    known = rule_book.findings.get(found.finding)
    title = known.title if known else found.finding
    return FindingDocument(id=found.finding, title=title, present=found.present, because=found.because)


def _parameter(estimate: Estimate) -> ParameterDocument:
    return ParameterDocument(
        value=estimate.value,
        low=estimate.low,
        high=estimate.high,
        unit=estimate.unit,
        held_before=estimate.prior,
    )


def _curve(group: AmbiguityGroup) -> CurveDocument:
    names = tuple(each.mechanism.id for each in group.members)
    return CurveDocument(
        curve=group.curve, common=group.common, probability=round(group.probability, 6), mechanisms=names
    )


def _separation(separation: Separation, comparison: Comparison) -> SeparationDocument:
    factor = unit_info(comparison.readings.unit).factor
    return SeparationDocument(
        mechanisms=(separation.one.id, separation.other.id),
        flow=separation.flow / factor,
        share=separation.share,
        foreseen=(separation.shown_by_one / factor, separation.shown_by_other / factor),
        ratio=round(separation.ratio, 3),
        text=separation_text(comparison, separation),
    )


def _constant(comparison: Comparison) -> ConstantDocument | None:
    if comparison.constant is None:
        return ConstantDocument(refused=comparison.constant_refused) if comparison.constant_refused else None
    made = comparison.constant
    return ConstantDocument(
        old=made.old,
        meter_factor=made.meter_factor,
        new=made.new,
        expanded_uncertainty=made.uncertainty,
    )


def told_as(group: AmbiguityGroup) -> str:
    """Return what a curve is called: by the mechanism behind it, or by what several have in common."""
    first = group.members[0]
    if first.probability >= ALONE * group.probability or not group.common:
        return first.mechanism.title
    return group.common


def _picture(comparison: Comparison, factor: float) -> PictureDocument:
    """Return what is drawn beside the pairs: the line, permissible errors, curves of the leading mechanisms."""
    lowest = min(0.0, *comparison.readings.reference)
    flows = np.linspace(lowest, 1.05 * max(*comparison.readings.reference, 1e-12), DRAWN)
    drawn = [
        each
        for each in comparison.groups[:MOST_CURVES]
        if each.members[0].is_a_model and each.probability >= LEAST_DRAWN
    ]
    return PictureDocument(
        flows=tuple(float(each) / factor for each in flows),
        line=tuple(comparison.fit.line.at(float(each)) / factor for each in flows) if comparison.fit else None,
        curves=tuple(
            DrawnCurve(
                id=each.members[0].mechanism.id,
                title=told_as(each),
                indicated=tuple(
                    float(value) / factor
                    for value in posterior_predictive(each.members[0], comparison.scene, flows).mean
                ),
            )
            for each in drawn
        ),
    )
