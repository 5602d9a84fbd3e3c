"""How often a cause comes on one meter, by its data sheet and by what was found on it before.

What nobody has told of a meter is averaged over its shares.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import product

from diagnose.reasoning.steps import told_words
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.faults import Cause
from diagnose.rule_book.quantities import AND_MORE, DataSheet, Quantity, Value

Words = frozenset[str]


def frequency_on(rule_book: RuleBook, cause: Cause, data_sheet: DataSheet) -> float:
    """Return how often a cause comes on a meter with this data sheet, as a share relative to other causes.

    The first row of ``frequency_where`` that holds counts, else ``frequency``; zero where the cause cannot be at all.
    """
    figures = (*(row.frequency for row in cause.frequency_where), cause.frequency)
    return sum(map(math.prod, zip(parts_on(rule_book, cause, data_sheet), figures, strict=True)))


def parts_on(rule_book: RuleBook, cause: Cause, data_sheet: DataSheet) -> tuple[float, ...]:
    """Return how much each figure of a cause counts on a meter: each row of ``frequency_where``, ``frequency`` last.

    They are the shares of such meters on which this figure is the one that holds; together at most 1.
    """
    named = dict.fromkeys(name for where in _conditions(cause) for name in where)
    fields = [_possible(rule_book.quantities.get(name), data_sheet.get(name), _words_of(cause, name)) for name in named]
    parts = [0.0] * (len(cause.frequency_where) + 1)
    for each in product(*fields):
        told = dict(zip(named, (words for _, words in each), strict=True))
        if _holds(cause.applies, told, unknown=True):
            parts[_that_holds(cause, told)] += math.prod(share for share, _ in each)
    return tuple(parts)


def come_back(times: float, found: int, of: int, share: float) -> float:
    """Return by how much a cause is more frequent on a meter on which it was ``found`` in so many ``of`` its cases.

    Meters of one kind are not alike: how often a cause comes on one of them is taken to vary about the ``share`` that
    it has elsewhere as a gamma distribution (Greenwood and Yule 1920, from memory), so wide that a cause found once is
    ``times`` as frequent there. Where it was often looked for in vain it is a little less frequent.

    >>> come_back(3, 1, 1, 0.0), come_back(3, 2, 2, 0.0), come_back(1, 5, 5, 0.1)
    (3.0, 5.0, 1.0)
    """
    if times <= 1:
        return 1.0
    shape = 1 / (times - 1)
    return (shape + found) / (shape + of * share)


def _conditions(cause: Cause) -> tuple[Mapping[str, tuple[str, ...]], ...]:
    return (cause.applies, *(row.where for row in cause.frequency_where))


def _words_of(cause: Cause, field: str) -> Words:
    """Return the words of a field on which the frequency of a cause hangs."""
    return frozenset(word for where in _conditions(cause) for word in where.get(field, ()))


def _that_holds(cause: Cause, told: Mapping[str, Words | None]) -> int:
    """Return the number of the first row that holds; -1, the figure for all other meters, where none does."""
    rows = (number for number, row in enumerate(cause.frequency_where) if _holds(row.where, told, unknown=False))
    return next(rows, -1)


def _holds(where: Mapping[str, tuple[str, ...]], told: Mapping[str, Words | None], unknown: bool) -> bool:
    """Tell whether every field has one of its words; ``unknown`` says what a field counts of which nothing is known."""
    fields = ((told[name], words) for name, words in where.items())
    return all(unknown if known is None else not known.isdisjoint(words) for known, words in fields)


def _possible(field: Quantity | None, value: Value | None, matter: Words) -> list[tuple[float, Words | None]]:
    """Return what may be true of a field, with the share of meters of which it is, of the words that ``matter``.

    ``None`` stands for a field of which neither the data sheet nor the shares say anything.
    """
    told = told_words(value) - {AND_MORE} if value is not None else frozenset()
    complete = value is not None and AND_MORE not in told_words(value)
    if complete or field is None or not field.shares:
        return [(1.0, told if value is not None else None)]
    if field.several or told:
        return list(_some_of(told, {word: field.shares.get(word, 0.0) for word in sorted(matter - told)}))
    each = [(field.shares.get(word, 0.0), frozenset({word})) for word in sorted(matter)]
    rest = max(0.0, 1.0 - sum(share for share, _ in each))
    return [*each, (rest, frozenset())]


def _some_of(told: Words, shares: Mapping[str, float]) -> Iterator[tuple[float, Words | None]]:
    """Yield every set of words that may be true beside those told, each word by itself as often as its share."""
    for mask in product((True, False), repeat=len(shares)):
        words = frozenset(word for word, there in zip(shares, mask, strict=True) if there)
        yield math.prod(shares[word] if word in words else 1 - shares[word] for word in shares), told | words
