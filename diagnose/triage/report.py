"""A report in one go: opened as a case, read as anywhere else, and diagnosed as an interview would be."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from diagnose.analyses.analysed import Analysis
from diagnose.cases.events import Case, CompetenceSaid
from diagnose.protocol.endings import stopped, waiting_for_an_answer
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import StopPrompt
from diagnose.protocol.situation import Situation
from diagnose.protocol.telling import plant_events, report_events
from diagnose.reading import Report, read_report
from diagnose.reasoning.diagnosis import Diagnosis
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.competence import Competence
from diagnose.rule_book.quantities import DataSheet


class TriageResult(NamedTuple):
    """What a report says, the diagnosis that follows, and the hazards in it for which all work stops."""

    report: Report
    diagnosis: Diagnosis
    stop: StopPrompt | None = None


def triage(
    engine: Engine,
    report: str | bytes,
    data_sheet: DataSheet,
    competence: Competence = "skilled",
    analysed: Iterable[Analysis] = (),
) -> TriageResult:
    """Return what a report says and the diagnosis that follows, tables of readings in it and ``analysed`` included.

    Raises BadInput for an empty report without anything analysed, and for one that is not text.
    """
    read = read_report(engine, report, data_sheet, beside=analysed)
    case = Case(data_sheet=data_sheet).after(CompetenceSaid(competence=competence)).after(*report_events(read))
    case = case.after(*plant_events(Situation(engine, case), read))
    situation = Situation(engine, case)
    prompt = prompt_in(situation)
    if isinstance(prompt, StopPrompt):
        return TriageResult(read, stopped(situation.diagnosis), prompt)
    if situation.danger_in_doubt:
        return TriageResult(read, waiting_for_an_answer(situation.diagnosis))
    return TriageResult(read, situation.diagnosis)
