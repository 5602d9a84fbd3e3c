"""Which causes can be told apart by what checks settle.

A table of causes and findings with probabilities has no equal rows, and yet some causes cannot be told apart. *The same
signature* therefore means here: with every check done that applies to both causes and every answer right, whoever takes
the likelier of the two, equally likely before, is still wrong in more than one of twenty (``MOST_WRONG``). For a table
of zeros and ones that is equality of rows. One of twenty, since a cause is acted upon as found at about 95 %.

What a check settles are the findings that its outcomes, or rules on the quantity that it measures, find present or
absent. Competence, minutes and states do not count: the question is what can be known, not what is worth doing. Causes
that no meter can have together (compact, remote) are told apart by the data sheet.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from diagnose.reasoning.engine import Engine
from diagnose.reasoning.steps import applies, contradicts
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.conditions import names_in
from diagnose.rule_book.faults import Cause
from diagnose.rule_book.quantities import DataSheet, Value
from diagnose.rule_book.work import Check

Array = npt.NDArray[np.float64]
Question = tuple[Array, Array]
"""How probable each answer to one question is under one cause and under another."""

MOST_WRONG = 0.05
"""Causes that are taken for each other more often than this have the same signature."""

TELLING = 0.6
"""A check tells two causes apart by a finding that is so much more probable under one (usually against sometimes)."""

_STEP = 0.02
"""Grid, in nepers, on which weights of evidence are added up."""


def confusion(questions: Sequence[Question]) -> float:
    """Return how often the likelier of two causes, by independent answers, is the wrong one.

    Both are equally likely before. One finding that shows in nine of ten under one cause and in one of ten under the
    other misleads in one of ten; three of them, by the majority, in 0.1³ + 3 × 0.1² × 0.9 = 0.028.

    >>> nine_of_ten = (np.array([.9, .1]), np.array([.1, .9]))
    >>> confusion([nine_of_ten]), confusion([nine_of_ten] * 3)
    (0.1, 0.028)
    """
    bound = float(np.prod([np.sqrt(one * other).sum() for one, other in questions]))
    if bound / 2 <= MOST_WRONG / 10:  # the error is at most so much (Bhattacharyya), and nobody asks how much less
        return bound / 2
    return _error([(one, other) for one, other in questions if np.abs(one - other).max() > 1e-6])


def _error(questions: Sequence[Question]) -> float:
    """Return the same by adding up weights of evidence on a grid: half the overlap of the two distributions."""
    first = second = np.ones(1)
    for one, other in questions:
        possible = (one > 0) | (other > 0)
        one, other = one[possible], other[possible]
        with np.errstate(divide="ignore"):
            weight = np.clip(np.log(one) - np.log(other), -50, 50)
        places = np.rint(weight / _STEP).astype(int)
        places -= places.min()
        first, second = _spread(first, one, places), _spread(second, other, places)
    return float(np.minimum(first, second).sum()) / 2


def _spread(shares: Array, answers: Array, places: npt.NDArray[np.int_]) -> Array:
    result = np.zeros(len(shares) + int(places.max()))
    for share, place in zip(answers, places, strict=True):
        result[place : place + len(shares)] += share * shares
    return result


class FaultTable:
    """The causes of a rule book with the probability of every finding under each alone, and what checks settle."""

    def __init__(self, engine: Engine) -> None:
        rule_book = self.rule_book = engine.rule_book
        self.causes = [cause for cause in rule_book.causes.values() if not cause.shows_others]
        self.findings = list(rule_book.findings)
        self._column = {name: number for number, name in enumerate(self.findings)}
        shows = np.array([[cause.shows.get(name, 0.0) for name in self.findings] for cause in self.causes])
        leaks = np.array([finding.leak for finding in rule_book.findings.values()])
        shows = shows.reshape(len(self.causes), len(self.findings))
        self.probable: Array = 1 - (1 - leaks) * (1 - shows)
        self._row = {cause.id: number for number, cause in enumerate(self.causes)}
        self._settles = [(check, _settled_by(check, engine)) for check in rule_book.checks.values()]
        self._by_sheet = _settled_by_sheet(rule_book)
        self._known: dict[tuple[tuple[str, Value], ...], tuple[list[int], list[list[int]]]] = {}

    def settled(self, sheet: DataSheet) -> set[str]:
        """Return the findings that the data sheet and checks that apply may find present as well as absent."""
        sides: dict[bool, set[str]] = {True: set(self._by_sheet[True]), False: set(self._by_sheet[False])}
        for check, found in self._settles:
            if _fits(check, sheet):
                sides[True] |= found[True]
                sides[False] |= found[False]
        return sides[True] & sides[False]

    def confused(self, one: str, other: str) -> bool:
        """Tell whether two causes have the same signature."""
        sheet = sheet_of(self.rule_book, *(self.rule_book.causes[name] for name in (one, other)))
        return sheet is not None and confusion(self.questions(one, other, sheet)) > MOST_WRONG

    def telling(self, one: str, other: str) -> list[str]:
        """Return the checks that tell two causes apart by a single finding; nothing when the data sheet does."""
        sheet = sheet_of(self.rule_book, *(self.rule_book.causes[name] for name in (one, other)))
        apart = np.abs(self.probable[self._row[one]] - self.probable[self._row[other]])
        far = {self.findings[column] for column in np.flatnonzero(apart >= TELLING)}
        return [
            check.id
            for check, found in self._settles
            if sheet is not None and _fits(check, sheet) and far & (found[True] | found[False])
        ]

    def questions(self, one: str, other: str, sheet: DataSheet) -> list[Question]:
        """Return how probable each answer is under two causes, for all that checks settle on such a meter."""
        key = tuple(sorted(sheet.items()))
        if key not in self._known:
            self._known[key] = self._columns(self.settled(sheet))
        single, groups = self._known[key]
        here, there = self.probable[self._row[one]], self.probable[self._row[other]]
        alone = [
            (np.array([here[each], 1 - here[each]]), np.array([there[each], 1 - there[each]]))
            for each in single
            if here[each] != there[each]
        ]
        return [*alone, *((_exclusive(here[group]), _exclusive(there[group])) for group in groups)]

    def _columns(self, settled: set[str]) -> tuple[list[int], list[list[int]]]:
        """Return the columns of findings by themselves, and those of alternatives together."""
        single: list[int] = []
        groups: dict[str, list[int]] = {}
        for name in sorted(settled):
            word = self.rule_book.findings[name].alternatives
            if word:
                groups.setdefault(word, []).append(self._column[name])
            else:
                single.append(self._column[name])
        return single, list(groups.values())


def _exclusive(probable: Array) -> Array:
    """Return how probable each of some alternatives is, and none, when at most one may show."""
    odds = probable / np.maximum(1 - probable, 1e-9)
    return np.asarray(np.append(odds, 1.0) / (odds.sum() + 1.0))


def _settled_by(check: Check, known: Engine) -> dict[bool, set[str]]:
    found = {
        True: {name for outcome in check.outcomes for name in outcome.present},
        False: {name for outcome in check.outcomes for name in outcome.absent},
    }
    for name in known.concluded.get(check.measures, ()):
        for rule in known.rule_book.inference.values():
            found[True] |= {name} & set(rule.present)
            found[False] |= {name} & set(rule.absent)
    return found


def _settled_by_sheet(rule_book: RuleBook) -> dict[bool, set[str]]:
    """Return what rules conclude from fields of the data sheet alone."""
    fields = rule_book.data_sheet_fields()
    found: dict[bool, set[str]] = {True: set(), False: set()}
    for rule in rule_book.inference.values():
        findings, quantities = names_in(rule.when)
        if not findings and quantities <= fields.keys():
            found[True] |= set(rule.present)
            found[False] |= set(rule.absent)
    return found


def _fits(check: Check, sheet: DataSheet) -> bool:
    return applies(check.applies, sheet) and not contradicts(check.not_when, sheet)


def sheet_of(rule_book: RuleBook, *causes: Cause) -> DataSheet | None:
    """Return what is certain of a meter that may have any of these causes; None when there is no such meter."""
    sheet: DataSheet = {}
    for name in {name for cause in causes for name in cause.applies}:
        wanted = [set(cause.applies[name]) for cause in causes if name in cause.applies]
        if rule_book.quantities[name].several:
            sheet[name] = tuple(sorted(set().union(*wanted)))
            continue
        words = set.intersection(*wanted)
        if not words:
            return None
        if len(words) == 1:
            sheet[name] = words.pop()
    return sheet
