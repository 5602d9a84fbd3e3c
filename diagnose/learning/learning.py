"""All that closed cases teach: frequencies and strengths, before and after, and the rule book that follows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date

import msgspec

from diagnose.learning.closed_cases import ClosedCase, as_it_was, looked_at
from diagnose.learning.counted_once import counted_once
from diagnose.learning.drift import Drift, drift
from diagnose.learning.learned_frequencies import LearnedFrequency, learned_frequencies
from diagnose.learning.learned_strengths import LearnedStrength, learned_strengths
from diagnose.learning.prior import Prior
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.book import RuleBook

BY_THE_CASES = Prior()

MOST_TRIED = 500
"""So many closed cases are ranked anew, the latest."""


class Moved(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """A case whose first cause would be another one: what is confirmed, and what comes first before and after."""

    case: str
    confirmed: tuple[str, ...]
    first_before: str
    first_after: str
    place_before: int
    place_after: int


class Learned(
    msgspec.Struct,
    frozen=True,
    kw_only=True,
    rename="kebab",
    forbid_unknown_fields=True,
    tag_field="format",
    tag="learning/1",
):
    """What closed cases teach.

    ``cases`` count, ``found`` of them with a cause that was found; ``copies`` and ``contradictory`` are named and do
    not count, nor do those that ``left_out`` says cannot be read. ``prior_cases`` and ``prior_looks`` say as how many
    cases the rule book's own figures count. ``since`` is the first day that counts, with the ``drift`` from before.
    ``moved`` are cases whose first cause would be another one: closed ones, and those that are ``recorded``; ``tried``
    says how many of both were looked at.
    """

    title: str
    cases: int
    found: int
    in_vain: int
    copies: tuple[str, ...]
    contradictory: tuple[tuple[str, ...], ...]
    left_out: tuple[str, ...]
    prior_cases: float
    prior_looks: float
    since: str
    frequencies: tuple[LearnedFrequency, ...]
    strengths: tuple[LearnedStrength, ...]
    drift: tuple[Drift, ...]
    closed_tried: int
    closed_first_before: int
    closed_first_after: int
    moved: tuple[Moved, ...]
    recorded_tried: int
    recorded_moved: tuple[Moved, ...]


def learn(
    engine: Engine,
    cases: Iterable[ClosedCase],
    prior: Prior = BY_THE_CASES,
    since: date | None = None,
    left_out: Sequence[str] = (),
    looks: Callable[[Engine, ClosedCase], Mapping[str, bool]] = looked_at,
) -> Learned:
    """Return what closed cases teach; only those closed ``since`` a day count, and the others show what has drifted."""
    book = engine.rule_book
    counted = counted_once(cases)
    counting = [each for each in counted.cases if since is None or each.closed_on >= since]
    found = [each for each in counting if each.outcome == "found"]
    frequencies, prior_cases = learned_frequencies(book, counting, prior.cases)
    looked = ((each.cause, looks(engine, each)) for each in found)
    strengths, prior_looks = learned_strengths(book, looked, prior.looks)
    return Learned(
        title=book.settings.title,
        cases=len(counting),
        found=len(found),
        in_vain=sum(each.outcome == "not found" for each in counting),
        copies=tuple(each.name for each in counted.copies),
        contradictory=tuple(tuple(each.name for each in group) for group in counted.contradictory),
        left_out=tuple(left_out),
        prior_cases=prior_cases,
        prior_looks=prior_looks,
        since=since.isoformat() if since else "",
        frequencies=frequencies,
        strengths=strengths,
        drift=drift(counted.cases, since) if since else (),
        closed_tried=0,
        closed_first_before=0,
        closed_first_after=0,
        moved=(),
        recorded_tried=0,
        recorded_moved=(),
    )


def learned_rule_book(book: RuleBook, learned: Learned) -> RuleBook:
    """Return the rule book with the figures that were learned."""
    figures = {(each.cause, each.row): each.frequency_after for each in learned.frequencies}
    shows = {(each.cause, each.finding): each.after for each in learned.strengths}
    causes = {
        name: msgspec.structs.replace(
            cause,
            frequency=figures[name, 0],
            frequency_where=tuple(
                msgspec.structs.replace(row, frequency=figures[name, number])
                for number, row in enumerate(cause.frequency_where, 1)
            ),
            shows={finding: shows.get((name, finding), strength) for finding, strength in cause.shows.items()},
        )
        for name, cause in book.causes.items()
    }
    return msgspec.structs.replace(book, causes=causes)


def learned_engine(engine: Engine, learned: Learned) -> Engine:
    """Return the engine of that rule book; it reads words as the other one does."""
    return Engine(learned_rule_book(engine.rule_book, learned), lambda: engine.lexicon, lambda: engine.meaning)


def moved(before: Engine, after: Engine, cases: Iterable[ClosedCase]) -> tuple[tuple[Moved, ...], int, int, int]:
    """Return the cases whose first cause would be another one; how many were tried, and right before and after.

    The latest ones are tried, and each once.
    """
    rows: list[Moved] = []
    tried = right_before = right_after = 0
    found = [case for case in counted_once(cases).cases if case.outcome == "found" and case.before_the_cure]
    for case in found[-MOST_TRIED:]:
        one, other = (as_it_was(engine, case).order for engine in (before, after))
        tried += 1
        right_before += one[0] == case.cause
        right_after += other[0] == case.cause
        if one[0] != other[0]:
            rows.append(moved_case(case.name, (case.cause,), one, other))
    return tuple(rows), tried, right_before, right_after


def moved_case(name: str, confirmed: tuple[str, ...], before: Sequence[str], after: Sequence[str]) -> Moved:
    """Return how a case moves, by its causes in order before and after."""
    return Moved(
        case=name,
        confirmed=confirmed,
        first_before=before[0],
        first_after=after[0],
        place_before=max(_place(before, each) for each in confirmed),
        place_after=max(_place(after, each) for each in confirmed),
    )


def _place(order: Sequence[str], cause: str) -> int:
    return order.index(cause) + 1 if cause in order else len(order) + 1
