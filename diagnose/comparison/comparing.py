"""Comparison of a meter with a reference: line, verdict, mechanisms, the reading that would separate them, advice.

``compare`` analyses, ``observations`` returns the findings, ``in_short`` a summary in words.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from diagnose.calculations.straight_line import StraightLine
from diagnose.comparison.advising import NewConstant, advice, new_constant, no_cause
from diagnose.comparison.agreement import Agreement, Limits, Scatter, judge, numbered
from diagnose.comparison.doubts import STRAIGHT_CURVES, doubts
from diagnose.comparison.findings import Against, Conclusion, ReadAt, findings, with_what
from diagnose.comparison.fit import Fit, fit_pairs
from diagnose.comparison.mechanism import ModelledMechanism, Scene
from diagnose.comparison.mechanisms import possible
from diagnose.comparison.mechanisms_of_own_curve import NO_DIFFERENCE
from diagnose.comparison.ranking import (
    AmbiguityGroup,
    Believed,
    Pairs,
    ambiguity_groups,
    beyond_stated,
    decibans_of,
    rank,
)
from diagnose.comparison.separating import RESOLVABLE, Separation, posterior_predictive, separate
from diagnose.observations import Compared, FindingSeen
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.patterns import ComparedAt
from diagnose.tables.readings import Readings, uncertainty_of_step
from diagnose.units import show, unit_info

MOST_PAIRS = 200
"""Largest number of pairs that are used one by one; more are averaged to as many means along the flow."""

APART = 0.01
"""Chance of an outlier below which agreement waits until the reading was repeated."""

LEADERS = 4
LIKELY = 0.5
"""Least probability of a curve for the residual scatter to be taken about it."""

RIVAL = 0.02
"""Least probability of a rival curve that a further reading should separate from the leading one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """The setup of a comparison (SI): range, bore and limits, where the readings were taken, and what is asked."""

    lower: float = 0.0
    upper: float | None = None
    bore: float | None = None
    limits: Limits = field(default_factory=Limits)
    read_at: ReadAt = ""
    against: Against = "reference"
    flow_constant: float | None = None
    origin: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """The result of a comparison.

    ``constant_refused`` says why there is no new constant, if one was asked for; ``no_cause`` why no causes follow, if
    none do.
    """

    readings: Readings
    scene: Scene
    fit: Fit | None
    agreement: Agreement
    groups: tuple[AmbiguityGroup, ...]
    separations: tuple[Separation, ...]
    findings: tuple[Conclusion, ...]
    advice: tuple[str, ...]
    constant: NewConstant | None
    constant_refused: str
    warnings: tuple[str, ...]
    with_what: ComparedAt
    between: tuple[ComparedAt, ...]
    no_cause: str = ""


def between(read_at: ReadAt, against: Against) -> tuple[ComparedAt, ...]:
    """Return where a cause can be that shows between the readings and what they were compared with.

    >>> between("display", "reference"), between("control-system", "display")
    (('reference',), ('control-system',))
    """
    behind: dict[ReadAt, tuple[ComparedAt, ...]] = {
        "": ("control-system", "counter"),
        "display": (),
        "control-system": ("control-system",),
        "counter": ("counter",),
    }
    return (*(() if against == "display" else ("reference",)), *behind[read_at])


def compare(
    every: Sequence[ModelledMechanism], readings: Readings, question: Question, believed: Believed
) -> Comparison:
    """Compare meter and reference; ``every`` mechanism is one of a rule book.

    ``believed`` says how probable each mechanism is, by how well it accounts for the readings.
    """
    mechanisms = possible(every, between(question.read_at, question.against))
    if readings.kind != "flow":
        question = _of_volumes(question)
        mechanisms = tuple(each for each in mechanisms if each.model.draws in TOLD_BY_VOLUMES)
    scene = scene_of(readings, question)
    fit = fit_pairs(readings.reference, readings.indicated, readings.u_reference, readings.u_indicated)
    groups = _rank(readings, scene, mechanisms, believed)
    nothing = _nothing(groups, fit)
    scatters = bool(groups) and beyond_stated(_pairs(readings), scene, groups[0].members[0]) >= SCATTERS
    without = _without_outliers(readings, fit, groups, scene, mechanisms, believed)
    others_agree = without is not None and without.curve == "no-difference"
    apart = [each.point for each in fit.outliers if others_agree or each.chance < APART] if fit else []
    scatter = _scatter(readings, fit, groups, scene)
    agreement = judge(readings, question.limits, nothing, scatter, scatters, apart, others_agree=others_agree)
    noted = (*([SCATTER_WORDS] if scatters else []), *doubts(readings, fit, groups), *_told(without, fit))
    constant, refused = None, ""
    if question.flow_constant is not None:
        constant, refused = new_constant(question.flow_constant, question.origin, agreement, fit, groups, every)
    return Comparison(
        readings=readings,
        scene=scene,
        fit=fit,
        agreement=agreement,
        groups=groups,
        separations=_separations(groups, scene),
        findings=findings(readings, agreement, _behind_display(groups), with_what(question.read_at, question.against)),
        with_what=with_what(question.read_at, question.against),
        between=between(question.read_at, question.against),
        advice=tuple(advice(agreement, groups)),
        constant=constant,
        constant_refused=refused,
        warnings=(*readings.warnings, *noted),
        no_cause=no_cause(agreement, groups, readings),
    )


TOLD_BY_VOLUMES = frozenset({"no-difference", "factor", "reversed", "number-wraps", "any-smooth-curve"})
"""Curves that a volume shows as a flow does; what else a meter does hangs on a flow that nobody told."""


def _of_volumes(question: Question) -> Question:
    """Return what is asked of volumes: nothing that speaks of flows, such as range, bore and class."""
    limits = replace(question.limits, accuracy_class="", permanent_flow=None, flow_ratio=None)
    return replace(question, lower=0.0, upper=None, bore=None, limits=limits)


def scene_of(readings: Readings, question: Question) -> Scene:
    """Return the scene of a comparison: flows, unit, range and bore."""
    top = max(max(map(abs, readings.reference)), 1e-12)
    return Scene(top=top, unit=readings.unit, lower=question.lower, upper=question.upper, bore=question.bore)


def _nothing(groups: Sequence[AmbiguityGroup], fit: Fit | None) -> float:
    """Return how probable it is that there is no difference; without mechanisms, the chance of such a line."""
    if groups:
        return next((each.probability for each in groups if each.curve == "no-difference"), 0.0)
    return 1.0 if fit is None or math.isnan(fit.no_difference) else fit.no_difference


def _behind_display(groups: Sequence[AmbiguityGroup]) -> dict[ComparedAt, float]:
    """Return how probable it is that what differs is not the display, but what is shown behind it, by where."""
    found: dict[ComparedAt, float] = {}
    for each in (member for group in groups for member in group.members):
        places = each.mechanism.known.causes
        if places and "reference" not in places:
            for place in places:
                found[place] = found.get(place, 0.0) + each.probability / len(places)
    return found


def _rank(
    readings: Readings, scene: Scene, mechanisms: Sequence[ModelledMechanism], believed: Believed
) -> tuple[AmbiguityGroup, ...]:
    if not any(readings.reference) or not mechanisms:
        return ()
    return ambiguity_groups(rank(_pairs(readings), scene, mechanisms, believed))


def _pairs(readings: Readings) -> Pairs:
    """Return the pairs as arrays; very many are averaged along the flow."""
    reference, indicated = np.array(readings.reference), np.array(readings.indicated)
    resolved = [tuple(map(uncertainty_of_step, steps)) for steps in readings.resolutions]
    spreads = [np.array(each) if each else None for each in (readings.u_reference, readings.u_indicated, *resolved)]
    if len(reference) <= MOST_PAIRS:
        return Pairs(reference, indicated, *spreads)
    parts = np.array_split(np.argsort(reference), MOST_PAIRS)
    means = [np.array([each[part].mean() for part in parts]) for each in (reference, indicated)]
    of_means = [
        None if each is None else np.array([math.sqrt(np.sum(each[part] ** 2)) / len(part) for part in parts])
        for each in spreads
    ]
    return Pairs(means[0], means[1], *of_means)


def _scatter(readings: Readings, fit: Fit | None, groups: Sequence[AmbiguityGroup], scene: Scene) -> Scatter | None:
    """Return the residual scatter about the leading curve if that is bent and probable, otherwise about the line."""
    first = groups[0].members[0] if groups else None
    if first and first.marginal and groups[0].curve not in STRAIGHT_CURVES and groups[0].probability >= LIKELY:
        free = max(branch.dimensions for branch, _, _ in first.marginal.posterior)
        freedom = len(readings.reference) - free
        if freedom > 0:
            predictive = posterior_predictive(first, scene, np.array(readings.reference)).mean
            squares = float(np.sum((np.array(readings.indicated) - predictive) ** 2))
            return Scatter(math.sqrt(squares / freedom), freedom)
    line = _line_without_outliers(readings, fit)
    return None if line is None or line.residual is None else Scatter(line.residual, line.freedom)


def _line_without_outliers(readings: Readings, fit: Fit | None) -> StraightLine | None:
    """Return the line by which readings scatter: one that went wrong says nothing about how the others do."""
    if fit is None or not fit.outliers:
        return fit.line if fit else None
    rest = _others(readings, fit)
    without = fit_pairs(rest.reference, rest.indicated, rest.u_reference, rest.u_indicated)
    return (without or fit).line


def _others(readings: Readings, fit: Fit) -> Readings:
    outliers = {each.point for each in fit.outliers}
    return readings.only([number for number in range(len(readings.reference)) if number not in outliers])


SCATTERS = 0.9
"""Least probability with which readings are said to scatter more than was stated."""


SCATTER_WORDS = (
    "the readings scatter more than you state: the flow was unsteady, the two were not read at the same moment, the "
    "reading depends on whether the flow was rising or falling (hysteresis), or the uncertainties are too small"
)


def _separations(groups: Sequence[AmbiguityGroup], scene: Scene) -> tuple[Separation, ...]:
    """Return the readings that separate the leading curve from its rivals."""
    known = [each.members[0] for each in groups if each.members[0].is_a_model and each.probability >= RIVAL]
    if len(known) < 2 or known[0].mechanism.model is NO_DIFFERENCE:
        return ()
    found = (separate(known[0], other, scene) for other in known[1:LEADERS])
    return tuple(each for each in found if each)


def _without_outliers(
    readings: Readings,
    fit: Fit | None,
    groups: Sequence[AmbiguityGroup],
    scene: Scene,
    mechanisms: Sequence[ModelledMechanism],
    believed: Believed,
) -> AmbiguityGroup | None:
    """Return what would lead without the outliers, if it is another; the analysis itself leaves nothing out."""
    if not fit or not fit.outliers or not groups:
        return None
    without = _rank(_others(readings, fit), scene, mechanisms, believed)
    return without[0] if without and without[0].curve != groups[0].curve else None


def _told(without: AmbiguityGroup | None, fit: Fit | None) -> list[str]:
    if without is None or fit is None:
        return []
    title = without.members[0].mechanism.title
    them = numbered([each.point for each in fit.outliers])
    return [f"without {them}, “{title}” would come first ({100 * without.probability:.0f} %)"]


def observations(comparison: Comparison, rule_book: RuleBook) -> tuple[FindingSeen | Compared, ...]:
    """Return the findings that the rule book knows, each with the figures as its quote, and what the readings say."""
    figures = in_figures(comparison)
    known = [each for each in comparison.findings if each.finding in rule_book.findings]
    seen = tuple(FindingSeen(finding=each.finding, present=each.present, quote=figures) for each in known)
    return (*seen, *compared(comparison, tuple(each.finding for each in known)))


def compared(comparison: Comparison, says: tuple[str, ...] = ()) -> tuple[Compared, ...]:
    """Return how well each mechanism accounts for the readings; nothing where they say nothing of the meter."""
    ranked = [each for group in comparison.groups for each in group.members]
    if not ranked:
        return ()
    return (
        Compared(
            with_what=comparison.with_what,
            between=comparison.between,
            decibans=decibans_of(ranked),
            says=says,
            quote=in_figures(comparison),
        ),
    )


def in_figures(comparison: Comparison) -> str:
    """Return the figures of a comparison on one line: "comparison of 5 pairs: zero +0.21 m3/h, gain 1.020"."""
    count = len(comparison.readings.reference)
    about = f"comparison of {count} {'pair' if count == 1 else 'pairs'}: "
    if comparison.fit:
        zero = flow_text(comparison, comparison.fit.zero.value, 2)
        sign = "+" if comparison.fit.zero.value > 0 else ""
        return f"{about}zero {sign}{zero}, gain {comparison.fit.gain.value:.3f}"
    off = [each.deviation for each in comparison.agreement.points if each.deviation is not None]
    if off:
        return f"{about}deviation {100 * math.fsum(off) / len(off):+.2g} %"
    middle = math.fsum(comparison.readings.indicated) / count
    return f"{about}{flow_text(comparison, middle, 2)} shown at no flow"


def flow_text(comparison: Comparison, flow: float, digits: int = 4) -> str:
    """Format a flow in the unit of the readings."""
    unit = comparison.readings.unit
    return show(flow, unit, unit_info(unit).factor, digits=digits)


def in_short(comparison: Comparison) -> tuple[str, ...]:
    """Summarise a comparison: verdict, line, and the reading that would separate what may have caused it.

    How probable each mechanism is, is left to the diagnosis, which knows more than these readings.
    """
    sentences = [f"{comparison.agreement.verdict}: {comparison.agreement.because}", in_figures(comparison)]
    sentences += [comparison.no_cause] if comparison.no_cause else []
    sentences += [separation_text(comparison, each) for each in comparison.separations[:1]]
    return tuple(sentences)


def separation_text(comparison: Comparison, separation: Separation) -> str:
    """Describe the reading that separates two mechanisms, and by how much."""
    whole = "of range" if comparison.scene.upper is not None else "of the largest flow"
    share = f"{100 * separation.share:.0f} % {whole}"
    at = f"{share} ({flow_text(comparison, separation.flow)})" if separation.flow else "no flow"
    difference = separation.difference
    by_how_much = f"{100 * difference:.2g} %" if separation.flow else flow_text(comparison, difference, 2)
    enough = "" if separation.ratio >= RESOLVABLE else "; one reading may not be enough to tell, so take several"
    one, other = (flow_text(comparison, each) for each in (separation.shown_by_one, separation.shown_by_other))
    return (
        f"repeat at {at}: expect {one} if “{separation.one.title}”, {other} if “{separation.other.title}” "
        f"({by_how_much} apart){enough}"
    )
