"""The measure to beat: the checks of the complaint's family in a fixed order, cheapest first.

The family are the checks that settle a finding which some cause of the complaint shows, as far as this person may do
them on this meter. Whoever follows them knows the whole data sheet, skips what tells nothing new, and stops as soon as
the true cause is at 95 % by the same posterior, or a check finds what only this cause shows: both kinder to the fixed
order than a sheet of paper is. After the last check the remedies are gone through in the order of the posterior, for no
longer than it takes to fetch somebody. A remedy that this person may not carry out here takes a call-out, as it does in
an interview.
"""

from __future__ import annotations

import msgspec
import numpy as np

from diagnose.authoring.faults import Fault
from diagnose.authoring.person import Person
from diagnose.authoring.world import outcomes_of
from diagnose.observations import Observation, State
from diagnose.reasoning.diagnosis import evidence_of
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.evidence import all_values, gather
from diagnose.reasoning.posterior import Network, posterior
from diagnose.reasoning.steps import applies, standing_after, way_to
from diagnose.rule_book.work import Check, Step

FOUND = 0.95
"""A cause that is so probable is acted upon."""

WATCHED = 0.3
"""From here on the cause is weighed after every answer; below, only when something new shows (to save time)."""

SHOWS = 0.5
SHOWN_BY_OTHERS = 0.05
"""A finding decides for a cause that shows it at least half the time when nothing else shows it more than rarely."""


class FixedOrderResult(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How a fixed order went: minutes before the right remedy and with it, checks done, whether a check found it."""

    looking: float
    minutes: float
    checks: int
    found: bool


def follow(engine: Engine, fault: Fault, wrong: float) -> FixedOrderResult:
    """Follow the fixed order for a fault with one cause."""
    return _Follower(engine, fault, wrong).follow()


def family(engine: Engine, fault: Fault) -> list[Check]:
    """Return the checks of a complaint's family in their fixed order."""
    rule_book = engine.rule_book
    causes = [cause for cause in rule_book.causes.values() if applies(cause.applies, fault.sheet)]
    suspected = [cause for cause in causes if any(cause.shows.get(name, 0) > 0 for name in fault.complaint)]
    wanted = {name for cause in suspected for name, strength in cause.shows.items() if strength > 0}
    start = State(competence=fault.competence)
    timed, dangers = [], engine.dangers(fault.sheet)
    for check in rule_book.checks.values():
        way = dangers.allowed(check, start)
        outcomes = outcomes_of(engine, check)
        names = {name for outcome in outcomes for name in outcome}
        if way is not None and not check.only_proves and len(outcomes) > 1 and names & wanted:
            timed.append((check.minutes + way.minutes, check.id))
    return [rule_book.checks[name] for _, name in sorted(timed)]


class _Follower:
    def __init__(self, engine: Engine, fault: Fault, wrong: float) -> None:
        self.engine = engine
        self.rule_book = rule_book = engine.rule_book
        self.fault = fault
        self.cause = rule_book.causes[fault.causes[0]]
        self.person = Person(engine, fault, wrong)
        self.observations: list[Observation] = self.person.complaint()
        self.network: Network = engine.network(fault.sheet)
        self.dangers = engine.dangers(fault.sheet)
        self.state = State(competence=fault.competence)
        self.minutes = 0.0
        self.checks = 0
        self.probabilities: dict[str, float] = {}
        self.known: dict[str, bool] = {}
        self._think()

    def follow(self) -> FixedOrderResult:
        """Do one check after the other until the cause is found."""
        for check in family(self.engine, self.fault):
            if self._tells_nothing(check) or self.dangers.allowed(check, self.state) is None:
                continue
            before = self.known
            self._spend(check)
            self.checks += 1
            self.observations += self.person.look(check)
            self._think()
            if self._is_found(before):
                return self._result(found=True)
        self.minutes += min(self._remedies_in_vain(), self.rule_book.settings.call_out_minutes)
        return self._result(found=False)

    def _think(self) -> None:
        """Weigh what is known; where nothing new shows, only for a cause that may already be about to be found."""
        known = gather(self.rule_book, self.observations)
        values = all_values(self.fault.sheet, known, self.rule_book)
        inferred = self.engine.consequences(known.answers, values)
        news = {name for name, present in inferred.findings.items() if present} - self._present()
        self.known = inferred.findings
        if news or not self.probabilities or self.probabilities[self.cause.id] >= WATCHED:
            result = posterior(self.network, evidence_of(self.rule_book, inferred, known))
            self.probabilities = dict(zip(self.network.causes, result.probabilities.tolist(), strict=True))

    def _present(self) -> set[str]:
        return {name for name, present in self.known.items() if present}

    def _tells_nothing(self, check: Check) -> bool:
        return all(name in self.known for outcome in outcomes_of(self.engine, check) for name in outcome)

    def _is_found(self, before: dict[str, bool]) -> bool:
        news = [name for name in self._present() if name not in before]
        return self.probabilities[self.cause.id] >= FOUND or any(map(self._decides, news))

    def _decides(self, finding: str) -> bool:
        column = self.network.column[finding]
        own = self.network.causes.index(self.cause.id)
        others = np.delete(self.network.named[:, column], own)
        return bool(self.network.named[own, column] >= SHOWS and others.max(initial=0.0) <= SHOWN_BY_OTHERS)

    def _spend(self, step: Step) -> None:
        way = way_to(self.rule_book, self.state.standing(self.rule_book), step.needs)
        self.minutes += step.minutes + way.minutes
        self.state = msgspec.structs.replace(self.state, plant=standing_after(self.rule_book, step, way))

    def _remedies_in_vain(self) -> float:
        """Return the minutes of the remedies that come before the right one."""
        minutes, tried = 0.0, {self.cause.remedy}
        for name in sorted(self.probabilities, key=lambda each: -self.probabilities[each]):
            remedy = self.rule_book.remedies[self.rule_book.causes[name].remedy]
            if remedy.id == self.cause.remedy:
                break
            if remedy.id not in tried:
                tried.add(remedy.id)
                minutes += remedy.minutes + self.rule_book.checks[remedy.proved_by].minutes
        return minutes

    def _result(self, found: bool) -> FixedOrderResult:
        remedy = self.rule_book.remedies[self.cause.remedy]
        if self.dangers.allowed(remedy, self.state) is None:
            self.minutes += self.rule_book.settings.call_out_minutes
        looking = self.minutes
        self._spend(remedy)
        self._spend(self.rule_book.checks[remedy.proved_by])
        back = {name: (state.initial,) for name, state in self.rule_book.states.items()}
        self.minutes += way_to(self.rule_book, self.state.standing(self.rule_book), back).minutes
        return FixedOrderResult(looking=looking, minutes=self.minutes, checks=self.checks, found=found)
