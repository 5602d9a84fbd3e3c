"""Somebody at a meter with an invented fault, who looks, answers, and now and then answers wrong."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.authoring.faults import Fault, draw_complaint
from diagnose.authoring.world import Verdict, World, outcomes_of
from diagnose.observations import CheckDone, FindingSeen, Observation, RemedyTried
from diagnose.rule_book.types import Check, Remedy, RuleBook

VERDICTS: tuple[Verdict, ...] = ("cured", "partly", "not cured")


class Person:
    """One person at one meter; ``wrong`` is the share of answers that are another outcome at random.

    Whether an answer is wrong hangs on the fault and the check alone, so that two ways of working meet the same
    answers. A remedy that cured and is taken for one that did not counts as not done: the fault stays.
    """

    def __init__(self, rule_book: RuleBook, fault: Fault, wrong: float) -> None:
        self.rule_book = rule_book
        self.fault = fault
        self.wrong = wrong
        self.world = World(rule_book, fault)
        self.wrong_answers = self.wrong_results = 0
        self._tries = 0

    def complaint(self) -> list[Observation]:
        """Return what the person comes with."""
        return [FindingSeen(finding=name, present=True) for name in self.fault.complaint]

    def look(self, check: Check) -> list[Observation]:
        """Do a check and say what it found."""
        chance = self.fault.chance("check", check.id, str(len(self.world.open)))
        found = self.world.outcome(check, chance)
        others = [each for each in outcomes_of(self.rule_book, check) if each != found]
        if others and chance.random() < self.wrong:
            found = chance.choice(others)
            self.wrong_answers += 1
        return self._said(check, found)

    def _said(self, check: Check, found: Mapping[str, bool]) -> list[Observation]:
        if not check.outcomes:
            return [FindingSeen(finding=name, present=present) for name, present in found.items()]
        telling = [outcome for outcome in check.outcomes if outcome.present or outcome.absent]
        number = list(outcomes_of(self.rule_book, check)).index(found)
        return [CheckDone(check=check.id, answer=telling[number].answer)]

    def repair(self, remedy: Remedy) -> list[Observation]:
        """Carry a remedy out, prove it, and say what came of it; when something is still wrong, what."""
        self._tries += 1
        chance = self.fault.chance("remedy", remedy.id, str(self._tries))
        before = list(self.world.open)
        true = self.world.try_remedy(remedy, chance)
        said = chance.choice([word for word in VERDICTS if word != true]) if chance.random() < self.wrong else true
        if said != true:
            self.world.open = before
            self.wrong_results += 1
        observations: list[Observation] = [RemedyTried(remedy=remedy.id, verdict=said)]
        if said == "partly":
            causes = [self.rule_book.causes[name] for name in self.world.open]
            names = draw_complaint(self.rule_book, causes, chance)
            observations += [FindingSeen(finding=name, present=True) for name in names]
        return observations
