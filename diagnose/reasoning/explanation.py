"""Why: for each cause the findings for and against it, in weight of evidence (decibans; Good 1950)."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import msgspec
import numpy as np

from diagnose.observations import Compared
from diagnose.reasoning.differences import InReadings, weights_of_readings
from diagnose.reasoning.evidence import KnownFacts
from diagnose.reasoning.inference import Conclusions, used_by
from diagnose.reasoning.posterior import Evidence, Network
from diagnose.reasoning.sweep import Array
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import Value


class Reason(msgspec.Struct, frozen=True, kw_only=True, rename="kebab"):
    """What speaks for or against a cause, how strongly (decibans), and where it comes from.

    That is a finding, or with none the words of the report, readings that were compared, or what was found before.
    """

    finding: str
    title: str
    present: bool
    decibans: float
    origin: str
    source: str
    rules: tuple[str, ...] = ()


def weight_of_evidence(given_cause: Array, given_none: Array) -> Array:
    """Return the weight of evidence in decibans: 10 log10 of the likelihood ratio (Good 1950).

    Sensitivity and specificity of 0.9 give a ratio of 9.

    >>> float(weight_of_evidence(np.array(0.9), np.array(0.1)))
    9.542425
    """
    return np.asarray(10 * np.log10(given_cause / given_none))


def weights_of_evidence(network: Network, evidence: Evidence) -> Array:
    """Return decibans [causes × (present, then absent findings)] that each finding alone gives each cause.

    The finding's probability with the cause there is compared with that without it, all other causes at their priors.
    """
    columns = [network.column[name] for name in (*evidence.present, *evidence.absent)]
    strengths = network.strengths[:, columns]
    silent_all = 1 - network.finding_probabilities[columns]
    without = silent_all / (1 - network.priors[:, None] * strengths)
    with_cause = without * (1 - strengths)
    shown = len(evidence.present)
    with_cause[:, :shown], without[:, :shown] = 1 - with_cause[:, :shown], 1 - without[:, :shown]
    misread = np.array([evidence.misread.get(name, 0.0) for name in (*evidence.present, *evidence.absent)])
    return weight_of_evidence(misread + (1 - misread) * with_cause, misread + (1 - misread) * without)


def reasons(
    rule_book: RuleBook,
    network: Network,
    evidence: Evidence,
    known: KnownFacts,
    inferred: Conclusions,
    values: dict[str, Value],
    least: float = 0.5,
) -> dict[str, tuple[Reason, ...]]:
    """Return for each cause the findings that weigh at least ``least`` decibans either way, heaviest first."""
    names = (*evidence.present, *evidence.absent)
    told = [_reason(rule_book, name, known, inferred, values) for name in names]
    weights = weights_of_evidence(network, evidence)
    compared = [
        _of_readings(rule_book, network, each, readings)
        for each, readings in zip(known.compared.values(), evidence.readings, strict=True)
    ]
    result = {}
    for row, cause in enumerate(network.causes):
        weighty = [
            msgspec.structs.replace(told[column], decibans=round(float(weights[row, column]), 2))
            for column in range(len(names))
            if abs(weights[row, column]) >= least
        ]
        further = (
            *_wording(known, cause),
            *_history(rule_book, network, cause),
            *(of_readings(row) for of_readings in compared),
        )
        weighty += [each for each in further if abs(each.decibans) >= least]
        result[cause] = tuple(sorted(weighty, key=lambda each: (-abs(each.decibans), each.finding)))
    return result


def _wording(known: KnownFacts, cause: str) -> Iterator[Reason]:
    if known.worded is None or cause not in known.worded.decibans:
        return
    worded = known.worded
    decibans, words, like = worded.decibans[cause], worded.words.get(cause, ()), worded.like.get(cause, "")
    source = "Okapi BM25, Robertson & Zaragoza 2009"
    yield Reason(
        finding="",
        title=_fitting(words, like) if decibans > 0 else "words of the report fit other causes better",
        present=True,
        decibans=decibans,
        origin="compared with all that the rule book says of this cause",
        source=f"{source}; sentence encoder, Yang et al. 2020" if worded.like else source,
    )


def _history(rule_book: RuleBook, network: Network, cause: str) -> Iterator[Reason]:
    """Yield that a cause was found here before; how often it comes elsewhere is no reason, and is not told."""
    if cause not in network.more_often:
        return
    settings = rule_book.settings.comes_back
    yield Reason(
        finding="",
        title="it was found here before",
        present=True,
        decibans=round(float(10 * np.log10(network.more_often[cause])), 2),
        origin=f"counted as {network.more_often[cause]:.2g} times as frequent for that reason",
        source=rule_book.sources[settings.source].citation if settings.source else "",
    )


def _of_readings(
    rule_book: RuleBook, network: Network, compared: Compared, readings: InReadings
) -> Callable[[int], Reason]:
    """Return a function that gives for a cause (by its row) what readings say for or against it."""
    weights = weights_of_readings(readings.showing, network.priors)
    names = network.differences.mechanisms
    best = np.argmax(readings.takes * readings.likeness, axis=1)

    def of(row: int) -> Reason:
        speaks = weights[row] > 0
        mechanism = rule_book.mechanisms[names[best[row]]]
        return Reason(
            finding="",
            title=f"the readings look like it: {mechanism.title}" if speaks else "the readings look otherwise",
            present=True,
            decibans=round(float(weights[row]), 2),
            origin=compared.quote,
            source=rule_book.sources[mechanism.source].citation,
        )

    return of


def _fitting(words: Sequence[str], like: str) -> str:
    fits = f"words in the report that fit: {', '.join(words)}" if words else "the words of the report fit"
    if not like:
        return fits
    near = f"the report means much the same as “{like}”"
    return f"{fits}; {near}" if words else near


def _reason(
    rule_book: RuleBook, name: str, known: KnownFacts, inferred: Conclusions, values: dict[str, Value]
) -> Reason:
    finding = rule_book.findings[name]
    rules = inferred.because.get(name, ())
    if name in known.origin:
        origin, source = known.origin[name], finding.source
    else:
        origin = "; ".join(
            f"{rule_book.inference[each].because} ({_figures(rule_book, each, inferred, values)})" for each in rules
        )
        source = rule_book.inference[rules[0]].source if rules else finding.source
    return Reason(
        finding=name,
        title=finding.title,
        present=inferred.findings[name],
        decibans=0.0,
        origin=origin,
        source=rule_book.sources[source].citation,
        rules=rules,
    )


def _figures(rule_book: RuleBook, rule: str, inferred: Conclusions, values: dict[str, Value]) -> str:
    """Return the names and figures that made a rule fire."""
    parts = []
    for name in used_by(rule_book.inference[rule], inferred.findings, values):
        if name in rule_book.findings:
            parts.append(rule_book.findings[name].title)
        else:
            quantity = rule_book.quantities[name]
            parts.append(f"{quantity.title} {quantity.shown(values[name])}")
    return ", ".join(parts)
