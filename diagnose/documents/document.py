"""From a diagnosis and its parts to the typed document that every rendering is made from, so that all say the same.

The interview makes single parts with :func:`cause_document`, :func:`step_document`, :func:`caution_document`,
:func:`analysis_document`, :func:`disturbance_documents` and :func:`statement_document`, and shows them with
:mod:`diagnose.documents.parts`.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from diagnose.cases.dangers_told import Ended
from diagnose.documents.diagnosis_types import (
    AnalysedFinding,
    AnalysisDocument,
    CauseDocument,
    CautionDocument,
    ChangeDocument,
    ContradictionDocument,
    DiagnosisDocument,
    DisturbanceDocument,
    EndedHazardDocument,
    HazardDocument,
    LeftDocument,
    MeterDocument,
    PartDocument,
    QuestionDocument,
    ReasonDocument,
    StatementDocument,
    StepDocument,
    UnclearDangerDocument,
)
from diagnose.observations import FindingSeen
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.plant import Caution
from diagnose.rule_book.quantities import Limit
from diagnose.rule_book.work import Check, Disturbance, Remedy

if TYPE_CHECKING:  # the first question of an interview must not wait for the numerics
    from diagnose.analyses.analysed import Analysis
    from diagnose.language.results import About, Part, Statement, Understanding
    from diagnose.reasoning.diagnosis import Diagnosis, RankedCause
    from diagnose.reasoning.explanation import Reason
    from diagnose.reasoning.inference import Conflict
    from diagnose.reasoning.proposal import Proposal


def diagnosis_document(
    rule_book: RuleBook,
    diagnosis: Diagnosis,
    understanding: Understanding | None = None,
    top: int | None = None,
    analysed: Sequence[Analysis] = (),
    stop: Sequence[HazardDocument] = (),
    disturbed: Sequence[str] = (),
    plant: Mapping[str, tuple[str, ...]] | None = None,
    to_plan: Sequence[str] = (),
    not_proved: Sequence[str] = (),
    notes: Sequence[str] = (),
    about: About = "a flow meter",
    meters: Sequence[MeterDocument] = (),
    reading: Sequence[Part] = (),
    messages: Sequence[str] = (),
    hazards_over: Sequence[EndedHazardDocument] = (),
) -> DiagnosisDocument:
    """Return the diagnosis as a document; ``top`` limits the causes listed, ``stop`` are hazards reported.

    ``disturbed`` are the disturbances that nobody has put back yet, in the order in which they came about, ``plant`` is
    how the plant stands; without it nothing is said of states to bring back.
    """
    step = step_document(rule_book, diagnosis.proposals.next)
    understood = understanding.understood if understanding else ()
    return DiagnosisDocument(
        stop=tuple(stop),
        about=about,
        meters=tuple(meters),
        reading=tuple(PartDocument(text=each.text, kind=each.kind, of=each.of) for each in reading),
        not_proved=tuple(rule_book.remedies[name].title for name in not_proved if name in rule_book.remedies),
        notes=tuple(notes),
        hazards_over=tuple(hazards_over),
        to_plan=tuple(rule_book.remedies[name].title for name in to_plan),
        unclear_dangers=_unclear_dangers(rule_book, understanding) if understanding else (),
        disturbed=disturbance_documents(rule_book, disturbed),
        left=left_documents(rule_book, plant or {}),
        understood=tuple(statement_document(rule_book, each) for each in understood),
        not_understood=understanding.not_understood if understanding else (),
        doubts=understanding.doubts if understanding else (),
        analyses=tuple(analysis_document(rule_book, each) for each in analysed),
        findings=diagnosis.findings,
        titles={name: rule_book.findings[name].title for name in diagnosis.findings},
        causes=tuple(cause_document(rule_book, each) for each in diagnosis.causes[:top]),
        combination=diagnosis.combination,
        unexplained=diagnosis.unexplained,
        conflict_bits=diagnosis.conflict if math.isfinite(diagnosis.conflict) else None,
        contradictions=tuple(_contradiction(rule_book, diagnosis, each) for each in diagnosis.contradictions),
        messages=(
            *messages,
            *(_nothing_wrong(rule_book, diagnosis) if diagnosis.causes else ()),
            *diagnosis.messages,
            *_conflict_message(diagnosis),
        ),
        next=step,
        questions=tuple(_question(rule_book.checks[name]) for name in diagnosis.proposals.questions),
        cautions=step.cautions,
    )


def analysis_document(rule_book: RuleBook, analysed: Analysis) -> AnalysisDocument:
    """Return what an analysis of readings or of a log says, with the titles of its findings."""
    return AnalysisDocument(
        about=analysed.about,
        says=analysed.says,
        warnings=analysed.warnings,
        findings=tuple(
            AnalysedFinding(finding=each.finding, present=each.present, title=rule_book.findings[each.finding].title)
            for each in analysed.observations
            if isinstance(each, FindingSeen)
        ),
    )


def _unclear_dangers(rule_book: RuleBook, understanding: Understanding) -> tuple[UnclearDangerDocument, ...]:
    return tuple(
        UnclearDangerDocument(
            quote=each.quote, could_be=tuple(rule_book.findings[name].title for name in each.findings)
        )
        for each in understanding.dangers
    )


def hazard_documents(
    rule_book: RuleBook, findings: Iterable[str], quotes: Mapping[str, str]
) -> tuple[HazardDocument, ...]:
    """Return hazards that were reported, by their findings, with the words that reported them."""
    return tuple(
        HazardDocument(
            id=name,
            title=rule_book.findings[name].title,
            do=away.do,
            who=away.who,
            quote=quotes.get(name, ""),
        )
        for name in findings
        if (away := rule_book.findings[name].keep_away) is not None
    )


def ended_hazard_documents(rule_book: RuleBook, ended: Iterable[Ended]) -> tuple[EndedHazardDocument, ...]:
    """Return hazards that were said to be over: when, by whom, and what is still to be checked because of them."""
    return tuple(
        EndedHazardDocument(
            id=each.finding,
            title=rule_book.findings[each.finding].title,
            misread=each.misread,
            at=each.at,
            said_by=each.competence,
            who=away.who,
            to_do=tuple(
                rule_book.checks[name].title
                for name in away.afterwards
                if name not in each.checked and not each.misread
            ),
        )
        for each in ended
        if (away := rule_book.findings[each.finding].keep_away) is not None
    )


def statement_document(rule_book: RuleBook, item: Statement) -> StatementDocument:
    """Return one thing understood; a quantity in the unit that people read."""
    told = StatementDocument(
        quote=item.quote,
        finding=item.finding or None,
        present=item.present,
        title=rule_book.findings[item.finding].title if item.finding else "",
    )
    if not item.quantity:
        return told
    quantity, value = rule_book.quantities[item.quantity], item.value
    if isinstance(value, Limit):
        told = replace(told, limit=value.direction, shown=quantity.shown(value))
        value = value.bound
    if isinstance(value, int | float):
        value = round((value - quantity.si_offset) / quantity.si_factor, 9)
    return replace(told, title=quantity.title, quantity=item.quantity, value=value, unit=quantity.unit)


def cause_document(rule_book: RuleBook, cause: RankedCause) -> CauseDocument:
    """Return a cause with what speaks for and against it."""
    return CauseDocument(
        id=cause.id,
        title=cause.title,
        explanation=cause.explanation,
        area=rule_book.areas[cause.area].title,
        probability=round(cause.probability, 6),
        signal=cause.signal,
        supporting=tuple(_reason(each) for each in cause.supporting),
        opposing=tuple(_reason(each) for each in cause.opposing),
    )


def step_document(rule_book: RuleBook, proposal: Proposal) -> StepDocument:
    """Return a proposed step with its cautions, what it takes, what to change first and how to do it."""
    step = step_of(rule_book, proposal)
    return StepDocument(
        kind=proposal.kind,
        id=proposal.id,
        title=proposal.title,
        minutes=proposal.minutes,
        saves_minutes=proposal.saves_minutes,
        because=proposal.because,
        competence=proposal.competence,
        tools=step.tools if step else (),
        parts=step.parts if isinstance(step, Remedy) else (),
        standing=dict(proposal.standing),
        changes=tuple(
            ChangeDocument(state=name, title=rule_book.states[name].title, to=value) for name, value in proposal.changes
        ),
        cautions=tuple(
            caution_document(rule_book, rule_book.cautions[name], unless) for name, unless in proposal.cautions
        ),
        steps=(*change_steps(rule_book, proposal), *(step.steps if step else ())),
        afterwards=disturbance_documents(rule_book, proposal.disturbs),
        only_if=tuple(_otherwise(rule_book, name, words) for name, words in proposal.hangs_on),
    )


def left_documents(rule_book: RuleBook, plant: Mapping[str, tuple[str, ...]]) -> tuple[LeftDocument, ...]:
    """Return the states of the plant that are not where they start, or may not be: each with how it may stand."""
    states = ((rule_book.states[name], values) for name, values in plant.items())
    return tuple(
        LeftDocument(state=state.id, title=state.title, stands=values, to=state.initial)
        for state, values in states
        if any(value != state.initial for value in values)
    )


def disturbance_documents(rule_book: RuleBook, names: Sequence[str]) -> tuple[DisturbanceDocument, ...]:
    """Return what was disturbed, in this order, with how it is put back: what came last first."""
    return tuple(_disturbance(rule_book.disturbances[name]) for name in reversed(names))


def _disturbance(disturbance: Disturbance) -> DisturbanceDocument:
    return DisturbanceDocument(
        id=disturbance.id,
        title=disturbance.title,
        steps=disturbance.steps,
        minutes=disturbance.minutes,
        competence=disturbance.competence,
        needs=disturbance.needs,
    )


def step_of(rule_book: RuleBook, proposal: Proposal) -> Check | Remedy | None:
    """Return the check or remedy that a proposal is for; none for handing over and for being done."""
    if proposal.kind == "check":
        return rule_book.checks[proposal.id]
    return rule_book.remedies[proposal.id] if proposal.kind == "remedy" else None


def change_steps(rule_book: RuleBook, proposal: Proposal) -> list[str]:
    """Return the steps that bring the plant to where a proposal needs it."""
    steps: list[str] = []
    for state, value in proposal.changes:
        start = proposal.standing.get(state)
        changes = rule_book.states[state].changes
        steps += next(each for each in changes if each.to == value and each.from_ == start).steps
    return steps


def caution_document(rule_book: RuleBook, caution: Caution, unless: Sequence[str]) -> CautionDocument:
    """Return one caution; ``unless`` are the unknown fields of the data sheet on which it depends."""
    return CautionDocument(
        signal=caution.signal,
        title=caution.title,
        hazard=caution.hazard,
        consequence=caution.consequence,
        avoid=caution.avoid,
        source=rule_book.sources[caution.source].citation,
        condition=_condition(rule_book, caution, unless),
        short=caution.short or "; ".join(caution.avoid),
    )


def _condition(rule_book: RuleBook, caution: Caution, unless: Sequence[str]) -> str:
    """Say what would have to be known for a caution to be dropped: what is unknown counts as dangerous until then."""
    dangerous = {name: {word for item in caution.comes_up for word in item.get(name, ())} for name in unless}
    parts = [_otherwise(rule_book, name, words) for name, words in dangerous.items()]
    return "unless " + ", or ".join(parts) if parts else ""


def _otherwise(rule_book: RuleBook, field: str, words: Collection[str]) -> str:
    """Say what a field of the data sheet is when it is none of these words."""
    quantity = rule_book.quantities[field]
    others = [each for each in quantity.choices if each not in words]
    safe = others[0] if len(others) == 1 else f"not {' or '.join(sorted(words))}"
    return f"{quantity.title}: {safe}"


def _reason(reason: Reason) -> ReasonDocument:
    return ReasonDocument(
        finding=reason.finding or None,
        title=reason.title,
        present=reason.present,
        decibans=reason.decibans,
        origin=reason.origin,
        source=reason.source,
    )


def _question(check: Check) -> QuestionDocument:
    return QuestionDocument(check=check.id, ask=check.ask, answers=tuple(each.answer for each in check.outcomes))


def _contradiction(rule_book: RuleBook, diagnosis: Diagnosis, conflict: Conflict) -> ContradictionDocument:
    here = diagnosis.findings.get(conflict.finding)
    return ContradictionDocument(
        finding=conflict.finding,
        title=rule_book.findings[conflict.finding].title,
        text=conflict.text,
        counted="left out" if here is None else "present" if here else "absent",
    )


def _nothing_wrong(rule_book: RuleBook, diagnosis: Diagnosis) -> tuple[str, ...]:
    wrong = [name for name, here in diagnosis.findings.items() if here and rule_book.findings[name].says_what_is_wrong]
    if wrong or diagnosis.cured:
        return ()
    if diagnosis.worded:
        told = "Nothing here says for certain what is wrong: the order rests on single words of the report."
    else:
        told = "Nothing here says what is wrong: these are only the commonest causes."
    return (f"{told} Ask first what the meter shows or does.",)


def _conflict_message(diagnosis: Diagnosis) -> tuple[str, ...]:
    if not diagnosis.fits_badly:
        return ()
    return ("These answers do not fit together well: one of them may be wrong, or there is more than one fault.",)
