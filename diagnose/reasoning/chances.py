"""How probable each outcome of a check is, under each hypothesis."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from diagnose.reasoning.planning import Array, Index
from diagnose.rule_book.work import Check

Outcomes = Sequence[Mapping[str, bool]]
"""What each outcome of a check sets: findings, present or not."""

CONTRARY = 0.02
"""How probable it is that a check finds the opposite of what is known already (estimate)."""


class Chances:
    """The probabilities that findings show, or do not, under each of k hypotheses; those settled are as they are.

    ``silent`` [k × f] says how probable it is that a finding does not show, ``column`` where it stands there.

    >>> chances = Chances(np.array([[0.1, 1.0], [0.9, 0.5]]), {"dark": 0, "hum": 1}, {})
    >>> (table,) = chances.of([[{"dark": True}, {"dark": False}]])
    >>> table.round(2).tolist()
    [[0.9, 0.1], [0.1, 0.9]]
    """

    def __init__(self, silent: Array, column: Mapping[str, int], settled: Mapping[str, bool]) -> None:
        self._column = column
        self._settled = settled
        self._findings: int = silent.shape[1]
        sure = np.ones((1, len(silent)))
        self._factors = np.concatenate((silent.T, 1 - silent.T, sure, CONTRARY * sure))

    def of(self, checks: Iterable[Outcomes]) -> list[Array]:
        """Return P(outcome | hypothesis) [o × k] for each of some checks, each column summing to one."""
        made = list(checks)
        if not made:
            return []
        rows = [[self._factor(*each) for each in outcome.items()] for outcomes in made for outcome in outcomes]
        table = self._products(rows)
        sizes = [len(outcomes) for outcomes in made]
        firsts = np.concatenate(([0], np.cumsum(sizes)[:-1]))
        table /= np.repeat(np.add.reduceat(table, firsts, axis=0), sizes, axis=0)
        return np.split(table, firsts[1:])

    def of_one_at_most(self, names: Sequence[str]) -> Array:
        """Return P(outcome | hypothesis) [n + 1 × k] where nothing of this is found, or one and nothing else.

        In time that grows with the names, not with their square.
        """
        absent = self._factors[[self._factor(name, False) for name in names]]
        present = self._factors[[self._factor(name, True) for name in names]]
        sure = np.ones((1, absent.shape[1]))
        before = np.cumprod(np.concatenate((sure, absent)), axis=0)
        behind = np.cumprod(np.concatenate((sure, absent[::-1])), axis=0)[::-1]
        table = np.concatenate((before[-1:], before[:-1] * present * behind[1:]))
        return np.asarray(table / table.sum(axis=0))

    def at(self, check: Check, outcomes: Outcomes) -> Array:
        """Return P(outcome | hypothesis) [o × k] of one check."""
        return self.of([outcomes])[0] if check.outcomes else self.of_one_at_most([*outcomes[0]])

    def _factor(self, name: str, present: bool) -> int:
        if name in self._settled:
            return 2 * self._findings + (self._settled[name] != present)
        return self._column[name] + self._findings * present

    def _products(self, rows: Sequence[Sequence[int]]) -> Array:
        """Return the product of the factors of each row; a row seldom has more than two or three."""
        table = np.ones((len(rows), self._factors.shape[1]))
        counts = np.array([len(row) for row in rows], dtype=np.intp)
        for place in range(int(counts.max(initial=0))):
            those: Index = np.flatnonzero(counts > place)
            table[those] *= self._factors[[rows[row][place] for row in those.tolist()]]
        return table
