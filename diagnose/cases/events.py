"""What happens in a case, event by event, and what the events amount to.

A case is nothing but its events in order. Going back appends an event too, so that nothing is ever lost.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

import msgspec

from diagnose.observations import CheckDone, FindingSeen, Measurement, Observation, RemedyTried, State, WordEvidence
from diagnose.rule_book.types import Competence, DataSheet, Value


class _Event(msgspec.Struct, frozen=True, kw_only=True, tag_field="kind", rename="kebab"):
    """Base of events that are no observations."""


class PlantChanged(_Event, frozen=True, kw_only=True, tag="plant"):
    """A state of the plant now has this value."""

    state: str
    value: str


class SetAside(_Event, frozen=True, kw_only=True, tag="set-aside"):
    """A check or remedy is not to be proposed again."""

    step: str
    why: Literal["unknown", "skipped", "not done", "answered by readings"]


class NoTool(_Event, frozen=True, kw_only=True, tag="no-tool"):
    """The person has no such tool."""

    tool: str


class CompetenceSaid(_Event, frozen=True, kw_only=True, tag="competence"):
    """What the person may do."""

    competence: Competence


class SheetFilled(_Event, frozen=True, kw_only=True, tag="data-sheet"):
    """A field of the data sheet was asked for; no value means that nobody knows."""

    field: str
    value: Value | None = None


class Acknowledgement(_Event, frozen=True, kw_only=True, tag="acknowledged"):
    """A caution was shown before a step and acknowledged."""

    caution: str
    step: str


class Note(_Event, frozen=True, kw_only=True, tag="note"):
    """Somebody's own words."""

    text: str


class Undo(_Event, frozen=True, kw_only=True, tag="undone"):
    """The events of a turn do not count any more."""

    turn: int


Event: TypeAlias = (
    FindingSeen
    | Measurement
    | CheckDone
    | RemedyTried
    | WordEvidence
    | PlantChanged
    | SetAside
    | NoTool
    | CompetenceSaid
    | SheetFilled
    | Acknowledgement
    | Note
    | Undo
)


class Entry(msgspec.Struct, frozen=True, kw_only=True):
    """One line of a journal: an event, the turn (question) that it belongs to, and when it was."""

    turn: int
    at: str
    event: Event


@dataclass(frozen=True)
class Standing:
    """What the events of a case amount to."""

    observations: tuple[Observation, ...] = ()
    state: State = field(default_factory=State)
    data_sheet: DataSheet = field(default_factory=dict)
    asked: frozenset[str] = frozenset()
    competence_said: bool = False
    acknowledged: tuple[Acknowledgement, ...] = ()
    notes: tuple[str, ...] = ()
    last_turn: int = 0


def standing_of(entries: Iterable[Entry], data_sheet: DataSheet) -> Standing:
    """Fold the entries of a journal; acknowledgements and notes survive going back."""
    entries = list(entries)
    undone = _undone_turns(entries)
    counting = [entry for entry in entries if entry.turn not in undone and not isinstance(entry.event, Undo)]
    events = [entry.event for entry in counting]
    filled = [event for event in events if isinstance(event, SheetFilled)]
    said = [event.competence for event in events if isinstance(event, CompetenceSaid)]
    state = State(
        plant={event.state: event.value for event in events if isinstance(event, PlantChanged)},
        competence=said[-1] if said else "ordinary",
        missing_tools=tuple(event.tool for event in events if isinstance(event, NoTool)),
        set_aside=tuple(event.step for event in events if isinstance(event, SetAside)),
    )
    return Standing(
        observations=tuple(
            event
            for event in events
            if isinstance(event, FindingSeen | Measurement | CheckDone | RemedyTried | WordEvidence)
        ),
        state=state,
        data_sheet={**data_sheet, **{event.field: event.value for event in filled if event.value is not None}},
        asked=frozenset(event.field for event in filled),
        competence_said=bool(said),
        acknowledged=tuple(entry.event for entry in entries if isinstance(entry.event, Acknowledgement)),
        notes=tuple(entry.event.text for entry in entries if isinstance(entry.event, Note)),
        last_turn=max(
            (entry.turn for entry in counting if not isinstance(entry.event, Acknowledgement | Note)), default=0
        ),
    )


def _undone_turns(entries: Iterable[Entry]) -> set[int]:
    return {entry.event.turn for entry in entries if isinstance(entry.event, Undo)}


def next_turn(entries: Iterable[Entry]) -> int:
    """Return a turn number that no entry has had."""
    return max((entry.turn for entry in entries), default=0) + 1
