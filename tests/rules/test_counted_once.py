"""What the data sheet says counts once: as a frequency that hangs on it, or as a finding that follows from it."""

from __future__ import annotations

import msgspec

from diagnose.reasoning.engine import rules_by_plan
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.conditions import names_in
from diagnose.rule_book.faults import Cause, FrequencyWhere
from tests.engines import real_engine


def counted_twice(book: RuleBook) -> list[tuple[str, str, str]]:
    """Return cause, field and finding wherever both the frequency and a finding shown hang on the same field alone."""
    follows = [
        (field, finding)
        for rule in (book.inference[name] for name in sorted(rules_by_plan(book)))
        for fields in (names_in(rule.when)[1],)
        for field in fields
        for finding in (*rule.present, *rule.absent)
        if len(fields) == 1
    ]
    return [
        (cause.id, field, finding)
        for cause in book.causes.values()
        for field, finding in follows
        if field in frequency_hangs_on(book, cause) and finding in cause.shows
    ]


def frequency_hangs_on(book: RuleBook, cause: Cause) -> set[str]:
    """Return the fields that change how often a cause comes, once they are told."""
    tied = {name for name in cause.applies if book.quantities[name].shares}
    return tied.union(*(row.where for row in cause.frequency_where))


def test_no_field_of_the_data_sheet_counts_twice_for_a_cause() -> None:
    """Frequencies and what follows by plan do not hang on the same field."""
    assert counted_twice(real_engine().rule_book) == []


def test_it_would_be_noticed() -> None:
    """A plastic pipe speaks for missing earthing by what follows from it; a frequency beside that would double it."""
    book = real_engine().rule_book
    row = FrequencyWhere(where={"pipe": ("plastic or lined",)}, frequency=8.0)
    cause = msgspec.structs.replace(book.causes["no-equipotential-bonding"], frequency_where=(row,))

    found = counted_twice(msgspec.structs.replace(book, causes={cause.id: cause}))

    assert (cause.id, "pipe", "pipe-does-not-earth-liquid") in found
