"""Prompts on the way through one step: what it needs to know, its cautions, then what to do or read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

from diagnose.protocol.prompts import CautionPrompt, Option, Prompt, QuestionPrompt, ReadingPrompt, StepsPrompt
from diagnose.protocol.replies import Avoiding, Choose, Done, Heed, LackingTool, NotDone, Outcome, Reply, ThisStepOnly
from diagnose.protocol.replies import CompetenceReply as Competence
from diagnose.protocol.situation import Situation
from diagnose.reasoning.proposal import Proposal
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import COMPETENCES, a_person
from diagnose.rule_book.work import Check, Remedy
from diagnose.rule_book.work import Outcome as CheckOutcome

SCREENS_BEFORE_A_LOOK = 2
"""At most so many screens of data-sheet fields come before the first look at the meter."""

LETTERS = "acdghijkqrvxyz"
"""Keys of answers where a reading may be typed: letters of no command, so that no number is taken for one."""

MOST_ALIKE = 5
"""Dangers of a step by which others like it are declined too."""

MOST_LEFT_OUT = 4
"""Steps that are named as not proposed for one and the same field that nobody knows; of the others their number."""

MOST_OTHERS = (12, 4)
"""Checks and remedies that are offered besides the one proposed."""


def numbered(replies: list[tuple[str, Reply]]) -> tuple[Option, ...]:
    """Return options with numbers for keys."""
    return tuple(Option(key=str(number), text=text, reply=reply) for number, (text, reply) in enumerate(replies, 1))


def lettered(replies: list[tuple[str, Reply]]) -> tuple[Option, ...]:
    """Return options with letters for keys; numbers again beyond the letters that there are."""
    keys = [*LETTERS, *(f"{letter}{letter}" for letter in LETTERS)]
    return tuple(Option(key=key, text=text, reply=reply) for key, (text, reply) in zip(keys, replies, strict=False))


def step_prompt(situation: Situation, proposal: Proposal) -> Prompt:
    """Return what comes next on the way through a check or remedy."""
    standing = situation.standing
    # One of these screens is kept for what safety hangs on, whichever step brings that up.
    screens = standing.sheet_screens + bool(situation.open_safety)
    early = not standing.looked and screens >= SCREENS_BEFORE_A_LOOK
    fields = situation.fields_of_safety(proposal) if early else situation.open_fields(proposal)
    if fields:
        return fields_prompt(situation, proposal, fields)
    if situation.to_heed(proposal):
        return caution_prompt(proposal, "remedy" if proposal.kind == "remedy" else "check")
    step = situation.step(proposal)
    if isinstance(step, Remedy):
        done = numbered([("done", Done()), ("could not be done", NotDone())])
        return StepsPrompt(proposal=proposal, options=done)
    assert step is not None  # neither done nor handed over: those have endings of their own
    return check_prompt(situation, step, proposal)


def fields_prompt(situation: Situation, proposal: Proposal, fields: tuple[str, ...]) -> QuestionPrompt:
    """Ask for fields of the data sheet together; those of safety come first, and say what a blank means."""
    safety = situation.fields_of_safety(proposal)
    text = f"Before “{proposal.title}”: what is known about the meter?"
    if safety:
        counted = "1" if len(safety) == 1 else f"1 to {len(safety)}"
        text = f"Before you go: which of these is so at this meter? A blank at {counted} counts as dangerous."
    told = situation.unread_about(fields)
    of_its_own = proposal if proposal.ask_first else None  # a proof, or putting back, is not a step to leave out
    return QuestionPrompt(about="data sheet", text=text, fields=fields, told=told, proposal=of_its_own)


def caution_prompt(proposal: Proposal, before: Literal["check", "remedy", "proof", "put back"]) -> CautionPrompt:
    """Return the cautions of a step, to be heeded by typing the letter itself: a number will not do."""
    heed = Option(key="y", text="yes, I have read this and will act on it", reply=Heed())
    return CautionPrompt(proposal=proposal, before=before, options=(heed,))


def check_prompt(situation: Situation, check: Check, proposal: Proposal, proves: str = "") -> Prompt:
    """Return the next reading of a check, or the question that it answers."""
    offered = [] if proves else outcomes_offered(situation, check)
    answers: list[tuple[str, Reply]] = [(each.answer, Outcome(answer=each.answer)) for each in offered]
    taken = situation.standing.pending_readings
    beside = (name for name in proposal.read_also if name not in situation.standing.not_readable)
    wanted = [name for name in (*beside, check.measures) if name and name not in taken]
    if not wanted:
        return QuestionPrompt(about="check", text=check.ask, proposal=proposal, options=numbered(answers))
    main = wanted[0] == check.measures
    return ReadingPrompt(
        quantity=wanted[0],
        proposal=proposal,
        expected=situation.expected(check) if main else None,
        taken=taken,
        proves=proves,
        options=lettered(answers) if main else (),
    )


def outcomes_offered(situation: Situation, check: Check) -> list[CheckOutcome]:
    """Return the outcomes of a check that make sense for this fault."""
    some = [each for each in check.outcomes if not (situation.comes_and_goes and each.standing_only)]
    return some if len(some) > 1 else list(check.outcomes)


def declined_prompt(situation: Situation) -> QuestionPrompt:
    """Ask how far declining goes: this step alone, or all like it."""
    declined = situation.standing.declined
    assert declined is not None
    step = situation.rule_book.checks.get(declined.step) or situation.rule_book.remedies.get(declined.step)
    replies: list[tuple[str, Reply]] = [("only this step", ThisStepOnly())]
    if step is not None and declined.why == "no tool":
        replies += [(f"every step that needs: {tool}", LackingTool(tool=tool)) for tool in step.tools]
    elif step is not None:
        replies += declined_alike(situation, situation.proposal)
    text = f"“{step.title if step else declined.step}” is left out. Which steps does that apply to?"
    return QuestionPrompt(about="declined", text=text, options=numbered(replies))


def declined_alike(situation: Situation, proposal: Proposal) -> list[tuple[str, Reply]]:
    """Return what else than one step somebody may mean who may not do it: its competence, or what it exposes to."""
    below = COMPETENCES.index(proposal.competence) - 1
    replies: list[tuple[str, Reply]] = []
    if below >= 0:
        text = f"every step for {a_person(proposal.competence)}"
        replies.append((text, Competence(competence=COMPETENCES[below])))
    certain = [name for name, unless in proposal.cautions if not unless]
    for name in certain[:MOST_ALIKE]:
        title = situation.rule_book.cautions[name].title
        replies.append((f"every step with this danger: {title}", Avoiding(caution=name)))
    return replies


def others_prompt(situation: Situation) -> QuestionPrompt:
    """Offer other steps than the one proposed."""
    proposals = situation.diagnosis.proposals
    checks, remedies = MOST_OTHERS
    others = (*proposals.checks[:checks], *proposals.remedies[:remedies])
    replies: list[tuple[str, Reply]] = [(each.title, Choose(step=each.id)) for each in others]
    replies.append(("back to the proposed step", Choose()))
    text = "Which step instead?" if others else "There is no other step."
    left_out = "".join(f"\n{each}" for each in held_up_in_words(situation))
    return QuestionPrompt(about="other steps", text=text + left_out, others=others, options=numbered(replies))


def held_up_in_words(situation: Situation) -> tuple[str, ...]:
    """Say which steps are not proposed because nobody knows a field of the data sheet, a sentence for each field."""
    by_field: dict[tuple[str, ...], list[str]] = {}
    for each in situation.diagnosis.proposals.held_up:
        by_field.setdefault(each.fields, []).append(each.title)
    return tuple(left_out(situation.rule_book, fields, titles) for fields, titles in by_field.items())


def left_out(rule_book: RuleBook, fields: Iterable[str], titles: Sequence[str]) -> str:
    """Say that steps are not proposed because nobody knows these fields."""
    unknown = " nor ".join(f"“{rule_book.quantities[name].title}”" for name in fields)
    named = "; ".join(f"“{title}”" for title in titles[:MOST_LEFT_OUT])
    more = len(titles) - MOST_LEFT_OUT
    rest = f" and {more} more step{'s' if more > 1 else ''}" if more > 0 else ""
    return f"Not proposed, because nobody could say {unknown}: {named}{rest}."
