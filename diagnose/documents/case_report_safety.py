"""What a case did to the plant and what was read before it: isolation, cautions, what was disturbed and put back."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.cases.events import (
    Acknowledgement,
    Case,
    CompetenceSaid,
    Disturbed,
    PlantChanged,
    ReadingTaken,
    RemedyDone,
    Restored,
    StepMeasured,
    Undo,
)
from diagnose.documents.case_report_types import CautionRead, DisturbedDocument, PlantChange
from diagnose.observations import CheckDone, RemedyTried
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import a_person

AT_THE_END = {
    "restore": "putting back what was disturbed",
    "restore-before-the-end": "putting the plant back",
    "put-back": "putting the plant back",
}
"""Steps that are no entries of the rule book: what is done before anybody leaves."""


def cautions_read(rule_book: RuleBook, case: Case) -> Iterator[CautionRead]:
    """Go through the cautions that were acknowledged, in order."""
    by, before = "", set[str]()
    for entry in case.entries:
        event = entry.event
        if isinstance(event, CompetenceSaid):
            by = a_person(event.competence)
        elif isinstance(event, Acknowledgement) and event.caution in rule_book.cautions:
            caution = rule_book.cautions[event.caution]
            fields = (rule_book.quantities.get(name) for name in event.unless)
            yield CautionRead(
                at=entry.at,
                signal=caution.signal,
                title=caution.title,
                short=caution.short or "; ".join(caution.avoid),
                before=_step(rule_book, event.step),
                by=by,
                unless=tuple(field.title for field in fields if field),
                again=event.caution in before,
            )
            before.add(event.caution)


def plant_changes(rule_book: RuleBook, case: Case) -> Iterator[PlantChange]:
    """Go through the changes of the plant, in order; one that was taken back never was."""
    undone = {each.event.turn for each in case.entries if isinstance(each.event, Undo)}
    stands = {name: state.initial for name, state in rule_book.states.items()}
    steps = {each.turn: name for each in case.entries if (name := _step_of(each.event))}
    by = ""
    for entry in case.entries:
        event = entry.event
        if isinstance(event, CompetenceSaid):
            by = a_person(event.competence)
        if not isinstance(event, PlantChanged) or entry.turn in undone or event.state not in stands:
            continue
        if event.value != stands[event.state]:
            yield PlantChange(
                at=entry.at,
                title=rule_book.states[event.state].title,
                before=stands[event.state],
                to=event.value,
                at_step=_step(rule_book, steps.get(entry.turn, "")),
                by=by,
            )
        stands[event.state] = event.value


def _step_of(event: object) -> str:
    """Return the step that an event ends or belongs to."""
    if isinstance(event, CheckDone):
        return event.check
    if isinstance(event, RemedyDone | RemedyTried):
        return event.remedy
    return event.step if isinstance(event, StepMeasured | ReadingTaken | Disturbed) else ""


def disturbed(rule_book: RuleBook, case: Case) -> Iterator[DisturbedDocument]:
    """Go through what was disturbed, each time with when it was put back."""
    undone = {each.event.turn for each in case.entries if isinstance(each.event, Undo)}
    held: dict[str, tuple[str, str]] = {}
    found: list[DisturbedDocument] = []
    for entry in case.entries:
        event = entry.event
        if isinstance(event, Disturbed):
            for name in event.what:
                held.setdefault(name, (entry.at, event.step))
        elif isinstance(event, Restored) and entry.turn not in undone:
            for name in (each for each in event.what if each in held):
                found += _disturbed(rule_book, name, *held.pop(name), entry.at)
    for name, (at, step) in held.items():
        found += _disturbed(rule_book, name, at, step, "")
    yield from sorted(found, key=lambda each: each.at)


def _disturbed(rule_book: RuleBook, name: str, at: str, step: str, restored: str) -> Iterator[DisturbedDocument]:
    if name in rule_book.disturbances:
        yield DisturbedDocument(
            id=name,
            title=rule_book.disturbances[name].title,
            at=at,
            by_step=_step(rule_book, step) or "told in words",
            restored=restored,
        )


def _step(rule_book: RuleBook, name: str) -> str:
    known = {**rule_book.checks, **rule_book.remedies}
    if name in known:
        return known[name].title
    disturbance = rule_book.disturbances.get(name)
    return f"putting back: {disturbance.title}" if disturbance else AT_THE_END.get(name, name)
