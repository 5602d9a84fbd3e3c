"""Prompts after a remedy and at the end: the proof, another fault, putting back, the hand-over."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import msgspec

from diagnose.cases.events import DangerMentioned
from diagnose.cases.standing import Standing
from diagnose.observations import FindingSeen, RemedyTried
from diagnose.protocol.prompts import HandOverPrompt, Option, Prompt, ProofPrompt, QuestionPrompt, StopPrompt
from diagnose.protocol.proving import answers_of_proof, question_of_proof, reading_of_proof
from diagnose.protocol.put_off import put_off
from diagnose.protocol.putting_back import last_put_back_prompt
from diagnose.protocol.replies import (
    CompetenceReply,
    GoOn,
    HazardOver,
    NobodyInDanger,
    NoOtherFault,
    NotDone,
    Observed,
    OtherFault,
    PlantAsBegun,
    PlantAsShown,
    PlantSaid,
    Reply,
)
from diagnose.protocol.situation import Situation
from diagnose.protocol.steps import caution_prompt, check_prompt, fields_prompt, held_up_in_words, numbered
from diagnose.reasoning.proposal import Proposal
from diagnose.rule_book.competence import COMPETENCES, Competence, a_person
from diagnose.rule_book.work import Remedy

if TYPE_CHECKING:  # the first question must not wait for the numerics
    from diagnose.reasoning.diagnosis import Diagnosis

LIKELY_AT_FIRST, UNLIKELY_NOW = 0.03, 0.01
"""A cause that had this share at first and has less than the second at the end is reported as no longer likely."""


def proof_prompt(situation: Situation) -> Prompt:
    """Return the next prompt of the proof of a remedy."""
    remedy = situation.rule_book.remedies[situation.standing.unproved]
    proof = situation.proof(remedy)
    if not situation.may_do(proof):
        return proof_by_others_prompt(remedy, proof.competence)
    fields = situation.fields_of_safety(proof)
    if fields:
        return fields_prompt(situation, proof, fields)
    if situation.to_heed(proof):
        return caution_prompt(proof, "proof")
    check = situation.rule_book.checks[remedy.proved_by]
    taken = situation.standing.pending_readings
    if check.measures and check.measures not in taken:
        return check_prompt(situation, check, proof, proves=remedy.id)
    reading = reading_of_proof(situation, remedy, check)
    return ProofPrompt(
        remedy=remedy.id,
        proposal=proof,
        text=question_of_proof(situation, check, reading),
        measured=bool(taken),
        reading=reading,
        options=numbered(answers_of_proof(reading)),
    )


def proof_by_others_prompt(remedy: Remedy, needed: Competence) -> QuestionPrompt:
    """Ask for somebody who may do a proof; its steps are not shown to whoever may not."""
    text = f"The proof of “{remedy.title}” is for {a_person(needed)}. Is one here now?"
    here = (f"yes, {a_person(needed)} takes over from here", CompetenceReply(competence=needed))
    nobody = ("no: it stays unproved, and whoever takes over will be told", NotDone())
    return QuestionPrompt(about="proof", text=text, options=numbered([here, nobody]))


def other_fault_prompt(situation: Situation) -> QuestionPrompt:
    """Ask after a cure whether anything is still wrong; what else was reported, and what remains to do, is named."""
    findings = situation.rule_book.findings
    still = situation.still_told
    replies: list[tuple[str, Reply]] = [("no, all is well", NoOtherFault())]
    for name in still:
        seen = FindingSeen(finding=name, present=True)
        replies.append((f"yes, still: {findings[name].title}", Observed(observations=(seen,))))
    replies.append(("yes, something else", OtherFault()))
    told = " You reported more than one thing." if still else ""
    lasting = "; ".join(f"“{situation.rule_book.remedies[name].title}”" for name in put_off(situation))
    remains = f"That does for now; to be planned for the next shutdown: {lasting}. " if lasting else ""
    text = f"{remains}Is anything still wrong?{told}"
    return QuestionPrompt(about="other fault", text=text, options=numbered(replies))


def stop_prompt(situation: Situation, findings: tuple[str, ...]) -> StopPrompt:
    """Stop all work for hazards that were reported."""
    seen = [each for each in situation.standing.observations if isinstance(each, FindingSeen)]
    quotes = {each.finding: each.quote for each in seen if each.finding in findings and each.quote}
    titles = {name: situation.rule_book.findings[name].title for name in findings}
    over: list[tuple[str, Reply]] = [
        (f"over, says somebody authorised: {title}", HazardOver(findings=(name,))) for name, title in titles.items()
    ]
    misread = "misread: nothing of the kind was or is there"
    for name, title in titles.items():
        text = f"{misread}: {title}" if len(titles) > 1 else misread
        over.append((text, HazardOver(findings=(name,), misread=True)))
    return StopPrompt(findings=findings, quotes=quotes, options=numbered(over))


def danger_prompt(situation: Situation, mentioned: DangerMentioned) -> QuestionPrompt:
    """Ask whether words tell of a danger; whoever cannot say is told to keep away as well."""
    findings = situation.rule_book.findings
    replies: list[tuple[str, Reply]] = []
    for name in mentioned.findings:
        seen = FindingSeen(finding=name, present=True, quote=mentioned.quote)
        replies.append((f"yes: {findings[name].title}", Observed(observations=(seen,))))
    replies.append(("no, nobody is in danger", NobodyInDanger()))
    text = f"You said “{mentioned.quote}”. Is anybody in danger there now?"
    *named, nobody = numbered(replies)
    options = (*named, *_another_danger(situation, mentioned), nobody)
    return QuestionPrompt(about="danger", text=text, options=options)


def _another_danger(situation: Situation, mentioned: DangerMentioned) -> Iterator[Option]:
    """Yield what a plain *yes* means: a danger that is none of those that were named, or more than one of them."""
    name = situation.rule_book.settings.another_danger
    if name and (len(mentioned.findings) > 1 or name not in mentioned.findings):
        seen = FindingSeen(finding=name, present=True, quote=mentioned.quote)
        yield Option(key="yes", text="another danger, or more than one", reply=Observed(observations=(seen,)))


def plant_prompt(situation: Situation) -> QuestionPrompt:
    """Ask how the plant stands after a hazard: whoever came may have switched off, shut in or opened something.

    What a hazard has changed is asked for by value, one state after the other: nobody confirms there what is only
    supposed. The rest is put right until all stands as it is shown. What only goes with others follows.
    """
    if situation.states_in_doubt:
        return state_prompt(situation, situation.states_in_doubt[0])
    states = sorted(situation.rule_book.states.values(), key=lambda each: each.order)
    free = [state for state in states if not state.goes_with]
    stands = [f"{state.title.lower()} {situation.plant[state.id]}" for state in free]
    replies: list[tuple[str, Reply]] = [(f"like this: {', '.join(stands)}", PlantAsShown())]
    for state in free:
        for value in state.values:
            if value != situation.plant[state.id] and situation.may_say([(state.id, value)]):
                replies.append((f"{state.title.lower()} {value}", PlantSaid(state=state.id, value=value)))
    begun = situation.standing.begun
    why = "The hazard is over." if begun is None else f"You may have begun “{situation.title_of(begun.step)}”."
    in_doubt = any(len(values) > 1 for values in situation.plant_may_be.values())
    if in_doubt and situation.may_say(situation.begun_changes):
        begun_so = situation.begun_changes
        changes = [f"{situation.rule_book.states[name].title.lower()} {value}" for name, value in begun_so]
        replies.insert(1, (f"as that step has it: {', '.join(changes)}", PlantAsBegun()))
    return QuestionPrompt(about="plant", text=f"{why} How does the plant stand now?", options=numbered(replies))


def state_prompt(situation: Situation, name: str) -> QuestionPrompt:
    """Ask for one state by its values, those that whoever is there may say; none of them is taken for granted."""
    state = situation.rule_book.states[name]
    may_say = [value for value in state.values if situation.may_say([(name, value)])]
    replies: list[tuple[str, Reply]] = [
        (state.asked_as.get(value, f"{state.title.lower()} {value}"), PlantSaid(state=name, value=value))
        for value in may_say
    ]
    others = (situation.who_may_say(name, value) for value in state.values if value not in may_say)
    for who in sorted(set(others), key=COMPETENCES.index):
        replies.append(
            (f"something else, says {a_person(who)}, who answers from here on", CompetenceReply(competence=who))
        )
    return QuestionPrompt(about="plant", text=f"The hazard is over. {state.ask}", options=numbered(replies))


def ending_prompt(situation: Situation, proposal: Proposal, ending: str) -> Prompt:
    """Return what comes at the end: first the plant is put back, then the case is closed or handed over."""
    back = None if situation.standing.left_as_is else last_put_back_prompt(situation)
    return hand_over_prompt(situation, proposal, ending) if back is None else back


def hand_over_prompt(situation: Situation, proposal: Proposal, ending: str) -> HandOverPrompt:
    """Return what whoever takes over must know as the case stands now."""
    likely = situation.first_ranking
    now = {cause.id: cause.probability for cause in situation.diagnosis.causes}
    unlikely = [
        name for name, before in likely.items() if before >= LIKELY_AT_FIRST and now.get(name, 0.0) < UNLIKELY_NOW
    ]
    go_on = "something else is wrong after all" if ending == "cured" else "go on all the same"
    return HandOverPrompt(
        ending=ending,  # type: ignore[arg-type]
        proposal=proposal,
        unlikely=tuple(unlikely),
        left=situation.put_back().changes,
        disturbed=situation.disturbed,
        not_proved=situation.not_proved,
        put_off=put_off(situation),
        left_out=() if ending == "cured" else held_up_in_words(situation),
        options=numbered([(go_on, OtherFault() if ending == "cured" else GoOn())]),
    )


def outside_proposal(situation: Situation) -> Proposal | None:
    """Return the hand-over for a fault that is probably outside the rule book, None while that is not so."""
    settings = situation.rule_book.settings
    standing = situation.standing
    counted = standing.answers + len(standing.in_vain) * (settings.outside_in_vain_counts - 1)
    counted += standing.passed_over * settings.outside_passed_over_counts
    if not settings.outside_after_answers or counted < settings.outside_after_answers:
        return None
    listed = (each for each in situation.diagnosis.causes if not situation.rule_book.causes[each.id].shows_others)
    best = max((each.probability for each in listed), default=0.0)
    if best >= settings.outside_below:
        return None
    least = f"{settings.outside_below * 100:.0f} %"
    because = f"after {_so_far(standing)} no cause in this rule book is at {least} or more"
    if little_is_known(situation):
        because += "; too little could be answered to say more"
    return Proposal(
        kind="escalate",
        id="",
        title="Fetch somebody who knows this plant and this meter",
        minutes=settings.call_out_minutes,
        saves_minutes=0.0,
        because=because,
        competence="skilled",
    )


def little_is_known(situation: Situation) -> bool:
    """Tell whether more was passed over than answered: then nothing says that the fault is outside the rule book."""
    return situation.standing.passed_over > situation.standing.answers


def _so_far(standing: Standing) -> str:
    """Return what was answered, tried in vain and passed over so far, in words."""
    numbers = {
        "answer": standing.answers - len(standing.in_vain),
        "remedy in vain": len(standing.in_vain),
        "step that nobody could answer": standing.passed_over,
    }
    many = {"remedy in vain": "remedies in vain", "step that nobody could answer": "steps that nobody could answer"}
    counted = [f"{n} {one if n == 1 else many.get(one, one + 's')}" for one, n in numbers.items() if n]
    return " and ".join(filter(None, (", ".join(counted[:-1]), *counted[-1:])))


def stopped_by(situation: Situation, held: tuple[str, ...]) -> Proposal:
    """Return the hand-over for work that cannot go on while something is left disturbed."""
    book = situation.rule_book
    titles = "; ".join(book.disturbances[name].title for name in held)
    who = max((book.disturbances[name].competence for name in held), key=COMPETENCES.index)
    return Proposal(
        kind="escalate",
        id="",
        title="Put back first, or stop here",
        minutes=book.settings.call_out_minutes,
        saves_minutes=0.0,
        because=f"as long as this is not put back, nothing else is done: {titles}",
        competence=who,
    )


def stopped(diagnosis: Diagnosis) -> Diagnosis:
    """Return a diagnosis that sends nobody anywhere: no step and no question while a hazard is not over."""
    because = "a hazard was reported; nobody goes near until somebody authorised has said that it is over"
    return _proposing_nothing(diagnosis, "Wait until the hazard is over", because, "skilled")


def unranked(diagnosis: Diagnosis, title: str, because: str) -> Diagnosis:
    """Return a diagnosis of what is no complaint about one meter: no cause is ranked and no step proposed."""
    bare = _proposing_nothing(diagnosis, title, because, "ordinary")
    return msgspec.structs.replace(bare, causes=(), combination=(), unexplained=())


def _proposing_nothing(
    diagnosis: Diagnosis, title: str, because: str, competence: Competence, questions: tuple[str, ...] = ()
) -> Diagnosis:
    instead = Proposal(
        kind="escalate",
        id="",
        title=title,
        minutes=0.0,
        saves_minutes=0.0,
        because=because,
        competence=competence,
    )
    proposals = msgspec.structs.replace(diagnosis.proposals, next=instead, checks=(), remedies=(), questions=questions)
    return msgspec.structs.replace(diagnosis, proposals=proposals)


def waiting_for_the_plant(diagnosis: Diagnosis) -> Diagnosis:
    """Return a diagnosis without a step while nobody knows how the plant stands after a hazard."""
    because = "a hazard is over, and nobody has said yet how the plant stands; no step is named before that"
    return _proposing_nothing(diagnosis, "Find out how the plant stands", because, "ordinary")


def waiting_for_an_answer(diagnosis: Diagnosis) -> Diagnosis:
    """Return a diagnosis without a step while nobody has said whether words tell of a danger: only questions."""
    because = "words of the report may tell of a danger; no step is named before that is answered"
    asking = diagnosis.proposals.questions
    return _proposing_nothing(diagnosis, "Ask first whether anybody is in danger", because, "ordinary", asking)


def all_cured(situation: Situation) -> tuple[str, ...]:
    """Return the remedies that were proved to mend something, in their order, each where it did so last."""
    tried = [each for each in situation.standing.observations if isinstance(each, RemedyTried)]
    mended = [each.remedy for each in tried if each.verdict != "not cured"]
    return tuple(dict.fromkeys(reversed(mended)))[::-1]
