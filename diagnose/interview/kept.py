"""A kept interview as a document: the diagnosis, and what is still disturbed, for whoever takes over elsewhere."""

from __future__ import annotations

from diagnose.documents.diagnosis_types import DiagnosisDocument
from diagnose.documents.document import diagnosis_document, ended_hazard_documents, hazard_documents
from diagnose.language.results import DangerInDoubt, Statement, Understanding
from diagnose.observations import FindingSeen, Measurement
from diagnose.protocol.endings import stopped, waiting_for_an_answer, waiting_for_the_plant
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import StopPrompt
from diagnose.protocol.put_off import put_off
from diagnose.protocol.situation import Situation
from diagnose.rule_book.quantities import AND_MORE


def kept_document(situation: Situation) -> DiagnosisDocument:
    """Return the document of a case as it stands; a hazard that was told stops all else, as in the interview."""
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
