"""A kept interview as a document: the diagnosis and what is still disturbed, or all of the case as a report."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from diagnose.cases.events import Case, Undo
from diagnose.cases.standing import OBSERVED
from diagnose.documents import parts
from diagnose.documents.blocks import Block, Heading, Span, line
from diagnose.documents.case_report import CaseFile, FileKept, case_report
from diagnose.documents.case_report_timeline import Moment
from diagnose.documents.case_report_types import CaseReportDocument
from diagnose.documents.diagnosis_types import DiagnosisDocument
from diagnose.documents.document import diagnosis_document, ended_hazard_documents, hazard_documents
from diagnose.documents.page import stop
from diagnose.interview.endings import hand_over
from diagnose.language.results import DangerInDoubt, Statement, Understanding
from diagnose.observations import FindingSeen, Measurement
from diagnose.protocol.endings import hand_over_prompt, stopped, waiting_for_an_answer, waiting_for_the_plant
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import HandOverPrompt, StopPrompt
from diagnose.protocol.put_off import put_off
from diagnose.protocol.situation import Situation
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.quantities import AND_MORE

MOST_MOMENTS = 200
"""After so many turns at most a report says what was known then; no interview has as many, and each is worked out anew.
"""


def kept_document(situation: Situation, messages: Sequence[str] = ()) -> DiagnosisDocument:
    """Return the document of a case as it stands; a hazard that was told stops all else, as in the interview.

    ``messages`` go before those of the diagnosis.
    """
    prompt, book = prompt_in(situation), situation.rule_book
    stop = prompt if isinstance(prompt, StopPrompt) else None
    diagnosis = stopped(situation.diagnosis) if stop else situation.diagnosis
    if not stop and situation.danger_in_doubt:
        diagnosis = waiting_for_an_answer(diagnosis)
    elif not stop and situation.standing.just_over:
        diagnosis = waiting_for_the_plant(diagnosis)
    return diagnosis_document(
        book,
        diagnosis,
        _told(situation),
        stop=hazard_documents(book, stop.findings, stop.quotes) if stop else (),
        disturbed=situation.disturbed,
        plant=situation.plant_may_be,
        to_plan=put_off(situation),
        not_proved=situation.not_proved,
        notes=situation.standing.notes,
        hazards_over=ended_hazard_documents(book, situation.ended_hazards),
        messages=messages,
    )


def _told(situation: Situation) -> Understanding:
    """Return what was told in the case, each with its words, and what of it was not understood."""
    standing, known = situation.standing, situation.rule_book
    told: list[Statement] = []
    for each in standing.observations:
        if isinstance(each, FindingSeen) and each.finding in known.findings:
            told.append(Statement(quote=each.quote, finding=each.finding, present=each.present))
        elif isinstance(each, Measurement) and each.quantity in known.quantities:
            value = each.value
            if isinstance(value, tuple):
                value = ", ".join(word for word in value if word != AND_MORE)
            told.append(Statement(quote=each.quote, quantity=each.quantity, value=value))
    said = {each.finding or (each.quantity, each.value): each for each in told}  # of two statements the later one holds
    unread = dict.fromkeys(part for text in standing.texts for part in text.not_understood)
    doubts = dict.fromkeys(part for text in standing.texts for part in text.doubts)
    mentioned = situation.danger_in_doubt
    dangers = (DangerInDoubt(mentioned.quote, mentioned.findings),) if mentioned else ()
    return Understanding(tuple(said.values()), tuple(unread), tuple(doubts), dangers=dangers)


def kept_page(situation: Situation) -> list[Block]:
    """Return in short how a case stands, for whoever takes over; a hazard stops all else, as in the interview."""
    prompt, state = prompt_in(situation), situation.standing.kept
    document = kept_document(situation)
    all_of_it = f"case {situation.case.name}: {state.state}; all of it: diagnose cases report {situation.case.name}"
    head: list[Block] = [line(Span(all_of_it, "quiet"))]
    if state.closed and not document.stop:
        left = parts.not_put_back(document.disturbed, document.left)
        return [*left, *parts.hazards_over(document.hazards_over), *head]
    if isinstance(prompt, HandOverPrompt):
        return [*hand_over(situation, prompt), *head]
    if isinstance(prompt, StopPrompt) or document.unclear_dangers or situation.standing.just_over:
        left = parts.not_put_back(document.disturbed, document.left)
        asked = parts.unclear_dangers(document.unclear_dangers)
        next_step = [] if document.stop else parts.proposed(document.next)
        return [*stop(document), *asked, *left, *parts.hazards_over(document.hazards_over), *next_step, *head]
    if not situation.standing.observations:
        return [Heading("Nothing is known yet"), *head]
    going_on = hand_over_prompt(situation, situation.diagnosis.proposals.next, "hand-over")
    return [*hand_over(situation, going_on, on_the_way=True), *head]


def report_document(
    situation: Situation,
    made: str,
    files: Sequence[FileKept] = (),
    left_out: Sequence[str] = (),
    found_before: str = "",
) -> CaseReportDocument:
    """Return the report of a case: all of it, from its first word to how it stands."""
    case = situation.case
    file = CaseFile(
        case=case,
        begun=case.entries[0].at if case.entries else "",
        fingerprint=situation.engine.fingerprint,
        standing=situation.standing,
        data_sheet=situation.data_sheet,
        moments=tuple(_moments(situation.engine, case)),
        now=kept_document(situation),
        files=files,
        left_out=left_out,
        found_before=found_before,
    )
    return case_report(situation.rule_book, file, made)


def _moments(engine: Engine, case: Case) -> Iterator[Moment]:
    """Go through the last turns in which something was observed, each with what was known after it."""
    undone = {each.event.turn for each in case.entries if isinstance(each.event, Undo)}
    counting = [each for each in case.entries if each.turn not in undone and not isinstance(each.event, Undo)]
    turns = dict.fromkeys(each.turn for each in counting if isinstance(each.event, OBSERVED))
    for turn in list(turns)[-MOST_MOMENTS:]:
        before = tuple(each for each in counting if each.turn <= turn)
        yield Moment(turn, Situation(engine, msgspec.structs.replace(case, entries=before)).diagnosis)
