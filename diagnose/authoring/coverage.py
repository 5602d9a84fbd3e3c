"""Coverage of a rule book: which faults it would see, which it can tell apart, how much it holds.

Detection and isolation are those of IEEE 1522 with the frequencies of causes as failure rates; what "the same
signature" means where findings are only probable is said in :mod:`diagnose.authoring.telling_apart`. The cause that
stands for everything not listed is no fault of its own and left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import msgspec

from diagnose.authoring.breadth import Breadth, breadth
from diagnose.authoring.telling_apart import FaultTable
from diagnose.authoring.testability import Group, connected, isolated, mean_size, share
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.frequencies import frequency_on
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.faults import Cause

SIZES = (1, 2, 3)
"""Sizes of ambiguity groups for which isolation is given."""


class Coverage(
    msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="format", tag="coverage/1"
):
    """What a rule book covers; fractions are weighted by frequency.

    ``detection``: causes that show at least one symptom or complaint at all; ``likely_detection``: the chance that
    somebody with a fault sees one. ``isolation`` maps a size to the fraction of detected causes in ambiguity groups of
    at most that size; ``groups`` are those of more than one.
    """

    title: str
    detection: float
    likely_detection: float
    undetected: tuple[str, ...]
    isolation: dict[int, float]
    groups: tuple[Group, ...]
    mean_size: float
    weighted_mean_size: float
    breadth: Breadth


def coverage(engine: Engine, confirmed: Iterable[Sequence[str]] | None = None) -> Coverage:
    """Return the coverage of a rule book; ``confirmed`` are the confirmed causes of recorded cases, to be counted."""
    rule_book = engine.rule_book
    table = FaultTable(engine)
    rates = {cause.id: frequency_on(rule_book, cause, {}) for cause in table.causes}
    chance = {cause.id: shows_at_all(rule_book, cause) for cause in table.causes}
    detected = [name for name in rates if chance[name] > 0]
    groups = connected(detected, table.confused)
    total = sum(rates.values())
    return Coverage(
        title=rule_book.settings.title,
        detection=share(detected, rates),
        likely_detection=sum(rates[name] * chance[name] for name in rates) / total if total else 0.0,
        undetected=tuple(name for name in rates if not chance[name]),
        isolation={size: isolated(groups, rates, size) for size in SIZES},
        groups=tuple(sorted((group for group in groups if len(group) > 1), key=lambda group: (-len(group), group))),
        mean_size=mean_size(groups),
        weighted_mean_size=mean_size(groups, rates),
        breadth=breadth(rule_book, table, confirmed),
    )


def shows_at_all(rule_book: RuleBook, cause: Cause) -> float:
    """Return the probability that a cause by itself shows a symptom or something that people complain of."""
    silent = 1.0
    for name, strength in cause.shows.items():
        finding = rule_book.findings[name]
        if finding.kind == "symptom" or finding.complaint:
            silent *= 1 - strength
    return 1 - silent
