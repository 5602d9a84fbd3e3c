"""Replies about hazards that are over and about how the plant stands."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from diagnose.cases.events import Cleared, Event, PlantConfirmed
from diagnose.observations import Compared, FindingSeen, Measurement, WordEvidence
from diagnose.protocol import replies
from diagnose.protocol.dangers_typed import tells_of_danger
from diagnose.protocol.prompts import Prompt, QuestionPrompt, StopPrompt
from diagnose.protocol.situation import Situation
from diagnose.protocol.telling import read_words
from diagnose.protocol.turn import Remark, Turn, told
from diagnose.reasoning.steps import within
from diagnose.rule_book.competence import COMPETENCES, a_person

SAY_THE_VALUE = "That must be said by its value, nobody knows it after a hazard; all else can be told afterwards."


def state_in_words(situation: Situation, prompt: Prompt, text: str) -> Turn:
    """Return what words bring where a state is asked for by its values: one of these, or what is no answer."""
    said = _value_in_words(situation, text)
    return _plant_state(situation, prompt, said) if said else _beside_the_state(situation, text)


def _value_in_words(situation: Situation, text: str) -> replies.PlantSaid | None:
    """Return the value that words give to the state that is asked for: words answer the question that was put."""
    from diagnose.language.plant import state_answered

    if tells_of_danger(situation.engine, text):
        return None
    state = situation.states_in_doubt[0]
    value = state_answered(text, state, situation.engine.lexicon)
    return replies.PlantSaid(state=state, value=value) if value else None


def _beside_the_state(situation: Situation, text: str) -> Turn:
    """Return what words bring where a state is asked for and they are no value of it: who is there, and dangers.

    What was done to the plant is no sign of the fault (a power cut, where somebody switched off for the hazard).
    """
    turn, findings = read_words(situation, text), situation.rule_book.findings
    told = [each for each in turn.events if not isinstance(each, FindingSeen | Measurement | WordEvidence | Compared)]
    dangers = [
        each
        for each in turn.events
        if isinstance(each, FindingSeen) and each.present and findings[each.finding].keep_away
    ]
    said = [each for each in turn.remarks if each.kind == "said"]
    asked = () if dangers else (Remark(kind="help", text=SAY_THE_VALUE),)
    return Turn(events=(*told, *dangers), remarks=(*said, *asked))


def _plant_state(situation: Situation, prompt: Prompt, reply: replies.PlantSaid) -> Turn:
    states = situation.rule_book.states
    if reply.state in states and reply.value in states[reply.state].values:
        needed = states[reply.state].goes_with.get(reply.value, {})
        if any(situation.plant[name] not in values for name, values in needed.items()):
            first = ", ".join(f"{name} {' or '.join(values)}" for name, values in needed.items())
            return told(f"Not in the state the plant is in: {reply.state} is {reply.value} only with {first}.")
        if not situation.may_say([(reply.state, reply.value)]):
            who = a_person(situation.who_may_say(reply.state, reply.value)).capitalize()
            stands = f"{states[reply.state].title.lower()} {reply.value}"
            return told(f"{who} must say that ({stands}); until then it does not count.")
        events = situation.plant_changes([(reply.state, reply.value)])
        return Turn(events=events, remarks=_beyond_them(situation, reply))
    ways = "; ".join(f"plant {name} {' | '.join(item.values)}" for name, item in states.items())
    return told(f"Say what state the plant is in: {ways}")


def _beyond_them(situation: Situation, reply: replies.PlantSaid) -> tuple[Remark, ...]:
    """Warn whoever tells of a state that counts at once but may not bring it about: it is not for them."""
    state = situation.rule_book.states[reply.state]
    needed = max(
        (each.competence for each in state.changes if each.to == reply.value), key=COMPETENCES.index, default=None
    )
    if reply.value == state.initial or needed is None or within(situation.standing.state.competence, needed):
        return ()
    stands = f"{state.title.lower()} {reply.value}"
    text = f"Touch nothing there and keep others away: {stands} is for {a_person(needed)}; fetch one."
    return (Remark(kind="help", text=text),)


def _plant_as_begun(situation: Situation, prompt: Prompt, reply: replies.PlantAsBegun) -> Turn:
    begun = situation.standing.begun
    if begun is None or not (isinstance(prompt, QuestionPrompt) and prompt.about == "plant"):
        return told("No step was left in the middle.")
    if situation.states_in_doubt:
        return told(SAY_THE_VALUE)
    if not situation.may_say(situation.begun_changes):
        return told("Somebody who may do all of that must say so; until then it does not count.")
    return Turn(events=(*situation.plant_changes(situation.begun_changes), PlantConfirmed()))


def _plant_as_shown(situation: Situation, prompt: Prompt, reply: replies.PlantAsShown) -> Turn:
    if not (isinstance(prompt, QuestionPrompt) and prompt.about == "plant"):
        return told("How the plant stands is not asked here; say it with: p supply isolated")
    if situation.states_in_doubt:
        return told(SAY_THE_VALUE)
    return Turn(events=(PlantConfirmed(),))


def _hazard_over(situation: Situation, prompt: Prompt, reply: replies.HazardOver) -> Turn:
    if not isinstance(prompt, StopPrompt):
        return told("No hazard was reported.")
    standing = situation.standing
    who = standing.state.competence if standing.competence_said else None
    known = [name for name in reply.findings if name in situation.hazards]
    if not known:
        return told("That hazard was not reported.")
    cleared = tuple(Cleared(finding=each, misread=reply.misread, competence=who) for each in known)
    return Turn(events=(*cleared, *_what_it_leaves(situation, known, reply.misread)))


def _what_it_leaves(situation: Situation, hazards: Sequence[str], misread: bool) -> tuple[Event, ...]:
    """Return what else follows: what was misread never was there, and after a hazard nothing counts as proved dead."""
    if misread:
        seen = {each.finding for each in situation.standing.observations if isinstance(each, FindingSeen)}
        return tuple(FindingSeen(finding=name, present=False) for name in hazards if name in seen)
    states = situation.rule_book.states
    tied = ((name, states[name].initial) for name in states if states[name].goes_with)
    return situation.plant_changes(each for each in tied if situation.plant[each[0]] != each[1])


PLANT_HANDLERS: dict[type, Callable[..., Turn]] = {
    replies.PlantSaid: _plant_state,
    replies.PlantAsShown: _plant_as_shown,
    replies.PlantAsBegun: _plant_as_begun,
    replies.HazardOver: _hazard_over,
}
