"""What closed cases teach, in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from diagnose.learning.beta import Interval
from diagnose.learning.learned_frequencies import LearnedFrequency
from diagnose.learning.learned_strengths import LearnedStrength
from diagnose.learning.learning import Learned, Moved
from diagnose.rule_book.book import RuleBook

MOST = 20
"""So many lines of each kind are shown; JSON has them all."""


def in_words(book: RuleBook, learned: Learned) -> str:
    """Return what was learned as lines for whoever looks after the rule book."""
    return "\n".join([*_counted(learned), *_frequencies(book, learned), *_strengths(book, learned), *_changes(learned)])


def _counted(learned: Learned) -> Iterator[str]:
    since = f" since {learned.since}" if learned.since else ""
    yield f"{learned.title}: {learned.cases:,} closed cases{since}"
    yield (
        f"  {learned.found:,} with a cause that was found, {learned.in_vain:,} in which none was, "
        f"{learned.cases - learned.found - learned.in_vain:,} with one that is not listed"
    )
    yield from _listed("copies of others, not counted again", learned.copies)
    groups = (f"{', '.join(group)}" for group in learned.contradictory)
    yield from _listed("alike but for their causes, not counted", groups)
    yield from _listed("not readable", learned.left_out)
    yield (
        f"  The rule book's own figures count as {learned.prior_cases:g} cases (frequencies) and as "
        f"{learned.prior_looks:g} looks (each strength)."
    )


def _frequencies(book: RuleBook, learned: Learned) -> Iterator[str]:
    rows = sorted((each for each in learned.frequencies if each.found), key=lambda each: (-each.after, each.cause))
    yield ""
    yield "How often: share of complaints about meters that can have it, 95 % credible"
    yield f"  {'before':>22}  {'after':>22}  cases"
    yield from _shortened(
        f"  {_share(each.before, each.interval_before)}  {_share(each.after, each.interval_after)}  "
        f"{each.found:.3g} of {each.of:.4g}  {each.cause}{_where(book, each)}"
        for each in rows
    )
    if not rows:
        yield "  nothing: no cause was found yet"


def _strengths(book: RuleBook, learned: Learned) -> Iterator[str]:
    rows = sorted(learned.strengths, key=lambda each: (-abs(each.after - each.before), each.cause, each.finding))
    yield ""
    yield "How often it shows: given the cause, where somebody looked, 95 % credible; what changes most comes first"
    yield f"  {'before':>22}  {'after':>22}  seen"
    yield from _shortened(_strength(book, each) for each in rows)
    if not rows:
        yield "  nothing: nobody looked yet at what a confirmed cause shows"


def _strength(book: RuleBook, each: LearnedStrength) -> str:
    title = book.findings[each.finding].title
    return (
        f"  {_share(each.before, each.interval_before)}  {_share(each.after, each.interval_after)}  "
        f"{each.found} of {each.of}  {each.cause}: {title}"
    )


def _changes(learned: Learned) -> Iterator[str]:
    if learned.since:
        yield ""
        yield f"What has changed since {learned.since}"
        told = [each for each in learned.drift if each.told]
        yield from (
            f"  {'risen' if each.risen > 0.5 else 'fallen'} ({max(each.risen, 1 - each.risen):.0%} probable)  "
            f"{each.found_before} of {each.of_before} before, {each.found_since} of {each.of_since} since  {each.cause}"
            for each in told
        )
        if not told:
            yield "  nothing that is more than chance"
        elif len(learned.drift) > 1:
            by_chance = len(learned.drift) / 10
            yield f"  Of {len(learned.drift)} causes about {by_chance:.0f} would be named by chance alone."
    yield ""
    yield "What would change in the ranking"
    yield (
        f"  the confirmed cause first in {learned.closed_first_before} of {learned.closed_tried} closed cases before, "
        f"in {learned.closed_first_after} after (the same cases that were learned from: new ones will gain less)"
    )
    yield from _moved(learned.moved)
    yield f"  another first cause in {len(learned.recorded_moved)} of {learned.recorded_tried} recorded cases"
    yield from _moved(learned.recorded_moved)


def _moved(rows: Sequence[Moved]) -> Iterator[str]:
    yield from _shortened(
        f"    {each.case}: {each.first_before} → {each.first_after} "
        f"(confirmed {', '.join(each.confirmed)}: {each.place_before}. → {each.place_after}.)"
        for each in rows
    )


def _where(book: RuleBook, each: LearnedFrequency) -> str:
    if not each.row:
        return ""
    where = book.causes[each.cause].frequency_where[each.row - 1].where
    return " where " + ", ".join(f"{name}: {' or '.join(words)}" for name, words in where.items())


def _share(share: float, interval: Interval) -> str:
    return f"{100 * share:5.1f} % ({100 * interval.low:4.1f} to {100 * interval.high:4.1f})"


def _listed(title: str, names: Iterable[str]) -> Iterator[str]:
    names = list(names)
    if names:
        yield f"  {len(names)} {title}:"
        yield from _shortened(f"    {name}" for name in names)


def _shortened(lines: Iterable[str]) -> Iterator[str]:
    lines = list(lines)
    yield from lines[:MOST]
    if len(lines) > MOST:
        yield f"  … and {len(lines) - MOST:,} more (--format json has them all)"
