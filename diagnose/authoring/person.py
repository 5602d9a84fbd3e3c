"""Somebody at a meter with an invented fault, who answers prompts: looks, measures, repairs, and now and then errs."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.authoring.faults import Fault, draw_complaint
from diagnose.authoring.world import Verdict, World, outcomes_of
from diagnose.observations import CheckDone, FindingSeen, Observation, RemedyTried
from diagnose.protocol import replies
from diagnose.protocol.prompts import (
    CautionPrompt,
    ComplaintPrompt,
    Prompt,
    ProofPrompt,
    PutBackPrompt,
    QuestionPrompt,
    ReadingPrompt,
    StepsPrompt,
    StopPrompt,
)
from diagnose.protocol.replies import Reply
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.steps import applies, contradicts
from diagnose.rule_book.quantities import Value
from diagnose.rule_book.work import Check, Remedy, Step

VERDICTS: tuple[Verdict, ...] = ("cured", "partly", "not cured")


class Person:
    """One person at one meter; ``wrong`` is the share of answers that are another outcome at random.

    Whether an answer is wrong hangs on the fault and the check alone, so that two ways of working meet the same
    answers. A remedy that cured and is taken for one that did not counts as not done: the fault stays.
    """

    def __init__(self, engine: Engine, fault: Fault, wrong: float) -> None:
        self.engine = engine
        self.rule_book = engine.rule_book
        self.fault = fault
        self.wrong = wrong
        self.world = World(engine, fault)
        self.wrong_answers = self.wrong_results = 0
        self._tries = 0
        self._noticed: tuple[str, ...] = fault.complaint

    # Answering prompts -----------------------------------------------------------------------------------------

    def reply(self, prompt: Prompt) -> Reply:
        """Return what this person replies to a prompt."""
        if isinstance(prompt, ComplaintPrompt):
            return self._complain()
        if isinstance(prompt, CautionPrompt):
            return replies.Heed()
        if isinstance(prompt, ReadingPrompt):
            return self._read(prompt)
        if isinstance(prompt, StepsPrompt):
            return self._work(prompt)
        if isinstance(prompt, ProofPrompt):
            return self._prove(prompt)
        if isinstance(prompt, PutBackPrompt):
            return replies.Done()
        if isinstance(prompt, QuestionPrompt):
            return self._question(prompt)
        if isinstance(prompt, StopPrompt):
            return replies.HazardOver(findings=prompt.findings)
        return replies.Unknown()

    def _complain(self) -> Reply:
        seen = tuple(FindingSeen(finding=name, present=True) for name in self._noticed)
        return replies.Observed(observations=seen) if seen else replies.Unknown()

    def _question(self, prompt: QuestionPrompt) -> Reply:
        if prompt.about == "competence":
            return replies.CompetenceReply(competence=self.fault.competence)
        if prompt.about == "data sheet":
            return replies.FieldsFilled(values=self._known(prompt.fields), complete=True)
        if prompt.about == "danger":
            return replies.NobodyInDanger()
        if prompt.about == "plant":
            shown = (each.reply for each in prompt.options if isinstance(each.reply, replies.PlantAsShown))
            return next(shown, prompt.options[0].reply)
        if prompt.about == "other fault":
            return replies.NoOtherFault()
        if prompt.about != "check" or prompt.proposal is None:
            return replies.Skip()
        check = self.rule_book.checks[prompt.proposal.id]
        said = self.look(check) if self.fits(check) else []
        return replies.Outcome(answer=said[0].answer) if said and isinstance(said[0], CheckDone) else replies.Unknown()

    def _known(self, fields: tuple[str, ...]) -> dict[str, Value]:
        return {name: self.fault.sheet[name] for name in fields if name in self.fault.sheet}

    def _read(self, prompt: ReadingPrompt) -> Reply:
        """Say what a reading amounts to: invented meters have findings, not figures."""
        check = self.rule_book.checks[prompt.proposal.id]
        if prompt.proves or prompt.quantity != check.measures or not self.fits(check):
            return replies.Unknown()
        said = self.look(check)
        if said and isinstance(said[0], CheckDone):
            return replies.Outcome(answer=said[0].answer)
        seen = tuple(each for each in said if isinstance(each, FindingSeen))
        return replies.Found(observations=seen) if seen else replies.Unknown()

    def _work(self, prompt: StepsPrompt) -> Reply:
        return replies.Done() if self.fits(self.rule_book.remedies[prompt.proposal.id]) else replies.NotDone()

    def _prove(self, prompt: ProofPrompt) -> Reply:
        said = self.repair(self.rule_book.remedies[prompt.remedy])
        tried = said[0]
        assert isinstance(tried, RemedyTried)
        self._noticed = tuple(each.finding for each in said if isinstance(each, FindingSeen))
        return replies.Verdict(verdict=tried.verdict)

    def fits(self, step: Step) -> bool:
        """Tell whether a step is in place on this meter, which the person sees at once."""
        return applies(step.applies, self.fault.sheet) and not contradicts(step.not_when, self.fault.sheet)

    # What the person sees and does -----------------------------------------------------------------------------

    def complaint(self) -> list[Observation]:
        """Return what the person comes with."""
        return [FindingSeen(finding=name, present=True) for name in self.fault.complaint]

    def look(self, check: Check) -> list[Observation]:
        """Do a check and say what it found."""
        chance = self.fault.chance("check", check.id, str(len(self.world.open)))
        found = self.world.outcome(check, chance)
        others = [each for each in outcomes_of(self.engine, check) if each != found]
        if others and chance.random() < self.wrong:
            found = chance.choice(others)
            self.wrong_answers += 1
        return self._said(check, found)

    def _said(self, check: Check, found: Mapping[str, bool]) -> list[Observation]:
        if not check.outcomes:
            return [FindingSeen(finding=name, present=present) for name, present in found.items()]
        telling = [outcome for outcome in check.outcomes if outcome.present or outcome.absent]
        number = list(outcomes_of(self.engine, check)).index(found)
        return [CheckDone(check=check.id, answer=telling[number].answer)]

    def repair(self, remedy: Remedy) -> list[Observation]:
        """Carry a remedy out, prove it, and say what came of it; when something is still wrong, what."""
        self._tries += 1
        chance = self.fault.chance("remedy", remedy.id, str(self._tries))
        before = list(self.world.open)
        true = self.world.try_remedy(remedy, chance)
        said = chance.choice([word for word in VERDICTS if word != true]) if chance.random() < self.wrong else true
        if said != true:
            self.world.open = before
            self.wrong_results += 1
        observations: list[Observation] = [RemedyTried(remedy=remedy.id, verdict=said)]
        if said == "partly":
            causes = [self.rule_book.causes[name] for name in self.world.open]
            names = draw_complaint(self.rule_book, causes, chance)
            observations += [FindingSeen(finding=name, present=True) for name in names]
        return observations
