"""What steps take: minutes, changes of state, exposure, call-out, from every way the plant may stand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diagnose.observations import State
from diagnose.reasoning.planning import Array, Index, Tasks
from diagnose.reasoning.steps import (
    Way,
    allowed,
    exposure_minutes,
    hazards_of,
    raised_where_it_stands,
    standing_after,
    way_for,
)
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import DataSheet
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
class _Row:
    """What every remedy takes from one way of standing, call-out included where it may not be done."""

    minutes: Array
    after: Index
    blocked: npt.NDArray[np.bool_]


class Costs:
    """What steps take on one meter for one person; remembers what it has worked out."""

    def __init__(self, rule_book: RuleBook, data_sheet: DataSheet, state: State) -> None:
        self._rule_book = rule_book
        self._data_sheet = data_sheet
        self._person = State(competence=state.competence, missing_tools=state.missing_tools)
        self._standings: list[dict[str, str]] = []
        self._raised: list[frozenset[str]] = []
        self._exposed: dict[tuple[frozenset[str], frozenset[str], int, int], float] = {}
        self._numbers: dict[tuple[tuple[str, str], ...], int] = {}
        self._known: dict[tuple[str, str, int], Cost] = {}
        self._remedies = list(rule_book.remedies.values())
        self._rows: dict[int, _Row] = {}
        self._call_out = rule_book.settings.call_out_minutes

    def number(self, standing: Mapping[str, str]) -> int:
        """Return the number by which a state of the plant is known."""
        key = tuple(sorted(standing.items()))
        if key not in self._numbers:
            self._numbers[key] = len(self._standings)
            self._standings.append(dict(standing))
            self._raised.append(raised_where_it_stands(self._rule_book, standing, self._data_sheet))
        return self._numbers[key]

    def of(self, step: Step, start: int) -> Cost:
        """Return what a step takes from a way of standing: itself, changes of state, exposure."""
        key = (type(step).__name__, step.id, start)
        if key not in self._known:
            self._known[key] = self._work_out(step, start)
        return self._known[key]

    def _work_out(self, step: Step, start: int) -> Cost:
        book, sheet, standing = self._rule_book, self._data_sheet, self._standings[start]
        way = way_for(book, step, standing, sheet)
        after = self.number(standing_after(book, step, way))
        exposure = self._exposure(step, way, self.number(way.standing), start)
        minutes = step.minutes + way.minutes + exposure
        here = State(plant=standing, competence=self._person.competence, missing_tools=self._person.missing_tools)
        may = allowed(book, step, here, sheet) is not None
        if isinstance(step, Remedy):
            minutes += book.checks[step.proved_by].minutes
        return Cost(minutes, after, may, exposes=bool(exposure or way.changes))

    def _exposure(self, step: Step, way: Way, after: int, start: int) -> float:
        """Return the exposure of a step, worked out once for all steps that meet the same in the same states."""
        key = (hazards_of(step, way), frozenset(step.needs), after, start)
        if key not in self._exposed:
            sheet, already = self._data_sheet, self._raised[start]
            self._exposed[key] = exposure_minutes(self._rule_book, step, way, sheet, already)
        return self._exposed[key]

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
