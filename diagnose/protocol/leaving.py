"""How a case stands when somebody leaves it, as one event."""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec

from diagnose.cases.events import Case, Left, LeftAs, RemedyDone, Undo
from diagnose.cases.standing import OBSERVED
from diagnose.observations import RemedyTried
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import HandOverPrompt, StopPrompt
from diagnose.protocol.situation import Situation

if TYPE_CHECKING:
    from diagnose.reasoning.engine import Engine

MOST_CAUSES = 5
"""So many of the first causes are kept with their probability."""


def left_as(situation: Situation) -> Left:
    """Return how a case stands, with the causes that are named first and what was found."""
    if not situation.standing.observations:
        return Left(state="open")
    then = Situation(situation.engine, faults_in(situation.case)[-1]).diagnosis
    return Left(
        state=_state(situation),
        causes=tuple((each.id, round(each.probability, 4)) for each in then.causes[:MOST_CAUSES]),
        findings=tuple(sorted(name for name, present in then.findings.items() if present)),
    )


def before_the_cure(case: Case) -> Case:
    """Return a case as it was before the last remedy that helped: what is mended shows nothing any more."""
    undone = {entry.event.turn for entry in case.entries if isinstance(entry.event, Undo)}
    helped = ""
    for number in reversed(range(len(case.entries))):
        entry = case.entries[number]
        event = entry.event
        if entry.turn in undone:
            continue
        if isinstance(event, RemedyTried) and event.verdict != "not cured" and not helped:
            helped, cut = event.remedy, number
        elif helped and isinstance(event, RemedyDone) and event.remedy == helped:
            cut = number
            break
        elif helped and isinstance(event, RemedyTried):
            break
    return msgspec.structs.replace(case, entries=case.entries[:cut]) if helped else case


def faults_in(case: Case) -> tuple[Case, ...]:
    """Return a case as it was before the last remedy that helped, and as it stands where something was seen since.

    What was seen after a cure tells of a second fault, or of one that came back.
    """
    before = before_the_cure(case)
    undone = {entry.event.turn for entry in case.entries if isinstance(entry.event, Undo)}
    events = [entry.event for entry in case.entries if entry.turn not in undone]
    helped = [n for n, event in enumerate(events) if isinstance(event, RemedyTried) and event.verdict != "not cured"]
    since = events[helped[-1] + 1 :] if helped else []
    seen = any(isinstance(event, OBSERVED) and not isinstance(event, RemedyTried) for event in since)
    return (before, case) if seen else (before,)


def rank_of(engine: Engine, case: Case, cause: str) -> tuple[int, float | None]:
    """Return where a cause stood while its fault was looked for, and how probable it was; 0 where nothing was seen.

    Of two faults in one case that one counts for which the cause stood first.
    """
    ranks = [_rank(engine, each, cause) for each in faults_in(case)]
    return min((each for each in ranks if each[0]), default=(0, None), key=lambda each: each[0])


def _rank(engine: Engine, case: Case, cause: str) -> tuple[int, float | None]:
    situation = Situation(engine, case)
    if not situation.standing.observations:
        return 0, None
    causes = situation.diagnosis.causes
    for place, each in enumerate(causes, 1):
        if each.id == cause:
            return place, round(each.probability, 4)
    return len(causes) + 1, 0.0  # on this meter it cannot be, so it was thought


def _state(situation: Situation) -> LeftAs:
    """Return the state: *waiting* is for a proof, a lasting remedy that is to be planned, or the end of a hazard."""
    prompt = prompt_in(situation)
    if isinstance(prompt, StopPrompt) or situation.standing.unproved:
        return "waiting"
    if not isinstance(prompt, HandOverPrompt):
        return "open"
    if prompt.ending == "cured":
        return "waiting" if prompt.put_off or prompt.not_proved else "cured"
    return "handed over"
