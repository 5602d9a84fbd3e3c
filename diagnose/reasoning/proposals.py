"""From what is known to the next step: what may be done as numbers, the plan of it, and its steps in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec
import numpy as np

from diagnose.observations import State
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.evidence import KnownFacts, missing_inputs
from diagnose.reasoning.hypotheses import Hypotheses
from diagnose.reasoning.inference import Conclusions
from diagnose.reasoning.planner import Planner, needed, open_outcomes, options
from diagnose.reasoning.planning import Array, Plan, Worth, distinct, plan
from diagnose.reasoning.posterior import Network
from diagnose.reasoning.proposal import Kind, Proposal, calculated_with, proposal_for
from diagnose.reasoning.steps import applies, within
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import Competence, a_person
from diagnose.rule_book.quantities import DataSheet, Value
from diagnose.rule_book.work import Check, Remedy, Step

LEAST_REMEDY = 0.02
"""A remedy is not worth proposing below this probability of being needed (estimate)."""

LEAST_SAVING = 2.0
"""Minutes that a check must be expected to save before it is put to a person (estimate)."""

MOST_CHECKS = 15
"""Checks that are proposed beside the next step."""

MOST_QUESTIONS = 3
"""Questions that are put to somebody at the meter at once."""

GENTLE_SHARE = 0.5
"""A remedy that drains, opens, replaces or takes nothing much comes before a big one that is at most so much likelier:
likely to be needed with this share of its probability or more (estimate)."""

LEAST_EVIDENCE = 0.3
"""Weight of evidence [nats] below which a look does not speak for a cause: it makes it a third likelier (estimate)."""

STRONG_EVIDENCE = 2.3
"""Weight of evidence [nats] of an answer that makes a cause ten times likelier."""

STEP_MINUTES = 30.0
"""What a look costs beyond its own minutes where it leaves the question open, and another must follow (estimate)."""

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
        _remedy_proposal(planner, planner.remedies[number], float(shares[number]))
        for number in made.order[: made.tries]
        if shares[number] >= LEAST_REMEDY
    )
    telling = [each for each in made.worth if each.gain >= LEAST_GAIN or each.name == made.check][:MOST_CHECKS]
    checks = tuple(_check_proposal(planner, each) for each in telling)
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
        return _proposal(planner, "check", check, why) if planner.may(check) else _fetched_for(planner, check, why)
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
        offered += [proposal, *(_proposal(planner, "remedy", each, put_off) for each in planner.lasting_behind(remedy))]
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
        return msgspec.structs.replace(_check_proposal(planner, worth), because=why)
    return best


def _remedy_or_escalation(planner: Planner, made: Plan, remedies: Sequence[Proposal], shares: Array) -> Proposal:
    """Return the first remedy that this person may carry out, what must be looked at before it, or whom to fetch."""
    waiting = ""
    for proposal in _gentle_first(planner, remedies, shares):
        remedy = planner.rule_book.remedies[proposal.id]
        may = planner.may(remedy)
        if remedy.id in planner.state.set_aside or not (may or _is_blocked_by_person(planner, remedy)):
            waiting = waiting or _nobody_knows(planner, remedy)
            continue
        share = float(shares[planner.remedies.index(remedy)])
        before, why = _looked_at_first(planner, made, remedy)
        if before is not None:
            return before
        why = why or _hides_what_is_likelier(planner, remedy, share)
        if not may:
            return _escalation(remedy, share, planner.rule_book, _competence_here(planner, remedy))
        if not why and not (waiting and share < planner.rule_book.settings.act_from):
            return proposal
        waiting = waiting or why
    handed = _escalation(None, 0.0, planner.rule_book)
    return msgspec.structs.replace(handed, because=waiting) if waiting else handed


def _gentle_first(planner: Planner, remedies: Sequence[Proposal], shares: Array) -> list[Proposal]:
    """Return remedies in order, but before a big one those small ones that are not much less likely to be needed."""
    book = planner.rule_book
    steps = {each.id: book.remedies[each.id] for each in remedies}
    big = {name: book.settings.big_remedies.has(remedy) for name, remedy in steps.items()}
    share = {name: float(shares[planner.remedies.index(remedy)]) for name, remedy in steps.items()}
    first = next((each.id for each in remedies if planner.may(steps[each.id])), "")
    if not first or not big[first]:
        return list(remedies)
    gentle = [each for each in remedies if not big[each.id] and share[each.id] >= GENTLE_SHARE * share[first]]
    return [*gentle, *(each for each in remedies if each not in gentle)]


def _looked_at_first(planner: Planner, made: Plan, remedy: Remedy) -> tuple[Proposal | None, str]:
    """Return the check that must come before a remedy, and why the remedy waits; nothing where it need not wait."""
    checks = planner.rule_book.checks
    if planner.spent(remedy):
        why = f"“{remedy.title}” was done before, and the reason behind it has not been looked for"
        for name in remedy.once.unless if remedy.once else ():
            if planner.may(checks[name]):
                return _before(planner, Worth(name, 0.0, 0.0), why), why
        return None, why
    history = _done_before(planner, remedy)
    if history is not None:
        why = f"“{remedy.title}” is done but once: if it was done before, its reason comes first"
        return _before(planner, Worth(history.id, 0.0, 0.0), why), why
    hidden = _ruled_out_first(planner, made, remedy)
    if hidden is not None:
        return hidden, hidden.because
    if not planner.on_words_alone(remedy):
        return None, ""
    why = f"nothing that was looked at or measured points to “{remedy.title}” yet"
    telling = _could_speak_for(planner, remedy)
    return (_before(planner, telling, why), why) if telling is not None else (None, why)


def _could_speak_for(planner: Planner, remedy: Remedy) -> Worth | None:
    """Return the check that would speak best for a cause that a remedy puts right; None where none can.

    A mere look that speaks strongly comes before anything that exposes somebody. Where there is none, what exposes
    somebody counts for less (``exposed_counts``), but comes before looks that would hardly say anything.
    """
    speaks = {each.name: planner.could_speak(each, remedy) for each in planner.open_to_us}
    able = [each for each in planner.open_to_us if speaks[each.name] >= LEAST_EVIDENCE]
    strong = [each for each in able if speaks[each.name] >= STRONG_EVIDENCE]
    looks = [each for each in strong if not planner.exposes(planner.rule_book.checks[each.name])]
    ranked = sorted(looks or able, key=lambda each: -speaks[each.name] * each.counts / (STEP_MINUTES + each.minutes))
    return Worth(ranked[0].name, 0.0, 0.0) if ranked else None


def _ruled_out_first(planner: Planner, made: Plan, remedy: Remedy) -> Proposal | None:
    """Return the check that rules out the likeliest cause that a remedy would hide; None where none is left to make.

    Looks and questions come before what exposes somebody or changes how the plant stands.
    """
    checks = planner.rule_book.checks
    gentle_first = sorted(made.worth, key=lambda each: planner.exposes(checks[each.name]))
    for cause in planner.hidden_by(remedy, LEAST_REMEDY):
        for worth in gentle_first:
            if planner.rules_out(checks[worth.name], cause):
                hidden = planner.rule_book.causes[cause].title
                return _before(planner, worth, f"“{remedy.title}” would only hide “{hidden}”: rule that out first")
    return None


def _hides_what_is_likelier(planner: Planner, remedy: Remedy, share: float) -> str:
    """Return why a remedy waits: it would hide a cause no less likely than the need for it, and not yet put right."""
    book = planner.rule_book
    for cause in planner.hidden_by(remedy, max(share, LEAST_REMEDY)):
        if book.causes[cause].remedy not in planner.known.remedies_tried:
            return f"“{remedy.title}” would only hide “{book.causes[cause].title}”, which is no less likely"
    return ""


def _done_before(planner: Planner, remedy: Remedy) -> Check | None:
    """Return the mere look or question that says whether a remedy which is done but once was done before."""
    if remedy.once is None or planner.inferred.findings.keys() & {*remedy.once.told_by}:
        return None
    told_by = {*remedy.once.told_by}
    for check in planner.rule_book.checks.values():
        made = check.only_proves or check.id in planner.known.checks_done
        told = {name for outcome in planner.engine.outcomes[check.id] for name in outcome}
        if told & told_by and not made and planner.may(check) and not planner.exposes(check):
            return check
    return None


def _before(planner: Planner, worth: Worth, why: str) -> Proposal:
    return msgspec.structs.replace(_check_proposal(planner, worth), because=why)


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


def _check_proposal(planner: Planner, worth: Worth) -> Proposal:
    check = planner.rule_book.checks[worth.name]
    return _proposal(planner, "check", check, _separates(planner, check), worth.saves)


def _remedy_proposal(planner: Planner, remedy: Remedy, share: float) -> Proposal:
    rest = "no check would save time now"
    if planner.on_words_alone(remedy):
        rest = "nothing that was looked at or measured points to it yet"
    lasting = planner.lasting_behind(remedy)
    if lasting:
        rest = f"does for now; the lasting remedy, at the next shutdown: “{lasting[0].title}”"
    because = f"{share * 100:.0f} % likely to be what is needed; {rest}"
    return _proposal(planner, "remedy", remedy, because)


def _proposal(planner: Planner, kind: Kind, step: Check | Remedy, because: str, saves: float = 0.0) -> Proposal:
    proposal = proposal_for(planner.dangers, kind, step, planner.standing, because)
    return msgspec.structs.replace(
        proposal, saves_minutes=round(saves, 2), ask_first=_to_ask_first(planner, step, proposal)
    )


def _to_ask_first(planner: Planner, step: Check | Remedy, proposal: Proposal) -> tuple[str, ...]:
    """Return the unknown data-sheet fields that decide whether a step applies, its cautions, its reading, its rules.

    What nobody could find out at the meter is not asked for.
    """
    fields = [name for name in step.applies if planner.rule_book.quantities[name].where_to_find]
    wanted = [name for name in fields if name not in planner.values]
    wanted += [name for name, _ in proposal.hangs_on]
    wanted += [name for _, unless in proposal.cautions for name in unless]
    if isinstance(step, Check):
        for name in calculated_with(planner.rule_book, step):
            wanted += missing_inputs(planner.rule_book, name, planner.values)
        held = planner.engine.held_against.get(step.measures, ())
        wanted += [name for name in held if name not in planner.values]
    return tuple(dict.fromkeys(wanted))


def _separates(planner: Planner, check: Check) -> str:
    """Return which two of the likelier causes a check tells apart best, in words."""
    network = planner.network
    share = planner.marginals
    top = planner.likeliest
    table = planner.chances_of_likeliest.at(check, planner.engine.outcomes[check.id])
    apart = np.abs(table[:, :, None] - table[:, None, :]).sum(axis=0) / 2
    worth = np.triu(apart * np.sqrt(np.outer(share[top], share[top])), 1)
    one, other = np.unravel_index(np.argmax(worth), worth.shape)
    if not worth[one, other] > 0:
        return "says whether one of the less probable causes is there"
    names = [planner.rule_book.causes[network.causes[top[each]]].title for each in (one, other)]
    return f"tells “{names[0]}” from “{names[1]}”"


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
