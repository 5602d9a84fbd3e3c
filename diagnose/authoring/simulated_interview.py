"""One invented fault through the protocol that people use: an invented person answers, and every step is watched."""

from __future__ import annotations

from typing import Literal

import msgspec

from diagnose.authoring.case_watch import put_back_step
from diagnose.authoring.faults import Fault
from diagnose.authoring.person import Person
from diagnose.authoring.safety_watch import Watch
from diagnose.cases.events import Case
from diagnose.observations import RemedyTried
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import (
    CautionPrompt,
    HandOverPrompt,
    Prompt,
    ProofPrompt,
    PutBackPrompt,
    QuestionPrompt,
    ReadingPrompt,
    StepsPrompt,
)
from diagnose.protocol.replies import Reply
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.reasoning.diagnosis import Diagnosis
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.proposal import Proposal
from diagnose.rule_book.work import Step

MOST_PROMPTS = 400
"""Nobody goes on longer; an interview that does counts as undecided."""

End = Literal["cured", "wrongly closed", "handed over", "outside the book", "undecided"]


class InterviewResult(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How one interview went.

    ``ranks`` gives each true cause its place in the ranking on which the last step was proposed, 0 for one cured
    before; ``ranks_at_remedy`` its place when its own remedy was first proposed (at the end, where it never was);
    ``ranks_before`` that before any remedy. ``first`` is what ranked first at the end, ``best`` the
    probability of the likeliest listed cause at each step. ``looking`` are the minutes
    before the remedy that cured (with a call-out where none did), ``minutes`` all of them. ``steps`` are checks and
    remedies done, ``questions`` the prompts that were put before the first check, ``cautions`` those shown;
    ``wrong_answers`` and ``wrong_results`` those that were misread. ``log`` tells each step.
    """

    ranks: dict[str, int]
    ranks_at_remedy: dict[str, int]
    ranks_before: dict[str, int]
    end: End
    first: str
    best: tuple[float, ...]
    looking: float
    minutes: float
    steps: int
    needless: int
    questions: int
    cautions: int
    wrong_answers: int
    wrong_results: int
    violations: tuple[str, ...]
    log: tuple[str, ...]


def interview(engine: Engine, fault: Fault, wrong: float, world: Engine | None = None) -> InterviewResult:
    """Interview somebody about one fault; ``world`` is the engine of what really happens, if that is another one."""
    person = Person(world or engine, fault, wrong)
    record = _Record(engine, fault, person)
    case = Case(name=fault.key, data_sheet=dict(fault.known))
    for _ in range(MOST_PROMPTS):
        situation = Situation(engine, case)
        prompt = prompt_in(situation)
        record.see(situation, prompt)
        if isinstance(prompt, HandOverPrompt):
            break
        reply = person.reply(prompt)
        turn = respond(engine, case, prompt, reply)
        case = case.after(*turn.events)
        record.take(prompt, reply)
    return record.result(prompt)


class _Record:
    """What is written down of an interview while it goes on."""

    def __init__(self, engine: Engine, fault: Fault, person: Person) -> None:
        self.rule_book = engine.rule_book
        self.fault = fault
        self.person = person
        self.watch = Watch(engine.rule_book, fault.sheet, fault.competence)
        self.looking = self.minutes = 0.0
        self.steps = self.needless = self.questions = self.cautions = 0
        self.violations: list[str] = []
        self.log: list[str] = []
        self.first = ""
        self.best: list[float] = []
        self.ranks: dict[str, int] = {}
        self.at_remedy: dict[str, int] = {}
        self.before: dict[str, int] = {}
        self.cured: set[str] = set()
        self.heeded: set[str] = set()
        self._remedy_minutes = 0.0

    # Seeing prompts --------------------------------------------------------------------------------------------

    def see(self, situation: Situation, prompt: Prompt) -> None:
        """Look at a prompt as it is put to the person: is it safe, and how do the true causes rank?"""
        self.questions += not self.steps
        if isinstance(prompt, HandOverPrompt):
            if prompt.ending != "cured":
                self._rank(situation.diagnosis, prompt.proposal)
            self._log(situation, prompt.proposal)
            return
        step = self._step_on(prompt)
        if step is None:
            return
        proposal: Proposal = prompt.proposal  # type: ignore[union-attr, assignment]
        what = "proof" if isinstance(prompt, ProofPrompt) or bool(getattr(prompt, "proves", "")) else ""
        found = self.watch.violations(situation.plant, proposal, step, what, self.heeded)
        self.violations += [each.text for each in found]
        if isinstance(prompt, ReadingPrompt) and prompt.taken:
            return  # another reading at the same step
        self.cautions += len(proposal.cautions)
        if isinstance(prompt, QuestionPrompt | ReadingPrompt | StepsPrompt) and not what:
            self._rank(situation.diagnosis, proposal)
            self._log(situation, proposal)

    def _step_on(self, prompt: Prompt) -> Step | None:
        """Return the step that a prompt shows, None where it shows none."""
        if isinstance(prompt, PutBackPrompt):
            return put_back_step(self.rule_book, prompt)
        if isinstance(prompt, QuestionPrompt) and prompt.about != "check":
            return None
        if isinstance(prompt, QuestionPrompt | ReadingPrompt | ProofPrompt) and prompt.proposal:
            return self.rule_book.checks[prompt.proposal.id]
        return self.rule_book.remedies[prompt.proposal.id] if isinstance(prompt, StepsPrompt) else None

    def _rank(self, diagnosis: Diagnosis, proposal: Proposal) -> None:
        order = [cause.id for cause in diagnosis.causes]
        self.first = order[0] if order else ""
        listed = [each.probability for each in diagnosis.causes if not self.rule_book.causes[each.id].shows_others]
        self.best.append(round(max(listed, default=0.0), 3))
        self.ranks = {
            name: 0 if name in self.cured else order.index(name) + 1 if name in order else len(order) + 1
            for name in self.fault.causes
        }
        if proposal.kind in ("remedy", "escalate") and not self.before:
            self.before = self.ranks
        for name in self.person.world.open:
            if proposal.kind == "remedy" and self._helps(proposal.id, name):
                self.at_remedy.setdefault(name, self.ranks[name])

    def _helps(self, remedy: str, cause: str) -> bool:
        return any(each.id == cause for each in self.rule_book.helped_by(remedy))

    def _log(self, situation: Situation, proposal: Proposal) -> None:
        ranking = ", ".join(f"{cause.id} {cause.probability:.2f}" for cause in situation.diagnosis.causes[:3])
        self.log.append(f"{proposal.kind} {proposal.id or proposal.title} ({proposal.minutes:g} min) | {ranking}")

    # Taking replies --------------------------------------------------------------------------------------------

    def take(self, prompt: Prompt, reply: Reply) -> None:
        """Write down what a reply cost and brought."""
        if isinstance(prompt, CautionPrompt) and isinstance(reply, replies.Heed):
            self.heeded |= {name for name, _ in prompt.proposal.cautions}
        elif isinstance(prompt, PutBackPrompt):
            # The minutes of a step include putting back what it disturbs; what is left are those of the plant.
            own = sum(self.rule_book.disturbances[name].minutes for name in prompt.disturbed)
            self.minutes += prompt.proposal.minutes - own
        elif isinstance(prompt, QuestionPrompt | ReadingPrompt) and self._is_answer(reply):
            self._spend(prompt.proposal, looking=True)
            self.log[-1] += f" -> {_in_short(reply)}"
        elif isinstance(prompt, StepsPrompt) and isinstance(reply, replies.Done):
            self._remedy_minutes = prompt.proposal.minutes
            self._spend(prompt.proposal, looking=False)
        elif isinstance(prompt, ProofPrompt) and isinstance(reply, replies.Verdict):
            self._proved(prompt, reply)

    def _is_answer(self, reply: Reply) -> bool:
        return isinstance(reply, replies.Outcome | replies.Found | replies.Figure)

    def _spend(self, proposal: Proposal | None, looking: bool) -> None:
        if proposal is not None:
            self.steps += 1
            self.minutes += proposal.minutes
            self.looking += proposal.minutes if looking else 0.0

    def _proved(self, prompt: ProofPrompt, reply: replies.Verdict) -> None:
        self.minutes += prompt.proposal.minutes
        helped = {name for name in self.fault.causes if name not in self.person.world.open} - self.cured
        self.cured |= helped
        if not helped:
            self.looking += self._remedy_minutes + prompt.proposal.minutes
        open_before = helped | set(self.person.world.open)
        if not any(self._helps(prompt.remedy, name) for name in open_before):
            self.needless += 1
        self.log[-1] += f" -> {reply.verdict}"

    # The end ---------------------------------------------------------------------------------------------------

    def result(self, last: Prompt) -> InterviewResult:
        """Return how it went."""
        end = self._end(last)
        call_out = 0.0 if end == "cured" else self.rule_book.settings.call_out_minutes
        never = dict.fromkeys(self.fault.causes, len(self.rule_book.causes) + 1)  # no step was ever proposed
        self.ranks = self.ranks or never
        return InterviewResult(
            ranks=self.ranks,
            ranks_at_remedy={**self.ranks, **self.at_remedy},
            ranks_before=self.before or self.ranks,
            end=end,
            first=self.first,
            best=tuple(self.best),
            looking=self.looking + call_out,
            minutes=self.minutes + call_out,
            steps=self.steps,
            needless=self.needless,
            questions=self.questions,
            cautions=self.cautions,
            wrong_answers=self.person.wrong_answers,
            wrong_results=self.person.wrong_results,
            violations=tuple(self.violations),
            log=tuple(self.log),
        )

    def _end(self, last: Prompt) -> End:
        if not isinstance(last, HandOverPrompt):
            return "undecided"
        if last.ending == "cured":
            return "wrongly closed" if self.person.world.open else "cured"
        return "outside the book" if last.ending == "outside the book" else "handed over"


def _in_short(reply: Reply) -> str:
    if isinstance(reply, replies.Outcome):
        return reply.answer
    found = getattr(reply, "observations", ())
    return ", ".join(f"{each.finding} {each.present}" for each in found if not isinstance(each, RemedyTried))
