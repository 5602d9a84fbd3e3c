"""From what is known to the next step: what may be done as numbers, the plan of it, and its steps in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec
import numpy as np

from diagnose.observations import State
from diagnose.reasoning.before_remedies import LEAST_REMEDY, gentle_first, hides_what_is_likelier, looked_at_first
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.evidence import KnownFacts
from diagnose.reasoning.hypotheses import Hypotheses
from diagnose.reasoning.inference import Conclusions
from diagnose.reasoning.planner import Planner, needed, open_outcomes, options
from diagnose.reasoning.planning import Array, Plan, Worth, distinct, plan
from diagnose.reasoning.posterior import Network
from diagnose.reasoning.proposal import Proposal
from diagnose.reasoning.proposed_steps import check_proposal, remedy_proposal, step_proposal
from diagnose.reasoning.steps import applies, within
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import Competence, a_person
from diagnose.rule_book.quantities import DataSheet, Value
from diagnose.rule_book.work import Check, Remedy, Step

LEAST_SAVING = 2.0
"""Minutes that a check must be expected to save before it is put to a person (estimate)."""

MOST_CHECKS = 15
"""Checks that are proposed beside the next step."""

MOST_QUESTIONS = 3
"""Questions that are put to somebody at the meter at once."""

LEAST_GAIN = 0.01
"""A check that tells less than this, in bits, saves nothing that anybody would notice (estimate)."""


class HeldUp(msgspec.Struct, frozen=True, kw_only=True):
    """A step that is not proposed for nothing but data-sheet fields that nobody knows."""

    step: str
    title: str
    fields: tuple[str, ...]


class Proposals(msgspec.Struct, frozen=True, kw_only=True):
    """The next step, other checks best first, remedies in order, questions to somebody at the meter.

    Only what this person may do on this meter is among checks and remedies. ``held_up`` are steps that could help, and
    that a field forbids as long as nobody knows it. ``before_all`` says that a hazard asks for the next step: neither
    another one nor a proof or an end comes before it.
    """

    next: Proposal
    checks: tuple[Proposal, ...]
    remedies: tuple[Proposal, ...]
    questions: tuple[str, ...]
    minutes: float
    held_up: tuple[HeldUp, ...] = ()
    before_all: bool = False


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
    planner = Planner(engine, data_sheet, values, network, likely, inferred, known, state)
    after_a_hazard = _first_of_all(planner)
    if after_a_hazard is not None:
        return Proposals(next=after_a_hazard, checks=(), remedies=(), questions=(), minutes=0.0, before_all=True)
    if known.cured:
        return _finished()
    if not len(likely.weights):
        return _nothing_left(engine.rule_book)
    needs = planner.needs()
    planner.open_to_us = open_to_us = options(planner)
    starts = [planner.start, *(option.after for option in open_to_us)]
    tasks = planner.costs.tasks(starts, state.set_aside, wanted=distinct(needs))
    act_from = planner.rule_book.settings.act_from
    made = plan(likely.weights, needs, tasks, planner.start, open_to_us, LEAST_SAVING, act_from, LEAST_GAIN)
    shares = needed(likely.weights, needs, len(planner.remedies))
    remedies = tuple(
        remedy_proposal(planner, planner.remedies[number], float(shares[number]))
        for number in made.order[: made.tries]
        if shares[number] >= LEAST_REMEDY
    )
    telling = [each for each in made.worth if each.gain >= LEAST_GAIN or each.name == made.check][:MOST_CHECKS]
    checks = tuple(check_proposal(planner, each) for each in telling)
    first = _next(planner, made, checks, remedies, shares)
    return Proposals(
        next=first,
        checks=_with_the_first(checks, first),
        remedies=_to_choose_from(planner, remedies),
        questions=_questions(planner, made.worth),
        minutes=made.minutes,
        held_up=_held_up(planner, shares),
    )


def _with_the_first(checks: tuple[Proposal, ...], first: Proposal) -> tuple[Proposal, ...]:
    """Return the checks to choose from, with the one that comes first however little it tells beside them."""
    if first.kind != "check" or first.id in {each.id for each in checks}:
        return checks
    return (*checks[: MOST_CHECKS - 1], first)


def _first_of_all(planner: Planner) -> Proposal | None:
    """Return the check that comes before any other step, or whom to fetch for it; None where there is none to make."""
    why = "a hazard of this kind is over; nothing else is done before this was looked at"
    for name in planner.state.first:
        check = planner.rule_book.checks[name]
        if not applies(check.applies, planner.data_sheet):
            continue
        # What comes later rests on what comes first: where that cannot be made, somebody is fetched who can.
        return step_proposal(planner, "check", check, why) if planner.may(check) else _fetched_for(planner, check, why)
    return None


def _fetched_for(planner: Planner, check: Check, why: str) -> Proposal:
    who = _competence_here(planner, check)
    fetch = _escalation(None, 0.0, planner.rule_book, who)
    here = within(planner.state.competence, who)
    title = f"Have this done first: {check.title}" if here else f"Fetch {a_person(who)} for: {check.title}"
    open_fields = [planner.rule_book.quantities[name].title for name in planner.held_up_by(check)]
    because = f"{why}; it is not known: {', '.join(open_fields)}" if open_fields else why
    return msgspec.structs.replace(fetch, title=title, because=because)


def _held_up(planner: Planner, shares: Array) -> tuple[HeldUp, ...]:
    """Return what could help and is not proposed for want of a field: remedies, what does for now, then checks."""
    if not planner.dangers.nobody_knows:
        return ()
    worth = sorted(np.flatnonzero(shares >= LEAST_REMEDY), key=lambda number: -float(shares[number]))
    needed_now = [planner.remedies[number] for number in worth]
    book = planner.rule_book
    for_now = [book.remedies[each.interim] for each in needed_now if each.interim]
    checks = (each for each in book.checks.values() if not each.only_proves)
    works: list[Check | Remedy] = [*needed_now, *for_now, *checks]
    found: dict[str, HeldUp] = {}
    for work in works:
        fields = planner.held_up_by(work)
        if fields and (isinstance(work, Remedy) or len(open_outcomes(planner, work)) > 1):
            found.setdefault(work.id, HeldUp(step=work.id, title=work.title, fields=fields))
    return tuple(found.values())


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


def _to_choose_from(planner: Planner, remedies: Sequence[Proposal]) -> tuple[Proposal, ...]:
    """Return the remedies that this person may carry out, in order, an interim one before those that it puts off."""
    offered: list[Proposal] = []
    for proposal in remedies:
        remedy = planner.rule_book.remedies[proposal.id]
        put_off = f"the lasting remedy; “{remedy.title}” does for now"
        offered += [
            proposal,
            *(step_proposal(planner, "remedy", each, put_off) for each in planner.lasting_behind(remedy)),
        ]
    return tuple(each for each in offered if _may_choose(planner, planner.rule_book.remedies[each.id]))


def _may_choose(planner: Planner, remedy: Remedy) -> bool:
    return planner.may(remedy) and not planner.spent(remedy)


def _escalation(
    remedy: Remedy | None, share: float, rule_book: RuleBook, competence: Competence = "skilled"
) -> Proposal:
    if remedy is None or remedy.escalates:
        title, because = (
            "Hand over to somebody who knows more",
            "nothing that this rule book knows is worth doing",
        )
    else:
        title = f"Fetch {a_person(competence)} for: {remedy.title}"
        because = f"{share * 100:.0f} % likely to be what is needed, but more than you may do here"
    return Proposal(
        kind="escalate",
        id=remedy.id if remedy else "",
        title=title,
        minutes=rule_book.settings.call_out_minutes,
        saves_minutes=0.0,
        because=because,
        competence=competence,
    )


def _next(
    planner: Planner, made: Plan, checks: Sequence[Proposal], remedies: Sequence[Proposal], shares: Array
) -> Proposal:
    """Return the check to make first, else the first remedy, else whom to fetch."""
    best = next((each for each in checks if each.id == made.check), None)
    if best is not None:
        return _provoked_first(planner, made, best)
    proposal = _remedy_or_escalation(planner, made, remedies, shares)
    if proposal.kind == "escalate" and planner.comes_and_goes:
        # Whoever is fetched wants to know what brings the fault on; so that is tried before somebody is fetched.
        provoking = (each for each in checks if planner.rule_book.checks[each.id].provokes)
        return next(provoking, proposal)
    return proposal


def _provoked_first(planner: Planner, made: Plan, best: Proposal) -> Proposal:
    """Return what brings on a fault that comes and goes, or else watches for it, before a look at the moment.

    The same where it was to be watched for anyway: what brings it on at once comes first. It exposes nobody where the
    look would not, except to what is met with the plant as it stands.
    """
    checks = planner.rule_book.checks
    momentary, waits = best.id in planner.engine.momentary, checks[best.id].provokes == "in time"
    if not planner.comes_and_goes or not (momentary or waits):
        return best
    may_expose = planner.exposes(checks[best.id])
    telling = [(checks[each.name], each) for each in made.worth if each.gain >= LEAST_GAIN]
    at_once = [each for each in telling if each[0].provokes == "at once"]
    safe = [each for each in at_once if may_expose or not planner.exposes(each[0])]
    as_it_stands = [each for each in at_once if each in safe or not planner.way(each[0]).changes]
    worth_it = [each for each in (*safe, *as_it_stands) if each[1].saves > LEAST_SAVING]
    in_time = [each for each in telling if each[0].provokes and (may_expose or not planner.exposes(each[0]))]
    for _, worth in (*worth_it, *safe, *(in_time if momentary else ())):
        why = f"the fault comes and goes; “{best.title}” {'waits for it' if waits else 'finds only what is there now'}"
        return msgspec.structs.replace(check_proposal(planner, worth), because=why)
    return best


def _remedy_or_escalation(planner: Planner, made: Plan, remedies: Sequence[Proposal], shares: Array) -> Proposal:
    """Return the first remedy that this person may carry out, what must be looked at before it, or whom to fetch."""
    waiting = ""
    for proposal in gentle_first(planner, remedies, shares):
        remedy = planner.rule_book.remedies[proposal.id]
        may = planner.may(remedy)
        if remedy.id in planner.state.set_aside or not (may or _is_blocked_by_person(planner, remedy)):
            waiting = waiting or _nobody_knows(planner, remedy)
            continue
        share = float(shares[planner.remedies.index(remedy)])
        before, why = looked_at_first(planner, made, remedy)
        if before is not None:
            return before
        why = why or hides_what_is_likelier(planner, remedy, share)
        if not may:
            return _escalation(remedy, share, planner.rule_book, _competence_here(planner, remedy))
        if not why and not (waiting and share < planner.rule_book.settings.act_from):
            return proposal
        waiting = waiting or why
    handed = _escalation(None, 0.0, planner.rule_book)
    return msgspec.structs.replace(handed, because=waiting) if waiting else handed


def _competence_here(planner: Planner, step: Step) -> Competence:
    """Return the competence that a step needs on this meter, including the way to it from the plant's present state."""
    return planner.dangers.competence(step, planner.way(step))


def _nobody_knows(planner: Planner, remedy: Remedy) -> str:
    """Return why a remedy waits that is not proposed only because nobody knows what forbids it."""
    titles = [planner.rule_book.quantities[name].title for name in planner.held_up_by(remedy)]
    return f"“{remedy.title}” is left out as long as nobody can say: {'; '.join(titles)}" if titles else ""


def _is_blocked_by_person(planner: Planner, step: Step) -> bool:
    """Tell whether somebody else could do a step that this person may not or cannot do."""
    anybody = msgspec.structs.replace(planner.state, missing_tools=())
    return planner.dangers.in_place(step, anybody) and not planner.dangers.forbidden(step, planner.way(step))


def _questions(planner: Planner, worth: Sequence[Worth]) -> tuple[str, ...]:
    """Return the checks best put to somebody at the meter who opens, measures and changes nothing."""
    found: list[str] = []
    for each in sorted(worth, key=lambda each: (-max(each.saves, 0.0), -each.gain, each.name)):
        if len(found) < MOST_QUESTIONS and each.gain >= LEAST_GAIN and _costs_nothing(planner, each.name):
            found.append(each.name)
    return tuple(found)


def _costs_nothing(planner: Planner, name: str) -> bool:
    """Tell whether anybody at the meter can answer a check without opening, measuring or changing anything."""
    check = planner.rule_book.checks[name]
    way = planner.way(check)
    nothing_done = not way.changes and not check.tools and not check.meets
    return nothing_done and within("ordinary", planner.dangers.competence(check, way))
