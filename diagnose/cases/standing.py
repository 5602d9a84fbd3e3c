"""What the events of a case amount to: what was observed, how the plant stands, what is pending.

Everything that a prompt depends on is here or follows from it, so that the same events give the same prompt.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from diagnose.cases.administration import ADMINISTRATION, Administration, administration
from diagnose.cases.events import (
    Acknowledgement,
    Case,
    Cleared,
    CompetenceClaimed,
    CompetenceSaid,
    DangerAvoided,
    DangerMentioned,
    Disturbed,
    Entry,
    Event,
    FaultRemains,
    LeftAsIs,
    NoComplaint,
    NoDanger,
    Note,
    NothingElse,
    NoTool,
    OthersWanted,
    PlantChanged,
    PlantConfirmed,
    ReadingTaken,
    RemedyDone,
    Restored,
    Resumed,
    RuleBookChanged,
    SetAside,
    SheetAsked,
    SheetFilled,
    StaysDisturbed,
    StepBegun,
    StepChosen,
    StepDeclined,
    StepMeasured,
    TextRead,
    Undo,
    WentOn,
)
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
from diagnose.rule_book.competence import COMPETENCES, Competence
from diagnose.rule_book.quantities import DataSheet, Value

OBSERVED = FindingSeen | Measurement | CheckDone | RemedyTried | WordEvidence | Compared
KEPT = Acknowledgement | Resumed | Note | TextRead | Disturbed | StepBegun | RuleBookChanged | ADMINISTRATION
"""Events that going back passes over by themselves: a caution read stays read, words stay as they were said, and a lead
that was taken off stays off until somebody puts it back; a closed case is reopened, not gone back in.
"""

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
    progress = _Progress()
    for event in events:
        progress.take(event)
    return Standing(
        observations=tuple(event for event in events if isinstance(event, OBSERVED)),
        state=State(
            plant={event.state: event.value for event in events if isinstance(event, PlantChanged)},
            competence=said[-1] if said else "ordinary",
            missing_tools=tuple(event.tool for event in _since(events, WentOn) if isinstance(event, NoTool)),
            set_aside=_set_aside(events),
            avoided=_avoided(events),
            not_known=tuple(sorted(asked_for - sheet.keys())),
        ),
        data_sheet=sheet,
        asked=asked_for,
        sheet_screens=len(asked),
        competence_said=bool(said),
        claimed=_claimed(events),
        **_cautions(everything),
        texts=tuple(event for event in events if isinstance(event, TextRead)),
        notes=tuple(event.text for event in everything if isinstance(event, Note)),
        cleared=_cleared(events),
        ended=_ended(counting),
        affirmed=_affirmed(counting),
        dangers_mentioned=_mentioned(events),
        **_after_hazards(events),
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


class _Progress:
    """How far the interview is, event by event; attributes are fields of :class:`Standing`."""

    def __init__(self) -> None:
        self.no_complaint = self.others_wanted = self.fault_remains = self.nothing_else = self.left_as_is = False
        self.looked = False
        self.chosen = self.unproved = ""
        self.declined: StepDeclined | None = None
        self.pending_readings: dict[str, Value | None] = {}
        self.answers = self.passed_over = 0

    def take(self, event: Event) -> None:
        """Take one event more."""
        if isinstance(event, ReadingTaken):
            before = self.pending_readings if event.step == self.chosen else {}
            self.chosen, self.pending_readings = event.step, {**before, event.quantity: event.value}
        elif isinstance(event, StepChosen):
            self.chosen, self.others_wanted, self.pending_readings = event.step, False, {}
        elif isinstance(event, OthersWanted):
            self.others_wanted = True
        elif isinstance(event, StepDeclined):
            self.declined = event
        elif isinstance(event, NoComplaint):
            self.no_complaint = True
        elif isinstance(event, RemedyDone):
            self.unproved = event.remedy
            self._finish()
        elif isinstance(event, NothingElse):
            self.nothing_else = True
        elif isinstance(event, FaultRemains):
            self.fault_remains = True
        elif isinstance(event, LeftAsIs):
            self.left_as_is = True
        elif isinstance(event, WentOn):
            self.answers = self.passed_over = 0
            self.left_as_is = False
        else:
            self._observe(event)

    def _observe(self, event: Event) -> None:
        if isinstance(event, RemedyTried):
            self.unproved = "" if event.remedy == self.unproved else self.unproved
            self.no_complaint = self.nothing_else = False
            self.fault_remains = event.verdict == "partly"
            failed = event.verdict == "not cured"
            self.answers = self.answers + 1 if failed else 0
            self.passed_over = self.passed_over if failed else 0
            self._finish()
        elif isinstance(event, CheckDone | StepMeasured | SetAside | NoTool | DangerAvoided | CompetenceSaid):
            if isinstance(event, SetAside) and event.why in ("unknown", "skipped"):
                self.passed_over += 1
            self.answers += isinstance(event, CheckDone | StepMeasured) or (
                isinstance(event, SetAside) and event.why == "answered by readings"
            )
            self.unproved = "" if isinstance(event, SetAside) and event.why == "not proved" else self.unproved
            self._finish(looked=isinstance(event, CheckDone | StepMeasured | SetAside))
        elif isinstance(event, FindingSeen | Measurement):
            self.fault_remains = self.nothing_else = self.left_as_is = False

    def _finish(self, looked: bool = True) -> None:
        """A step is over, however it ended."""
        self.looked = self.looked or looked
        self.chosen, self.others_wanted, self.declined = "", False, None
        self.pending_readings = {}


def _since(events: list[Event], kind: type[Event]) -> list[Event]:
    """Return the events after the last one of a kind."""
    last = max((number for number, event in enumerate(events) if isinstance(event, kind)), default=-1)
    return events[last + 1 :]


def _set_aside(events: list[Event]) -> tuple[str, ...]:
    """Return the steps that are not to be proposed; going on at a hand-over brings back what nobody has answered."""
    settled = [event for event in events if isinstance(event, SetAside) and event.why == "answered by readings"]
    open_still = [event for event in _since(events, WentOn) if isinstance(event, SetAside)]
    return tuple(dict.fromkeys(event.step for event in (*settled, *open_still)))


def _in_vain(events: list[Event]) -> tuple[str, ...]:
    """Return the remedies that did not cure, each as often as it was tried, since one did or the person went on."""
    found: list[str] = []
    for event in _since(events, WentOn):
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


def _avoided(events: list[Event]) -> tuple[str, ...]:
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


def _affirmed(counting: Iterable[Entry]) -> tuple[str, ...]:
    """Return the findings that some turn left present, whatever was said of them later."""
    by_turn: dict[tuple[int, str], bool] = {}
    for entry in counting:
        if isinstance(entry.event, FindingSeen):
            by_turn[entry.turn, entry.event.finding] = entry.event.present
    return tuple(dict.fromkeys(name for (_, name), present in by_turn.items() if present))


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
        (each.quote for each in reversed(_since(events, CompetenceSaid)) if isinstance(each, CompetenceClaimed)), ""
    )


def _after_hazards(events: list[Event]) -> dict[str, Any]:
    """Return which hazards are over since it was said how the plant stands, and what was said of it since the last."""
    over: dict[str, None] = {}
    said: set[str] = set()
    for event in _since(events, PlantConfirmed):
        if isinstance(event, Cleared) and not event.misread:
            over[event.finding] = None
            said.clear()
        elif isinstance(event, PlantChanged):
            said.add(event.state)
    return {"just_over": tuple(over), "states_said": frozenset(said)}


def _mentioned(events: list[Event]) -> tuple[DangerMentioned, ...]:
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


def _cleared(events: list[Event]) -> frozenset[str]:
    """Return the hazards that are over; one that is told again is there again."""
    cleared: set[str] = set()
    for event in events:
        if isinstance(event, Cleared):
            cleared.add(event.finding)
        elif isinstance(event, FindingSeen) and event.present:
            cleared.discard(event.finding)
    return frozenset(cleared)


def _ended(counting: Iterable[Entry]) -> tuple[Ended, ...]:
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


def _cautions(everything: Iterable[Event]) -> dict[str, Any]:
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
