"""The hand-over on one page: what is certain, what was read, who should come with what, what is still dangerous."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from diagnose.documents import parts
from diagnose.documents.blocks import Block, Bullets, Heading, Span, item, line, percent
from diagnose.documents.document import disturbance_documents, ended_hazard_documents, left_documents, step_document
from diagnose.documents.expected import expected_of
from diagnose.observations import CheckDone, Compared, FindingSeen, Measurement, RemedyTried
from diagnose.protocol.endings import all_cured
from diagnose.protocol.prompts import HandOverPrompt
from diagnose.protocol.situation import Situation
from diagnose.reasoning.proposal import Proposal, proposal_for
from diagnose.reasoning.steps import within
from diagnose.rule_book.competence import a_person
from diagnose.rule_book.plant import GRAVE
from diagnose.rule_book.work import Remedy

REMAIN, COME = 5, 3
"""Causes that are named as still possible; remedies of the likeliest of them that are named with what they take."""

LEAST_TO_BRING = 0.1
"""Share of a cause from which somebody should come prepared for it."""

MOST_NAMED = 8
"""So many of anything are named here; the report of the case has all."""


def hand_over(situation: Situation, prompt: HandOverPrompt, on_the_way: bool = False) -> list[Block]:
    """Return what whoever takes over must know; ``on_the_way``, the case was left before its end."""
    if prompt.ending == "cured":
        return [*_cured(situation, prompt), *_left(situation, prompt), *_said(situation)]
    head = Heading("Hand-over: left on the way" if on_the_way else f"Hand-over: {prompt.proposal.title}")
    why = [line(f"why: {prompt.proposal.because}")]
    next_step = parts.proposed(step_document(situation.rule_book, prompt.proposal))
    blocks: list[Block] = [head, *(next_step if on_the_way else why)]
    if prompt.ending == "outside the book":
        blocks.append(line("This is probably a fault that this rule book does not know."))
    known = (*_left(situation, prompt), *_who_and_what(situation, prompt), *_known(situation, prompt))
    return [*blocks, *known, *_said(situation)]


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


def _left(situation: Situation, prompt: HandOverPrompt) -> Iterator[Block]:
    """What is dangerous or not done yet comes before all that is only worth knowing."""
    book = situation.rule_book
    plant = {state: (situation.plant[state],) for state, _ in prompt.left}
    yield from parts.not_put_back(disturbance_documents(book, prompt.disturbed), left_documents(book, plant))
    yield from parts.hazards_over(ended_hazard_documents(book, situation.ended_hazards))
    for name in prompt.put_off:
        lasting = book.remedies[name]
        takes = f"about {lasting.minutes:.0f} min, for {a_person(lasting.competence)}"
        needs = f"; needs {', '.join(lasting.parts)}" if lasting.parts else ""
        text = f"REMAINS TO BE PLANNED, at the next shutdown: {lasting.title} ({takes}{needs})"
        yield line(Span(text, "warning-text"))
    for name in prompt.not_proved:
        remedy = book.remedies.get(name)
        yield line(f"Done but not proved: {remedy.title if remedy else name}")


def _who_and_what(situation: Situation, prompt: HandOverPrompt) -> Iterator[Block]:
    """Who should come and with what, and which dangers wait there."""
    competence = prompt.proposal.competence
    if not within(situation.standing.state.competence, competence):
        yield line(f"Who should come: {a_person(competence)}; once here, type: {competence}")
    steps = list(_to_come(situation, prompt))
    if steps:
        yield line("To be ready for:")
        yield Bullets(tuple(item(_takes(situation, share, remedy, step)) for share, remedy, step in steps))
    book = situation.rule_book
    names = dict.fromkeys(name for _, _, step in steps for name, _ in step.cautions)
    grave = [book.cautions[name] for name in names if book.cautions[name].signal in GRAVE]
    if grave:
        told = "; ".join(f"{each.signal.upper()} {each.title}" for each in grave)
        yield line(Span(f"Beware there: {told}", "warning-text"))


def _to_come(situation: Situation, prompt: HandOverPrompt) -> Iterator[tuple[float, Remedy, Proposal]]:
    """Go through the remedies of the likeliest causes, as steps from where the plant stands."""
    book, sunk = situation.rule_book, set(prompt.unlikely)
    likely = [each for each in situation.diagnosis.causes if each.probability >= LEAST_TO_BRING and each.id not in sunk]
    shares: dict[str, float] = {}
    for cause in likely[:COME]:
        shares.setdefault(book.causes[cause.id].remedy, cause.probability)
    for name, share in shares.items():
        remedy = book.remedies[name]
        if not remedy.escalates:
            yield share, remedy, proposal_for(situation.dangers, "remedy", remedy, situation.plant, "")


def _takes(situation: Situation, share: float, remedy: Remedy, step: Proposal) -> str:
    bring = ", ".join((*remedy.tools, *remedy.parts))
    return (
        f"{remedy.title} ({percent(share)} likely to be needed; about {step.minutes:.0f} min, "
        f"for {a_person(step.competence)}){f'; bring: {bring}' if bring else ''}"
    )


def _known(situation: Situation, prompt: HandOverPrompt) -> Iterator[Block]:
    """What is certain, what was read and done, and what remains possible."""
    book, diagnosis = situation.rule_book, situation.diagnosis
    heard = {each.finding for each in situation.standing.observations if isinstance(each, FindingSeen) and each.heard}
    present = [name for name, here in diagnosis.findings.items() if here]
    told = [book.findings[name].title for name in present if name in heard]
    found = [book.findings[name].title for name in present if name not in heard]
    if found or not told:
        yield line(f"Certain: {_some(found) or 'nothing yet'}")
    if told:
        yield line(f"Reported in words: {_some(told)}")
    denied = _denied(situation)
    if denied:
        yield line(f"Said not to be so: {_some(denied)}")
    yield from _listed("Readings:", _readings(situation))
    yield from _listed("Done so far:", _done(situation))
    sunk = set(prompt.unlikely)
    remain = [
        f"{cause.title} ({percent(cause.probability)})" for cause in diagnosis.causes[:REMAIN] if cause.id not in sunk
    ]
    yield line(f"Still possible: {'; '.join(remain)}")
    unlikely = [book.causes[name].title for name in prompt.unlikely if name in book.causes]
    if unlikely:
        yield line(f"No longer likely: {_some(unlikely)}")
    if prompt.left_out:
        yield line(f"To find out, for steps wait for it: {'; '.join(_waited_for(situation))}")


def _waited_for(situation: Situation) -> Iterator[str]:
    """Yield what nobody could say of the meter, each with how many steps it holds up."""
    waiting = Counter(name for each in situation.diagnosis.proposals.held_up for name in each.fields)
    for name, count in waiting.most_common():
        yield f"{situation.rule_book.quantities[name].title} ({count} step{'s' if count > 1 else ''})"


def _some(titles: list[str]) -> str:
    """Return titles on one line, and how many more there are."""
    more = len(titles) - MOST_NAMED
    return "; ".join(titles[:MOST_NAMED]) + (f"; and {more} more in the report of the case" if more > 0 else "")


def _listed(head: str, texts: Iterable[str]) -> Iterator[Block]:
    """Return the last of these texts as a list; the first are named by their number."""
    told = list(texts)
    if told:
        more = len(told) - MOST_NAMED
        before = f" (the last {MOST_NAMED}; {more} more in the report of the case)" if more > 0 else ""
        yield line(f"{head}{before}")
        yield Bullets(tuple(map(item, told[-MOST_NAMED:])))


def _denied(situation: Situation) -> list[str]:
    """Return what somebody said is not so, and nothing says otherwise since; not what readings alone rule out."""
    observations = situation.standing.observations
    read_off = {name for each in observations if isinstance(each, Compared) for name in each.says}
    said = {each.finding for each in observations if isinstance(each, FindingSeen) and not each.present} - read_off
    now = situation.diagnosis.findings
    return [situation.rule_book.findings[name].title for name, present in now.items() if name in said and not present]


def _readings(situation: Situation) -> Iterator[str]:
    """Yield what was read, each beside what was expected; of what was read more than once the last."""
    book, diagnosis = situation.rule_book, situation.diagnosis
    checks = {each.measures: each for each in book.checks.values() if each.measures}
    read: dict[str, str] = {}
    for each in situation.standing.observations:
        if isinstance(each, Measurement) and each.quantity in book.quantities.keys() - situation.data_sheet.keys():
            values = {**diagnosis.values, each.quantity: each.value}
            expected = expected_of(book, checks.get(each.quantity), each.quantity, diagnosis.findings, values)
            quantity = book.quantities[each.quantity]
            read.pop(each.quantity, None)
            beside = f" (expected: {expected})" if expected else ""
            read[each.quantity] = f"{quantity.title}: {quantity.shown(each.value)}{beside}"
    yield from read.values()


def _done(situation: Situation) -> Iterator[str]:
    """Yield what was answered and tried, in order; of what was done more than once the last."""
    book = situation.rule_book
    lines: dict[str, str] = {}
    for each in situation.standing.observations:
        if isinstance(each, CheckDone) and each.check in book.checks:
            title, result = book.checks[each.check].title, each.answer
        elif isinstance(each, RemedyTried) and each.remedy in book.remedies:
            title, result = book.remedies[each.remedy].title, each.verdict
        else:
            continue
        lines.pop(title, None)
        lines[title] = f"{title.rstrip('?')}: {result}"
    yield from lines.values()


def _said(situation: Situation) -> Iterator[Block]:
    unread = dict.fromkeys(part for each in situation.standing.texts for part in each.not_understood)
    if unread:
        yield line(f"Reported, but not understood: {_some([f'“{text}”' for text in unread])}")
    for note in situation.standing.notes:
        yield line(f"Note: {note}")
