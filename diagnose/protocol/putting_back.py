"""What steps leave changed, and when it is put back: after the step, before a proof, before the end."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import msgspec

from diagnose.cases.events import Case, Disturbed, Event, SetAside, StaysDisturbed, StepBegun
from diagnose.protocol.prompts import (
    Prompt,
    ProofPrompt,
    PutBackPrompt,
    QuestionPrompt,
    ReadingPrompt,
    StepsPrompt,
    StopPrompt,
)
from diagnose.protocol.replies import Decline, Done, Leave, NotDone, Reply, Untouched
from diagnose.protocol.situation import Situation
from diagnose.protocol.steps import caution_prompt, fields_prompt, numbered
from diagnose.protocol.turn import Remark, Turn
from diagnose.reasoning.proposal import Proposal, proposal_for
from diagnose.rule_book.competence import COMPETENCES
from diagnose.rule_book.work import Disturbance, Step

if TYPE_CHECKING:
    from diagnose.reasoning.engine import Engine

AT_ONCE, AT_THE_END, PLANT = "restore", "restore-before-the-end", "put-back"
"""Ids of what is put back: before the next step or proof, before the end, and at the end together with the plant."""

UNPROVED = "The remedy stays unproved; whoever takes over will be told."


# What is due ---------------------------------------------------------------------------------------------------


def due_now(situation: Situation) -> tuple[str, ...]:
    """Return what is to be put back before the next step or proof: what that does not disturb itself.

    What somebody left as it is comes up again only before a proof, which shows nothing on a meter that is not whole.
    What waits for the plant to stand otherwise comes up once it does so, or before a proof that needs it so.
    """
    held, standing, book = situation.disturbed, situation.standing, situation.rule_book
    remedy = book.remedies.get(standing.unproved)
    if not held or situation.before_all:
        return ()  # after a hazard nothing is touched before what it asks for was looked at
    if remedy is not None:
        proof = situation.proof(remedy)
        stands = {**proof.standing, **dict(proof.changes)}
        keeps = book.checks[remedy.proved_by].disturbs
        return tuple(name for name in held if name not in keeps and not _waits(book.disturbances[name], stands))
    step = situation.step(situation.proposal)
    # At the end it is put back together with the plant.
    keeps = (*situation.proposal.disturbs, *standing.left_disturbed) if step else held
    stands = situation.plant
    return tuple(name for name in held if name not in keeps and not _waits(book.disturbances[name], stands))


def _waits(disturbance: Disturbance, stands: Mapping[str, str]) -> bool:
    """Tell whether something is left as it is until the plant stands otherwise."""
    return disturbance.waits and any(stands[name] not in values for name, values in disturbance.needs.items())


def held_back(situation: Situation, proposal: Proposal) -> tuple[str, ...]:
    """Return what is left disturbed and forbids a step: with it so, the plant must not stand as the step leaves it."""
    stands = {**proposal.standing, **dict(proposal.changes), **dict(proposal.leaves)}
    step = situation.step(proposal)
    book, own = situation.rule_book, step.disturbs if step else ()
    held = (book.disturbances[name] for name in situation.disturbed if name not in own)
    return tuple(each.id for each in held if any(stands[state] not in values for state, values in each.holds.items()))


def put_back_prompt(situation: Situation, names: tuple[str, ...]) -> Prompt | None:
    """Ask to put back, before the next step or proof, as much as can be in one go; nothing where nobody here may."""
    together = _together(situation, names)
    return _prompt(situation, _proposal(situation, _merged(together, AT_ONCE)), together)


def last_put_back_prompt(situation: Situation) -> Prompt | None:
    """Ask to put back, before the case ends, what is disturbed and the plant: in one go, unless it must be stopped."""
    plant = situation.put_back()
    together = _together(situation, situation.disturbed)
    merged = _merged(together, AT_THE_END)
    if together:
        first = _proposal(situation, merged)
        if first.changes:
            return _prompt(situation, first, together)
        needs = {name: (state.initial,) for name, state in situation.rule_book.states.items()}
        plant = _proposal(situation, msgspec.structs.replace(merged, id=PLANT, title=plant.title, needs=needs))
    return _prompt(situation, plant, together) if plant.changes or together else None


def _prompt(situation: Situation, proposal: Proposal, together: list[Disturbance]) -> Prompt | None:
    """Return the next prompt on the way to putting back; none for somebody who may not do it: a hand-over names it."""
    if not situation.may_do(proposal):
        return None
    fields = situation.fields_of_safety(proposal)
    if fields:
        return fields_prompt(situation, proposal, fields)
    if situation.to_heed(proposal) and not _goes_with_its_step(situation, proposal):
        return caution_prompt(proposal, "put back")
    replies: list[tuple[str, Reply]] = [("done", Done())]
    if together:
        replies.append(("none of it was changed", Untouched()))
    replies.append(("it stays as it is; whoever takes over will be told", NotDone()))
    names = tuple(each.id for each in together)
    return PutBackPrompt(proposal=proposal, disturbed=names, options=numbered(replies))


def _goes_with_its_step(situation: Situation, proposal: Proposal) -> bool:
    """Tell whether putting back belongs to the step just done: nothing changes, and its cautions were read for that."""
    return not proposal.changes and situation.standing.read_before >= set(situation.to_heed(proposal))


def _together(situation: Situation, names: tuple[str, ...]) -> list[Disturbance]:
    """Return what can be put back while the plant is in one state, what was disturbed last first.

    What waits comes after all else, and only by itself if the plant must be changed for it.
    """
    found: list[Disturbance] = []
    needs: dict[str, tuple[str, ...]] = {}
    last_first = [situation.rule_book.disturbances[name] for name in reversed(names)]
    ready = [each for each in last_first if not _waits(each, situation.plant)] or last_first
    for disturbance in sorted(ready, key=lambda each: each.waits):
        both = _both(needs, disturbance.needs)
        if all(both.values()):
            found.append(disturbance)
            needs = both
    return found


def _both(one: dict[str, tuple[str, ...]], other: dict[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
    shared = {state: tuple(value for value in one[state] if value in other[state]) for state in one.keys() & other}
    return {**one, **other, **shared}


def _merged(together: list[Disturbance], id: str) -> Step:
    """Return the putting back of several things as one step."""
    needs: dict[str, tuple[str, ...]] = {}
    for each in together:
        needs = _both(needs, each.needs)
    return Step(
        id=id,
        title=f"Put back: {'; '.join(each.title for each in together)}",
        steps=tuple(dict.fromkeys(step for each in together for step in each.steps)),
        minutes=sum(each.minutes for each in together),
        needs=needs,
        meets=tuple(dict.fromkeys(word for each in together for word in each.meets)),
        competence=max((each.competence for each in together), key=COMPETENCES.index, default="ordinary"),
    )


def _proposal(situation: Situation, step: Step) -> Proposal:
    because = "nothing is left disturbed unless the next step needs it that way"
    return proposal_for(situation.dangers, "done", step, situation.plant, because)


# What a reply leaves -------------------------------------------------------------------------------------------


def stays_disturbed(situation: Situation) -> Turn:
    """Leave as it is what is due; a proof that waits for it cannot be made."""
    stays = StaysDisturbed(what=due_now(situation))
    remedy = situation.standing.unproved
    if not remedy:
        return Turn(events=(stays,))
    aside = SetAside(step=remedy, why="not proved")
    return Turn(events=(stays, aside), remarks=(Remark(kind="said", text=UNPROVED),))


def with_what_is_disturbed(engine: Engine, case: Case, prompt: Prompt, reply: Reply, turn: Turn) -> Turn:
    """Return a turn with what the step on the screen leaves disturbed, if the reply leads away from that step.

    Whoever was shown how to do it may have begun, however the step was left: answered, skipped, for another one, by
    going back. Only a step that was declined, for want of a tool or of permission, was not begun. Whoever leaves in the
    middle, or runs from a hazard, may have begun to change the plant as well.
    """
    situation = Situation(engine, case)
    if isinstance(prompt, PutBackPrompt) and isinstance(reply, Done):
        # On the way to where a lead goes back the plant was changed: what that disturbs comes on record.
        what = prompt.proposal.disturbs
        told = (Disturbed(step=prompt.proposal.id, what=what),) if what else ()
        return msgspec.structs.replace(turn, events=(*turn.events, *told))
    shown = _shown(prompt)
    step = situation.step(shown) if shown else None
    if shown is None or step is None or isinstance(reply, Decline) or not (turn.events or isinstance(reply, Leave)):
        return turn
    interrupted = isinstance(reply, Leave)
    turn = _with_what_holds_off(situation, step, turn)
    if not interrupted:
        from diagnose.protocol.machine import prompt_of

        prompt_after = prompt_of(engine, case.after(*turn.events))
        after = _shown(prompt_after)
        if after is not None and (after.kind, after.id) == (shown.kind, shown.id):
            return turn
        interrupted = isinstance(prompt_after, StopPrompt) or (
            isinstance(prompt_after, QuestionPrompt) and prompt_after.about == "danger"
        )
    left: list[Event] = [Disturbed(step=step.id, what=shown.disturbs)] if shown.disturbs else []
    if interrupted and shown.changes:
        left.append(StepBegun(step=step.id, changes=shown.changes))
    return msgspec.structs.replace(turn, events=(*turn.events, *left))


def _with_what_holds_off(situation: Situation, step: Step, turn: Turn) -> Turn:
    """Return a turn with what a check after a hazard found and is not made good: it holds the supply off."""
    if step.id not in situation.first_after_hazards:
        return turn
    after = Situation(situation.engine, situation.case.after(*turn.events)).diagnosis.findings
    book = situation.rule_book
    found = [name for name, present in after.items() if present and not situation.diagnosis.findings.get(name)]
    what = tuple(dict.fromkeys(each for name in found for each in book.findings[name].holds_off))
    told = (Disturbed(step=step.id, what=what),) if what else ()
    return msgspec.structs.replace(turn, events=(*turn.events, *told))


def _shown(prompt: Prompt) -> Proposal | None:
    """Return the check or remedy whose steps a prompt shows."""
    if isinstance(prompt, QuestionPrompt):
        return prompt.proposal if prompt.about == "check" else None
    return prompt.proposal if isinstance(prompt, ReadingPrompt | StepsPrompt | ProofPrompt) else None
