"""From the rule book and what is known to the numbers that planning wants, and from its plan to the next step."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import msgspec
import numpy as np

from diagnose.observations import State
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.evidence import KnownFacts, missing_inputs
from diagnose.reasoning.hypotheses import Hypotheses
from diagnose.reasoning.inference import Conclusions
from diagnose.reasoning.planning import Array, Index, Option, Plan, Worth, plan
from diagnose.reasoning.posterior import Network
from diagnose.reasoning.proposal import Kind, Proposal, calculated_with, proposal_for
from diagnose.reasoning.steps import (
    applies,
    competence_of,
    contradicts,
    forbidden,
    way_for,
    within,
)
from diagnose.rule_book.types import Check, DataSheet, Remedy, RuleBook, Step, Value, a_person

CONTRARY = 0.02
"""How probable it is that a check finds the opposite of what is known already (estimate)."""

LEAST_REMEDY = 0.02
"""A remedy is not worth proposing below this probability of being needed (estimate)."""

LEAST_SAVING = 2.0
"""Minutes that a check must be expected to save before it is put to a person (estimate)."""

MOST_CHECKS = 15
"""Checks that are proposed beside the next step."""

LEAST_GAIN = 0.01
"""A question that tells less than this, in bits, is not put (estimate)."""


class Proposals(msgspec.Struct, frozen=True, kw_only=True):
    """The next step, other checks best first, remedies in order, questions to somebody at the meter.

    Only what this person may do on this meter is among checks and remedies.
    """

    next: Proposal
    checks: tuple[Proposal, ...]
    remedies: tuple[Proposal, ...]
    questions: tuple[str, ...]
    minutes: float


@dataclass
class _Planner:
    """Everything that proposing needs, so that it need not be handed round."""

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
        self.costs = self.engine.costs(self.data_sheet, self.state)
        self.start = self.costs.number(self.state.standing(self.rule_book))
        self.remedies = list(self.rule_book.remedies.values())
        self.marginals = _marginals(self.likely, len(self.network.causes))
        self.excluded = _excluded(self.rule_book, self.inferred.findings)
        self.named = self.network.named
        self.telling = self._telling()

    def _telling(self) -> frozenset[str]:
        """Return the findings that some likely cause shows; to look for others tells nothing."""
        causes = np.unique(self.likely.members[self.likely.members >= 0])
        shown = self.named[causes].any(axis=0)
        return frozenset(self.network.findings[column] for column in np.flatnonzero(shown))

    def needs(self) -> Index:
        """Return the remedies that each hypothesis needs [k × 3]; -2 where only somebody else can help."""
        number = {each.id: -2 if each.escalates else position for position, each in enumerate(self.remedies)}
        of_cause = [number[self.rule_book.causes[name].remedy] for name in self.network.causes]
        return np.array([*of_cause, -1], dtype=np.intp)[self.likely.members]

    @property
    def comes_and_goes(self) -> bool | None:
        """Whether the fault comes and goes; None while nobody has said."""
        return self.inferred.findings.get(self.rule_book.settings.intermittent)

    def silent(self, check: Check) -> Array:
        """Return how probable it is that findings do not show at a check [k × f].

        Whoever looks at what a fault shows may come when one that comes and goes is gone.
        """
        if not self.comes_and_goes or check.id not in self.engine.momentary:
            return self.likely.silent
        return np.asarray(1 - self.rule_book.settings.seen_while_it_shows * (1 - self.likely.silent))

    def may(self, step: Step) -> bool:
        """Tell whether a step may be proposed at all."""
        return step.id not in self.state.set_aside and self.costs.of(step, self.start).allowed


def _marginals(likely: Hypotheses, causes: int) -> Array:
    """Return how probable each cause is by the combinations planned with [n]."""
    share = np.zeros(causes + 1)
    for column in range(likely.members.shape[1]):
        np.add.at(share, likely.members[:, column], likely.weights)
    return share[:-1]


def propose(
    engine: Engine,
    data_sheet: DataSheet,
    values: Mapping[str, Value],
    network: Network,
    likely: Hypotheses,
    inferred: Conclusions,
    known: KnownFacts,
    state: State,
) -> Proposals:
    """Return the next step and what else could be done."""
    planner = _Planner(engine, data_sheet, values, network, likely, inferred, known, state)
    if known.cured:
        return _finished()
    if not len(likely.weights):
        return _nothing_left(engine.rule_book)
    needs = planner.needs()
    options = [option for check in planner.rule_book.checks.values() if (option := _option(planner, check))]
    starts = [planner.start, *(option.after for option in options)]
    tasks = planner.costs.tasks(starts, state.set_aside)
    made = plan(likely.weights, needs, tasks, planner.start, options, LEAST_SAVING, planner.rule_book.settings.act_from)
    shares = _needed(likely.weights, needs, len(planner.remedies))
    remedies = tuple(
        _remedy_proposal(planner, planner.remedies[number], float(shares[number]))
        for number in made.order[: made.tries]
        if shares[number] >= LEAST_REMEDY
    )
    telling = [each for each in made.worth if each.gain >= LEAST_GAIN or each.name == made.check][:MOST_CHECKS]
    checks = tuple(_check_proposal(planner, each) for each in telling)
    return Proposals(
        next=_next(planner, made, checks, remedies, shares),
        checks=checks,
        remedies=tuple(each for each in remedies if planner.may(planner.rule_book.remedies[each.id])),
        questions=_questions(planner, made.worth),
        minutes=made.minutes,
    )


def _needed(weights: Array, needs: Index, remedies: int) -> Array:
    """Return the probability that each remedy is needed [r]."""
    share = np.zeros(remedies + 2)
    for row, weight in zip(needs, weights, strict=True):
        share[list({int(each) for each in row})] += weight
    return share[:-2]


def _finished() -> Proposals:
    done = Proposal(
        kind="done",
        id="",
        title="Cured and proved",
        minutes=0.0,
        saves_minutes=0.0,
        because="the proof was made and the complaint is gone",
        competence="ordinary",
    )
    return Proposals(next=done, checks=(), remedies=(), questions=(), minutes=0.0)


def _nothing_left(rule_book: RuleBook) -> Proposals:
    return Proposals(next=_escalation(None, 0.0, rule_book), checks=(), remedies=(), questions=(), minutes=0.0)


def _escalation(remedy: Remedy | None, share: float, rule_book: RuleBook) -> Proposal:
    if remedy is None or remedy.escalates:
        title, because = (
            "Hand over to somebody who knows more",
            "nothing that this rule book knows is worth doing",
        )
    else:
        title = f"Fetch {a_person(remedy.competence)} for: {remedy.title}"
        because = f"{share * 100:.0f} % likely to be what is needed, but more than you may do here"
    return Proposal(
        kind="escalate",
        id=remedy.id if remedy else "",
        title=title,
        minutes=rule_book.settings.call_out_minutes,
        saves_minutes=0.0,
        because=because,
        competence=remedy.competence if remedy else "skilled",
    )


def _next(
    planner: _Planner, made: Plan, checks: Sequence[Proposal], remedies: Sequence[Proposal], shares: Array
) -> Proposal:
    """Return the check to make first, else the first remedy, else whom to fetch."""
    best = next((each for each in checks if each.id == made.check), None)
    if best is not None:
        return best
    proposal = _remedy_or_escalation(planner, remedies, shares)
    if proposal.kind == "escalate" and planner.comes_and_goes:
        # Whoever is fetched wants to know what brings it on; so that is tried before somebody is fetched.
        provoking = (each for each in checks if planner.rule_book.checks[each.id].provokes)
        return next(provoking, proposal)
    return proposal


def _remedy_or_escalation(planner: _Planner, remedies: Sequence[Proposal], shares: Array) -> Proposal:
    """Return the first remedy that this person may carry out, or whom to fetch."""
    for proposal in remedies:
        remedy = planner.rule_book.remedies[proposal.id]
        if remedy.id in planner.state.set_aside:
            continue
        if planner.may(remedy):
            return proposal
        if _is_blocked_by_person(planner, remedy):
            return _escalation(remedy, float(shares[planner.remedies.index(remedy)]), planner.rule_book)
    return _escalation(None, 0.0, planner.rule_book)


def _is_blocked_by_person(planner: _Planner, remedy: Remedy) -> bool:
    """Tell whether somebody else could do a remedy that this person may not or cannot do."""
    way = way_for(planner.rule_book, remedy, planner.state.standing(planner.rule_book), planner.data_sheet)
    return applies(remedy.applies, planner.data_sheet) and not (
        contradicts(remedy.not_when, planner.data_sheet)
        or forbidden(planner.rule_book, remedy, way, planner.data_sheet)
    )


def _option(planner: _Planner, check: Check) -> Option | None:
    """Return a check as numbers, or None when it may not be proposed or can tell nothing new."""
    outcomes = () if check.only_proves else _open_outcomes(planner, check)
    if len(outcomes) < 2 or not planner.may(check):
        return None
    cost = planner.costs.of(check, planner.start)
    counts = planner.rule_book.settings.exposed_counts if cost.exposes else 1.0
    return Option(check.id, cost.minutes, _likelihoods(planner, outcomes, planner.silent(check)), cost.after, counts)


def _open_outcomes(planner: _Planner, check: Check) -> Sequence[dict[str, bool]]:
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


def _likelihoods(planner: _Planner, outcomes: Sequence[Mapping[str, bool]], silent: Array) -> Array:
    """Return P(outcome | hypothesis) [o × k], each column summing to one.

    ``silent`` [k × f] says how probable it is that a finding does not show.
    """
    table = np.ones((len(outcomes), len(silent)))
    settled = planner.inferred.findings
    for row, outcome in enumerate(outcomes):
        for name, present in outcome.items():
            if name in settled:
                table[row] *= 1.0 if settled[name] == present else CONTRARY
            else:
                quiet = silent[:, planner.network.column[name]]
                table[row] *= 1 - quiet if present else quiet
    return np.asarray(table / table.sum(axis=0))


def _check_proposal(planner: _Planner, worth: Worth) -> Proposal:
    check = planner.rule_book.checks[worth.name]
    return _proposal(planner, "check", check, _separates(planner, check), worth.saves)


def _remedy_proposal(planner: _Planner, remedy: Remedy, share: float) -> Proposal:
    because = f"{share * 100:.0f} % likely to be what is needed; no check would save time now"
    return _proposal(planner, "remedy", remedy, because)


def _proposal(planner: _Planner, kind: Kind, step: Check | Remedy, because: str, saves: float = 0.0) -> Proposal:
    standing = planner.state.standing(planner.rule_book)
    proposal = proposal_for(planner.rule_book, kind, step, standing, planner.data_sheet, because)
    return msgspec.structs.replace(
        proposal, saves_minutes=round(saves, 2), ask_first=_to_ask_first(planner, step, proposal)
    )


def _to_ask_first(planner: _Planner, step: Check | Remedy, proposal: Proposal) -> tuple[str, ...]:
    """Return the unknown data-sheet fields on which hang a step's being in place, its cautions, its reading, its rules.

    What nobody could find out at the meter is not asked for.
    """
    fields = [name for name in (*step.applies, *step.not_when) if planner.rule_book.quantities[name].where_to_find]
    wanted = [name for name in fields if name not in planner.values]
    wanted += [name for _, unless in proposal.cautions for name in unless]
    if isinstance(step, Check):
        for name in calculated_with(planner.rule_book, step):
            wanted += missing_inputs(planner.rule_book, name, planner.values)
        held = planner.engine.held_against.get(step.measures, ())
        wanted += [name for name in held if name not in planner.values]
    return tuple(dict.fromkeys(wanted))


def _separates(planner: _Planner, check: Check) -> str:
    """Return which two of the likelier causes a check tells apart best, in words."""
    network = planner.network
    share = planner.marginals
    top = np.argsort(-share, kind="stable")[:6]
    silent = (1 - network.leaks) * (1 - planner.named[top])
    table = _likelihoods(planner, planner.engine.outcomes[check.id], silent)
    best, pair = 0.0, ""
    for one in range(len(top)):
        for other in range(one + 1, len(top)):
            apart = float(np.abs(table[:, one] - table[:, other]).sum() / 2)
            worth = apart * float(np.sqrt(share[top[one]] * share[top[other]]))
            if worth > best:
                names = [planner.rule_book.causes[network.causes[top[each]]].title for each in (one, other)]
                best, pair = worth, f"tells “{names[0]}” from “{names[1]}”"
    return pair or "says whether one of the less probable causes is there"


def _questions(planner: _Planner, worth: Sequence[Worth]) -> tuple[str, ...]:
    """Return the checks that are best asked of somebody at the meter who opens, measures and changes nothing."""
    standing = planner.state.standing(planner.rule_book)
    found = []
    for each in sorted(worth, key=lambda each: (-max(each.saves, 0.0), -each.gain, each.name)):
        check = planner.rule_book.checks[each.name]
        way = way_for(planner.rule_book, check, standing, planner.data_sheet)
        nothing_done = not way.changes and not check.tools and not check.meets
        if each.gain >= LEAST_GAIN and nothing_done and within("ordinary", competence_of(check, way)):
            found.append(each.name)
    return tuple(found[:3])
