"""What steps take: minutes, changes of state, exposure, call-out, from every way the plant may stand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import msgspec
import numpy as np
import numpy.typing as npt

from diagnose.observations import State
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.planning import Array, Index, Tasks
from diagnose.reasoning.steps import standing_after
from diagnose.rule_book.work import Remedy, Step


@dataclass(frozen=True)
class Cost:
    """What a step takes from the plant's present state: minutes, the state after it, and whether it may be done.

    ``exposes`` says that it brings somebody nearer to a hazard, or changes the state of the plant.
    """

    minutes: float
    after: int
    allowed: bool
    exposes: bool = False


@dataclass(frozen=True)
class _WayThere:
    """What is before all steps that are alike in what they meet and need: minutes, how it stands after, if allowed."""

    minutes: float
    after: int
    allowed: bool
    exposes: bool


_States = tuple[tuple[str, tuple[str, ...]], ...]
_AlikeFrom = tuple[str, tuple[str, ...], _States, tuple[tuple[str, str], ...], int]
"""Competence, hazards met, states needed, states left otherwise, and from where."""


@dataclass(frozen=True)
class _Row:
    """What every remedy takes from one way of standing, call-out included where it may not be done."""

    minutes: Array
    after: Index
    blocked: npt.NDArray[np.bool_]


class Costs:
    """What steps take on one meter for one person; remembers what it has worked out."""

    def __init__(self, dangers: Dangers, state: State) -> None:
        self._rule_book = dangers.rule_book
        self._dangers = dangers
        self._person = msgspec.structs.replace(state, plant={}, set_aside=())
        self._standings: list[dict[str, str]] = []
        self._raised: list[frozenset[str]] = []
        self._known_ways: dict[_AlikeFrom, _WayThere] = {}
        self._in_place = {
            step.id: dangers.in_place(step, self._person)
            for step in (*dangers.rule_book.checks.values(), *dangers.rule_book.remedies.values())
        }
        self._numbers: dict[tuple[tuple[str, str], ...], int] = {}
        self._known: dict[tuple[str, str, int], Cost] = {}
        self._remedies = list(dangers.rule_book.remedies.values())
        self._rows: dict[int, _Row] = {}
        self._call_out = dangers.rule_book.settings.call_out_minutes

    def number(self, standing: Mapping[str, str]) -> int:
        """Return the number by which a state of the plant is known."""
        key = tuple(sorted(standing.items()))
        if key not in self._numbers:
            self._numbers[key] = len(self._standings)
            self._standings.append(dict(standing))
            self._raised.append(self._dangers.raised_where_it_stands(standing))
        return self._numbers[key]

    def of(self, step: Step, start: int) -> Cost:
        """Return what a step takes from a way of standing: itself, changes of state, exposure."""
        key = (type(step).__name__, step.id, start)
        if key not in self._known:
            self._known[key] = self._work_out(step, start)
        return self._known[key]

    def _work_out(self, step: Step, start: int) -> Cost:
        key = step.competence, step.meets, tuple(step.needs.items()), tuple(step.leaves.items()), start
        if key not in self._known_ways:
            self._known_ways[key] = self._way_there(step, start)
        there = self._known_ways[key]
        minutes = step.minutes + there.minutes
        if isinstance(step, Remedy):
            minutes += self._rule_book.checks[step.proved_by].minutes
        return Cost(minutes, there.after, there.allowed and self._in_place[step.id], there.exposes)

    def _way_there(self, step: Step, start: int) -> _WayThere:
        dangers = self._dangers
        way = dangers.way(step, self._standings[start])
        after = self.number(standing_after(self._rule_book, step, way))
        exposure = dangers.exposure_minutes(step, way, self._raised[start])
        may = dangers.may(step, way, self._person)
        return _WayThere(way.minutes + exposure, after, may, exposes=bool(exposure or way.changes))

    def tasks(self, starts: Sequence[int], set_aside: Sequence[str]) -> Tasks:
        """Return all remedies as tasks for planning, from every way of standing that may come up.

        One that may not be done here, or was set aside, takes a call-out more.
        """
        waiting, seen = list(starts), set(starts)
        while waiting:
            for standing in set(self._row(waiting.pop()).after.tolist()) - seen:
                seen.add(standing)
                waiting.append(standing)
        size = max(seen) + 1
        minutes = np.ones((size, len(self._remedies)))
        after: Index = np.zeros((size, len(self._remedies)), dtype=np.intp)
        aside = np.array([remedy.id in set_aside for remedy in self._remedies])
        for start in seen:
            row = self._row(start)
            minutes[start] = row.minutes + np.where(aside & ~row.blocked, self._call_out, 0.0)
            after[start] = row.after
        needless = self._rule_book.settings.needless_remedy_minutes
        return Tasks(minutes, after, self._hand_over(minutes[starts[0]]), needless)

    def _hand_over(self, minutes: Array) -> float | None:
        """Return what handing over takes: the least minutes of a remedy that only fetches somebody."""
        fetching = [minutes[number] for number, remedy in enumerate(self._remedies) if remedy.escalates]
        return float(min(fetching)) if fetching else None

    def _row(self, start: int) -> _Row:
        """Return what every remedy takes from one way of standing."""
        if start not in self._rows:
            costs = [self.of(remedy, start) for remedy in self._remedies]
            blocked = np.array([not cost.allowed for cost in costs])
            minutes = np.array([cost.minutes for cost in costs]) + np.where(blocked, self._call_out, 0.0)
            self._rows[start] = _Row(minutes, np.array([cost.after for cost in costs], dtype=np.intp), blocked)
        return self._rows[start]
