"""The state machine: a case to its prompt, a reply to events. Everything that decides what comes next is here.

What always holds (``tests/protocol/test_machine.py`` walks it at random):

- A prompt is a function of engine and case: the same events give the same prompt.
- Every reply is answered by events, by a remark, or both; nothing is dropped without a word.
- Every prompt has a way on: an option, *unknown* or *skip* leads to another prompt. A hand-over is the end only
  until somebody goes on.
- *Back* takes the last answer back, from any prompt, any number of times; cautions read and notes stay.
- Steps of a check or remedy are shown only after their grave cautions were heeded, once in the case and again for what
  a change on the way brings up; readings or a verdict are asked for only after the steps were shown.
- What a step that was shown may have disturbed is kept on record until somebody says that it is put back. That is asked
  for before a step that does not need it so, before a proof and before the end; no proof is asked for while anything is
  disturbed that the proof does not disturb itself, and a hand-over names what is left.

Fronts (terminal, pipe, simulation, replay, triage) show prompts and pass replies; they hold none of this.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from typing import TYPE_CHECKING

from diagnose.cases.events import Case
from diagnose.observations import FindingSeen
from diagnose.protocol.endings import (
    danger_prompt,
    ending_prompt,
    little_is_known,
    other_fault_prompt,
    outside_proposal,
    plant_prompt,
    proof_by_others_prompt,
    proof_prompt,
    stop_prompt,
    stopped_by,
)
from diagnose.protocol.prompts import ComplaintPrompt, Option, Prompt, QuestionPrompt
from diagnose.protocol.putting_back import due_now, held_back, put_back_prompt
from diagnose.protocol.replies import CompetenceReply, Observed, Reply
from diagnose.protocol.situation import Situation
from diagnose.protocol.steps import declined_prompt, numbered, others_prompt, step_prompt
from diagnose.reasoning.frequencies import frequency_on
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import Competence
from diagnose.rule_book.faults import Finding

if TYPE_CHECKING:
    from diagnose.reasoning.engine import Engine

WORDS: dict[Competence, str] = {
    "ordinary": "ordinary person: look, read, ask; no covers, no terminals",
    "instructed": "instructed person: tasks that you were shown, signal terminals, valves",
    "skilled": "skilled person: electrical work, isolation, opened lines, as local rules authorise you",
}


def prompt_of(engine: Engine, case: Case) -> Prompt:
    """Return what is put to the person next."""
    return prompt_in(Situation(engine, case))


def prompt_in(situation: Situation) -> Prompt:
    """Return what is put to the person in a situation: the first of the stages that has something to say."""
    for stage in _STAGES:
        prompt = stage(situation)
        if prompt is not None:
            return prompt
    raise AssertionError("the last stage always has a prompt")


def _hazard(situation: Situation) -> Prompt | None:
    hazards = situation.hazards
    return stop_prompt(situation, hazards) if hazards else None


def _danger(situation: Situation) -> Prompt | None:
    if not situation.standing.dangers_mentioned:
        return None
    mentioned = situation.danger_in_doubt
    return danger_prompt(situation, mentioned) if mentioned else None


def _plant(situation: Situation) -> Prompt | None:
    standing = situation.standing
    return plant_prompt(situation) if standing.just_over or standing.begun else None


def _choice_of_step(situation: Situation) -> Prompt | None:
    standing = situation.standing
    if standing.declined:
        return declined_prompt(situation)
    return others_prompt(situation) if standing.others_wanted else None


def _proof(situation: Situation) -> Prompt | None:
    if situation.standing.unproved not in situation.rule_book.remedies or situation.before_all:
        return None
    due = due_now(situation)
    if not due:
        return proof_prompt(situation)
    remedy = situation.rule_book.remedies[situation.standing.unproved]
    return put_back_prompt(situation, due) or proof_by_others_prompt(remedy, "skilled")


def _complaint(situation: Situation) -> Prompt | None:
    standing = situation.standing
    if not situation.complaining:
        return None
    book = situation.rule_book
    near = [] if standing.fault_remains else [book.findings[name] for name in situation.near_complaints]
    common, other = ([each for each in complaints(book, kind) if each not in near] for kind in ("common", "other"))
    options = numbered([(each.title, _seen(each)) for each in (*near, *common, *other)])
    kept = bool(standing.observations) and not standing.fault_remains
    shown = len(near) + len(common)
    return ComplaintPrompt(options=options, common=shown, near=len(near), kept=kept, again=standing.fault_remains)


def _cured(situation: Situation) -> Prompt | None:
    if situation.diagnosis.proposals.next.kind != "done":
        return None
    if not situation.standing.nothing_else:
        return other_fault_prompt(situation)
    return ending_prompt(situation, situation.diagnosis.proposals.next, "cured")


def _competence(situation: Situation) -> Prompt | None:
    claimed = situation.standing.claimed
    if situation.standing.competence_said and not claimed:
        return None
    words: list[tuple[str, Reply]] = [(text, CompetenceReply(competence=each)) for each, text in WORDS.items()]
    text = "What may you do here? (IEC 60050-195; local rules come first)"
    text = f"You said “{claimed}”. {text}" if claimed else text
    return QuestionPrompt(about="competence", text=text, options=numbered(words))


def _outside(situation: Situation) -> Prompt | None:
    settled = situation.standing.chosen or situation.before_all
    proposal = None if settled else outside_proposal(situation)
    ending = "hand-over" if little_is_known(situation) else "outside the book"
    return ending_prompt(situation, proposal, ending) if proposal else None


def _step(situation: Situation) -> Prompt | None:
    proposal = situation.proposal
    if proposal.kind == "escalate":
        return ending_prompt(situation, proposal, "hand-over")
    due = due_now(situation)
    back = put_back_prompt(situation, due) if due else None
    held = held_back(situation, proposal)
    if back is None and held:
        return ending_prompt(situation, stopped_by(situation, held), "hand-over")
    return back or step_prompt(situation, proposal)


_STAGES: tuple[Callable[[Situation], Prompt | None], ...] = (
    _hazard,
    _danger,
    _choice_of_step,
    _plant,
    _proof,
    _complaint,
    _cured,
    _competence,
    _outside,
    _step,
)
"""In this order: a hazard before anything, what is under way before what is new."""


def complaints(rule_book: RuleBook, kind: str) -> list[Finding]:
    """Return the findings of a kind that somebody may report, those that most causes show first."""
    weight: defaultdict[str, float] = defaultdict(float)
    for cause in rule_book.causes.values():
        frequency = frequency_on(rule_book, cause, {})
        for name, strength in cause.shows.items():
            weight[name] += frequency * strength
    offered = [item for item in rule_book.findings.values() if item.complaint == kind]
    return sorted(offered, key=lambda item: (-weight[item.id], item.id))


def _seen(finding: Finding) -> Reply:
    return Observed(observations=(FindingSeen(finding=finding.id, present=True),))


__all__ = ["Option", "complaints", "prompt_in", "prompt_of"]
