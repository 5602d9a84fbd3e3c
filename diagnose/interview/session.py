"""An interview as data: the case so far, its diagnosis, and what an answer adds. No terminal in here."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from diagnose.cases.events import (
    Acknowledgement,
    CompetenceSaid,
    Event,
    Note,
    NoTool,
    PlantChanged,
    SetAside,
    SheetFilled,
    Standing,
    Undo,
    standing_of,
)
from diagnose.cases.journal import Journal
from diagnose.observations import CheckDone, FindingSeen, Measurement, RemedyTried, WordEvidence
from diagnose.reasoning.evidence import with_calculated
from diagnose.reasoning.steps import Way, way_for
from diagnose.rule_book.types import Check, Finding, Reading, Remedy, RuleBook, Step, Value
from diagnose.rule_book.verdicts import said_of

if TYPE_CHECKING:  # the first question must not wait for the numerics
    from diagnose.analyses.analysed import Analysis
    from diagnose.reasoning.diagnosis import Diagnosis
    from diagnose.reasoning.proposal import Proposal

ACKNOWLEDGED_SIGNALS = ("danger", "warning")
"""Cautions with these signal words are acknowledged before the steps are shown."""


@dataclass
class Session:
    """One interview: the rule book, the journal, and what was on the screen before."""

    rule_book: RuleBook
    journal: Journal
    before: dict[str, float] = field(default_factory=dict)
    chosen: str = ""

    @property
    def standing(self) -> Standing:
        """Return what the events so far amount to."""
        return standing_of(self.journal.entries, self.journal.head.data_sheet)

    def complaints(self, kind: str) -> list[Finding]:
        """Return the findings of a kind that somebody may come with, those that most causes show first."""
        weight: defaultdict[str, float] = defaultdict(float)
        for cause in self.rule_book.causes.values():
            for name, strength in cause.shows.items():
                weight[name] += cause.frequency * strength
        offered = [item for item in self.rule_book.findings.values() if item.complaint == kind]
        return sorted(offered, key=lambda item: (-weight[item.id], item.id))

    def diagnosis(self, observations: int | None = None) -> Diagnosis:
        """Return the diagnosis of everything observed so far, or of the first few observations."""
        from diagnose.reasoning.diagnosis import diagnose

        standing = self.standing
        return diagnose(self.rule_book, standing.data_sheet, standing.observations[:observations], standing.state)

    def proof(self, remedy: Remedy) -> Proposal:
        """Return the check that proves a remedy as a step, from where the remedy leaves the plant."""
        from diagnose.reasoning.proposal import proposal_for

        check = self.rule_book.checks[remedy.proved_by]
        after, sheet = self.way(remedy).standing, self.standing.data_sheet
        return proposal_for(self.rule_book, "check", check, after, sheet, "proves the remedy")

    def putting_back(self) -> Proposal:
        """Return the step that brings the plant back to where its states start."""
        from diagnose.reasoning.proposal import proposal_for

        needs: dict[str, tuple[str, ...]] = {name: (state.initial,) for name, state in self.rule_book.states.items()}
        step = Step(id="put-back", title="Put the plant back", steps=(), minutes=0.0, needs=needs)
        standing = self.standing
        now = standing.state.standing(self.rule_book)
        return proposal_for(self.rule_book, "done", step, now, standing.data_sheet, "the work is over")

    def record(self, *events: Event) -> None:
        """Put an answer on the disk; it counts from the next question on."""
        if any(not isinstance(event, Note | Acknowledgement | SheetFilled) for event in events):
            self.chosen = ""
        self.journal.add(self.journal.new_turn(), *events)

    def go_back(self) -> bool:
        """Take the last answer back; false when there is none."""
        last = self.standing.last_turn
        if last == 0:
            return False
        self.chosen = ""
        self.journal.add(self.journal.new_turn(), Undo(turn=last))
        return True

    def proposal(self, diagnosis: Diagnosis) -> Proposal:
        """Return the step that the person chose, else the one that is proposed."""
        proposals = diagnosis.proposals
        for each in (*proposals.checks, *proposals.remedies):
            if each.id == self.chosen:
                return each
        return proposals.next

    def open_fields(self, proposal: Proposal) -> list[str]:
        """Return the data-sheet fields that a step needs and that have not been asked for."""
        asked = self.standing.asked
        return [name for name in proposal.ask_first if name not in asked]

    def expected(self, check: Check, readings: dict[str, Reading]) -> float | None:
        """Return what a check's reading should be, by the data sheet and the readings just taken."""
        if not check.expect:
            return None
        values: dict[str, Value] = {**self.diagnosis().values, **readings}
        if self.rule_book.quantities[check.expect].calculate:
            values.pop(check.expect, None)  # worked out anew from the readings just taken
        value = with_calculated(self.rule_book, values).get(check.expect)
        return float(value) if isinstance(value, int | float) else None

    def said_of(self, readings: dict[str, Reading], quantity: str) -> tuple[str, ...]:
        """Return what the rules say of a reading just taken, in words."""
        diagnosis = self.diagnosis()
        calculated = {name for name, item in self.rule_book.quantities.items() if item.calculate}
        values = {name: value for name, value in diagnosis.values.items() if name not in calculated}
        values = with_calculated(self.rule_book, {**values, **readings})
        return said_of(self.rule_book, quantity, diagnosis.findings, values)

    def way(self, step: Step) -> Way:
        """Return the changes of the plant that a step needs from where it stands."""
        standing = self.standing
        return way_for(self.rule_book, step, standing.state.standing(self.rule_book), standing.data_sheet)

    def acknowledge(self, proposal: Proposal) -> None:
        """Keep that the cautions of a step were shown and acknowledged."""
        self.record(*(Acknowledgement(caution=name, step=proposal.id) for name in self.to_acknowledge(proposal)))

    def to_acknowledge(self, proposal: Proposal) -> list[str]:
        """Return the cautions of a step that are to be acknowledged."""
        return [name for name, _ in proposal.cautions if self.rule_book.cautions[name].signal in ACKNOWLEDGED_SIGNALS]

    def told_before(self) -> str:
        """Return what was told of the complaint in words so far; a remedy that helped starts a new one."""
        told = ""
        for each in self.standing.observations:
            if isinstance(each, RemedyTried) and each.verdict != "not cured":
                told = ""
            elif isinstance(each, WordEvidence):
                told = each.report
        return told

    def complain(self, findings: list[FindingSeen | Measurement]) -> None:
        """Record what somebody came with."""
        self.record(*findings)

    def say_competence(self, word: str) -> None:
        """Record what the person may do."""
        self.record(CompetenceSaid(competence=word))  # type: ignore[arg-type]

    def fill_in(self, name: str, value: Value | None) -> None:
        """Record a field of the data sheet, or that nobody knows it."""
        self.record(SheetFilled(field=name, value=value))

    def answer(self, check: Check, outcome: str, readings: dict[str, Reading]) -> None:
        """Record a check's outcome or readings, and how the plant stands after it."""
        events: list[Event] = self._plant_after(check)
        events += [Measurement(quantity=name, value=value) for name, value in readings.items()]
        if outcome:
            events.append(CheckDone(check=check.id, answer=outcome))
        self.record(*events)

    def take_readings(self, check: Check, analysed: Analysis) -> None:
        """Record what readings said at a check, which is then done, and how the plant stands after it."""
        done = SetAside(step=check.id, why="answered by readings")
        self.record(*self._plant_after(check), *analysed.observations, done)

    def tried(self, remedy: Remedy, verdict: str, readings: dict[str, Reading]) -> None:
        """Record a remedy with its proof, and how the plant stands after both."""
        proof = self.rule_book.checks[remedy.proved_by]
        plant = {**self.way(remedy).standing}
        plant = dict(way_for(self.rule_book, proof, plant, self.standing.data_sheet).standing)
        now = self.standing.state.standing(self.rule_book)
        events: list[Event] = [
            PlantChanged(state=name, value=value) for name, value in plant.items() if now[name] != value
        ]
        events.append(RemedyTried(remedy=remedy.id, verdict=verdict))  # type: ignore[arg-type]
        events += [Measurement(quantity=name, value=value) for name, value in readings.items()]
        self.record(*events)

    def _plant_after(self, step: Step) -> list[Event]:
        return [PlantChanged(state=each.state, value=each.change.to) for each in self.way(step).changes]

    def set_aside(self, proposal: Proposal, why: str) -> None:
        """Record that a step is not to be proposed again."""
        self.record(SetAside(step=proposal.id, why=why))  # type: ignore[arg-type]

    def without_tool(self, tool: str) -> None:
        """Record that a tool is not there."""
        self.record(NoTool(tool=tool))

    def note(self, text: str) -> None:
        """Keep somebody's own words."""
        self.record(Note(text=text))

    def plant_stands(self, state: str, value: str) -> None:
        """Record how the plant stands."""
        self.record(PlantChanged(state=state, value=value))
