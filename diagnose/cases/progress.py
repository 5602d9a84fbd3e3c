"""How far an interview is: which step was chosen, what was read at it, and how much was answered since."""

from __future__ import annotations

from diagnose.cases.events import (
    CompetenceSaid,
    DangerAvoided,
    Event,
    FaultRemains,
    LeftAsIs,
    NoComplaint,
    NothingElse,
    NoTool,
    OthersWanted,
    ReadingTaken,
    RemedyDone,
    SetAside,
    StepChosen,
    StepDeclined,
    StepMeasured,
    WentOn,
)
from diagnose.observations import CheckDone, FindingSeen, Measurement, RemedyTried
from diagnose.rule_book.quantities import Value


class Progress:
    """How far the interview is, event by event; attributes are fields of :class:`~diagnose.cases.standing.Standing`."""

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
