"""The pure function at the heart: engine, data sheet, observations and state to a diagnosis."""

from __future__ import annotations

from collections.abc import Collection
from typing import NamedTuple

import msgspec
import numpy as np

from diagnose.observations import Observation, State
from diagnose.reasoning.differences import InReadings, by_priors, spoken_for
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.evidence import KnownFacts, all_values, cause_factors, elusive, gather, told_fields
from diagnose.reasoning.explanation import Reason, reasons
from diagnose.reasoning.hypotheses import Hypotheses, hypotheses
from diagnose.reasoning.inference import Conclusions, Conflict, used_by
from diagnose.reasoning.posterior import (
    MOST_PRESENT,
    Evidence,
    Network,
    Posterior,
    posterior,
)
from diagnose.reasoning.proposals import Proposals, propose
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.faults import StatusSignal
from diagnose.rule_book.patterns import ComparedAt
from diagnose.rule_book.quantities import DataSheet, Value


class RankedCause(msgspec.Struct, frozen=True, kw_only=True):
    """A cause with its probability and the findings for and against it."""

    id: str
    title: str
    explanation: str
    area: str
    probability: float
    signal: StatusSignal
    supporting: tuple[Reason, ...]
    opposing: tuple[Reason, ...]


class Diagnosis(msgspec.Struct, frozen=True, kw_only=True):
    """All that follows from the observations.

    ``findings`` are those known; ``values`` everything known or calculated, in SI units; ``causes`` most probable
    first; ``combination`` the most probable set; ``unexplained`` symptoms that no probable cause shows;
    ``conflict`` in bits, above zero when the answers fit together worse than chance; ``messages`` for people;
    ``worded`` whether the single words of a report count, too; ``mechanisms`` how probable each is that brings about
    the readings, by what was compared.
    """

    findings: dict[str, bool]
    values: dict[str, Value]
    causes: tuple[RankedCause, ...]
    combination: tuple[str, ...]
    unexplained: tuple[str, ...]
    conflict: float
    contradictions: tuple[Conflict, ...]
    messages: tuple[str, ...]
    proposals: Proposals
    cured: bool
    planned_share: float
    worded: bool = False
    mechanisms: dict[ComparedAt, dict[str, float]] = {}

    @property
    def fits_badly(self) -> bool:
        """Tell whether the answers fit together badly enough to say so."""
        return self.conflict >= CONFLICT_BITS

    def probability(self, cause: str) -> float:
        """Return the probability of a cause; zero for one that does not apply."""
        return next((each.probability for each in self.causes if each.id == cause), 0.0)


CONFLICT_BITS = 3.0
"""From here up the answers are said not to fit together well (Jensen's conflict measure, in bits; estimate)."""

UNEXPLAINED_BELOW = 0.2
"""A present finding is unexplained when its causes together produce it with less than this probability."""


def diagnose(engine: Engine, data_sheet: DataSheet, observations: tuple[Observation, ...], state: State) -> Diagnosis:
    """Return the diagnosis. Pure: the same arguments give the same result.

    ``data_sheet`` and measured observations hold SI figures. Observations later in order replace earlier ones about
    the same thing.
    """
    rule_book = engine.rule_book
    held = weighed(engine, data_sheet, observations)
    known, values, inferred, network = held.known, held.values, held.inferred, held.network
    evidence, result = held.evidence, held.result
    likely = hypotheses(network, evidence, result.probabilities)
    why = reasons(rule_book, network, evidence, known, inferred, values)
    return Diagnosis(
        findings=dict(sorted(inferred.findings.items())),
        values=values,
        causes=_ranked(rule_book, network, result, why),
        combination=_combination(network, likely),
        unexplained=_unexplained(rule_book, network, evidence, result),
        conflict=_conflict(network, evidence, result),
        contradictions=_contradictions(known, inferred),
        messages=_messages(rule_book, result),
        proposals=propose(engine, held.data_sheet, values, network, likely, inferred, known, state),
        cured=known.cured,
        planned_share=float(likely.weights.sum()),
        worded=known.worded is not None,
        mechanisms={
            name: dict(zip(network.differences.mechanisms, each.tolist(), strict=True))
            for name, each in zip(known.compared, result.mechanisms, strict=True)
        },
    )


class Weighed(NamedTuple):
    """What was observed and what follows from it, weighed: all of a diagnosis but what to do next."""

    data_sheet: DataSheet
    known: KnownFacts
    values: dict[str, Value]
    inferred: Conclusions
    network: Network
    evidence: Evidence
    result: Posterior

    @property
    def order(self) -> list[str]:
        """The causes, most probable first."""
        return [self.network.causes[row] for row in np.argsort(-self.result.probabilities, kind="stable")]


def weighed(engine: Engine, data_sheet: DataSheet, observations: tuple[Observation, ...]) -> Weighed:
    """Return how probable each cause is by what was observed, and all that this rests on."""
    rule_book = engine.rule_book
    data_sheet = told_fields(rule_book, data_sheet, observations)
    known = gather(rule_book, observations, engine.momentary)
    values = all_values(data_sheet, known, rule_book)
    inferred = engine.inference.run(known.answers, values)
    network = engine.network(data_sheet)
    comes_and_goes = inferred.findings.get(rule_book.settings.intermittent)
    missed = elusive(known, inferred.findings, engine.momentary) if comes_and_goes else ()
    if missed:
        network = network.seen_by_chance(missed, rule_book.settings.seen_while_it_shows)
    if not network.differences.forms:
        known.compared.clear()
    readings = tuple(network.in_readings(each) for each in known.compared.values())
    spoken = spoken_for(rule_book.settings.comparisons, known.compared.values())
    network = network.without(spoken) if spoken else network
    evidence = evidence_of(rule_book, inferred, known, spoken, readings)
    return Weighed(data_sheet, known, values, inferred, network, evidence, posterior(network, evidence))


def remembered(engine: Engine, data_sheet: DataSheet, observations: tuple[Observation, ...], state: State) -> Diagnosis:
    """Return what :func:`diagnose` returns, worked out once where the same is asked several times in a row."""
    asked = (dict(data_sheet), observations, state)
    for before, diagnosis in engine.diagnoses:
        if before == asked:
            return diagnosis
    found = diagnose(engine, *asked)
    engine.diagnoses.appendleft((asked, found))
    return found


def evidence_of(
    rule_book: RuleBook,
    inferred: Conclusions,
    known: KnownFacts,
    spoken: Collection[str] = (),
    readings: tuple[InReadings, ...] = (),
) -> Evidence:
    """Return the findings that count for the posterior, beside ``readings`` that were compared.

    A finding that is absent only because its alternative is present says nothing of its own: it is left out. So are
    those ``spoken`` for by the readings.
    """
    counting = {name: value for name, value in inferred.findings.items() if name not in spoken}
    present = tuple(name for name, value in sorted(counting.items()) if value)
    groups = {rule_book.findings[name].alternatives for name in present} - {""}
    absent = tuple(
        name
        for name, value in sorted(counting.items())
        if not value and rule_book.findings[name].alternatives not in groups
    )
    return Evidence(present, absent, cause_factors(known), _misread(rule_book, inferred, known), readings)


def _misread(rule_book: RuleBook, inferred: Conclusions, known: KnownFacts) -> dict[str, float]:
    """Return how easily what is known from words alone is misread; what follows, as easily as the worst behind it."""
    shares = {name: rule_book.settings.misread.get(way, 0.0) for name, way in known.heard.items()}
    if not any(shares.values()):
        return {}
    for name, rules in inferred.because.items():
        if name in known.answers:
            continue
        used = [each for rule in rules for each in used_by(rule_book.inference[rule], inferred.findings, known.values)]
        if used and all(each in shares for each in used):
            shares[name] = max(shares[each] for each in used)
    return {name: share for name, share in shares.items() if share}


def _ranked(
    rule_book: RuleBook, network: Network, result: Posterior, why: dict[str, tuple[Reason, ...]]
) -> tuple[RankedCause, ...]:
    ranked = []
    for row in np.argsort(-result.probabilities, kind="stable"):
        cause = rule_book.causes[network.causes[row]]
        ranked.append(
            RankedCause(
                id=cause.id,
                title=cause.title,
                explanation=cause.explanation.strip(),
                area=cause.area,
                probability=float(result.probabilities[row]),
                signal=cause.signal,
                supporting=tuple(each for each in why[cause.id] if each.decibans > 0),
                opposing=tuple(each for each in why[cause.id] if each.decibans < 0),
            )
        )
    return tuple(ranked)


def _combination(network: Network, likely: Hypotheses) -> tuple[str, ...]:
    if not len(likely.weights):
        return ()
    return tuple(sorted(network.causes[int(row)] for row in likely.members[0] if row >= 0))


def _unexplained(rule_book: RuleBook, network: Network, evidence: Evidence, result: Posterior) -> tuple[str, ...]:
    """Return present symptoms that the causes, as probable as they now are, hardly produce.

    Other findings say when it began or how things are built: nobody complains of them, and nothing has to explain them.
    """
    symptoms = [name for name in evidence.present if rule_book.findings[name].kind == "symptom"]
    columns = [network.column[name] for name in symptoms]
    produced = 1 - np.prod(1 - result.probabilities[:, None] * network.strengths[:, columns], axis=0)
    return tuple(name for name, share in zip(symptoms, produced, strict=True) if share < UNEXPLAINED_BELOW)


def _conflict(network: Network, evidence: Evidence, result: Posterior) -> float:
    """Return Jensen's conflict measure in bits: log2 of the product of the findings' probabilities over the joint."""
    alone = network.finding_probabilities
    if result.evidence_probability <= 0:
        return float("inf")
    apart = 0.0
    for names, present in ((evidence.present, True), (evidence.absent, False)):
        for name in (each for each in names if each not in result.left_out):
            shows = float(alone[network.column[name]])
            likely, misread = shows if present else 1 - shows, evidence.misread.get(name, 0.0)
            apart += float(np.log2(misread + (1 - misread) * likely))
    apart += sum(float(np.log2(by_priors(each.showing, network.priors))) for each in evidence.readings)
    return round(apart - float(np.log2(result.evidence_probability)), 6)


def _contradictions(known: KnownFacts, inferred: Conclusions) -> tuple[Conflict, ...]:
    said = [Conflict(finding=name, text=text) for name, text in sorted(known.contradicted.items())]
    return (*said, *inferred.conflicts)


def _messages(rule_book: RuleBook, result: Posterior) -> tuple[str, ...]:
    if not result.left_out:
        return ()
    names = ", ".join(rule_book.findings[name].title for name in result.left_out)
    text = (
        f"More than {MOST_PRESENT} findings are present; those that tell least were left out of the ranking: {names}."
    )
    return (text,)
