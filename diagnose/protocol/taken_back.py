"""What going back took back, in words: one phrase an event, so that nobody has to guess which answer that was."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from diagnose.cases import events as happened
from diagnose.cases.events import Event
from diagnose.cases.standing import KEPT
from diagnose.language.results import shortened
from diagnose.observations import CheckDone, Compared, FindingSeen, Measurement, RemedyTried, WordEvidence
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import a_person
from diagnose.rule_book.quantities import Value

IMPLIED = happened.StepMeasured | happened.SheetAsked | WordEvidence | Compared | happened.TextRead
"""Events that another one beside them says as well: they are told only where they stand alone."""

WHY: dict[happened.Reason, str] = {
    "not done": "could not be done",
    "no tool": "no tool for it",
    "may not": "not allowed",
    "not proved": "left unproved",
}


def taken_back(book: RuleBook, events: Iterable[Event]) -> str:
    """Return in words which answer was taken back, by the events of its turn."""
    undone = [each for each in events if isinstance(each, happened.TextRead) or not isinstance(each, KEPT)]
    said = [each for each in undone if not isinstance(each, IMPLIED)] or undone
    phrases = dict.fromkeys(_WORDS[type(each)](book, each) for each in said)
    return f"Taken back: {'; '.join(phrases)}."


def _title(entries: Mapping[str, Any], name: str) -> str:
    """Return the title of an entry; a case kept from before may name one that is no more."""
    return entries[name].title if name in entries else name


def _step(book: RuleBook, name: str) -> str:
    return _title({**book.checks, **book.remedies}, name)


def _valued(book: RuleBook, name: str, value: Value | None, unknown: str) -> str:
    shown = unknown if value is None else str(value)
    if value is not None and name in book.quantities:
        shown = book.quantities[name].shown(value)
    return f"{_title(book.quantities, name)} – {shown}"


def _disturbances(book: RuleBook, names: Iterable[str]) -> str:
    return ", ".join(_title(book.disturbances, name) for name in names)


_WORDS: dict[type, Callable[[RuleBook, Any], str]] = {
    FindingSeen: lambda book, it: f"{_title(book.findings, it.finding)} – {'yes' if it.present else 'no'}",
    Measurement: lambda book, it: _valued(book, it.quantity, it.value, ""),
    CheckDone: lambda book, it: f"{_step(book, it.check)} – {it.answer}",
    RemedyTried: lambda book, it: f"{_step(book, it.remedy)} – {it.verdict}",
    WordEvidence: lambda book, it: "the words of the report",
    Compared: lambda book, it: it.quote or "readings that were compared",
    happened.TextRead: lambda book, it: f"“{shortened(it.text)}”",
    happened.PlantChanged: lambda book, it: f"{_title(book.states, it.state)} – {it.value}",
    happened.SetAside: lambda book, it: f"{_step(book, it.step)} – {WHY.get(it.why, it.why)}",
    happened.StepDeclined: lambda book, it: f"{_step(book, it.step)} – {WHY[it.why]}",
    happened.NoTool: lambda book, it: f"{it.tool} – not here",
    happened.DangerAvoided: lambda book, it: f"{_title(book.cautions, it.caution)} – nothing with this danger",
    happened.CompetenceSaid: lambda book, it: f"{a_person(it.competence)} is answering",
    happened.CompetenceClaimed: lambda book, it: f"“{shortened(it.quote)}”",
    happened.SheetFilled: lambda book, it: _valued(book, it.field, it.value, "not known"),
    happened.SheetAsked: lambda book, it: "; ".join(_valued(book, each, None, "left blank") for each in it.fields),
    happened.NoComplaint: lambda book, it: "nobody can say what is wrong",
    happened.OthersWanted: lambda book, it: "another step is wanted",
    happened.StepChosen: lambda book, it: f"chosen: {_step(book, it.step) or 'the step that is proposed'}",
    happened.ReadingTaken: lambda book, it: _valued(book, it.quantity, it.value, "could not be read"),
    happened.StepMeasured: lambda book, it: f"{_step(book, it.step)} – measured",
    happened.RemedyDone: lambda book, it: f"{_step(book, it.remedy)} – done",
    happened.FaultRemains: lambda book, it: "something else is still wrong",
    happened.NothingElse: lambda book, it: "nothing else is wrong",
    happened.LeftAsIs: lambda book, it: "the plant stays as it is",
    happened.Restored: lambda book, it: f"{_disturbances(book, it.what)} – put back",
    happened.StaysDisturbed: lambda book, it: f"{_disturbances(book, it.what)} – left as it is",
    happened.WentOn: lambda book, it: "going on all the same",
    happened.DangerMentioned: lambda book, it: f"“{shortened(it.quote)}”",
    happened.NoDanger: lambda book, it: "nobody is in danger",
    happened.PlantConfirmed: lambda book, it: "how the plant stands",
    happened.Cleared: lambda book, it: f"{_title(book.findings, it.finding)} – it is over",
}
