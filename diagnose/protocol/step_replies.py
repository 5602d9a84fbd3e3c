"""Replies to a step: fields, readings, outcomes, done or not, and what the proof showed."""

from __future__ import annotations

from collections.abc import Callable, Collection

from diagnose.analyses.analysed import Analysis
from diagnose.cases.events import (
    Disturbed,
    Event,
    LeftAsIs,
    ReadingTaken,
    RemedyDone,
    Restored,
    SetAside,
    SheetAsked,
    SheetFilled,
    StepMeasured,
)
from diagnose.observations import CheckDone, FindingSeen, RemedyTried
from diagnose.protocol import replies
from diagnose.protocol.prompts import (
    CautionPrompt,
    Prompt,
    ProofPrompt,
    PutBackPrompt,
    QuestionPrompt,
    ReadingPrompt,
    StepsPrompt,
)
from diagnose.protocol.putting_back import AT_ONCE, UNPROVED, stays_disturbed
from diagnose.protocol.situation import Situation, measured
from diagnose.protocol.steps import left_out
from diagnose.protocol.telling import read_words
from diagnose.protocol.turn import Remark, Turn, told
from diagnose.reasoning.proposal import Proposal
from diagnose.rule_book.calculated import with_calculated
from diagnose.rule_book.quantities import Value
from diagnose.rule_book.verdicts import said_of
from diagnose.rule_book.work import Check

MOST_SAID = 2
"""At most so many things are said of a reading."""


def _fields(situation: Situation, prompt: Prompt, reply: replies.FieldsFilled) -> Turn:
    if not (isinstance(prompt, QuestionPrompt) and prompt.about == "data sheet"):
        return told("No field of the data sheet is asked for here.")
    quantities = situation.rule_book.quantities
    known = {name: value for name, value in reply.values.items() if name in quantities}
    events: list[Event] = [SheetFilled(field=name, value=value) for name, value in known.items()]
    shown = [f"{quantities[name].title}: {quantities[name].shown(value)}" for name, value in known.items()]
    if reply.complete or set(prompt.fields) <= known.keys():
        events.append(SheetAsked(fields=prompt.fields))
    remarks = [Remark(kind="taken", text=text) for text in shown]
    words = read_words(situation, reply.rest) if reply.rest else Turn()
    # What fits no field as it stands, but was read as words and whole, was clear after all.
    unread = not words.events or any(each.kind in ("not understood", "doubt", "help") for each in words.remarks)
    remarks += [Remark(kind="help", text=reply.unclear)] if reply.unclear and unread else []
    if len(events) > len(known):
        remarks += _not_proposed(situation, prompt, known.keys())
    return Turn(events=(*events, *words.events), remarks=(*remarks, *words.remarks))


def _not_proposed(situation: Situation, prompt: QuestionPrompt, known: Collection[str]) -> tuple[Remark, ...]:
    """Say that a step falls away of which nobody could say whether it is forbidden here."""
    proposal = prompt.proposal
    hangs_on = (name for name, _ in proposal.hangs_on) if proposal else ()
    fields = [name for name in hangs_on if name in prompt.fields and name not in known]
    if proposal is None or not fields:
        return ()
    return (Remark(kind="said", text=left_out(situation.rule_book, fields, [proposal.title])),)


def _outcome(situation: Situation, prompt: Prompt, reply: replies.Outcome) -> Turn:
    check = _check_of(situation, prompt)
    outcome = next((each for each in check.outcomes if each.answer == reply.answer), None) if check else None
    if check is None or outcome is None:
        return told("That is not an answer to this question.")
    findings = situation.rule_book.findings
    # A hazard that is found again is there again, although it was said to be over.
    again = [FindingSeen(finding=name, present=True) for name in outcome.present if findings[name].keep_away]
    events = [
        *_plant_after(situation, prompt),
        *measured(situation.standing.pending_readings),
        *again,
        CheckDone(check=check.id, answer=outcome.answer),
        *((Disturbed(step=check.id, what=outcome.disturbs),) if outcome.disturbs else ()),
    ]
    remarks = (Remark(kind="means", text=outcome.means),) if outcome.means else ()
    return Turn(events=tuple(events), remarks=remarks)


def _figure(situation: Situation, prompt: Prompt, reply: replies.Figure) -> Turn:
    if not isinstance(prompt, ReadingPrompt):
        return told("No reading is asked for here.")
    quantity = situation.rule_book.quantities[prompt.quantity]
    taken = Remark(kind="taken", text=f"{quantity.title}: {quantity.shown(reply.value)}")
    step = prompt.proposal.id
    check = situation.rule_book.checks[step]
    if prompt.proves or prompt.quantity != check.measures:
        reading = ReadingTaken(step=step, quantity=prompt.quantity, value=reply.value)
        return Turn(events=(*_plant_after(situation, prompt), reading), remarks=(taken,))
    readings = {**situation.standing.pending_readings, prompt.quantity: reply.value}
    means = [Remark(kind="means", text=text) for text in _said(situation, readings, prompt.quantity)[:MOST_SAID]]
    events = (*_plant_after(situation, prompt), *measured(readings), StepMeasured(step=step))
    return Turn(events=events, remarks=(taken, *means))


def _said(situation: Situation, readings: dict[str, Value | None], quantity: str) -> tuple[str, ...]:
    """Return what the rules say of a reading just taken, in words."""
    rule_book, diagnosis = situation.rule_book, situation.diagnosis
    calculated = {name for name, item in rule_book.quantities.items() if item.calculate}
    known = {name: value for name, value in diagnosis.values.items() if name not in calculated}
    taken = {name: value for name, value in readings.items() if value is not None}
    return said_of(rule_book, quantity, diagnosis.findings, with_calculated(rule_book, {**known, **taken}))


def _analysed(situation: Situation, prompt: Prompt, reply: replies.Analysed) -> Turn:
    if isinstance(prompt, ReadingPrompt) and prompt.proves and prompt.quantity in reply.analysis.readings:
        return _proved_by_pairs(situation, prompt, reply.analysis)
    check = _check_of(situation, prompt)
    if check is None:
        return told("No pairs of readings are taken here: give what is asked for.")
    done = SetAside(step=check.id, why="answered by readings")
    events = (*_plant_after(situation, prompt), *reply.analysis.observations, done)
    return Turn(events=events, remarks=(Remark(kind="analysed", analysis=reply.analysis),))


def _proved_by_pairs(situation: Situation, prompt: ReadingPrompt, analysis: Analysis) -> Turn:
    """Take pairs of readings as those of a proof: the pair that is furthest apart counts."""
    step = prompt.proposal.id
    readings = [ReadingTaken(step=step, quantity=name, value=value) for name, value in analysis.readings.items()]
    quantities = situation.rule_book.quantities
    shown = ", ".join(f"{quantities[name].title}: {quantities[name].shown(v)}" for name, v in analysis.readings.items())
    taken = Remark(kind="taken", text=f"the pair furthest apart counts ({shown})")
    remarks = (Remark(kind="analysed", analysis=analysis), taken)
    return Turn(events=(*_plant_after(situation, prompt), *readings), remarks=remarks)


def _found(situation: Situation, prompt: Prompt, reply: replies.Found) -> Turn:
    check = _check_of(situation, prompt)
    if check is None:
        return told("No check is under way; say what you found in your own words.")
    done = SetAside(step=check.id, why="answered by readings")
    return Turn(events=(*_plant_after(situation, prompt), *reply.observations, done))


def _done(situation: Situation, prompt: Prompt, reply: replies.Done) -> Turn:
    if isinstance(prompt, StepsPrompt):
        return Turn(events=(*_plant_after(situation, prompt), RemedyDone(remedy=prompt.proposal.id)))
    if isinstance(prompt, PutBackPrompt):
        restored = (Restored(what=prompt.disturbed),) if prompt.disturbed else ()
        return Turn(events=(*_plant_after(situation, prompt), *restored))
    return told("Answer the question; there is nothing to do here.")


def _untouched(situation: Situation, prompt: Prompt, reply: replies.Untouched) -> Turn:
    if not (isinstance(prompt, PutBackPrompt) and prompt.disturbed):
        return told("There is nothing to put back here; answer the question.")
    return Turn(events=(Restored(what=prompt.disturbed),))


def _not_done(situation: Situation, prompt: Prompt, reply: replies.NotDone) -> Turn:
    if isinstance(prompt, StepsPrompt):
        return Turn(events=(SetAside(step=prompt.proposal.id, why="not done"),))
    return pass_over(situation, prompt, "not proved")


def pass_over(situation: Situation, prompt: Prompt, why: str) -> Turn:
    """Go on without the step, the reading or the proof in hand."""
    if isinstance(prompt, PutBackPrompt) or (isinstance(prompt, CautionPrompt) and prompt.before == "put back"):
        return stays_disturbed(situation) if prompt.proposal.id == AT_ONCE else Turn(events=(LeftAsIs(),))
    if isinstance(prompt, QuestionPrompt) and prompt.about == "data sheet":
        return Turn(events=(SheetAsked(fields=prompt.fields),), remarks=_not_proposed(situation, prompt, ()))
    if isinstance(prompt, ReadingPrompt) and (prompt.proves or prompt.quantity != _measured_by(situation, prompt)):
        return Turn(events=(ReadingTaken(step=prompt.proposal.id, quantity=prompt.quantity),))
    remedy = situation.standing.unproved
    if remedy:
        aside = SetAside(step=remedy, why="not proved")
        return Turn(events=(aside,), remarks=(Remark(kind="said", text=UNPROVED),))
    proposal: Proposal | None = getattr(prompt, "proposal", None)
    if proposal is None:
        return told("Answer the question, or leave.")
    return Turn(events=(SetAside(step=proposal.id, why=why),))  # type: ignore[arg-type]


def _verdict(situation: Situation, prompt: Prompt, reply: replies.Verdict) -> Turn:
    if not isinstance(prompt, ProofPrompt) or reply.verdict not in ("cured", "partly", "not cured"):
        return told("There is nothing to prove here.")
    if reply.verdict == "cured" and prompt.reading == "not good":
        otherwise = "That reading says otherwise; take it back"
        return told(f"{otherwise} with b if it was typed wrongly.", f"{otherwise} if it was typed wrongly.")
    tried = RemedyTried(remedy=prompt.remedy, verdict=reply.verdict)  # type: ignore[arg-type]
    return Turn(events=(*_plant_after(situation, prompt), tried, *measured(situation.standing.pending_readings)))


def _check_of(situation: Situation, prompt: Prompt) -> Check | None:
    """Return the check that a prompt waits for; none where it is part of a proof."""
    if isinstance(prompt, QuestionPrompt | ReadingPrompt) and prompt.proposal and not getattr(prompt, "proves", ""):
        return situation.rule_book.checks.get(prompt.proposal.id) if not _asks_first(prompt) else None
    return None


def _asks_first(prompt: Prompt) -> bool:
    return isinstance(prompt, QuestionPrompt) and prompt.about != "check"


def _measured_by(situation: Situation, prompt: ReadingPrompt) -> str:
    return situation.rule_book.checks[prompt.proposal.id].measures


def _plant_after(situation: Situation, prompt: Prompt) -> tuple[Event, ...]:
    """Return the state of the plant after the step of a prompt."""
    proposal = getattr(prompt, "proposal", None)
    return situation.plant_changes((*proposal.changes, *proposal.leaves) if proposal else ())


STEP_HANDLERS: dict[type, Callable[..., Turn]] = {
    replies.FieldsFilled: _fields,
    replies.Outcome: _outcome,
    replies.Figure: _figure,
    replies.Found: _found,
    replies.Analysed: _analysed,
    replies.Done: _done,
    replies.NotDone: _not_done,
    replies.Untouched: _untouched,
    replies.Verdict: _verdict,
}
