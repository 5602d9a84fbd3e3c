"""What a meter with an invented fault shows: answers to checks, and what remedies do to it.

Findings are drawn from the model when somebody first looks: a noisy-OR of the causes with a leak, what inference rules
say follows, at most one of alternatives. It is kept which cause makes a finding show, so that a finding goes when its
last cause is put right; history stays.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import prod
from random import Random
from typing import Literal

from diagnose.authoring.faults import Fault
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.work import Check, Remedy

Verdict = Literal["cured", "partly", "not cured"]
"""What may come of a remedy."""

LEAK = ""
"""Stands among the makers of a finding that shows without any of the causes."""

MISFIT = 1e-6
"""Weight of an answer that says the opposite of what shows: given only where no answer of a check fits altogether."""


class World:
    """One meter with its fault, as it is and not as somebody believes."""

    def __init__(self, engine: Engine, fault: Fault) -> None:
        self.engine = engine
        self.rule_book = engine.rule_book
        self.fault = fault
        self.open = list(fault.causes)
        self._makers: dict[str, frozenset[str]] = {}
        self._settle(dict.fromkeys(fault.complaint, True), fault.chance("complaint"))

    def shows(self, name: str) -> bool | None:
        """Tell whether a finding shows; None when nobody has looked yet."""
        makers = self._makers.get(name)
        return None if makers is None else bool(makers & {LEAK, *self._causes(name)})

    def outcome(self, check: Check, chance: Random) -> Mapping[str, bool]:
        """Return what a check finds: one of what its outcomes set, drawn by how well each fits.

        A check that only measures finds each of the findings that rules may conclude from its quantity.
        """
        possible = outcomes_of(self.engine, check)
        missed = self._comes_too_late(check, chance)
        if missed is not None:
            return missed
        if check.outcomes:
            drawn = chance.choices(possible, [max(self._fit(each), 1e-300) for each in possible])[0]
        else:
            drawn = {}
            for name in possible[0]:
                excluded = any(drawn.get(other) for other in self._alternatives(name))
                drawn[name] = not excluded and chance.random() < self._probability(name)
        self._settle(drawn, chance)
        return drawn

    def _comes_too_late(self, check: Check, chance: Random) -> Mapping[str, bool] | None:
        """Return what a look finds while a fault that comes and goes is gone; None when it is there.

        Nothing of that is kept: the next look may meet the fault.
        """
        share = self.rule_book.settings.seen_while_it_shows
        if not self.fault.comes_and_goes or check.id not in self.engine.momentary or chance.random() < share:
            return None
        well = {name: self.rule_book.findings[name].leak for each in outcomes_of(self.engine, check) for name in each}
        weights = [
            prod((well[name] if present else 1 - well[name]) for name, present in outcome.items())
            for outcome in outcomes_of(self.engine, check)
        ]
        return chance.choices(outcomes_of(self.engine, check), weights)[0]

    def try_remedy(self, remedy: Remedy, chance: Random) -> Verdict:
        """Carry a remedy out; return whether it cured the fault, a part of it, or nothing."""
        helped = {each.id for each in self.rule_book.helped_by(remedy.id)}
        right = [name for name in self.open if name in helped]
        if not right or chance.random() >= remedy.works:
            return "not cured"
        self.open = [name for name in self.open if name not in right]
        return "partly" if self.open else "cured"

    def _causes(self, name: str) -> Sequence[str]:
        return self.fault.causes if self.rule_book.findings[name].lasts else self.open

    def _alternatives(self, name: str) -> list[str]:
        word = self.rule_book.findings[name].alternatives
        every = self.rule_book.findings.values()
        return [each.id for each in every if word and each.alternatives == word and each.id != name]

    def _strengths(self, name: str) -> dict[str, float]:
        shown = {cause: self.rule_book.causes[cause].shows.get(name, 0.0) for cause in self._causes(name)}
        return {LEAK: self.rule_book.findings[name].leak, **shown}

    def _probability(self, name: str) -> float:
        """Return how probable it is that a finding shows; certain once somebody has looked."""
        known = self.shows(name)
        if known is not None:
            return float(known)
        return 1 - prod(1 - strength for strength in self._strengths(name).values())

    def _fit(self, outcome: Mapping[str, bool]) -> float:
        fit = 1.0
        for name, present in outcome.items():
            share = self._probability(name)
            known = self.shows(name) is not None
            fit *= max(share if present else 1 - share, MISFIT if known else 0.0)
        return fit

    def _settle(self, found: Mapping[str, bool], chance: Random) -> None:
        """Keep which findings show and which do not, who makes them, and what follows; what was known stands."""
        for name, present in found.items():
            self._keep(name, present, chance)
        if not self.engine.touched_by_rules.isdisjoint(found):
            seen = {name: bool(self.shows(name)) for name in self._makers}
            for name, present in sorted(self.engine.consequences(seen, {}).findings.items()):
                self._keep(name, present, chance)

    def _keep(self, name: str, present: bool, chance: Random) -> None:
        if name in self._makers:
            return
        self._makers[name] = self._draw_makers(name, chance) if present else frozenset()
        for other in self._alternatives(name) if present else ():
            self._makers.setdefault(other, frozenset())

    def _draw_makers(self, name: str, chance: Random) -> frozenset[str]:
        """Return who makes a finding show, given that somebody does."""
        strengths = self._strengths(name)
        drawn = frozenset(maker for maker, strength in strengths.items() if chance.random() < strength)
        return drawn or frozenset(chance.choices(list(strengths), [each + 1e-12 for each in strengths.values()]))


def outcomes_of(engine: Engine, check: Check) -> Sequence[Mapping[str, bool]]:
    """Return what each outcome of a check sets, those left out that say nothing."""
    return engine.outcomes[check.id]
