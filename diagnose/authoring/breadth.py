"""How much a rule book holds, and where it is thin."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

import msgspec

from diagnose.authoring.telling_apart import FaultTable, sheet_of
from diagnose.rule_book.book import RuleBook

LEAST_PHRASES = 8
"""A symptom that people say in fewer ways is likely to be missed in a report."""

LEAST_CASES = 4
"""An area with fewer recorded cases is hardly tried."""


class Breadth(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Numbers of entries, and what is thin.

    ``counts`` by part; ``by_area`` causes in each area; ``few_phrases`` symptoms with their number of phrases;
    ``few_cases`` areas with their number of cases (None when no cases were given); ``no_look_alike`` causes that name
    none; ``not_told`` pairs of a cause and a look-alike between which no single check tells.
    """

    counts: dict[str, int]
    by_area: dict[str, int]
    few_phrases: dict[str, int]
    few_cases: dict[str, int] | None
    no_look_alike: tuple[str, ...]
    not_told: tuple[tuple[str, str], ...]


PARTS = ("causes", "findings", "checks", "inference", "cautions")


def breadth(rule_book: RuleBook, table: FaultTable, confirmed: Iterable[Sequence[str]] | None) -> Breadth:
    """Return what a rule book holds; ``confirmed`` are the confirmed causes of each recorded case."""
    areas = Counter(cause.area for cause in table.causes)
    return Breadth(
        counts={part: len(getattr(rule_book, part)) for part in PARTS} | {"causes": len(table.causes)},
        by_area=dict(sorted(areas.items())),
        few_phrases={
            finding.id: len(finding.phrases)
            for finding in rule_book.findings.values()
            if finding.kind == "symptom" and len(finding.phrases) < LEAST_PHRASES
        },
        few_cases=None if confirmed is None else _few_cases(rule_book, areas, confirmed),
        no_look_alike=tuple(cause.id for cause in table.causes if not cause.looks_like),
        not_told=_not_told(rule_book, table),
    )


def _few_cases(rule_book: RuleBook, areas: Iterable[str], confirmed: Iterable[Sequence[str]]) -> dict[str, int]:
    known = rule_book.causes
    tried = Counter(
        area for names in confirmed for area in {known[name].area for name in names if name in known}
    )  # a case with two causes tries the areas of both
    return {area: tried[area] for area in sorted(areas) if tried[area] < LEAST_CASES}


def _not_told(rule_book: RuleBook, table: FaultTable) -> tuple[tuple[str, str], ...]:
    listed = {cause.id for cause in table.causes}
    return tuple(
        (cause.id, other)
        for cause in table.causes
        for other in cause.looks_like
        if other in listed
        and sheet_of(rule_book, cause, rule_book.causes[other]) is not None
        and not table.telling(cause.id, other)
    )
