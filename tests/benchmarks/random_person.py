"""Somebody at a meter who replies at random: sense, nonsense, mistakes, changes of mind, and hazards in between."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from diagnose.observations import FindingSeen, RemedyTried
from diagnose.protocol import replies
from diagnose.protocol.prompts import (
    CautionPrompt,
    HandOverPrompt,
    Prompt,
    QuestionPrompt,
    ReadingPrompt,
)
from diagnose.protocol.replies import Reply
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import COMPETENCES
from diagnose.rule_book.quantities import DataSheet, Quantity, Value

AT_ANY_PROMPT = 0.2
"""So often somebody says something that has nothing to do with what is asked."""


def random_value(quantity: Quantity, chooser: random.Random) -> Value:
    """Return a value that a data sheet may hold, or a reading that may be taken."""
    if quantity.several:
        return tuple(chooser.sample(quantity.choices, min(chooser.choice([1, 1, 2]), len(quantity.choices))))
    if quantity.choices:
        return chooser.choice(quantity.choices)
    low, high = quantity.plausible or (0.0, 1.0)
    return chooser.uniform(low, high)


class RandomPerson:
    """One person at one meter, both drawn at random; ``sheet`` is what the meter is by its words."""

    def __init__(self, rule_book: RuleBook, chooser: random.Random) -> None:
        self.rule_book = rule_book
        self.chooser = chooser
        self.competence = chooser.choice(COMPETENCES)
        self.knows = chooser.choice([0.0, 0.3, 0.6, 1.0])
        fields = [each for each in rule_book.data_sheet_fields().values() if each.choices]
        self.sheet: DataSheet = {each.id: random_value(each, chooser) for each in fields}
        self._any: list[tuple[int, Callable[[], Reply]]] = [
            (5, replies.Back),
            (3, replies.Unknown),
            (3, replies.Skip),
            (3, replies.OtherSteps),
            (2, lambda: replies.Decline(why=chooser.choice(["no tool", "may not"]))),
            (4, self._step),
            (2, self._plant),
            (2, lambda: replies.CompetenceReply(competence=chooser.choice(COMPETENCES))),
            (1, self._words),
            (1, self._hazard),
            (1, self._senseless),
        ]

    def known_at_first(self) -> DataSheet:
        """Return what stands on the data sheet before the case begins."""
        return {name: value for name, value in self.sheet.items() if self.chooser.random() < self.knows / 2}

    def reply(self, prompt: Prompt) -> Reply:
        """Return some reply to a prompt."""
        if self.chooser.random() < AT_ANY_PROMPT:
            weights = [weight for weight, _ in self._any]
            return self.chooser.choices([make for _, make in self._any], weights)[0]()
        if isinstance(prompt, QuestionPrompt) and prompt.about == "competence":
            return replies.CompetenceReply(competence=self.competence)
        if isinstance(prompt, QuestionPrompt) and prompt.fields:
            return self._fields(prompt.fields)
        if isinstance(prompt, ReadingPrompt):
            return self._reading(prompt)
        if isinstance(prompt, CautionPrompt):
            return replies.Heed()
        if isinstance(prompt, HandOverPrompt):
            return replies.GoOn()
        return self.chooser.choice(prompt.options).reply if prompt.options else replies.Unknown()

    # What belongs to the prompt ----------------------------------------------------------------------------------

    def _fields(self, fields: tuple[str, ...]) -> Reply:
        """Fill some in, now and then wrongly; what is left is not known here."""
        values: dict[str, Value] = {}
        for name in fields:
            if name in self.sheet and self.chooser.random() < self.knows:
                quantity = self.rule_book.quantities[name]
                wrong = self.chooser.random() < 0.1
                values[name] = random_value(quantity, self.chooser) if wrong else self.sheet[name]
        return replies.FieldsFilled(values=values, complete=True)

    def _reading(self, prompt: ReadingPrompt) -> Reply:
        if prompt.options and self.chooser.random() < 0.5:
            return self.chooser.choice(prompt.options).reply
        return replies.Figure(value=random_value(self.rule_book.quantities[prompt.quantity], self.chooser))

    # What comes in between ---------------------------------------------------------------------------------------

    def _plant(self) -> Reply:
        state = self.chooser.choice(list(self.rule_book.states.values()))
        return replies.PlantSaid(state=state.id, value=self.chooser.choice(state.values))

    def _step(self) -> Reply:
        return replies.Choose(step=self.chooser.choice([*self.rule_book.checks, *self.rule_book.remedies]))

    def _words(self) -> Reply:
        phrases = self.chooser.choice([each.phrases for each in self.rule_book.findings.values() if each.phrases])
        return replies.Words(text=self.chooser.choice(phrases))

    def _hazard(self) -> Reply:
        hazards = [each.id for each in self.rule_book.findings.values() if each.keep_away]
        seen = [FindingSeen(finding=name, present=True) for name in hazards]
        told = self.chooser.choice(seen) if seen else FindingSeen(finding=self._finding(), present=True)
        return replies.Observed(observations=(told,))

    def _finding(self) -> str:
        return self.chooser.choice(list(self.rule_book.findings))

    def _senseless(self) -> Reply:
        """Reply to something that was not asked: an answer, a verdict or a step from nowhere."""
        steps = [*self.rule_book.checks, *self.rule_book.remedies, "no-such-step"]
        checks = [each for each in self.rule_book.checks.values() if each.outcomes]
        made: list[Any] = [
            replies.Heed(),
            replies.Done(),
            replies.NotDone(),
            replies.GoOn(),
            replies.OtherFault(),
            replies.NoOtherFault(),
            replies.Verdict(verdict=self.chooser.choice(["cured", "partly", "not cured"])),
            replies.Choose(step=self.chooser.choice(steps)),
            replies.Outcome(answer=self.chooser.choice(self.chooser.choice(checks).outcomes).answer),
            replies.Figure(value=self.chooser.uniform(0, 30)),
            replies.Observed(observations=(FindingSeen(finding=self._finding(), present=self.chooser.random() < 0.5),)),
            replies.NoteDown(text="looked at it again"),
            replies.LackingTool(tool="multimeter"),
            replies.ThisStepOnly(),
            replies.Avoiding(caution=self.chooser.choice([*self.rule_book.cautions, "no-such-caution"])),
        ]
        remedies = list(self.rule_book.remedies)
        made += [
            replies.Observed(observations=(RemedyTried(remedy=self.chooser.choice(remedies), verdict="not cured"),))
        ] * bool(remedies)
        reply: Reply = self.chooser.choice(made)
        return reply
