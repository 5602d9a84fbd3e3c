"""From the rule book and what is known to the numbers that planning needs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from diagnose.observations import State
from diagnose.reasoning.chances import Chances, Outcomes
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.evidence import KnownFacts
from diagnose.reasoning.hypotheses import Hypotheses
from diagnose.reasoning.inference import Conclusions
from diagnose.reasoning.planning import Array, Index, Option, distinct
from diagnose.reasoning.posterior import Network
from diagnose.reasoning.steps import Way
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.conditions import names_in
from diagnose.rule_book.quantities import DataSheet, Value
from diagnose.rule_book.work import Check, Remedy, Step, Work

SPEAKS_FOR = 2.0
"""A finding speaks for a cause that shows it so many times as often as it shows without one (estimate)."""

RULES_OUT = 0.8
"""A cause is ruled out by the absence of what it shows with this strength or more (the word *usually*)."""


@dataclass
class Planner:
    """Everything that proposing needs, so that it need not be passed around."""

    engine: Engine
    data_sheet: DataSheet
    values: Mapping[str, Value]
    network: Network
    likely: Hypotheses
    inferred: Conclusions
    known: KnownFacts
    state: State

    def __post_init__(self) -> None:
        self.rule_book = self.engine.rule_book
        self.dangers = self.engine.dangers(self.data_sheet, self.state.not_known)
        self.costs = self.engine.costs(self.data_sheet, self.state)
        self.standing = self.state.standing(self.rule_book)
        self.start = self.costs.number(self.standing)
        self.remedies = list(self.rule_book.remedies.values())
        self.marginals = _marginals(self.likely, len(self.network.causes))
        self.excluded = _excluded(self.rule_book, self.inferred.findings)
        self.named = self.network.named
        self.telling = self._telling()
        self.open_to_us: list[Option] = []

    def _telling(self) -> frozenset[str]:
        """Return the findings that some likely cause shows; to look for others tells nothing."""
        causes = distinct(self.likely.members)
        shown = self.named[causes].any(axis=0)
        return frozenset(self.network.findings[column] for column in np.flatnonzero(shown))

    def needs(self) -> Index:
        """Return the remedies that each hypothesis needs [k × 3]; -2 where only somebody else can help.

        Where an interim remedy does for now, it is what is needed: the complaint is gone with it.
        """
        number = {each.id: -2 if each.escalates else position for position, each in enumerate(self.remedies)}
        first = {each.id: number[self.for_now(each).id] for each in self.remedies}
        of_cause = [first[self.rule_book.causes[name].remedy] for name in self.network.causes]
        return np.array([*of_cause, -1], dtype=np.intp)[self.likely.members]

    @property
    def comes_and_goes(self) -> bool | None:
        """Whether the fault comes and goes; None while nobody has said."""
        return self.inferred.findings.get(self.rule_book.settings.intermittent)

    @cached_property
    def chances(self) -> Chances:
        """How probable what is found is, under each hypothesis, of a fault that stands."""
        return Chances(self.likely.silent, self.network.column, self.inferred.findings)

    @cached_property
    def chances_at_the_moment(self) -> Chances:
        """The same for whoever looks at what a fault that comes and goes may not show just then."""
        if not self.comes_and_goes:
            return self.chances
        silent = 1 - self.rule_book.settings.seen_while_it_shows * (1 - self.likely.silent)
        return Chances(np.asfortranarray(silent), self.network.column, self.inferred.findings)

    def chances_at(self, check: Check) -> Chances:
        """Return the probabilities that hold at a check."""
        return self.chances_at_the_moment if check.id in self.engine.momentary else self.chances

    @cached_property
    def likeliest(self) -> Index:
        """The causes that a check is said to tell apart, likeliest first."""
        return np.argsort(-self.marginals, kind="stable")[:6]

    @cached_property
    def chances_of_likeliest(self) -> Chances:
        """How probable what is found is where one of these causes is there by itself."""
        silent = (1 - self.network.leaks) * (1 - self.named[self.likeliest])
        return Chances(silent, self.network.column, self.inferred.findings)

    def way(self, step: Step) -> Way:
        """Return the changes of the plant that a step needs from where it stands."""
        return self.dangers.way(step, self.standing)

    def may(self, step: Step) -> bool:
        """Tell whether a step may be proposed at all."""
        return step.id not in self.state.set_aside and self.costs.of(step, self.start).allowed

    def held_up_by(self, step: Step) -> tuple[str, ...]:
        """Return the fields for which alone a step is not proposed: one of their words forbids it, and nobody knows."""
        if not self.dangers.nobody_knows or self.may(step):
            return ()
        if_known = self.engine.dangers(self.data_sheet)
        way = if_known.allowed(step, self.state)
        return tuple(name for name, _ in if_known.hangs_on(step, way)) if way else ()

    def for_now(self, remedy: Remedy) -> Remedy:
        """Return what is done first for a remedy: its interim form where that may be done, is new and takes less.

        Where the plant stands ready for the lasting one, and not for the other, the shutdown to wait for is now.
        """
        interim = self.rule_book.remedies.get(remedy.interim)
        if interim is None or interim.id in self.known.remedies_tried or not self.may(interim):
            return remedy
        if remedy.needs and self._stands_ready(remedy) and not self._stands_ready(interim):
            return remedy
        takes_less = self.costs.of(interim, self.start).minutes < self.costs.of(remedy, self.start).minutes
        return interim if takes_less else remedy

    def _stands_ready(self, step: Step) -> bool:
        return all(self.standing[name] in values for name, values in step.needs.items())

    def lasting_behind(self, interim: Remedy) -> list[Remedy]:
        """Return the lasting remedies that an interim one would put off here, that of the likeliest cause first."""
        shares = dict(zip(self.network.causes, map(float, self.marginals), strict=True))
        likeliest = self.rule_book.shares_behind(interim.id, shares)
        lasting = [each for each in self.rule_book.lasting(interim.id) if self.for_now(each) is interim]
        return sorted((each for each in lasting if likeliest.get(each.id)), key=lambda each: -likeliest[each.id])

    @cached_property
    def looked_at(self) -> frozenset[str]:
        """Present findings that somebody saw or measured here: not words of a report, and not what went before."""
        book, fields = self.rule_book, self.rule_book.data_sheet_fields().keys() | self.known.told
        seen = {name for name in self.known.found_at if book.findings[name].kind != "history"}
        for name, rules in self.inferred.because.items():
            if name in self.known.origin:
                continue
            asked = [names_in(book.inference[rule].when) for rule in rules]
            if any(findings & seen or quantities - fields for findings, quantities in asked):
                seen.add(name)
        return frozenset(name for name in seen if self.inferred.findings.get(name))

    def speaks_for(self, findings: Iterable[str], remedy: Remedy) -> bool:
        """Tell whether one of the findings is shown by a cause that the remedy puts right."""
        book = self.rule_book
        shown = [cause.shows for cause in book.helped_by(remedy.id)]
        return any(
            shows.get(name, 0.0) >= SPEAKS_FOR * book.findings[name].leak
            for name in findings
            if book.findings[name].kind != "history"
            for shows in shown
        )

    def could_speak(self, option: Option, remedy: Remedy) -> float:
        """Return how strongly a check would speak for a cause that the remedy puts right, in nats; zero if it cannot.

        That is the weight of evidence (Good 1950) expected of its answer where the cause is there. What is known from
        words alone is still to be looked at: it counts by how much more often it shows there than with other causes.
        """
        wanted = (self.needs() == self.remedies.index(remedy)).any(axis=1)
        if not self.likely.weights[wanted].any() or not self.likely.weights[~wanted].any():
            return 0.0
        outcomes = self.engine.outcomes[option.name]
        shown = {name for outcome in outcomes for name, present in outcome.items() if present} - self.looked_at
        speaking = [name for name in shown if self.speaks_for([name], remedy)]
        heard = [self.network.column[name] for name in speaking if self.inferred.findings.get(name)]
        new = any(name not in self.inferred.findings for name in speaking)
        likelihoods = [option.likelihoods] if new else []
        likelihoods += [1 - self.likely.silent[:, column][np.newaxis] for column in heard]
        return max((self._expected_evidence(each, wanted) for each in likelihoods), default=0.0)

    def _expected_evidence(self, likelihoods: Array, wanted: npt.NDArray[np.bool_]) -> float:
        """Return the mean log ratio of how probable answers [o × k] are where a remedy is needed and elsewhere."""
        weights = self.likely.weights
        so = likelihoods[:, wanted] @ weights[wanted] / weights[wanted].sum()
        otherwise = likelihoods[:, ~wanted] @ weights[~wanted] / weights[~wanted].sum()
        least = 1e-6
        return float(np.sum(so * np.log(np.maximum(so, least) / np.maximum(otherwise, least))))

    def on_words_alone(self, remedy: Remedy) -> bool:
        """Tell whether a remedy is big, and nothing that was looked at or measured points to its cause.

        What does for now in place of a big one is held to the same: a factor or a filter hides many a cause.
        """
        big = self.rule_book.settings.big_remedies
        concerned = any(big.has(each) for each in (remedy, *self.rule_book.lasting(remedy.id)))
        return concerned and not self.speaks_for(self.looked_at, remedy)

    def hidden_by(self, remedy: Remedy, least: float) -> list[str]:
        """Return the causes, likeliest first, that a remedy would hide and that are at least so probable."""
        shares = dict(zip(self.network.causes, map(float, self.marginals), strict=True))
        hidden = [name for name in remedy.hides if shares.get(name, 0.0) >= least]
        return sorted(hidden, key=lambda name: -shares[name])

    def rules_out(self, check: Check, cause: str) -> bool:
        """Tell whether a check may find absent what a cause nearly always shows."""
        book = self.rule_book
        denied = {name for each in self.engine.outcomes[check.id] for name, present in each.items() if not present}
        new = [name for name in denied - self.inferred.findings.keys() if book.findings[name].kind == "result"]
        return any(book.causes[cause].shows.get(name, 0.0) >= RULES_OUT for name in new)

    def spent(self, work: Work) -> bool:
        """Tell whether something that is done only once was done, and what must come before a second time was not."""
        if work.once is None:
            return False
        done = work.id in self.known.remedies_tried if isinstance(work, Remedy) else work.id in self.known.checks_done
        told = any(self.inferred.findings.get(name) for name in work.once.told_by)
        return (done or told) and not any(self._made(self.rule_book.checks[name]) for name in work.once.unless)

    def exposes(self, check: Check) -> bool:
        """Tell whether a check brings somebody nearer to a hazard, or changes the state of the plant."""
        return self.costs.of(check, self.start).exposes

    def _made(self, check: Check) -> bool:
        return check.id in self.known.checks_done or (bool(check.measures) and check.measures in self.known.values)


def _marginals(likely: Hypotheses, causes: int) -> Array:
    """Return how probable each cause is by the combinations planned with [n]."""
    share = np.zeros(causes + 1)
    for column in range(likely.members.shape[1]):
        np.add.at(share, likely.members[:, column], likely.weights)
    return share[:-1]


def options(planner: Planner) -> list[Option]:
    """Return as numbers the checks that may be proposed and can tell something new."""
    told: list[tuple[Check, Outcomes]] = []
    for check in planner.rule_book.checks.values():
        outcomes = () if check.only_proves else open_outcomes(planner, check)
        if len(outcomes) > 1 and planner.may(check) and not planner.spent(check):
            told.append((check, outcomes))
    tables: dict[str, Array] = {}
    for chances in {id(each): each for each in (planner.chances, planner.chances_at_the_moment)}.values():
        some = [(check, outcomes) for check, outcomes in told if planner.chances_at(check) is chances]
        asked = [(check, outcomes) for check, outcomes in some if check.outcomes]
        made = chances.of(outcomes for _, outcomes in asked)
        tables |= {check.id: table for (check, _), table in zip(asked, made, strict=True)}
        tables |= {each.id: chances.at(each, said) for each, said in some if not each.outcomes}
    return [_option(planner, check, tables[check.id]) for check, _ in told]


def _option(planner: Planner, check: Check, chances: Array) -> Option:
    cost = planner.costs.of(check, planner.start)
    counts = planner.rule_book.settings.exposed_counts if planner.exposes(check) else 1.0
    return Option(check.id, cost.minutes, chances, cost.after, counts)


def open_outcomes(planner: Planner, check: Check) -> Sequence[dict[str, bool]]:
    """Return what each outcome would set, or nothing when the check is done or its findings are known."""
    if check.id in planner.known.checks_done or (check.measures and check.measures in planner.known.values):
        return []
    if check.provokes and planner.comes_and_goes is False:
        return []
    outcomes = planner.engine.outcomes_offered(check, bool(planner.comes_and_goes))
    settled = planner.inferred.findings
    names = {name for outcome in outcomes for name in outcome}
    if not (names & planner.telling) - settled.keys() - planner.excluded:
        return []
    if not check.outcomes:  # one outcome a finding: those that no likely cause shows only make it slower
        nothing = {name: False for name in outcomes[0] if name in planner.telling or name in settled}
        return [nothing, *({**nothing, name: True} for name in nothing)]
    return outcomes


def _excluded(rule_book: RuleBook, findings: Mapping[str, bool]) -> set[str]:
    """Return findings that a present alternative rules out."""
    groups = {
        rule_book.findings[name].alternatives: name
        for name, present in findings.items()
        if present and rule_book.findings[name].alternatives
    }
    return {
        each.id
        for each in rule_book.findings.values()
        if each.alternatives in groups and groups[each.alternatives] != each.id
    }


def needed(weights: Array, needs: Index, remedies: int) -> Array:
    """Return the probability that each remedy is needed [r]."""
    wanted = np.zeros((len(needs), remedies + 2))
    for column in needs.T:  # a remedy that two causes of a hypothesis want counts once
        wanted[np.arange(len(needs)), column] = 1.0
    return np.asarray(weights @ wanted)[:-2]
