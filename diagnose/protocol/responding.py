"""Replies to events: what a reply to a prompt adds to the case. Pure; the caller keeps the events."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import msgspec

from diagnose.cases.dangers_told import FINISHES
from diagnose.cases.events import (
    Case,
    CompetenceSaid,
    DangerAvoided,
    FaultRemains,
    NoComplaint,
    NoDanger,
    Note,
    NothingElse,
    NoTool,
    OthersWanted,
    PlantChanged,
    SetAside,
    StepChosen,
    StepDeclined,
    Undo,
    WentOn,
)
from diagnose.observations import FindingSeen
from diagnose.protocol import replies
from diagnose.protocol.plant_replies import PLANT_HANDLERS, state_in_words
from diagnose.protocol.prompts import CautionPrompt, ComplaintPrompt, HandOverPrompt, Prompt, QuestionPrompt, StopPrompt
from diagnose.protocol.putting_back import with_what_is_disturbed
from diagnose.protocol.situation import Situation
from diagnose.protocol.step_replies import STEP_HANDLERS, pass_over
from diagnose.protocol.steps import declined_alike
from diagnose.protocol.taken_back import taken_back
from diagnose.protocol.telling import dangers_told, read_words
from diagnose.protocol.turn import Remark, Turn, told
from diagnose.reasoning.proposal import Proposal
from diagnose.rule_book.competence import a_person

if TYPE_CHECKING:
    from diagnose.reasoning.engine import Engine


PLANT_AS_BEFORE = (
    "The plant is taken to be as it was before that answer; if it is not, say what state it is in: p supply isolated"
)

NOTHING_LEFT_OUT = "No step was skipped. Choose one yourself, or say what else you see."


def respond(engine: Engine, case: Case, prompt: Prompt, reply: replies.Reply) -> Turn:
    """Return the events that a reply adds to a case, and what to say back at once.

    A reply that makes no sense at this prompt brings no events, and a remark that says what does.
    """
    if isinstance(reply, replies.AnswerAndWords):
        return _answer_and_words(engine, case, prompt, reply)
    situation = Situation(engine, case)
    handlers: dict[type, Any] = {**_HANDLERS, **PLANT_HANDLERS, **STEP_HANDLERS}
    turn: Turn = handlers[type(reply)](situation, prompt, reply)
    turn = _with_lighter_cautions(situation, prompt, turn)
    return with_what_is_disturbed(engine, case, prompt, reply, turn)


def _answer_and_words(engine: Engine, case: Case, prompt: Prompt, reply: replies.AnswerAndWords) -> Turn:
    """Take the answer, then read the words as they are read after it; both are one turn, taken back together."""
    answered = respond(engine, case, prompt, reply.answer)
    if not answered.events:
        return answered
    then = case.after(*answered.events)
    said = read_words(Situation(engine, then), reply.words)
    remarks = (each for each in said.remarks if each.kind != "help")  # the answer was understood
    return Turn(events=(*answered.events, *said.events), remarks=(*answered.remarks, *remarks))


def _with_lighter_cautions(situation: Situation, prompt: Prompt, turn: Turn) -> Turn:
    """Add that the lighter cautions of a step that is over were read with it: from then on they come in short form."""
    proposal: Proposal | None = getattr(prompt, "proposal", None)
    asks_first = isinstance(prompt, QuestionPrompt) and prompt.about != "check"
    if proposal is None or asks_first or isinstance(prompt, CautionPrompt | HandOverPrompt):
        return turn
    if not any(isinstance(event, FINISHES) for event in turn.events):
        return turn
    return Turn(events=(*situation.reading_of(proposal), *turn.events), remarks=turn.remarks)


# At any prompt ------------------------------------------------------------------------------------------------


def _words(situation: Situation, prompt: Prompt, reply: replies.Words) -> Turn:
    if isinstance(prompt, QuestionPrompt) and prompt.about == "plant" and situation.states_in_doubt:
        return state_in_words(situation, prompt, reply.text)
    turn = read_words(situation, reply.text)
    if not isinstance(prompt, StopPrompt):
        return turn
    return msgspec.structs.replace(turn, remarks=(*turn.remarks, Remark(kind="said", text=_stop_stays(prompt))))


def _stop_stays(prompt: StopPrompt) -> str:
    which = "which of them is over, by its number" if len(prompt.findings) > 1 else "so with 1"
    return f"The stop stays. Once somebody authorised has said that it is over, say {which}."


def _observed(situation: Situation, prompt: Prompt, reply: replies.Observed) -> Turn:
    known = situation.rule_book.findings
    seen = [each.finding for each in reply.observations if isinstance(each, FindingSeen)]
    missing = [name for name in seen if name not in known]
    if missing:
        return told(f"the rule book has no finding `{missing[0]}`")
    return Turn(events=reply.observations)


def _back(situation: Situation, prompt: Prompt, reply: replies.Back) -> Turn:
    if isinstance(prompt, StopPrompt):
        return told("The stop remains until somebody authorised has said that it is over; say so if it was misread.")
    last = situation.standing.last_turn
    if last == 0:
        return told("There is nothing to take back.")
    undone = [entry.event for entry in situation.case.entries if entry.turn == last]
    remarks = [Remark(kind="said", text=taken_back(situation.rule_book, undone))]
    if any(isinstance(event, PlantChanged) for event in undone):
        remarks.append(Remark(kind="said", text=PLANT_AS_BEFORE))
    return Turn(events=(Undo(turn=last),), remarks=tuple(remarks))


def _note(situation: Situation, prompt: Prompt, reply: replies.NoteDown) -> Turn:
    if not reply.text.strip():
        return told("Write the note after the letter: n TEXT", "Write the note into the field for words.")
    kept = "Noted. It is kept, but does not count as evidence"
    noted = Remark(kind="noted", text=f"{kept}; type e if it should.", buttons=f"{kept}; say it again if it should.")
    return Turn(events=(Note(text=reply.text), *dangers_told(situation, reply.text)), remarks=(noted,))


def _use_note(situation: Situation, prompt: Prompt, reply: replies.UseNote) -> Turn:
    notes = situation.standing.notes
    return read_words(situation, notes[-1]) if notes else told("There is no note yet.")


def _nobody_in_danger(situation: Situation, prompt: Prompt, reply: replies.NobodyInDanger) -> Turn:
    if not (isinstance(prompt, QuestionPrompt) and prompt.about == "danger"):
        return told("No danger is asked about here.")
    mentioned = situation.danger_in_doubt
    return Turn(events=(NoDanger(quote=mentioned.quote if mentioned else ""),))


def _leave(situation: Situation, prompt: Prompt, reply: replies.Leave) -> Turn:
    return told("All of it is kept.")


# Who is there, what is wrong, how it ends ---------------------------------------------------------------------


def _competence(situation: Situation, prompt: Prompt, reply: replies.CompetenceReply) -> Turn:
    said = CompetenceSaid(competence=reply.competence)
    declined = situation.standing.declined
    if not (isinstance(prompt, QuestionPrompt) and prompt.about == "declined" and declined):
        here = f"From here on {a_person(reply.competence)} is answering."
        remarks = (Remark(kind="said", text=here),) if situation.standing.competence_said else ()
        return Turn(events=(said,), remarks=remarks)
    text = f"From here on nothing is proposed that needs more than {a_person(reply.competence)}."
    return Turn(events=(said,), remarks=(Remark(kind="said", text=text),))


def _unknown(situation: Situation, prompt: Prompt, reply: replies.Unknown) -> Turn:
    return _cannot_say(situation, prompt, "unknown")


def _skip(situation: Situation, prompt: Prompt, reply: replies.Skip) -> Turn:
    return _cannot_say(situation, prompt, "skipped")


def _cannot_say(situation: Situation, prompt: Prompt, why: str) -> Turn:
    """Go on without an answer, whatever was asked."""
    if isinstance(prompt, ComplaintPrompt):
        return _no_complaint(situation)
    if isinstance(prompt, HandOverPrompt):
        return told("This is the end of the case. Go on all the same, take the last answer back, or leave.")
    if isinstance(prompt, StopPrompt):
        return told("Nothing goes on until somebody authorised has said that it is over.")
    if isinstance(prompt, QuestionPrompt) and prompt.about == "competence":
        known = situation.standing.state.competence if situation.standing.competence_said else "ordinary"
        text = f"From here on nothing is proposed that needs more than {a_person(known)}."
        text = "From here on only what anybody may do is proposed." if known == "ordinary" else text
        return Turn(events=(CompetenceSaid(competence=known),), remarks=(Remark(kind="said", text=text),))
    if isinstance(prompt, QuestionPrompt) and prompt.about == "other fault":
        return Turn(events=(NothingElse(),))
    if isinstance(prompt, QuestionPrompt) and prompt.about == "danger":
        return told("Find out first, from where it is safe; nothing is proposed before that.")
    if isinstance(prompt, QuestionPrompt) and prompt.about == "plant":
        return told("Go and see, or ask whoever declared the hazard over; nothing is proposed before that.")
    if isinstance(prompt, QuestionPrompt) and prompt.about == "other steps":
        return Turn(events=(StepChosen(),))
    if isinstance(prompt, QuestionPrompt) and prompt.about == "declined":
        return _this_step_only(situation, prompt, replies.ThisStepOnly())
    return pass_over(situation, prompt, why)


def _no_complaint(situation: Situation) -> Turn:
    if not situation.standing.observations:
        return told("Say at least one thing that you see; without it there is nothing to go by.")
    return Turn(events=(NoComplaint(),))


def _no_other_fault(situation: Situation, prompt: Prompt, reply: replies.NoOtherFault) -> Turn:
    gone = tuple(FindingSeen(finding=name, present=False) for name in situation.still_told)
    return Turn(events=(*gone, NothingElse()))


def _other_fault(situation: Situation, prompt: Prompt, reply: replies.OtherFault) -> Turn:
    return Turn(events=(FaultRemains(),))


def _go_on(situation: Situation, prompt: Prompt, reply: replies.GoOn) -> Turn:
    standing = situation.standing
    if (
        isinstance(prompt, HandOverPrompt)
        and prompt.ending == "hand-over"
        and not (standing.state.set_aside or standing.state.missing_tools or standing.state.avoided)
    ):
        return Turn(events=(WentOn(), OthersWanted()), remarks=(Remark(kind="said", text=NOTHING_LEFT_OUT),))
    return Turn(events=(WentOn(),))


# Choosing and declining steps ---------------------------------------------------------------------------------


def _other_steps(situation: Situation, prompt: Prompt, reply: replies.OtherSteps) -> Turn:
    if getattr(prompt, "proposal", None) is None:
        return told("No step is proposed yet; answer this question first.")
    return Turn(events=(OthersWanted(),))


def _choose(situation: Situation, prompt: Prompt, reply: replies.Choose) -> Turn:
    proposals = situation.diagnosis.proposals
    known = {each.id for each in (*proposals.checks, *proposals.remedies)}
    if reply.step and reply.step not in known:
        return told(f"`{reply.step}` cannot be done here now.")
    return Turn(events=(StepChosen(step=reply.step),))


def _decline(situation: Situation, prompt: Prompt, reply: replies.Decline) -> Turn:
    proposal: Proposal | None = getattr(prompt, "proposal", None)
    step = situation.step(proposal) if proposal else None
    of_its_own = not (isinstance(prompt, CautionPrompt) and prompt.before in ("proof", "put back"))
    if proposal is None or step is None or not of_its_own:
        return told("There is no step to leave out here.")
    if reply.why == "no tool" and not step.tools:
        return told("This step needs no tool; skip it with s.")
    if reply.why == "may not" and not declined_alike(situation, proposal):
        aside = SetAside(step=step.id, why="may not")
        return Turn(events=(aside,), remarks=(Remark(kind="said", text="This step is left out."),))
    return Turn(events=(StepDeclined(step=step.id, why=reply.why),))  # type: ignore[arg-type]


def _this_step_only(situation: Situation, prompt: Prompt, reply: replies.ThisStepOnly) -> Turn:
    declined = situation.standing.declined
    if declined is None:
        return told("There is no step to leave out here.")
    return Turn(events=(SetAside(step=declined.step, why=declined.why),))


def _lacking_tool(situation: Situation, prompt: Prompt, reply: replies.LackingTool) -> Turn:
    text = f"From here on nothing is proposed that needs: {reply.tool}."
    return Turn(events=(NoTool(tool=reply.tool),), remarks=(Remark(kind="said", text=text),))


def _avoiding(situation: Situation, prompt: Prompt, reply: replies.Avoiding) -> Turn:
    if reply.caution not in situation.rule_book.cautions:
        return told(f"the rule book has no caution `{reply.caution}`")
    text = f"From here on nothing is proposed with this danger: {situation.rule_book.cautions[reply.caution].title}."
    return Turn(events=(DangerAvoided(caution=reply.caution),), remarks=(Remark(kind="said", text=text),))


def _heed(situation: Situation, prompt: Prompt, reply: replies.Heed) -> Turn:
    if not isinstance(prompt, CautionPrompt):
        return told("There is nothing to heed here; answer the question.")
    return Turn(events=situation.reading_of(prompt.proposal))


_HANDLERS: dict[type, Callable[..., Turn]] = {
    replies.Words: _words,
    replies.Observed: _observed,
    replies.Back: _back,
    replies.NoteDown: _note,
    replies.UseNote: _use_note,
    replies.Leave: _leave,
    replies.NobodyInDanger: _nobody_in_danger,
    replies.CompetenceReply: _competence,
    replies.Unknown: _unknown,
    replies.Skip: _skip,
    replies.NoOtherFault: _no_other_fault,
    replies.OtherFault: _other_fault,
    replies.GoOn: _go_on,
    replies.OtherSteps: _other_steps,
    replies.Choose: _choose,
    replies.Decline: _decline,
    replies.ThisStepOnly: _this_step_only,
    replies.LackingTool: _lacking_tool,
    replies.Avoiding: _avoiding,
    replies.Heed: _heed,
}
