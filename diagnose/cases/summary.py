"""What is told of a case in one row of a list, by its journal alone: no rule book is needed, nothing is diagnosed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from diagnose.cases.administration import Administration, administration
from diagnose.cases.events import Closed, Entry, Event, Note, RuleBookChanged, TextRead, Undo
from diagnose.cases.journal_lines import Head
from diagnose.observations import FindingSeen, RemedyTried

RANKED_LOW = 3
"""A cause that was not among so many at the end is something for whoever writes the rules to look at."""

COMPLAINT_LETTERS, WORDS_LETTERS = 200, 4_000
"""So much of a complaint is kept for the list, and of all that was said for a search."""

_TIME = re.compile(r"\d{4}-[01]\d-[0-3]\d(T\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:\d\d)?)?")


class Summary(NamedTuple):
    """One row; the names of its fields are the columns of the index.

    ``cause`` is the one that the case was closed with (``confirmed``), else the first when it was left, with its
    ``probability``; of a closed case ``outcome`` says what came of it. ``rank`` is where the confirmed cause stood
    (0: nobody knows). ``changed`` is the latest time of an event, whatever the clock did.
    """

    name: str
    meter: str
    started: str
    changed: str
    complaint: str
    state: str
    outcome: str
    cause: str
    probability: float | None
    confirmed: bool
    remedy: str
    minutes: float | None
    rank: int
    to_review: bool
    rule_book: str
    words: str
    findings: tuple[str, ...]


def summary_of(name: str, head: Head, entries: Sequence[Entry]) -> Summary:
    """Return the row of the case that is kept under a name."""
    undone = {entry.event.turn for entry in entries if isinstance(entry.event, Undo)}
    events = [entry.event for entry in entries if entry.turn not in undone]
    kept = administration(entries)
    cause, probability = _cause(kept)
    closed = kept.closed
    found = _findings(events, kept)
    complaint = _complaint(events)
    return Summary(
        name=name,
        meter=kept.meter,
        started=_time(head.started),
        changed=max(map(_time, (head.started, *(entry.at for entry in entries)))),
        complaint=complaint,
        state=kept.state,
        outcome=closed.outcome if closed else "",
        cause=cause,
        probability=probability,
        confirmed=bool(closed and closed.cause),
        remedy=_remedy(events, closed),
        minutes=closed.minutes if closed else None,
        rank=closed.rank if closed else 0,
        to_review=bool(closed) and is_to_review(closed),
        rule_book=_rule_book(head, events),
        words=_words(name, kept, events, cause),
        findings=found,
    )


def is_to_review(closed: Closed | None) -> bool:
    """Tell whether the rule book did badly: the cause stood low when the case was closed, or is not in it at all."""
    if closed is None:
        return False
    return closed.outcome == "not listed" or (closed.outcome == "found" and closed.rank > RANKED_LOW)


def is_time(text: str) -> bool:
    """Tell whether a text is a day or a time as journals have them."""
    return bool(_TIME.fullmatch(text))


def _time(text: str) -> str:
    """Return a time as it was written; nothing for what is none, since somebody may have edited the file."""
    return text if is_time(text) else ""


def _cause(kept: Administration) -> tuple[str, float | None]:
    if kept.closed:
        words = kept.closed.words if kept.closed.outcome == "not listed" else ""
        return (kept.closed.cause or words)[:COMPLAINT_LETTERS], kept.closed.probability
    return kept.left.causes[0] if kept.left and kept.left.causes else ("", None)


def _remedy(events: Iterable[Event], closed: Closed | None) -> str:
    if closed and (closed.remedy or closed.remedy_words):
        return closed.remedy or closed.remedy_words[:COMPLAINT_LETTERS]
    helped = [each.remedy for each in events if isinstance(each, RemedyTried) and each.verdict != "not cured"]
    return helped[-1] if helped else ""


def _complaint(events: Sequence[Event]) -> str:
    """Return what was complained of in its own words, on one line; of what was chosen from a list, its name."""
    for each in events:
        if isinstance(each, TextRead) and each.text.strip():
            return " ".join(each.text.split())[:COMPLAINT_LETTERS]
        if isinstance(each, FindingSeen) and each.present:
            return each.quote or each.finding.replace("-", " ")
    return ""


def _findings(events: Sequence[Event], kept: Administration) -> tuple[str, ...]:
    """Return what was found, as it was said last, and as it followed when the case was left."""
    said = {each.finding: each.present for each in events if isinstance(each, FindingSeen)}
    left = kept.left.findings if kept.left else ()
    return tuple(sorted({*(name for name, present in said.items() if present), *left}))


def _rule_book(head: Head, events: Iterable[Event]) -> str:
    changed = [each.fingerprint for each in events if isinstance(each, RuleBookChanged)]
    return changed[-1] if changed else head.rule_book


def _words(name: str, kept: Administration, events: Sequence[Event], cause: str) -> str:
    """Return all that can be searched for."""
    said = [each.text for each in events if isinstance(each, TextRead | Note)]
    closed = kept.closed
    if closed:
        said += [closed.words, closed.remedy.replace("-", " "), closed.remedy_words, closed.reading, *closed.parts]
    files = (f"{each.name} {each.note}" for each in kept.attached)
    whole = " ".join([name, kept.meter, cause.replace("-", " "), *said, *files, *(each.why for each in kept.reopened)])
    return " ".join(whole.split())[:WORDS_LETTERS]
