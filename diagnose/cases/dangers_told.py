"""What a case tells of dangers: hazards that were told and are over, cautions that were heeded, read and avoided."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from diagnose.cases.events import (
    Acknowledgement,
    Cleared,
    CompetenceSaid,
    DangerAvoided,
    DangerMentioned,
    Entry,
    Event,
    LeftAsIs,
    NoDanger,
    PlantChanged,
    PlantConfirmed,
    RemedyDone,
    Restored,
    Resumed,
    SetAside,
    StaysDisturbed,
    StepMeasured,
    Undo,
    WentOn,
    since,
)
from diagnose.observations import CheckDone, FindingSeen, RemedyTried
from diagnose.rule_book.competence import COMPETENCES, Competence

FINISHES = (
    CheckDone | StepMeasured | RemedyTried | SetAside | PlantChanged | RemedyDone | LeftAsIs | Restored | StaysDisturbed
)
"""Events after which what a change of the plant brings up is heeded again, for then it is another change."""


@dataclass(frozen=True)
class Ended:
    """A hazard that was said to be over: when, by a person of which competence, and the checks made since."""

    finding: str
    misread: bool
    at: str
    competence: Competence | None
    checked: frozenset[str] = frozenset()


def avoided_in(events: list[Event]) -> tuple[str, ...]:
    """Return the cautions that whoever is there may bring up with nothing.

    Somebody else who takes over, not the same person who may do less, says anew what to avoid.
    """
    avoided: dict[str, None] = {}
    competence = COMPETENCES[0]
    for event in events:
        if isinstance(event, DangerAvoided):
            avoided[event.caution] = None
        elif isinstance(event, WentOn) or (
            isinstance(event, CompetenceSaid) and not _more(competence, event.competence)
        ):
            avoided.clear()
        competence = event.competence if isinstance(event, CompetenceSaid) else competence
    return tuple(avoided)


def affirmed_in(counting: Iterable[Entry]) -> tuple[str, ...]:
    """Return the findings that some turn left present, whatever was said of them later."""
    by_turn: dict[tuple[int, str], bool] = {}
    for entry in counting:
        if isinstance(entry.event, FindingSeen):
            by_turn[entry.turn, entry.event.finding] = entry.event.present
    return tuple(dict.fromkeys(name for (_, name), present in by_turn.items() if present))


def after_hazards(events: list[Event]) -> dict[str, Any]:
    """Return which hazards are over since it was said how the plant stands, and what was said of it since the last."""
    over: dict[str, None] = {}
    said: set[str] = set()
    for event in since(events, PlantConfirmed):
        if isinstance(event, Cleared) and not event.misread:
            over[event.finding] = None
            said.clear()
        elif isinstance(event, PlantChanged):
            said.add(event.state)
    return {"just_over": tuple(over), "states_said": frozenset(said)}


def mentioned_in(events: list[Event]) -> tuple[DangerMentioned, ...]:
    """Return the words that may tell of a danger and were not answered: neither denied, nor of what is over since."""
    found: list[DangerMentioned] = []
    for event in events:
        if isinstance(event, DangerMentioned):
            found.append(event)
        elif isinstance(event, NoDanger):
            found = [each for each in found if event.quote and each.quote != event.quote]
        elif isinstance(event, Cleared):
            found = [each for each in found if event.finding not in each.findings]
    return tuple(found)


def cleared_in(events: list[Event]) -> frozenset[str]:
    """Return the hazards that are over; one that is told again is there again."""
    cleared: set[str] = set()
    for event in events:
        if isinstance(event, Cleared):
            cleared.add(event.finding)
        elif isinstance(event, FindingSeen) and event.present:
            cleared.discard(event.finding)
    return frozenset(cleared)


def ended_in(counting: Iterable[Entry]) -> tuple[Ended, ...]:
    """Return what was said to be over, in order, each with the checks that were made after it."""
    found: list[Ended] = []
    for entry in counting:
        event = entry.event
        if isinstance(event, Cleared):
            found.append(Ended(event.finding, event.misread, entry.at, event.competence))
        made = event.check if isinstance(event, CheckDone) else event.step if isinstance(event, StepMeasured) else ""
        if isinstance(event, SetAside) and event.why == "answered by readings":
            made = event.step
        if made:
            found = [replace(each, checked=each.checked | {made}) for each in found]
    return tuple(found)


def cautions_in(everything: Iterable[Event]) -> dict[str, Any]:
    """Return what was heeded for the step under way, and what of cautions was read by whoever is there now.

    Reading holds for the case, until somebody comes back to it after a shift or somebody else takes over: nobody
    becomes more able in the middle of a case.
    """
    heeded: set[tuple[str, str]] = set()
    certain: dict[str, bool] = {}
    competence = COMPETENCES[-1]
    for event in everything:
        if isinstance(event, Acknowledgement):
            heeded.add((event.caution, event.step))
            certain[event.caution] = certain.get(event.caution, False) or not event.unless
        elif isinstance(event, FINISHES | Undo):
            heeded.clear()
        elif isinstance(event, Resumed) or (isinstance(event, CompetenceSaid) and _more(event.competence, competence)):
            heeded.clear()
            certain.clear()
        if isinstance(event, CompetenceSaid):
            competence = event.competence
    return {
        "heeded": frozenset(heeded),
        "read_before": frozenset(certain),
        "read_as_possible": frozenset(name for name, sure in certain.items() if not sure),
    }


def _more(competence: Competence, than: Competence) -> bool:
    return COMPETENCES.index(competence) > COMPETENCES.index(than)
