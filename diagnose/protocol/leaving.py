"""How a case stands when somebody leaves it, as one event."""

from __future__ import annotations

from diagnose.cases.events import Left, LeftAs
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import HandOverPrompt, StopPrompt
from diagnose.protocol.situation import Situation

MOST_CAUSES = 5
"""So many of the first causes are kept with their probability."""


def left_as(situation: Situation) -> Left:
    """Return how a case stands, with the causes that are named first and what was found."""
    if not situation.standing.observations:
        return Left(state="open")
    causes = situation.diagnosis.causes[:MOST_CAUSES]
    return Left(
        state=_state(situation),
        causes=tuple((each.id, round(each.probability, 4)) for each in causes),
        findings=tuple(sorted(name for name, present in situation.diagnosis.findings.items() if present)),
    )


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
