"""How often causes show findings, learned from closed cases: a beta update of each strength.

What is counted is how often a finding was there when somebody looked, given that this cause was confirmed. It may be
there for another reason as well (its leak), so that the share counted is 1 - (1 - strength)(1 - leak).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

import msgspec

from diagnose.learning.beta import Interval, credible
from diagnose.learning.prior import fitting_looks
from diagnose.rule_book.book import RuleBook

LEAST, MOST = 0.001, 0.999
"""A strength is never nothing, nor certain, however many cases say so."""


class LearnedStrength(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """One strength, before and after: in how many of so many looks the finding was there, given the cause."""

    cause: str
    finding: str
    found: int
    of: int
    before: float
    after: float
    interval_before: Interval
    interval_after: Interval


def learned_strengths(
    book: RuleBook, looks: Iterable[tuple[str, Mapping[str, bool]]], prior_looks: float | None
) -> tuple[tuple[LearnedStrength, ...], float]:
    """Return the strengths of which something was counted, and as how many looks each counts before.

    Each look is a confirmed cause with what was looked for.
    """
    counts: defaultdict[tuple[str, str], list[bool]] = defaultdict(list)
    for cause, looked in looks:
        shows = book.causes[cause].shows if cause in book.causes else {}
        for finding in looked.keys() & shows.keys():
            counts[cause, finding].append(looked[finding])
    prior_looks = prior_looks or fitting_looks(
        (_shown(book, cause, finding), sum(seen), len(seen)) for (cause, finding), seen in counts.items()
    )
    learned = (
        _learned(book, cause, finding, sum(seen), len(seen), prior_looks)
        for (cause, finding), seen in sorted(counts.items())
    )
    return tuple(learned), prior_looks


def _shown(book: RuleBook, cause: str, finding: str) -> float:
    """Return how often a finding is there given a cause, for that or for another reason."""
    return 1 - (1 - book.causes[cause].shows[finding]) * (1 - book.findings[finding].leak)


def _learned(book: RuleBook, cause: str, finding: str, found: int, of: int, prior: float) -> LearnedStrength:
    leak, before = book.findings[finding].leak, book.causes[cause].shows[finding]
    shown = _shown(book, cause, finding)
    one, other = (prior * shown, prior * (1 - shown)), (prior * shown + found, prior * (1 - shown) + of - found)

    def alone(share: float) -> float:
        return min(max(1 - (1 - share) / (1 - leak), LEAST), MOST)

    return LearnedStrength(
        cause=cause,
        finding=finding,
        found=found,
        of=of,
        before=before,
        after=alone(other[0] / sum(other)),
        interval_before=Interval(*map(alone, credible(*one))),
        interval_after=Interval(*map(alone, credible(*other))),
    )
