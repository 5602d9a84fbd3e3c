"""The hand-over: what was found, what is certain, what remains, and who should come with what."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.documents import parts
from diagnose.documents.blocks import Block, Bullets, Heading, Span, item, line, percent
from diagnose.documents.document import disturbance_documents, ended_hazard_documents, left_documents
from diagnose.observations import CheckDone, FindingSeen, Measurement, RemedyTried
from diagnose.protocol.endings import all_cured
from diagnose.protocol.prompts import HandOverPrompt
from diagnose.protocol.situation import Situation
from diagnose.reasoning.steps import within
from diagnose.rule_book.competence import a_person

REMAIN = 5
"""Causes that are named as still possible."""


def hand_over(situation: Situation, prompt: HandOverPrompt) -> list[Block]:
    """Return what whoever takes over must know."""
    if prompt.ending == "cured":
        return [*_cured(situation, prompt), *_kept(situation, prompt)]
    head = Heading(f"Hand-over: {prompt.proposal.title}")
    blocks: list[Block] = [head, line(f"why: {prompt.proposal.because}")]
    if prompt.ending == "outside the book":
        blocks.append(line("This is probably a fault that this rule book does not know."))
    return [*blocks, *_known(situation, prompt), *_kept(situation, prompt)]


def _cured(situation: Situation, prompt: HandOverPrompt) -> Iterator[Block]:
    book = situation.rule_book
    *before, last = [name for name in all_cured(situation) if name in book.remedies] or [""]
    for_now = any(book.remedies[name].interim == last for name in prompt.put_off)
    head = "Cured for now, and proved" if for_now else "Cured and proved"
    yield Heading(f"{head}: {book.remedies[last].title}" if last else head)
    if before:
        yield line(f"Mended before: {'; '.join(book.remedies[name].title for name in before)}")
    followed = {*before, *(prompt.put_off if for_now else [last])}
    for cause in book.causes.values():
        if cause.remedy in followed and cause.follow_up:
            yield line(f"Follow-up: {cause.follow_up}")


def _known(situation: Situation, prompt: HandOverPrompt) -> Iterator[Block]:
    """What the next person wants first comes first; what was done may be long and comes last."""
    book, diagnosis = situation.rule_book, situation.diagnosis
    found = [book.findings[name].title for name, present in diagnosis.findings.items() if present]
    competence = prompt.proposal.competence
    if not within(situation.standing.state.competence, competence):
        yield line(f"Who should come: {a_person(competence)}; once here, type: {competence}")
    yield line(f"Found: {'; '.join(found) or 'nothing'}")
    sunk = set(prompt.unlikely)
    remain = [
        f"{cause.title} ({percent(cause.probability)})" for cause in diagnosis.causes[:REMAIN] if cause.id not in sunk
    ]
    yield line(f"Still possible: {'; '.join(remain)}")
    unlikely = [book.causes[name].title for name in prompt.unlikely if name in book.causes]
    if unlikely:
        yield line(f"No longer likely: {'; '.join(unlikely)}")
    readings = [
        f"{book.quantities[each].title} {book.quantities[each].shown(value)}"
        for each, value in situation.data_sheet.items()
        if each in book.quantities
    ]
    if readings:
        yield line(f"The meter: {'; '.join(readings)}")
    yield from map(line, prompt.left_out)
    denied = _denied(situation)
    if denied:
        yield line(f"Said not to be so: {'; '.join(denied)}")
    done = tuple(_done(situation))
    if done:
        yield line("Done so far:")
        yield Bullets(tuple(map(item, done)))


def _denied(situation: Situation) -> list[str]:
    """Return what somebody said is not so, and nothing says otherwise since."""
    said = {each.finding for each in situation.standing.observations if isinstance(each, FindingSeen)}
    now = situation.diagnosis.findings
    return [situation.rule_book.findings[name].title for name, present in now.items() if name in said and not present]


def _done(situation: Situation) -> Iterator[str]:
    """Yield what was answered, measured and tried, in order; of what was done more than once the last."""
    book = situation.rule_book
    lines: dict[str, str] = {}
    for each in situation.standing.observations:
        if isinstance(each, CheckDone) and each.check in book.checks:
            title, result = book.checks[each.check].title, each.answer
        elif isinstance(each, RemedyTried) and each.remedy in book.remedies:
            title, result = book.remedies[each.remedy].title, each.verdict
        elif isinstance(each, Measurement) and each.quantity in book.quantities.keys() - situation.data_sheet.keys():
            title, result = book.quantities[each.quantity].title, book.quantities[each.quantity].shown(each.value)
        else:
            continue
        lines.pop(title, None)
        lines[title] = f"{title.rstrip('?')}: {result}"
    yield from lines.values()


def _kept(situation: Situation, prompt: HandOverPrompt) -> Iterator[Block]:
    book = situation.rule_book
    for name in prompt.put_off:
        lasting = book.remedies[name]
        takes = f"about {lasting.minutes:.0f} min, for {a_person(lasting.competence)}"
        needs = f"; needs {', '.join(lasting.parts)}" if lasting.parts else ""
        text = f"REMAINS TO BE PLANNED, at the next shutdown: {lasting.title} ({takes}{needs})"
        yield line(Span(text, "warning-text"))
    for name in prompt.not_proved:
        remedy = book.remedies.get(name)
        yield line(f"Done but not proved: {remedy.title if remedy else name}")
    plant = {state: (situation.plant[state],) for state, _ in prompt.left}
    yield from parts.not_put_back(disturbance_documents(book, prompt.disturbed), left_documents(book, plant))
    yield from parts.hazards_over(ended_hazard_documents(book, situation.ended_hazards))
    for text in dict.fromkeys(part for each in situation.standing.texts for part in each.not_understood):
        yield line(f"Reported, but not understood: “{text}”")
    for note in situation.standing.notes:
        yield line(f"Note: {note}")
