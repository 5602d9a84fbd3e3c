"""What happens in a case, event by event.

A case is nothing but its events in order. Going back appends an event too, so that nothing is ever lost. What the
events amount to is worked out in :mod:`diagnose.cases.standing`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, TypeAlias

import msgspec

from diagnose.observations import CheckDone, Compared, FindingSeen, Measurement, RemedyTried, WordEvidence
from diagnose.rule_book.competence import Competence
from diagnose.rule_book.quantities import DataSheet, Value

Reason = Literal["unknown", "skipped", "not done", "answered by readings", "no tool", "may not", "not proved"]
"""Why a step is not to be proposed again."""

Outcome = Literal["found", "not found", "not listed"]
"""What came of a case: a cause of the rule book, none, or one that the rule book does not list."""

LeftAs = Literal["open", "waiting", "cured", "handed over"]
"""How a case stands when the interview is left."""


class _Event(msgspec.Struct, frozen=True, kw_only=True, tag_field="kind", rename="kebab", omit_defaults=True):
    """Base of events that are no observations."""


class TextRead(_Event, frozen=True, kw_only=True, tag="text"):
    """Somebody's own words were read; what was understood of them stands beside it as observations."""

    text: str
    not_understood: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


class PlantChanged(_Event, frozen=True, kw_only=True, tag="plant"):
    """A state of the plant now has this value."""

    state: str
    value: str


class SetAside(_Event, frozen=True, kw_only=True, tag="set-aside"):
    """A check or remedy is not to be proposed again."""

    step: str
    why: Reason


class StepDeclined(_Event, frozen=True, kw_only=True, tag="declined"):
    """A step cannot or may not be done by this person; whether all like it are meant is asked next."""

    step: str
    why: Literal["no tool", "may not"]


class NoTool(_Event, frozen=True, kw_only=True, tag="no-tool"):
    """The person has no such tool."""

    tool: str


class DangerAvoided(_Event, frozen=True, kw_only=True, tag="avoided"):
    """The person may do nothing that brings up this caution."""

    caution: str


class CompetenceSaid(_Event, frozen=True, kw_only=True, tag="competence"):
    """What the person may do."""

    competence: Competence


class CompetenceClaimed(_Event, frozen=True, kw_only=True, tag="competence-claimed"):
    """Words in which somebody says that they may do more than was known; it does not count before it is asked back."""

    quote: str
    competence: Competence


class SheetFilled(_Event, frozen=True, kw_only=True, tag="data-sheet"):
    """A field of the data sheet was asked for; no value means that nobody knows."""

    field: str
    value: Value | None = None


class SheetAsked(_Event, frozen=True, kw_only=True, tag="data-sheet-asked"):
    """Fields of the data sheet were asked for together; those not filled in, nobody here knows."""

    fields: tuple[str, ...]


class Acknowledgement(_Event, frozen=True, kw_only=True, tag="acknowledged"):
    """A caution was shown before a step, and acknowledged where that is asked for.

    ``unless`` are the data-sheet fields, unknown then, that could still have ruled it out.
    """

    caution: str
    step: str
    unless: tuple[str, ...] = ()


class Resumed(_Event, frozen=True, kw_only=True, tag="resumed"):
    """Somebody came back to the case after a shift or more: cautions are read anew."""


class Note(_Event, frozen=True, kw_only=True, tag="note"):
    """Somebody's own words, kept and not read."""

    text: str


class NoComplaint(_Event, frozen=True, kw_only=True, tag="no-complaint"):
    """Nobody can say what is wrong; the interview goes on with what else is known."""


class OthersWanted(_Event, frozen=True, kw_only=True, tag="others-wanted"):
    """The person wants to choose another step than the one proposed."""


class StepChosen(_Event, frozen=True, kw_only=True, tag="chosen"):
    """The person chose this step; none means the one that is proposed."""

    step: str = ""


class ReadingTaken(_Event, frozen=True, kw_only=True, tag="reading"):
    """One of several readings at a step; it counts when the step is done. No value: it could not be taken."""

    step: str
    quantity: str
    value: Value | None = None


class StepMeasured(_Event, frozen=True, kw_only=True, tag="step-measured"):
    """The readings of a step are all taken, and count; the step is over."""

    step: str


class RemedyDone(_Event, frozen=True, kw_only=True, tag="remedy-done"):
    """A remedy was carried out; its proof is still to come."""

    remedy: str


class FaultRemains(_Event, frozen=True, kw_only=True, tag="fault-remains"):
    """After a cure something else is still wrong; what, is asked next."""


class NothingElse(_Event, frozen=True, kw_only=True, tag="nothing-else"):
    """After a cure nothing else is wrong."""


class LeftAsIs(_Event, frozen=True, kw_only=True, tag="left-as-is"):
    """The plant is not put back by this person; whoever takes over is told."""


class Disturbed(_Event, frozen=True, kw_only=True, tag="disturbed"):
    """A step that was shown may have left these otherwise than they were; taking the answer back does not undo that.

    Without a ``step`` somebody told that others had changed it.
    """

    step: str
    what: tuple[str, ...]


class StepBegun(_Event, frozen=True, kw_only=True, tag="begun"):
    """A step that was shown was left without an answer: its changes of the plant may have been begun."""

    step: str
    changes: tuple[tuple[str, str], ...]


class Restored(_Event, frozen=True, kw_only=True, tag="restored"):
    """What was disturbed is as it was before."""

    what: tuple[str, ...]


class StaysDisturbed(_Event, frozen=True, kw_only=True, tag="stays-disturbed"):
    """What is disturbed is left so for now; it is asked for again before a proof and before the case ends."""

    what: tuple[str, ...]


class WentOn(_Event, frozen=True, kw_only=True, tag="went-on"):
    """At a hand-over the person goes on all the same; steps set aside are offered again."""


class Cleared(_Event, frozen=True, kw_only=True, tag="cleared"):
    """A hazard that was told is said to be over, by whoever may say so; one that was ``misread`` never was there.

    ``competence`` is that of the person who typed it, as far as it was known then.
    """

    finding: str
    misread: bool = False
    competence: Competence | None = None


class DangerMentioned(_Event, frozen=True, kw_only=True, tag="danger-mentioned"):
    """Words that may tell of a danger, and of which; whether they do is asked."""

    quote: str
    findings: tuple[str, ...]


class NoDanger(_Event, frozen=True, kw_only=True, tag="no-danger"):
    """Words that may have told of a danger told of none; without a ``quote``, all of them so far."""

    quote: str = ""


class PlantConfirmed(_Event, frozen=True, kw_only=True, tag="plant-confirmed"):
    """The plant stands as the case has it: said after a hazard, when others may have switched off or shut in."""


class RuleBookChanged(_Event, frozen=True, kw_only=True, tag="rule-book"):
    """From here on the case goes by another rule book; what does not hold under it was told, and does not count."""

    fingerprint: str


LONGEST_TAG = 60
"""Letters of the tag of a meter."""


class MeterNamed(_Event, frozen=True, kw_only=True, tag="meter"):
    """Which meter the case is about, by its tag, and what its data sheet said then; a later one corrects both."""

    tag: str
    by: str = ""
    data_sheet: DataSheet = {}


class Attached(_Event, frozen=True, kw_only=True, tag="attached"):
    """A file belongs to the case: its name, what it holds (SHA-256, in hexadecimal), and how long it is in bytes.

    ``figures`` says of those that were analysed here what they are, so that a picture can be drawn of them.
    """

    name: str
    sha256: str
    size: int
    note: str = ""
    by: str = ""
    figures: Literal["", "pairs", "log"] = ""


class Left(_Event, frozen=True, kw_only=True, tag="left"):
    """The interview was left: how the case stood then, the causes named first, each with its probability.

    ``findings`` are those that were present. That is what was told, under the rule book of that day; another one may
    say otherwise.
    """

    state: LeftAs
    causes: tuple[tuple[str, float], ...] = ()
    findings: tuple[str, ...] = ()


class Closed(_Event, frozen=True, kw_only=True, tag="closed"):
    """What came of the case: the cause that was ``found``, or in ``words`` what no rule book lists, or nothing.

    ``remedy`` and ``proof`` (a check) name entries of the rule book, ``reading`` is what the proof gave, as typed;
    ``remedy_words`` is a remedy that no rule book lists. ``minutes`` were spent on site. ``rank`` is where the cause
    stood when the case was closed, with its ``probability`` (0 and none where nobody knows).
    """

    outcome: Outcome
    cause: str = ""
    words: str = ""
    remedy: str = ""
    remedy_words: str = ""
    proof: str = ""
    reading: str = ""
    minutes: float | None = None
    parts: tuple[str, ...] = ()
    by: str = ""
    rank: int = 0
    probability: float | None = None


class Reopened(_Event, frozen=True, kw_only=True, tag="reopened"):
    """A closed case is open again, and why."""

    why: str
    by: str = ""


class Undo(_Event, frozen=True, kw_only=True, tag="undone"):
    """The events of a turn do not count any more."""

    turn: int


Event: TypeAlias = (
    FindingSeen
    | Measurement
    | CheckDone
    | RemedyTried
    | WordEvidence
    | Compared
    | TextRead
    | PlantChanged
    | SetAside
    | StepDeclined
    | NoTool
    | DangerAvoided
    | CompetenceSaid
    | CompetenceClaimed
    | SheetFilled
    | SheetAsked
    | Acknowledgement
    | Resumed
    | Note
    | NoComplaint
    | OthersWanted
    | StepChosen
    | ReadingTaken
    | StepMeasured
    | RemedyDone
    | FaultRemains
    | NothingElse
    | LeftAsIs
    | Disturbed
    | StepBegun
    | Restored
    | StaysDisturbed
    | WentOn
    | Cleared
    | DangerMentioned
    | NoDanger
    | PlantConfirmed
    | RuleBookChanged
    | MeterNamed
    | Attached
    | Left
    | Closed
    | Reopened
    | Undo
)


class Entry(msgspec.Struct, frozen=True, kw_only=True):
    """One line of a journal: an event, the turn (prompt) that it belongs to, and when it was."""

    turn: int
    at: str
    event: Event


class Case(msgspec.Struct, frozen=True, kw_only=True):
    """A case: its name, what was known of the meter when it began, and its entries in order."""

    name: str = ""
    data_sheet: DataSheet = {}
    entries: tuple[Entry, ...] = ()

    def after(self, *events: Event, at: str = "") -> Case:
        """Return the case with the events of one more turn."""
        turn = next_turn(self.entries)
        added = tuple(Entry(turn=turn, at=at, event=event) for event in events)
        return msgspec.structs.replace(self, entries=(*self.entries, *added))


def next_turn(entries: Iterable[Entry]) -> int:
    """Return a turn number that no entry has had."""
    return max((entry.turn for entry in entries), default=0) + 1


def since(events: list[Event], kind: type[Event]) -> list[Event]:
    """Return the events after the last one of a kind."""
    last = max((number for number, event in enumerate(events) if isinstance(event, kind)), default=-1)
    return events[last + 1 :]
