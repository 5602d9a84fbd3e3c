"""A report in one go: opened as a case, read as anywhere else, and diagnosed as an interview would be."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from diagnose.analyses.analysed import Analysis
from diagnose.bounded import REPORT_METERS
from diagnose.cases.events import Case, CompetenceSaid
from diagnose.language.results import About, Statement
from diagnose.protocol.endings import stopped, unranked, waiting_for_an_answer
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import StopPrompt
from diagnose.protocol.situation import Situation
from diagnose.protocol.telling import plant_events, report_events
from diagnose.reading import Report, read_report
from diagnose.reasoning.diagnosis import Diagnosis
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.competence import Competence
from diagnose.rule_book.quantities import DataSheet
from diagnose.triage.amending import added, statements, without, without_like


class TriageResult(NamedTuple):
    """What a report says, the diagnosis that follows, and the hazards in it for which all work stops.

    ``about`` is what it is about: with what the agent adds it is a complaint about one meter. ``meters`` are those that
    it tells of, by name, each with a triage of what it says of it.
    """

    report: Report
    diagnosis: Diagnosis
    stop: StopPrompt | None = None
    about: About = "a flow meter"
    meters: tuple[tuple[str, TriageResult], ...] = ()


NO_COMPLAINT: dict[About, tuple[str, str]] = {
    "seems solved": (
        "Nothing to do, by the looks of it",
        "the report says that the matter is over; if anything is still wrong, add what it is",
    ),
    "no flow meter": (
        "Pass it on to whoever looks after that",
        "the report does not seem to be about a flow meter; if it is, add what the meter shows or does",
    ),
    "nothing wrong told": (
        "Ask what the meter shows or does",
        "the report asks or informs, and does not say that anything is wrong",
    ),
    "several flow meters": (
        "Go on with each meter by itself",
        "the report tells of several meters; what it says of each follows",
    ),
}
"""What is proposed in place of a step where a report is no complaint about one meter, and why."""


def triage(
    engine: Engine,
    report: str | bytes,
    data_sheet: DataSheet,
    competence: Competence = "skilled",
    analysed: Iterable[Analysis] = (),
    struck: Sequence[int] = (),
    beside: Sequence[str] = (),
    misread: Sequence[Statement] = (),
) -> TriageResult:
    """Return what a report says and the diagnosis that follows, tables of readings in it and ``analysed`` included.

    ``struck`` are the numbers of statements that were misread, ``beside`` what the agent adds
    (:mod:`diagnose.triage.amending`); ``misread`` are statements struck out of the report that this one is a part of.
    Raises BadInput for an empty report without anything analysed, and for one that is not text; WrongUse for a number
    or a name that is not there.
    """
    more = added(engine.rule_book, beside)
    whole = read_report(engine, report, data_sheet, beside=analysed)
    read = without(without_like(whole, misread), struck)
    gone = (*misread, *(whole.understanding.understood[number - 1] for number in struck))
    case = Case(data_sheet=data_sheet).after(CompetenceSaid(competence=competence)).after(*report_events(read), *more)
    read = read.with_understood((*read.understanding.understood, *statements(engine.rule_book, more)))
    case = case.after(*plant_events(Situation(engine, case), read))
    situation = Situation(engine, case)
    prompt = prompt_in(situation)
    about: About = "a flow meter" if more else read.topic.about
    if isinstance(prompt, StopPrompt):
        return TriageResult(read, stopped(situation.diagnosis), prompt, about)
    if situation.danger_in_doubt:
        return TriageResult(read, waiting_for_an_answer(situation.diagnosis), about=about)
    told = read.topic.meters[:REPORT_METERS] if about == "several flow meters" else ()
    meters = tuple((name, triage(engine, text, data_sheet, competence, misread=gone)) for name, text in told)
    if about == "a flow meter" or (about == "several flow meters" and not meters):
        return TriageResult(read, situation.diagnosis, about=about)
    return TriageResult(read, unranked(situation.diagnosis, *NO_COMPLAINT[about]), about=about, meters=meters)
