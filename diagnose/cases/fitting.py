"""Answers of a case that name what the rule book does not have: renamed, gone, or of another rule book.

They stay in the journal and do not count; nobody goes on with such a case before it was said which they are.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from functools import singledispatch
from typing import Any, NamedTuple

import msgspec

from diagnose.cases.events import (
    Case,
    Cleared,
    Closed,
    Disturbed,
    Event,
    MeterNamed,
    PlantChanged,
    ReadingTaken,
    RemedyDone,
    Restored,
    SheetFilled,
    StaysDisturbed,
)
from diagnose.observations import CheckDone, FindingSeen, Measurement, RemedyTried
from diagnose.place import did_you_mean
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import AND_MORE, DataSheet, Quantity, Value

FIRST_ENTRY = 2
"""The line of a journal on which the first entry stands, behind its head."""


class Misfit(NamedTuple):
    """An answer that does not hold: the line of the journal (1: its data sheet), and what of it is not known."""

    line: int
    text: str


def misfits(rule_book: RuleBook, case: Case) -> tuple[Misfit, ...]:
    """Return the answers of a case that do not hold under a rule book, in order."""
    found = [
        Misfit(1, text) for name, value in case.data_sheet.items() if (text := _field_unknown(rule_book, name, value))
    ]
    for line, entry in enumerate(case.entries, FIRST_ENTRY):
        found += (Misfit(line, text) for text in _unknown(entry.event, rule_book))
    return tuple(found)


def fitting(rule_book: RuleBook, case: Case) -> Case:
    """Return a case without the answers that do not hold."""
    sheet = _known_fields(rule_book, case.data_sheet)
    kept = ((entry, _what_holds(entry.event, rule_book)) for entry in case.entries)
    entries = tuple(msgspec.structs.replace(entry, event=event) for entry, event in kept if event)
    return msgspec.structs.replace(case, data_sheet=sheet, entries=entries)


def _what_holds(event: Event, rule_book: RuleBook) -> Event | None:
    """Return an event as it counts under a rule book; a closed case stays closed, with the old names as words."""
    if not any(_unknown(event, rule_book)):
        return event
    if isinstance(event, MeterNamed):
        return msgspec.structs.replace(event, data_sheet=_known_fields(rule_book, event.data_sheet))
    if not isinstance(event, Closed):
        return None
    listed = event.cause in rule_book.causes
    return msgspec.structs.replace(
        event,
        outcome="not listed" if event.outcome == "found" and not listed else event.outcome,
        cause=event.cause if listed else "",
        words=event.words if listed else event.words or event.cause,
        remedy=event.remedy if event.remedy in rule_book.remedies else "",
        remedy_words=event.remedy_words if event.remedy in rule_book.remedies else event.remedy_words or event.remedy,
        proof=event.proof if event.proof in rule_book.checks else "",
        reading=event.reading if event.proof in rule_book.checks else event.reading or event.proof,
    )


def _known_fields(rule_book: RuleBook, sheet: DataSheet) -> DataSheet:
    return {name: value for name, value in sheet.items() if not _field_unknown(rule_book, name, value)}


@singledispatch
def _unknown(event: Event, rule_book: RuleBook) -> Iterator[str]:
    """Yield what an event names that the rule book does not have, in words."""
    yield from ()


@_unknown.register
def _(event: FindingSeen, rule_book: RuleBook) -> Iterator[str]:
    said = f" (“{event.quote}”)" if event.quote else ""
    yield from _missing("finding", event.finding, rule_book.findings, said)


@_unknown.register
def _(event: Cleared, rule_book: RuleBook) -> Iterator[str]:
    yield from _missing("finding", event.finding, rule_book.findings, " (a hazard that was said to be over)")


@_unknown.register
def _(event: Measurement, rule_book: RuleBook) -> Iterator[str]:
    if event.quantity in rule_book.data_sheet_fields():
        text = _field_unknown(rule_book, event.quantity, event.value)
        yield from (text,) if text else ()
    elif event.quantity in rule_book.quantities:
        text = _of_another_kind(rule_book.quantities[event.quantity], event.value)
        yield from (text,) if text else ()
    else:
        yield from _missing("quantity", event.quantity, rule_book.quantities, f" ({event.value})")


@_unknown.register
def _(event: ReadingTaken, rule_book: RuleBook) -> Iterator[str]:
    yield from _missing("quantity", event.quantity, rule_book.quantities)


@_unknown.register
def _(event: CheckDone, rule_book: RuleBook) -> Iterator[str]:
    yield from _missing("check", event.check, rule_book.checks, f", answered “{event.answer}”")
    if event.check in rule_book.checks:
        answers = [each.answer for each in rule_book.checks[event.check].outcomes]
        title = rule_book.checks[event.check].title
        if event.answer not in answers:
            yield f"“{title}” has no answer “{event.answer}”{_perhaps(event.answer, answers)}"


@_unknown.register
def _(event: RemedyTried, rule_book: RuleBook) -> Iterator[str]:
    yield from _missing("remedy", event.remedy, rule_book.remedies, f" ({event.verdict})")


@_unknown.register
def _(event: RemedyDone, rule_book: RuleBook) -> Iterator[str]:
    yield from _missing("remedy", event.remedy, rule_book.remedies, " (carried out)")


@_unknown.register
def _(event: PlantChanged, rule_book: RuleBook) -> Iterator[str]:
    yield from _missing("state of the plant", event.state, rule_book.states, f" ({event.value})")
    if event.state in rule_book.states:
        values = rule_book.states[event.state].values
        if event.value not in values:
            title = rule_book.states[event.state].title.lower()
            yield f"{title} cannot be “{event.value}”{_perhaps(event.value, values)}"


@_unknown.register
def _(event: Closed, rule_book: RuleBook) -> Iterator[str]:
    closed = " (the case was closed with it)"
    for what, name, known in (
        ("cause", event.cause, rule_book.causes),
        ("remedy", event.remedy, rule_book.remedies),
        ("check", event.proof, rule_book.checks),
    ):
        yield from _missing(what, name, known, closed) if name else ()


@_unknown.register(Disturbed | Restored | StaysDisturbed)
def _(event: Disturbed | Restored | StaysDisturbed, rule_book: RuleBook) -> Iterator[str]:
    for name in event.what:
        yield from _missing("thing to put back", name, rule_book.disturbances)


@_unknown.register
def _(event: MeterNamed, rule_book: RuleBook) -> Iterator[str]:
    yield from filter(None, (_field_unknown(rule_book, name, value) for name, value in event.data_sheet.items()))


@_unknown.register
def _(event: SheetFilled, rule_book: RuleBook) -> Iterator[str]:
    text = _field_unknown(rule_book, event.field, event.value)
    yield from (text,) if text else ()


def _field_unknown(rule_book: RuleBook, name: str, value: Value | None) -> str:
    """Return what is not known of a field and its words; nothing where all is well."""
    fields = rule_book.data_sheet_fields()
    if name not in fields:
        return next(_missing("field of the data sheet", name, fields, f" ({value})"))
    if kind := _of_another_kind(fields[name], value):
        return kind
    choices = fields[name].choices
    words = (value,) if isinstance(value, str) else value if isinstance(value, tuple) else ()
    odd = [word for word in words if choices and word not in (*choices, AND_MORE)]
    return f"“{fields[name].title}” cannot be “{odd[0]}”{_perhaps(odd[0], choices)}" if odd else ""


def _missing(what: str, name: str, known: Collection[str], beside: str = "") -> Iterator[str]:
    if name not in known:
        yield f"there is no {what} `{name}`{beside}{_perhaps(name, known)}"


def _perhaps(name: Any, known: Collection[str]) -> str:
    meant = did_you_mean(str(name), list(known))
    return f"; {meant}" if meant else ""


def _of_another_kind(quantity: Quantity, value: Value | None) -> str:
    """Return what is wrong with a word where a figure belongs, or a figure where a word does; nothing else."""
    in_words = isinstance(value, str | tuple)
    if value is None or in_words == bool(quantity.choices or quantity.text):
        return ""
    return f"“{quantity.title}” is {'a figure' if in_words else 'a word'}, and not “{value}”"
