"""How often causes come, learned from closed cases: a Dirichlet update, on meters that are not all alike.

The cause of a case is one of those that its meter can have, each in proportion to its frequency there. Where all meters
are alike that is a multinomial, its conjugate prior the Dirichlet distribution, and the result is exactly its posterior
mean: (m p + n) / (m + N) with m prior cases, the prior share p, and n of N cases. Where they are not, each figure has a
gamma prior with the same mean and weight, and the sum of frequencies that each case was drawn from is worked out with
the figures, in turns, until nothing changes (Caron and Doucet 2012, for choices from sets of any kind; from memory).
Figures that hold on some meters only (``frequency-where``) are figures of their own; where the data sheet does not tell
which one held, a case counts for each as much as it is likely to be the one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import msgspec
import numpy as np

from diagnose.learning.beta import Interval, credible
from diagnose.learning.closed_cases import ClosedCase
from diagnose.learning.prior import fitting_cases
from diagnose.reasoning.frequencies import parts_on
from diagnose.reasoning.sweep import Array
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import DataSheet, Value

ROUNDS = 500
STILL = 1e-10
"""Relative change of the figures from which on nothing changes any more."""


class LearnedFrequency(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """One figure, before and after: the share of a cause among complaints about meters on which this figure holds.

    ``row`` is that of ``frequency-where``, 0 for the figure that holds where none does. ``found`` is in how many of
    ``of`` cases on such meters the cause was confirmed; both are sums of shares where data sheets do not tell, and
    rounded. ``frequency_before`` and ``frequency_after`` are the figures as the rule book writes them.
    """

    cause: str
    row: int
    found: float
    of: float
    before: float
    after: float
    interval_before: Interval
    interval_after: Interval
    frequency_before: float
    frequency_after: float


class _Figures(NamedTuple):
    """Every figure of every cause: whose it is, which row, and its value."""

    causes: tuple[str, ...]
    rows: tuple[int, ...]
    values: Array

    @classmethod
    def of(cls, book: RuleBook) -> _Figures:
        figures = [
            (cause.id, row, figure)
            for cause in book.causes.values()
            for row, figure in enumerate((cause.frequency, *(each.frequency for each in cause.frequency_where)))
        ]
        causes, rows, values = zip(*figures, strict=True)
        return cls(causes, rows, np.array(values))


def learned_frequencies(
    book: RuleBook, cases: Sequence[ClosedCase], prior_cases: float | None
) -> tuple[tuple[LearnedFrequency, ...], float]:
    """Return every figure before and after, in the order of the rule book, and as how many cases it counts before."""
    figures = _Figures.of(book)
    counted = _counted(book, cases, figures)
    prior_cases = prior_cases or fitting_cases(_expected_and_found(counted, figures))
    anywhere = _parts(book, {}, figures)
    # As if so many cases had been met on meters of which nothing is known, with causes as the rule book believes.
    rate = prior_cases * anywhere / float(anywhere @ figures.values)
    shape = rate * figures.values
    found, values = _settled(counted, figures, shape, rate)
    values *= float(anywhere @ figures.values) / float(anywhere @ values)
    before, met = prior_cases * anywhere, counted.meters.T @ counted.times
    learned = (
        _learned(figures, number, values, float(shape[number]), float(found[number]), (before[number], met[number]))
        for number in range(len(figures.values))
    )
    return tuple(learned), prior_cases


def _expected_and_found(counted: _Counted, figures: _Figures) -> list[tuple[float, float]]:
    """Return how often each cause was to be expected among the cases in which one was found, and was found."""
    here = counted.meters * figures.values
    total = here.sum(axis=1, keepdims=True)
    times = (counted.times - counted.nothing)[:, None]
    expected = (np.divide(here, total, out=np.zeros_like(here), where=total > 0) * times).sum(axis=0)
    held = (counted.found > 0) & (here > 0)
    found: dict[str, float] = dict.fromkeys(figures.causes, 0.0)
    for kind, row in zip(*np.nonzero(held), strict=True):
        name = figures.causes[row]
        share = here[kind, row] / here[kind, [each == name for each in figures.causes]].sum()
        found[name] += float(counted.found[kind, row] * share)
    by_cause: dict[str, float] = dict.fromkeys(figures.causes, 0.0)
    for name, each in zip(figures.causes, expected, strict=True):
        by_cause[name] += float(each)
    return [(by_cause[name], found[name]) for name in by_cause]


def _learned(
    figures: _Figures, number: int, values: Array, shape: float, found: float, cases: tuple[float, float]
) -> LearnedFrequency:
    prior, met = (float(each) for each in cases)
    one, other = (shape, max(0.0, prior - shape)), (shape + found, max(0.0, prior + met - shape - found))
    return LearnedFrequency(
        cause=figures.causes[number],
        row=figures.rows[number],
        found=round(found, 3),
        of=round(met, 3),
        before=shape / prior if prior else 0.0,
        after=(shape + found) / (prior + met) if prior + met else 0.0,
        interval_before=credible(*one),
        interval_after=credible(*other),
        frequency_before=float(figures.values[number]),
        frequency_after=float(values[number]),
    )


class _Counted(NamedTuple):
    """Cases by kinds of meters: how much each figure counts there [k × f], how many [k], whose cause was found [k × f].

    ``nothing`` [k] are those in which none of the causes was found: the cause that was looked for may be any.
    """

    meters: Array
    times: Array
    found: Array
    nothing: Array


def _counted(book: RuleBook, cases: Iterable[ClosedCase], figures: _Figures) -> _Counted:
    fields = sorted(_fields(book))
    counts: Counter[tuple[tuple[Value | None, ...], str]] = Counter()
    sheets: dict[tuple[Value | None, ...], DataSheet] = {}
    for case in cases:
        key = tuple(case.data_sheet.get(name) for name in fields)
        sheets.setdefault(key, case.data_sheet)
        counts[key, _came_of(book, case)] += 1
    kinds = {key: number for number, key in enumerate(sheets)}
    meters = np.array([_parts(book, sheet, figures) for sheet in sheets.values()]).reshape(-1, len(figures.values))
    times, nothing = np.zeros(len(kinds)), np.zeros(len(kinds))
    found = np.zeros((len(kinds), len(figures.values)))
    of_cause = {name: np.array([cause == name for cause in figures.causes]) for _, name in counts}
    for (key, cause), count in counts.items():
        kind = kinds[key]
        there = of_cause[cause] & (meters[kind] > 0)
        times[kind] += count
        if there.any():
            found[kind, there] += count
        else:
            nothing[kind] += count
    return _Counted(meters, times, found, nothing)


def _came_of(book: RuleBook, case: ClosedCase) -> str:
    """Return the cause that a case counts for; one that no rule book lists counts for what stands for these."""
    if case.outcome == "found":
        return case.cause
    unlisted = [cause.id for cause in book.causes.values() if cause.shows_others]
    return unlisted[0] if case.outcome == "not listed" and len(unlisted) == 1 else ""


def _fields(book: RuleBook) -> set[str]:
    rows = (row.where for cause in book.causes.values() for row in cause.frequency_where)
    return set().union(*(cause.applies for cause in book.causes.values()), *rows)


def _parts(book: RuleBook, sheet: DataSheet, figures: _Figures) -> Array:
    """Return how much each figure counts on a meter [f]."""
    counts = {
        (cause.id, (number + 1) % (len(cause.frequency_where) + 1)): part
        for cause in book.causes.values()
        for number, part in enumerate(parts_on(book, cause, sheet))
    }
    return np.array([counts[key] for key in zip(figures.causes, figures.rows, strict=True)])


def _settled(counted: _Counted, figures: _Figures, shape: Array, rate: Array) -> tuple[Array, Array]:
    """Return how often each figure was the one that held [f], and the figures [f], once neither changes any more.

    In vain counts as a further cause that is on no list: so it takes nothing from one cause more than from another.
    """
    values, in_vain = figures.values.copy(), 0.0
    found = np.zeros_like(values)
    names, of_cause = np.unique(np.array(figures.causes), return_inverse=True)
    for _ in range(ROUNDS):
        here = counted.meters * values
        by_cause = np.stack([np.bincount(of_cause, row, len(names)) for row in here]) if len(here) else here
        shares = np.divide(here, by_cause[:, of_cause], out=np.zeros_like(here), where=here > 0) if len(here) else here
        found = (counted.found * shares).sum(axis=0)
        total = here.sum(axis=1) + in_vain
        weight = np.divide(counted.times, total, out=np.zeros_like(total), where=total > 0)
        exposed = rate + counted.meters.T @ weight
        after = np.divide(shape + found, exposed, out=values.copy(), where=exposed > 0)
        in_vain = float(counted.nothing.sum() / (rate.max() + weight.sum())) if counted.nothing.any() else 0.0
        done = np.allclose(after, values, rtol=STILL, atol=0.0)
        values = after
        if done:
            break
    return found, values
