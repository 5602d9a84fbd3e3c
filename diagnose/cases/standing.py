"""What the events of a case amount to: what was observed, how the plant stands, what is pending.

Everything that a prompt depends on is here or follows from it, so that the same events give the same prompt.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from diagnose.cases.administration import ADMINISTRATION, Administration, administration
from diagnose.cases.dangers_told import (
    Ended,
    affirmed_in,
    after_hazards,
    avoided_in,
    cautions_in,
    cleared_in,
    ended_in,
    mentioned_in,
)
from diagnose.cases.events import (
    Acknowledgement,
    Case,
    CompetenceClaimed,
    CompetenceSaid,
    DangerMentioned,
    Disturbed,
    Entry,
    Event,
    Note,
    NoTool,
    PlantChanged,
    PlantConfirmed,
    ReadingTaken,
    Restored,
    Resumed,
    RuleBookChanged,
    SetAside,
    SheetAsked,
    SheetFilled,
    StaysDisturbed,
    StepBegun,
    StepDeclined,
    TextRead,
    Undo,
    WentOn,
    since,
)
from diagnose.cases.progress import Progress
from diagnose.observations import (
    CheckDone,
    Compared,
    FindingSeen,
    Measurement,
    Observation,
    RemedyTried,
    State,
    WordEvidence,
)
from diagnose.rule_book.quantities import DataSheet, Value

OBSERVED = FindingSeen | Measurement | CheckDone | RemedyTried | WordEvidence | Compared

KEPT = Acknowledgement | Resumed | Note | TextRead | Disturbed | StepBegun | RuleBookChanged | ADMINISTRATION
"""Events that going back passes over by themselves: a caution read stays read, words stay as they were said, and a lead
that was taken off stays off until somebody puts it back; a closed case is reopened, not gone back in.
"""


@dataclass(frozen=True)
class Standing:
    """What the events of a case amount to.

    ``claimed`` are words in which somebody says that they may do more, until that was asked back.
    ``read`` are texts with what was understood of them, ``pending_readings`` those taken at ``chosen`` so far (None
    where one could not be taken), ``not_readable`` quantities that nobody could read and that were not read since,
    ``unproved`` a remedy that was carried out and not yet proved. ``sheet_screens``
    counts the times that data-sheet fields were asked for, ``looked`` whether a step was done since the complaint,
    ``answers`` how many steps were answered since then or since the person went on at a hand-over, ``passed_over`` how
    many steps brought no answer. ``in_vain`` are the remedies that did not cure, each as often as tried. ``heeded`` are
    cautions heeded for the step under way, ``read_before`` those that whoever is there now has read in this case,
    ``read_as_possible`` those of them that were not certain then. ``disturbed`` is what steps left otherwise than it
    was and nobody has put back, ``left_disturbed`` what of that is left so for now. ``affirmed`` are findings that some
    turn left present, ``cleared`` hazards that are over, ``ended`` each time that one was said to be,
    ``dangers_mentioned`` words that may tell of one and wait for an answer; ``just_over`` are the hazards that are over
    since it was said how the plant stands, ``states_said`` the states whose value was said since the last of them,
    ``begun`` is the step that was left in the middle. ``kept`` is what was written down about the case as such: its
    meter, whether it is closed and with what, what is attached to it.
    """

    observations: tuple[Observation, ...] = ()
    state: State = field(default_factory=State)
    data_sheet: DataSheet = field(default_factory=dict)
    asked: frozenset[str] = frozenset()
    competence_said: bool = False
    claimed: str = ""
    read_before: frozenset[str] = frozenset()
    read_as_possible: frozenset[str] = frozenset()
    heeded: frozenset[tuple[str, str]] = frozenset()
    texts: tuple[TextRead, ...] = ()
    notes: tuple[str, ...] = ()
    no_complaint: bool = False
    chosen: str = ""
    others_wanted: bool = False
    declined: StepDeclined | None = None
    pending_readings: dict[str, Value | None] = field(default_factory=dict)
    not_readable: frozenset[str] = frozenset()
    unproved: str = ""
    not_proved: tuple[str, ...] = ()
    fault_remains: bool = False
    nothing_else: bool = False
    left_as_is: bool = False
    cleared: frozenset[str] = frozenset()
    ended: tuple[Ended, ...] = ()
    affirmed: tuple[str, ...] = ()
    just_over: tuple[str, ...] = ()
    states_said: frozenset[str] = frozenset()
    begun: StepBegun | None = None
    dangers_mentioned: tuple[DangerMentioned, ...] = ()
    sheet_screens: int = 0
    looked: bool = False
    answers: int = 0
    in_vain: tuple[str, ...] = ()
    passed_over: int = 0
    last_turn: int = 0
    disturbed: tuple[str, ...] = ()
    left_disturbed: frozenset[str] = frozenset()
    kept: Administration = field(default_factory=Administration)


def standing_of(case: Case) -> Standing:
    """Fold the events of a case that were not taken back."""
    undone = {entry.event.turn for entry in case.entries if isinstance(entry.event, Undo)}
    counting = [each for each in case.entries if each.turn not in undone and not isinstance(each.event, Undo)]
    events = [entry.event for entry in counting]
    filled = [event for event in events if isinstance(event, SheetFilled)]
    said = [event.competence for event in events if isinstance(event, CompetenceSaid)]
    everything = [entry.event for entry in case.entries]
    asked = [event for event in events if isinstance(event, SheetAsked)]
    kept = administration(case.entries)
    told = {**kept.data_sheet, **case.data_sheet}
    sheet = {**told, **{event.field: event.value for event in filled if event.value is not None}}
    asked_for = frozenset(event.field for event in filled).union(*(event.fields for event in asked))
    disturbed, left = _disturbed(case.entries, undone)
    progress = Progress()
    for event in events:
        progress.take(event)
    return Standing(
        observations=tuple(event for event in events if isinstance(event, OBSERVED)),
        state=State(
            plant={event.state: event.value for event in events if isinstance(event, PlantChanged)},
            competence=said[-1] if said else "ordinary",
            missing_tools=tuple(event.tool for event in since(events, WentOn) if isinstance(event, NoTool)),
            set_aside=_set_aside(events),
            avoided=avoided_in(events),
            not_known=tuple(sorted(asked_for - sheet.keys())),
        ),
        data_sheet=sheet,
        asked=asked_for,
        sheet_screens=len(asked),
        competence_said=bool(said),
        claimed=_claimed(events),
        **cautions_in(everything),
        texts=tuple(event for event in events if isinstance(event, TextRead)),
        notes=tuple(event.text for event in everything if isinstance(event, Note)),
        cleared=cleared_in(events),
        ended=ended_in(counting),
        affirmed=affirmed_in(counting),
        dangers_mentioned=mentioned_in(events),
        **after_hazards(events),
        begun=_begun(case.entries, undone),
        not_readable=_not_readable(events),
        in_vain=_in_vain(events),
        not_proved=tuple(each.step for each in events if isinstance(each, SetAside) and each.why == "not proved"),
        disturbed=disturbed,
        left_disturbed=left,
        kept=kept,
        last_turn=max((entry.turn for entry in counting if not isinstance(entry.event, KEPT)), default=0),
        **vars(progress),
    )


def _set_aside(events: list[Event]) -> tuple[str, ...]:
    """Return the steps that are not to be proposed; going on at a hand-over brings back what nobody has answered."""
    settled = [event for event in events if isinstance(event, SetAside) and event.why == "answered by readings"]
    open_still = [event for event in since(events, WentOn) if isinstance(event, SetAside)]
    return tuple(dict.fromkeys(event.step for event in (*settled, *open_still)))


def _in_vain(events: list[Event]) -> tuple[str, ...]:
    """Return the remedies that did not cure, each as often as it was tried, since one did or the person went on."""
    found: list[str] = []
    for event in since(events, WentOn):
        if isinstance(event, RemedyTried):
            found = [*found, event.remedy] if event.verdict == "not cured" else []
    return tuple(found)


def _not_readable(events: list[Event]) -> frozenset[str]:
    """Return quantities that nobody could read, until one is read, something was mended or somebody goes on anew."""
    names: set[str] = set()
    for event in events:
        if isinstance(event, ReadingTaken) and event.value is None:
            names.add(event.quantity)
        elif isinstance(event, ReadingTaken | Measurement):
            names.discard(event.quantity)
        elif isinstance(event, RemedyTried | WentOn):
            names.clear()
    return frozenset(names)


def _begun(entries: Iterable[Entry], undone: set[int]) -> StepBegun | None:
    """Return the step that was left in the middle, until somebody has said how the plant stands.

    An answer may be taken back; what was done with one's hands is not undone by that.
    """
    begun: StepBegun | None = None
    for entry in entries:
        if isinstance(entry.event, StepBegun):
            begun = entry.event
        elif isinstance(entry.event, PlantConfirmed) and entry.turn not in undone:
            begun = None
    return begun


def _claimed(events: list[Event]) -> str:
    """Return the words in which somebody says that they may do more, since what they may do was said last."""
    return next(
        (each.quote for each in reversed(since(events, CompetenceSaid)) if isinstance(each, CompetenceClaimed)), ""
    )


def _disturbed(entries: Iterable[Entry], undone: set[int]) -> tuple[tuple[str, ...], frozenset[str]]:
    """Return what is disturbed, in the order in which it was, and what of that is left so for now.

    An answer may be taken back; what was done with one's hands is not undone by that.
    """
    held: dict[str, bool] = {}
    for entry in entries:
        event = entry.event
        if isinstance(event, Disturbed):
            held |= dict.fromkeys(event.what, False)
        elif entry.turn in undone:
            continue
        elif isinstance(event, Restored):
            held = {name: left for name, left in held.items() if name not in event.what}
        elif isinstance(event, StaysDisturbed):
            held = {name: left or name in event.what for name, left in held.items()}
        elif isinstance(event, WentOn):
            held = dict.fromkeys(held, False)
    return tuple(held), frozenset(name for name, left in held.items() if left)
