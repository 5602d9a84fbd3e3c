"""The report of a case: from its events, and from what was known after each of them, to the typed document.

Whoever asks for one (the command) gives the moments and how the case stands now, worked out as the interview does.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import msgspec

from diagnose.cases.events import Acknowledgement, Attached, Case, Closed, TextRead, Undo
from diagnose.cases.standing import Standing
from diagnose.documents.case_report_safety import cautions_read, disturbed, plant_changes
from diagnose.documents.case_report_timeline import Moment, timeline
from diagnose.documents.case_report_types import (
    AttachmentDocument,
    CaseReportDocument,
    ClosedDocument,
    ComparedDocument,
    ComplaintDocument,
    EntryDocument,
    FieldDocument,
    Kept,
    MechanismShare,
    RankedDocument,
    RankingDocument,
    RemedyDocument,
    RuledOutDocument,
)
from diagnose.documents.diagnosis_types import DiagnosisDocument
from diagnose.observations import CheckDone, Compared, RemedyTried
from diagnose.place import visible
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import AND_MORE, DataSheet

RANKED = 5
"""Causes whose way through the ranking is shown: those that were once the likeliest."""

LIKELY_ONCE, UNLIKELY_NOW = 0.05, 0.01
"""A cause that once had the first share and has less than the second is told as ruled out."""

MOST_REASONS = 3
MOST_RULED_OUT = 12
LEAST_MECHANISM, MOST_MECHANISMS = 0.02, 6

AGAINST = -1.0
"""Decibans from which something counts as a reason against a cause."""


@dataclass(frozen=True)
class FileKept:
    """What became of a file that was attached: where it is kept, whether it is still the same, and as which picture."""

    attached: Attached
    at: str
    kept_as: str
    kept: Kept
    picture: str = ""


@dataclass(frozen=True)
class CaseFile:
    """A case with all that its report is made from.

    ``case`` is the case without what the rule book does not know (``left_out``), ``moments`` what was known after each
    turn that counts, ``now`` how it stands, ``data_sheet`` what is known of the meter, ``found_before`` what was found
    on it before, in words.
    """

    case: Case
    begun: str
    fingerprint: str
    standing: Standing
    data_sheet: DataSheet
    moments: Sequence[Moment]
    now: DiagnosisDocument
    files: Sequence[FileKept] = ()
    left_out: Sequence[str] = ()
    found_before: str = ""


def case_report(rule_book: RuleBook, file: CaseFile, made: str) -> CaseReportDocument:
    """Return the report of a case; ``made`` is the time of it."""
    entries = timeline(rule_book, file.case, file.moments)
    kept, standing = file.standing.kept, file.standing
    looking = _while_looking(file.moments)
    document = CaseReportDocument(
        case=file.case.name,
        made=made,
        rule_book=file.fingerprint,
        state=kept.state,  # type: ignore[arg-type]
        begun=file.begun,
        last=file.case.entries[-1].at if file.case.entries else file.begun,
        meter=kept.meter,
        found_before=file.found_before,
        data_sheet=tuple(_fields(rule_book, file.data_sheet)),
        not_known=tuple(
            rule_book.quantities[name].title for name in standing.state.not_known if name in rule_book.quantities
        ),
        complaint=tuple(_complaint(file.case, entries)),
        timeline=tuple(each for made_in_turn in entries.values() for each in made_in_turn),
        ranking=_ranking(looking, entries),
        compared=tuple(_compared(rule_book, file)),
        cautions=tuple(cautions_read(rule_book, file.case)),
        plant=tuple(plant_changes(rule_book, file.case)),
        disturbed=tuple(disturbed(rule_book, file.case)),
        remedies=tuple(_remedies(rule_book, file)),
        cured=tuple(dict.fromkeys(_cured(rule_book, file))),
        still_wrong=standing.fault_remains,
        closed=_closed(rule_book, kept.closed, kept.closed_at) if kept.closed else None,
        reopened=tuple(each.why for each in kept.reopened),
        ruled_out=tuple(_ruled_out(looking, set(_causes_cured(rule_book, file)))),
        follow_up=tuple(dict.fromkeys(_follow_up(rule_book, file))),
        attachments=tuple(map(_attachment, file.files)),
        sources=tuple(sorted(_sources(rule_book, file), key=str.casefold)),
        left_out=tuple(file.left_out),
        now=file.now,
    )
    return msgspec.convert(_seen(msgspec.to_builtins(document)), CaseReportDocument)


def _seen(value: Any) -> Any:
    """Return what a document holds, in which everything can be seen and nothing controls what shows it."""
    if isinstance(value, str):
        return value if value.isprintable() else visible(value, "\t\n")
    if isinstance(value, list | tuple):
        return [_seen(each) for each in value]
    return {name: _seen(each) for name, each in value.items()} if isinstance(value, dict) else value


def _fields(rule_book: RuleBook, sheet: DataSheet) -> Iterator[FieldDocument]:
    fields = rule_book.data_sheet_fields()
    for name in (*(each for each in fields if each in sheet), *(each for each in sheet if each not in fields)):
        if name in rule_book.quantities:
            quantity, value = rule_book.quantities[name], sheet[name]
            value = tuple(word for word in value if word != AND_MORE) if isinstance(value, tuple) else value
            yield FieldDocument(id=name, title=quantity.title, shown=quantity.shown(value))


def _complaint(case: Case, entries: Mapping[int, tuple[EntryDocument, ...]]) -> Iterator[ComplaintDocument]:
    """Go through what was told in words, in full, with what was understood of it."""
    for each in case.entries:
        if isinstance(each.event, TextRead):
            told = [entry for entry in entries.get(each.turn, ()) if entry.title == "Told in words"]
            readings = [f"{reading.title}: {reading.shown}" for entry in told for reading in entry.readings]
            yield ComplaintDocument(
                at=each.at,
                text=each.event.text,
                understood=(*(means for entry in told for means in entry.means), *readings),
                not_understood=each.event.not_understood,
            )


def _while_looking(moments: Sequence[Moment]) -> list[Moment]:
    """Return the moments at which causes were ranked; once all is cured the ranking begins anew."""
    return [each for each in moments if each.diagnosis.causes and not each.diagnosis.cured]


def _ranking(moments: Sequence[Moment], entries: Mapping[int, tuple[EntryDocument, ...]]) -> RankingDocument:
    shares = [{each.id: each.probability for each in moment.diagnosis.causes} for moment in moments]
    titles = {each.id: each.title for moment in moments for each in moment.diagnosis.causes}
    highest = {name: max(share.get(name, 0.0) for share in shares) for name in titles}
    first = [next(iter(share)) for share in reversed(shares)]  # whoever led last comes first
    leading = list(dict.fromkeys((*first, *sorted(titles, key=lambda name: -highest[name]))))[:RANKED]
    cured = [turn for turn, told in entries.items() if any(_mended(each) for each in told)]
    turns = [each.turn for each in moments]
    return RankingDocument(
        after=tuple(entries[each.turn][-1].number if each.turn in entries else 0 for each in moments),
        anew=tuple(
            number
            for number, (before, turn) in enumerate(pairwise(turns), 1)
            if any(before < each <= turn for each in cured)
        ),
        causes=tuple(
            RankedDocument(
                id=name,
                title=titles[name],
                probabilities=tuple(round(share.get(name, 0.0), 4) for share in shares),
            )
            for name in leading
        ),
    )


def _mended(entry: EntryDocument) -> bool:
    return entry.kind == "proof" and entry.result != "not cured" and not entry.taken_back


def _compared(rule_book: RuleBook, file: CaseFile) -> Iterator[ComparedDocument]:
    told = {each.turn: each.diagnosis for each in file.moments}
    for entry in file.case.entries:
        if isinstance(entry.event, Compared) and entry.turn in told:
            shares = told[entry.turn].mechanisms.get(entry.event.with_what, {})
            likely = sorted(shares, key=lambda name: -shares[name])[:MOST_MECHANISMS]
            yield ComparedDocument(
                at=entry.at,
                with_what=entry.event.with_what.replace("-", " "),
                figures=entry.event.quote,
                mechanisms=tuple(
                    MechanismShare(id=name, title=rule_book.mechanisms[name].title, probability=round(shares[name], 4))
                    for name in likely
                    if shares[name] >= LEAST_MECHANISM
                ),
            )


def _remedies(rule_book: RuleBook, file: CaseFile) -> Iterator[RemedyDocument]:
    undone = _undone(file.case)
    tried = [(entry.at, entry.event) for entry in file.case.entries if entry.turn not in undone]
    for at, event in tried:
        if isinstance(event, RemedyTried) and event.remedy in rule_book.remedies:
            remedy = rule_book.remedies[event.remedy]
            proof = rule_book.checks[remedy.proved_by].title
            yield RemedyDocument(at=at, remedy=remedy.title, proof=proof, verdict=event.verdict)
    proofs = {each.title: rule_book.checks[each.proved_by].title for each in rule_book.remedies.values()}
    for title in file.now.not_proved:
        yield RemedyDocument(at="", remedy=title, proof=proofs.get(title, ""), verdict="not proved")


def _undone(case: Case) -> set[int]:
    return {each.event.turn for each in case.entries if isinstance(each.event, Undo)}


def _cures(rule_book: RuleBook, file: CaseFile) -> Iterator[tuple[RemedyTried, dict[str, float]]]:
    """Go through the remedies that helped, each with the ranking before it."""
    undone, before = _undone(file.case), dict[str, float]()
    known = {each.turn: each.diagnosis for each in file.moments}
    for entry in file.case.entries:
        event = entry.event
        helped = isinstance(event, RemedyTried) and event.verdict != "not cured" and event.remedy in rule_book.remedies
        if isinstance(event, RemedyTried) and helped and entry.turn not in undone:
            yield event, before
        elif entry.turn in known:
            before = {each.id: each.probability for each in known[entry.turn].causes}


def _causes_cured(rule_book: RuleBook, file: CaseFile) -> Iterator[str]:
    """Go through the causes that were put right: of those that a remedy helps, the one that was likeliest before it."""
    for tried, before in _cures(rule_book, file):
        helped = [each.id for each in rule_book.helped_by(tried.remedy)]
        if helped:
            yield max(helped, key=lambda name: before.get(name, 0.0))


def _cured(rule_book: RuleBook, file: CaseFile) -> Iterator[str]:
    return (rule_book.causes[name].title for name in _causes_cured(rule_book, file))


def _follow_up(rule_book: RuleBook, file: CaseFile) -> Iterator[str]:
    closed = file.standing.kept.closed
    names = [closed.cause] if closed and closed.cause else list(_causes_cured(rule_book, file))
    causes = (rule_book.causes[name] for name in names if name in rule_book.causes)
    return (each.follow_up for each in causes if each.follow_up)


def _closed(rule_book: RuleBook, closed: Closed, at: str) -> ClosedDocument:
    cause, remedy = rule_book.causes.get(closed.cause), rule_book.remedies.get(closed.remedy)
    proof = rule_book.checks.get(closed.proof)
    return ClosedDocument(
        at=at,
        by=closed.by,
        outcome=closed.outcome,
        cause="; ".join(filter(None, (cause.title if cause else closed.cause, closed.words))),
        remedy="; ".join(filter(None, (remedy.title if remedy else closed.remedy, closed.remedy_words))),
        proof=proof.title if proof else closed.proof,
        reading=closed.reading,
        minutes=closed.minutes,
        parts=closed.parts,
        rank=closed.rank,
        probability=closed.probability,
    )


def _ruled_out(moments: Sequence[Moment], cured: Container[str]) -> Iterator[RuledOutDocument]:
    """Go through the causes that were likely once and are not any more, those that were likeliest first."""
    if not moments:
        return
    last = moments[-1].diagnosis
    once: dict[str, float] = {}
    for moment in moments:
        for each in moment.diagnosis.causes:
            once[each.id] = max(once.get(each.id, 0.0), each.probability)
    out = [each for each in last.causes if once[each.id] >= LIKELY_ONCE and each.probability < UNLIKELY_NOW]
    out = [each for each in out if each.id not in cured]
    for each in sorted(out, key=lambda cause: -once[cause.id])[:MOST_RULED_OUT]:
        against = [reason for reason in each.opposing if reason.decibans <= AGAINST]
        yield RuledOutDocument(
            id=each.id,
            title=each.title,
            once=round(once[each.id], 4),
            now=round(each.probability, 4),
            by=tuple(reason.title if reason.present else f"{reason.title}: no" for reason in against[:MOST_REASONS]),
        )


def _attachment(file: FileKept) -> AttachmentDocument:
    return AttachmentDocument(
        at=file.at,
        name=file.attached.name,
        kept_as=file.kept_as,
        sha256=file.attached.sha256,
        size=file.attached.size,
        note=file.attached.note,
        by=file.attached.by,
        kept=file.kept,
        picture=file.picture,
        figures=file.attached.figures,
    )


def _sources(rule_book: RuleBook, file: CaseFile) -> Iterable[str]:
    """Return the sources behind what was done and concluded."""
    names: list[str] = []
    for entry in file.case.entries:
        event = entry.event
        if isinstance(event, CheckDone) and event.check in rule_book.checks:
            names.append(rule_book.checks[event.check].source)
        elif isinstance(event, RemedyTried) and event.remedy in rule_book.remedies:
            names.append(rule_book.remedies[event.remedy].source)
        elif isinstance(event, Acknowledgement) and event.caution in rule_book.cautions:
            names.append(rule_book.cautions[event.caution].source)
    names += [rule_book.causes[name].source for name in _causes_cured(rule_book, file)]
    looking = _while_looking(file.moments)
    leading = looking[-1].diagnosis.causes[:1] if looking else ()
    speaking = {reason.source for each in leading for reason in each.supporting if reason.source}
    return {*(rule_book.sources[name].citation for name in names if name in rule_book.sources), *speaking}
