"""One invented fault, interviewed step by step with the real diagnosis until it is cured, handed over or given up."""

from __future__ import annotations

from typing import Literal

import msgspec

from diagnose.authoring.faults import Fault
from diagnose.authoring.person import Person
from diagnose.authoring.safety_watch import Watch
from diagnose.observations import Observation, RemedyTried, State
from diagnose.reasoning.diagnosis import Diagnosis, diagnose
from diagnose.reasoning.proposal import Proposal, proposal_for
from diagnose.reasoning.steps import applies, contradicts
from diagnose.rule_book.types import Remedy, RuleBook, Step

MOST_TURNS = 80
"""Nobody goes on longer, steps passed over included; an interview that does counts as handed over."""

End = Literal["cured", "wrongly closed", "handed over"]


class InterviewResult(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How one interview went.

    ``ranks`` gives each true cause its place in the ranking on which the last step was proposed, 0 for one cured
    before; ``ranks_at_remedy`` its place when its own remedy was first proposed (at the end, where it never was);
    ``ranks_before`` that before any remedy. ``first`` is what ranked first at the end. ``looking`` are the minutes
    before the remedy that cured (with a call-out where none did), ``minutes`` all of them. ``steps`` are checks and
    remedies done; ``wrong_answers`` and ``wrong_results`` those that were misread. ``log`` tells each step.
    """

    ranks: dict[str, int]
    ranks_at_remedy: dict[str, int]
    ranks_before: dict[str, int]
    end: End
    first: str
    looking: float
    minutes: float
    steps: int
    needless: int
    wrong_answers: int
    wrong_results: int
    violations: tuple[str, ...]
    log: tuple[str, ...]


def interview(rule_book: RuleBook, fault: Fault, wrong: float) -> InterviewResult:
    """Interview somebody about one fault."""
    simulated = _Interview(rule_book, fault, wrong)
    while simulated.end is None and simulated.turns < MOST_TURNS:
        simulated.turn()
    return simulated.result()


class _Interview:
    def __init__(self, rule_book: RuleBook, fault: Fault, wrong: float) -> None:
        self.rule_book = rule_book
        self.fault = fault
        self.person = Person(rule_book, fault, wrong)
        self.sheet = dict(fault.known)
        self.asked: set[str] = set()
        self.observations: list[Observation] = self.person.complaint()
        self.plant = State().standing(rule_book)
        self.watch = Watch(rule_book, fault.sheet, fault.competence)
        self.aside: tuple[str, ...] = ()
        self.end: End | None = None
        self.looking = self.minutes = 0.0
        self.turns = self.steps = self.needless = 0
        self.violations: list[str] = []
        self.log: list[str] = []
        self.first = ""
        self.ranks: dict[str, int] = {}
        self.at_remedy: dict[str, int] = {}
        self.before: dict[str, int] = {}
        self.cured: set[str] = set()

    def turn(self) -> None:
        """Take what is proposed, and do it."""
        state = State(plant=self.plant, competence=self.fault.competence, set_aside=self.aside)
        diagnosis = diagnose(self.rule_book, self.sheet, tuple(self.observations), state)
        proposal = diagnosis.proposals.next
        if self._fill_in(proposal):
            return
        self._remember(diagnosis, proposal)
        self.turns += 1
        if proposal.kind == "escalate":
            self._log(diagnosis, proposal, "")
            self.end = "handed over"
        elif proposal.kind == "check":
            self._check(diagnosis, proposal)
        else:
            self._remedy(diagnosis, proposal)

    def _fill_in(self, proposal: Proposal) -> bool:
        """Answer what a step asks of the data sheet first; false when it asks nothing new."""
        wanted = [name for name in proposal.ask_first if name not in self.asked and name not in self.sheet]
        self.asked.update(wanted)
        self.sheet.update({name: self.fault.sheet[name] for name in wanted if name in self.fault.sheet})
        return bool(wanted)

    def _check(self, diagnosis: Diagnosis, proposal: Proposal) -> None:
        check = self.rule_book.checks[proposal.id]
        if self._out_of_place(check):
            self._log(diagnosis, proposal, "not on this meter")
            return
        self.violations += self.watch.violations(self.plant, proposal, check)
        self._spend(proposal)
        said = self.person.look(check)
        if not said:  # nothing that anybody could answer; in an interview "unknown" sets it aside
            self.aside += (check.id,)
        self.observations += said
        self._log(diagnosis, proposal, ", ".join(map(_in_short, said)))

    def _remedy(self, diagnosis: Diagnosis, proposal: Proposal) -> None:
        remedy = self.rule_book.remedies[proposal.id]
        if self._out_of_place(remedy):
            self._log(diagnosis, proposal, "not on this meter")
            return
        before = self.minutes
        self.violations += self.watch.violations(self.plant, proposal, remedy)
        self._spend(proposal)
        self._prove(remedy)
        open_before = set(self.person.world.open)
        said = self.person.repair(remedy)
        helped = open_before - set(self.person.world.open)
        self.cured |= helped
        self.looking += 0.0 if helped else self.minutes - before
        if not any(self.rule_book.causes[name].remedy == remedy.id for name in open_before):
            self.needless += 1
        self.observations += said
        self._log(diagnosis, proposal, ", ".join(map(_in_short, said)))
        if any(isinstance(each, RemedyTried) and each.verdict == "cured" for each in said):
            self.end = "wrongly closed" if self.person.world.open else "cured"

    def _prove(self, remedy: Remedy) -> None:
        check = self.rule_book.checks[remedy.proved_by]
        proof = proposal_for(self.rule_book, "check", check, self.plant, self.sheet, "")
        self.violations += self.watch.violations(self.plant, proof, check, "proof")
        self.minutes += proof.minutes
        self.plant |= dict(proof.changes)

    def _spend(self, proposal: Proposal) -> None:
        self.steps += 1
        self.minutes += proposal.minutes
        self.looking += proposal.minutes if proposal.kind == "check" else 0.0
        self.plant |= dict(proposal.changes)

    def _out_of_place(self, step: Step) -> bool:
        """Set a step aside that this meter has not, though nobody had filled that in; the person sees it at once."""
        fits = applies(step.applies, self.fault.sheet) and not contradicts(step.not_when, self.fault.sheet)
        if not fits:
            self.aside += (step.id,)
        return not fits

    def _remember(self, diagnosis: Diagnosis, proposal: Proposal) -> None:
        self.ranks = self._ranks(diagnosis)
        self.first = diagnosis.causes[0].id if diagnosis.causes else ""
        if proposal.kind in ("remedy", "escalate") and not self.before:
            self.before = self.ranks
        for name in self.person.world.open:
            if proposal.kind == "remedy" and self.rule_book.causes[name].remedy == proposal.id:
                self.at_remedy.setdefault(name, self.ranks[name])

    def _ranks(self, diagnosis: Diagnosis) -> dict[str, int]:
        """Return the place of every true cause; 0 for one cured, one more than the last for one that is not ranked."""
        order = [cause.id for cause in diagnosis.causes]
        return {
            name: 0 if name in self.cured else order.index(name) + 1 if name in order else len(order) + 1
            for name in self.fault.causes
        }

    def _log(self, diagnosis: Diagnosis, proposal: Proposal, said: str) -> None:
        ranking = ", ".join(f"{cause.id} {cause.probability:.2f}" for cause in diagnosis.causes[:3])
        name = proposal.id or "somebody who knows more"
        self.log.append(f"{proposal.kind} {name} ({proposal.minutes:g} min): {said or '-'} | before: {ranking}")

    def _put_back(self) -> None:
        """Watch how the plant is put back before somebody leaves."""
        needs: dict[str, tuple[str, ...]] = {name: (each.initial,) for name, each in self.rule_book.states.items()}
        step = Step(id="put-back", title="", steps=(), minutes=0.0, needs=needs)
        proposal = proposal_for(self.rule_book, "done", step, self.plant, self.sheet, "")
        self.violations += self.watch.violations(self.plant, proposal, step)
        self.minutes += proposal.minutes

    def result(self) -> InterviewResult:
        """Return how it went."""
        at_end = self.ranks
        self._put_back()
        call_out = 0.0 if self.end == "cured" else self.rule_book.settings.call_out_minutes
        return InterviewResult(
            ranks=at_end,
            ranks_at_remedy={**at_end, **self.at_remedy},
            ranks_before=self.before or at_end,
            end=self.end or "handed over",
            first=self.first,
            looking=self.looking + call_out,
            minutes=self.minutes + call_out,
            steps=self.steps,
            needless=self.needless,
            wrong_answers=self.person.wrong_answers,
            wrong_results=self.person.wrong_results,
            violations=tuple(self.violations),
            log=tuple(self.log),
        )


def _in_short(observation: Observation) -> str:
    values = msgspec.structs.asdict(observation)
    return " ".join(str(value) for key, value in values.items() if key != "quote" and value != "")
