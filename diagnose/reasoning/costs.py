"""What steps take: minutes, changes of state, exposure, call-out, from every way the plant may stand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

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
    """What all remedies take from one way of standing, as far as it is ``known`` [r]."""

    known: npt.NDArray[np.bool_]
    minutes: Array
    after: Index
    allowed: npt.NDArray[np.bool_]

    @classmethod
    def blank(cls, remedies: int) -> _Row:
        """Return a row of which nothing is known."""
        nothing = np.zeros(remedies, dtype=bool)
        return cls(nothing, np.zeros(remedies), np.zeros(remedies, dtype=np.intp), nothing.copy())


class WaysThere:
    """What is before steps on meters whose dangers are alike, for people who may do and avoid the same."""

    def __init__(self, dangers: Dangers, person: State) -> None:
        self._dangers = dangers
        self._person = person
        self._standings: list[dict[str, str]] = []
        self._raised: list[frozenset[str]] = []
        self._numbers: dict[tuple[tuple[str, str], ...], int] = {}
        self._known: dict[_AlikeFrom, _WayThere] = {}

    @classmethod
    def of(cls, dangers: Dangers, person: State) -> WaysThere:
        """Return the ways that meters and people share that are alike in what they hang on."""
        key = person.competence, person.avoided
        if key not in dangers.memory.ways:
            dangers.memory.ways[key] = cls(dangers, person)
        return dangers.memory.ways[key]

    def number(self, standing: Mapping[str, str]) -> int:
        """Return the number by which a state of the plant is known."""
        key = tuple(sorted(standing.items()))
        if key not in self._numbers:
            self._numbers[key] = len(self._standings)
            self._standings.append(dict(standing))
            self._raised.append(self._dangers.raised_where_it_stands(standing))
        return self._numbers[key]

    def to(self, step: Step, start: int) -> _WayThere:
        """Return what is before a step from a way of standing."""
        key = step.competence, step.meets, tuple(step.needs.items()), tuple(step.leaves.items()), start
        if key not in self._known:
            self._known[key] = self._worked_out(step, start)
        return self._known[key]

    def _worked_out(self, step: Step, start: int) -> _WayThere:
        dangers = self._dangers
        way = dangers.way(step, self._standings[start])
        after = self.number(standing_after(dangers.rule_book, step, way))
        exposure = dangers.exposure_minutes(step, way, self._raised[start])
        may = dangers.may(step, way, self._person)
        return _WayThere(way.minutes + exposure, after, may, exposes=bool(exposure or way.changes))


class Costs:
    """What steps take on one meter for one person; remembers what it has worked out."""

    def __init__(self, dangers: Dangers, person: State) -> None:
        self._rule_book = dangers.rule_book
        self._ways = WaysThere.of(dangers, person)
        self._in_place = {
            step.id: dangers.in_place(step, person)
            for step in (*dangers.rule_book.checks.values(), *dangers.rule_book.remedies.values())
        }
        self._known: dict[tuple[str, str, int], Cost] = {}
        self._rows: dict[int, _Row] = {}
        self._remedies = list(dangers.rule_book.remedies.values())
        self._call_out = dangers.rule_book.settings.call_out_minutes

    def number(self, standing: Mapping[str, str]) -> int:
        """Return the number by which a state of the plant is known."""
        return self._ways.number(standing)

    def of(self, step: Step, start: int) -> Cost:
        """Return what a step takes from a way of standing: itself, changes of state, exposure."""
        key = (type(step).__name__, step.id, start)
        if key not in self._known:
            self._known[key] = self._work_out(step, start)
        return self._known[key]

    def _work_out(self, step: Step, start: int) -> Cost:
        there = self._ways.to(step, start)
        minutes = step.minutes + there.minutes
        if isinstance(step, Remedy):
            minutes += self._rule_book.checks[step.proved_by].minutes
        return Cost(minutes, there.after, there.allowed and self._in_place[step.id], there.exposes)

    def tasks(self, starts: Sequence[int], set_aside: Sequence[str], wanted: Index | None = None) -> Tasks:
        """Return all remedies as tasks for planning, from every way of standing that may come up.

        One that may not be done here, or was set aside, takes a call-out more. Only those ``wanted`` (their numbers;
        all, if not given) are worked out; the others stand there with a minute each.
        """
        numbers = np.arange(len(self._remedies)) if wanted is None else np.asarray(wanted)
        reached = self._rows_reached(starts, numbers)
        minutes = np.ones((max(reached) + 1, len(self._remedies)))
        after: Index = np.zeros(minutes.shape, dtype=np.intp)
        aside = np.array([each.id in set_aside for each in self._remedies])
        for start in reached:
            row = self._rows[start]
            blocked = aside[numbers] | ~row.allowed[numbers]
            minutes[start, numbers] = row.minutes[numbers] + np.where(blocked, self._call_out, 0.0)
            after[start, numbers] = row.after[numbers]
        needless = self._rule_book.settings.needless_remedy_minutes
        return Tasks(minutes, after, self._hand_over(starts[0], set_aside), needless)

    def _rows_reached(self, starts: Sequence[int], numbers: Index) -> set[int]:
        """Return how the plant may stand, at first or after any of these remedies, and work out those rows."""
        waiting, reached = list(starts), set[int]()
        while waiting:
            start = waiting.pop()
            if start not in reached:
                reached.add(start)
                waiting += self._row(start, numbers).after[numbers].tolist()
        return reached

    def _row(self, start: int, numbers: Index) -> _Row:
        """Return what remedies take from a way of standing; these at least are worked out."""
        row = self._rows.setdefault(start, _Row.blank(len(self._remedies)))
        for number in numbers[~row.known[numbers]].tolist():
            cost = self.of(self._remedies[number], start)
            row.known[number], row.allowed[number] = True, cost.allowed
            row.minutes[number], row.after[number] = cost.minutes, cost.after
        return row

    def _hand_over(self, start: int, set_aside: Sequence[str]) -> float | None:
        """Return what handing over takes: the least minutes of a remedy that only fetches somebody."""
        fetching = [self._with_call_out(each, start, set_aside) for each in self._remedies if each.escalates]
        return min(fetching, default=None)

    def _with_call_out(self, remedy: Remedy, start: int, set_aside: Sequence[str]) -> float:
        cost = self.of(remedy, start)
        return cost.minutes + (self._call_out if remedy.id in set_aside or not cost.allowed else 0.0)
