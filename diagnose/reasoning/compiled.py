"""What is worked out once for a rule book and kept for the process: rules for experta, outcomes, what steps take."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diagnose.observations import State
from diagnose.reasoning.inference import Inference
from diagnose.reasoning.planning import Array, Index, Tasks
from diagnose.reasoning.steps import allowed, exposure_minutes, way_for
from diagnose.rule_book.conditions import names_in
from diagnose.rule_book.types import Check, DataSheet, Remedy, RuleBook, Step


@dataclass(frozen=True)
class Cost:
    """What a step takes from where the plant stands: minutes, how it stands after, and whether it may be done."""

    minutes: float
    after: int
    allowed: bool


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
        self._numbers: dict[tuple[tuple[str, str], ...], int] = {}
        self._known: dict[tuple[str, str, int], Cost] = {}
        self._remedies = list(rule_book.remedies.values())
        self._rows: dict[int, _Row] = {}
        self._call_out = rule_book.settings.call_out_minutes

    def number(self, standing: Mapping[str, str]) -> int:
        """Return the number by which a way of standing goes."""
        key = tuple(sorted(standing.items()))
        if key not in self._numbers:
            self._numbers[key] = len(self._standings)
            self._standings.append(dict(standing))
        return self._numbers[key]

    def of(self, step: Step, start: int) -> Cost:
        """Return what a step takes from a way of standing: itself, changes of state, exposure."""
        key = (type(step).__name__, step.id, start)
        if key not in self._known:
            self._known[key] = self._work_out(step, self._standings[start])
        return self._known[key]

    def _work_out(self, step: Step, standing: dict[str, str]) -> Cost:
        book, sheet = self._rule_book, self._data_sheet
        way = way_for(book, step, standing, sheet)
        minutes = step.minutes + way.minutes + exposure_minutes(book, step, way, standing, sheet)
        here = State(plant=standing, competence=self._person.competence, missing_tools=self._person.missing_tools)
        may = allowed(book, step, here, sheet) is not None
        if isinstance(step, Remedy):
            minutes += book.checks[step.proved_by].minutes
        return Cost(minutes, self.number(way.standing), may)

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


class Compiled:
    """A rule book with everything that follows from it alone."""

    def __init__(self, rule_book: RuleBook) -> None:
        self.rule_book = rule_book
        self.inference = Inference(rule_book.inference, rules_by_plan(rule_book))
        self.concluded = _concluded(rule_book)
        self.outcomes = {check.id: self._outcomes_of(check) for check in rule_book.checks.values()}
        self.held_against = _held_against(rule_book)
        self._costs: list[tuple[DataSheet, State, Costs]] = []

    def costs(self, data_sheet: DataSheet, state: State) -> Costs:
        """Return what steps take on this meter for this person."""
        for sheet, person, costs in self._costs:
            if sheet == data_sheet and _same_person(person, state):
                return costs
        costs = Costs(self.rule_book, dict(data_sheet), state)
        self._costs.append((dict(data_sheet), state, costs))
        del self._costs[:-8]
        return costs

    def _outcomes_of(self, check: Check) -> tuple[dict[str, bool], ...]:
        """Return what each outcome of a check sets; one that sets nothing ("cannot tell") is no outcome.

        For a check that only measures: each finding that rules may conclude from the quantity, alone, and none.
        """
        if check.outcomes:
            return tuple(
                {**dict.fromkeys(each.absent, False), **dict.fromkeys(each.present, True)}
                for each in check.outcomes
                if each.present or each.absent
            )
        nothing = dict.fromkeys(self.concluded.get(check.measures, ()), False)
        return (nothing, *({**nothing, name: True} for name in nothing))


def _same_person(one: State, other: State) -> bool:
    return one.competence == other.competence and one.missing_tools == other.missing_tools


def _concluded(rule_book: RuleBook) -> dict[str, tuple[str, ...]]:
    """Return for each quantity the findings that rules may conclude from it or from what is calculated with it."""
    direct: dict[str, set[str]] = {name: set() for name in rule_book.quantities}
    for rule in rule_book.inference.values():
        for name in names_in(rule.when)[1]:
            direct[name] |= {*rule.present, *rule.absent}
    feeds: dict[str, list[str]] = {name: [] for name in rule_book.quantities}
    for quantity in rule_book.quantities.values():
        for source in quantity.calculate.inputs.values() if quantity.calculate else ():
            if source in feeds:
                feeds[source].append(quantity.id)

    def reached(name: str) -> set[str]:
        return direct[name].union(*(reached(each) for each in feeds[name]))

    return {name: tuple(sorted(reached(name))) for name in rule_book.quantities}


def rules_by_plan(rule_book: RuleBook) -> frozenset[str]:
    """Return the rules that rest on the data sheet alone."""
    fields = rule_book.data_sheet_fields()

    def planned(name: str) -> bool:
        quantity = rule_book.quantities.get(name)
        if name in fields or quantity is None:  # not a quantity: a figure that stands in the rule book
            return True
        return quantity.calculate is not None and all(map(planned, quantity.calculate.inputs.values()))

    return frozenset(
        rule.id
        for rule in rule_book.inference.values()
        if not names_in(rule.when)[0] and all(map(planned, names_in(rule.when)[1]))
    )


def _held_against(rule_book: RuleBook) -> dict[str, tuple[str, ...]]:
    """Return for each quantity the data-sheet fields that some rule holds it against."""
    found: dict[str, set[str]] = {name: set() for name in rule_book.quantities}
    for rule in rule_book.inference.values():
        names = names_in(rule.when)[1]
        fields = {name for name in names if rule_book.quantities[name].where_to_find}
        for name in names - fields:
            found[name] |= fields
    return {name: tuple(sorted(fields)) for name, fields in found.items()}


_kept: list[Compiled] = []


def compiled(rule_book: RuleBook) -> Compiled:
    """Return what follows from a rule book, worked out once per process."""
    for each in _kept:
        if each.rule_book is rule_book:
            return each
    fresh = Compiled(rule_book)
    _kept.append(fresh)
    del _kept[:-4]
    return fresh
