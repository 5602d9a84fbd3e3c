"""Watches every step that is put to somebody, and says where it breaks a rule of safety.

What plans steps reads the same entries through :mod:`diagnose.reasoning.steps`; this reads them anew and shares none of
that code, and it knows what the meter really is, not only what was filled in. Each change of the plant is looked at
by itself, in the order in which it is proposed. Whole cases are watched by :mod:`diagnose.authoring.case_watch`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set
from dataclasses import dataclass
from typing import Literal, NamedTuple

from diagnose.reasoning.proposal import Proposal
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import COMPETENCES, Competence
from diagnose.rule_book.conditions import truth
from diagnose.rule_book.plant import Caution, StateChange
from diagnose.rule_book.quantities import AND_MORE, DataSheet, Value
from diagnose.rule_book.work import Step

Kind = Literal[
    "before its caution", "beyond competence", "forbidden", "out of state", "left open", "in spite of a hazard"
]
"""What can be wrong with what is put to somebody."""


class Violation(NamedTuple):
    """One thing that is wrong with what is put to somebody."""

    kind: Kind
    text: str


@dataclass(frozen=True)
class Watch:
    """A watch over one person at one meter; ``sheet`` is what the meter is.

    Where the sheet is only what was told, ``unknown_counts``: a caution is then missed as well where a field that
    nobody filled in may bring it up, and a step is forbidden where such a field may forbid it. ``avoided`` are cautions
    that this person said to bring up with nothing.
    """

    rule_book: RuleBook
    sheet: DataSheet
    competence: Competence
    unknown_counts: bool = False
    avoided: Set[str] = frozenset()

    def violations(
        self,
        standing: Mapping[str, str],
        proposal: Proposal,
        step: Step,
        what: str = "",
        heeded: Set[str] | None = None,
    ) -> list[Violation]:
        """Return what is wrong with putting this step (``what`` it is) while the plant stands so.

        ``heeded`` are the cautions that were acknowledged so far; None where nobody was asked.
        """
        found = dict.fromkeys(self._all(dict(standing), proposal, step))
        if heeded is not None:
            signals = {name: self.rule_book.cautions[name].signal for name, _ in proposal.cautions}
            grave = [name for name, signal in signals.items() if signal in ("danger", "warning") and name not in heeded]
            found |= dict.fromkeys(Violation("before its caution", f"not heeded before it: {name}") for name in grave)
        return [Violation(kind, f"{what or proposal.kind} {step.id}: {text}") for kind, text in found]

    def _all(self, stands: dict[str, str], proposal: Proposal, step: Step) -> Iterator[Violation]:
        if proposal.standing != stands:
            yield Violation("out of state", f"planned from {proposal.standing}, but the plant stands {stands}")
        hazards = set(step.meets)
        for state, to in proposal.changes:
            change = self._change(state, stands[state], to)
            if change is None:
                text = f"out of state: nobody can bring {state} from {stands[state]} to {to}"
                yield Violation("out of state", text)
                continue
            if _beyond(change.competence, self.competence):
                text = f"out of competence: bringing {state} to {to} is for {change.competence} persons"
                yield Violation("beyond competence", text)
            hazards |= set(change.meets)
            stands[state] = to
            yield from self._forbidden(stands, set(change.meets), {state})
            yield from self._out_of_order(stands)
        touched = {*step.needs, *(state for state, _ in proposal.changes)}
        yield from self._at_the_step(stands, step, touched)
        shown = {name for name, _ in proposal.cautions}
        for caution in self.rule_book.cautions.values():
            comes_up = self._comes_up(caution, stands, hazards, touched)
            if comes_up and caution.id not in shown:
                yield Violation("before its caution", f"without its caution: {caution.id}")
            if comes_up and caution.id in self.avoided:
                yield Violation("forbidden", f"the person avoids it: {caution.id}")
            yield from self._exposed(caution, stands, hazards, touched)

    def _at_the_step(self, stands: Mapping[str, str], step: Step, touched: set[str]) -> Iterator[Violation]:
        for state, words in step.needs.items():
            if stands[state] not in words:
                text = f"out of state: {state} is {stands[state]}, needed is {' or '.join(words)}"
                yield Violation("out of state", text)
        if _beyond(step.competence, self.competence):
            yield Violation("beyond competence", f"out of competence: for {step.competence} persons")
        for field, ruled_out in step.not_when.items():
            if self._real(field, stands, set()) & set(ruled_out):
                yield Violation("forbidden", f"ruled out by {field} {' or '.join(ruled_out)}")
            elif self.unknown_counts and self._is_open(field):
                yield Violation("forbidden", f"ruled out by {field} {' or '.join(ruled_out)}, which nobody denied")
        yield from self._forbidden(stands, set(step.meets), touched)
        yield from self._out_of_order(stands)
        yield from self._left_out(stands, step)

    def _out_of_order(self, stands: Mapping[str, str]) -> Iterator[Violation]:
        """Nothing counts as proved dead while it is fed, or while nobody can get at it."""
        for name, state in self.rule_book.states.items():
            for other, words in state.goes_with.get(stands[name], {}).items():
                if stands[other] not in words:
                    yield Violation(
                        "out of state", f"out of order: {name} {stands[name]} while {other} is {stands[other]}"
                    )

    def _left_out(self, stands: Mapping[str, str], step: Step) -> Iterator[Violation]:
        """Nothing is touched where the plant stands ready to be proved dead, but nobody proved it."""
        for name, state in self.rule_book.states.items():
            for value, others in state.goes_with.items():
                ready = all(stands[other] in words for other, words in others.items())
                if ready and set(others) & set(step.needs) and stands[name] != value and name not in step.needs:
                    yield Violation("out of state", f"out of order: done before {name} is {value}")

    def _exposed(
        self, caution: Caution, stands: Mapping[str, str], hazards: set[str], touched: set[str]
    ) -> Iterator[Violation]:
        """Competence follows what somebody is exposed to; what nobody knows of the meter counts as the worst."""
        states = self.rule_book.states.keys()
        for least, items in caution.least_competence.items():
            for item in items:
                known = {
                    key: words for key, words in item.items() if self._real(key, stands, hazards) or key == "meets"
                }
                concerned = not item.keys() & states or bool(item.keys() & touched)
                if concerned and self._holds(known, stands, hazards) and _beyond(least, self.competence):
                    yield Violation("beyond competence", f"out of competence: {caution.id} is for {least} persons")
                    break

    def _change(self, state: str, start: str, to: str) -> StateChange | None:
        changes = self.rule_book.states[state].changes
        return next((each for each in changes if (each.from_, each.to) == (start, to)), None)

    def _forbidden(self, stands: Mapping[str, str], hazards: set[str], touched: set[str]) -> Iterator[Violation]:
        for caution in self.rule_book.cautions.values():
            for item in caution.forbids:
                if self._concerns(item, touched) and self._holds(item, stands, hazards, self.unknown_counts):
                    what = ", ".join(f"{key} {' or '.join(words)}" for key, words in item.items())
                    yield Violation("forbidden", f"forbidden by {caution.id} ({what})")

    def _comes_up(self, caution: Caution, stands: Mapping[str, str], hazards: set[str], touched: set[str]) -> bool:
        """Tell whether somebody must have been warned."""
        fields = {name: self._real(name, {}, set()) for name in caution.falls_away}
        if any(fields[name] and fields[name] <= set(words) for name, words in caution.falls_away.items()):
            return False
        return any(
            self._concerns(item, touched) and self._holds(item, stands, hazards, self.unknown_counts)
            for item in caution.comes_up
        )

    def _concerns(self, item: Mapping[str, tuple[str, ...]], touched: set[str]) -> bool:
        """Tell whether a step has to do with the states of an item; a question beside an open cover has not."""
        states = item.keys() & self.rule_book.states.keys()
        return not states or bool(states & touched)

    def _holds(
        self, item: Mapping[str, tuple[str, ...]], stands: Mapping[str, str], hazards: set[str], may: bool = False
    ) -> bool:
        return all(
            self._real(key, stands, hazards) & set(words) or (may and self._is_open(key)) for key, words in item.items()
        )

    def _is_open(self, key: str) -> bool:
        """Tell whether a field of the data sheet may hold any word: nothing was told of it, or not all."""
        if key == "meets" or key in self.rule_book.states:
            return False
        value = self.sheet.get(key, AND_MORE)
        return AND_MORE in (value if isinstance(value, tuple) else (value,))

    def _real(self, key: str, stands: Mapping[str, str], hazards: set[str]) -> set[str]:
        """Return what is the case with a hazard, a state or a field of the data sheet."""
        if key == "meets":
            return hazards
        if key in self.rule_book.states:
            return {stands[key]}
        value = self.sheet.get(key, ())
        return set(value) if isinstance(value, tuple) else {str(value)}


def settled(rule_book: RuleBook, sheet: Mapping[str, Value]) -> dict[str, Value]:
    """Return a sheet with the fields of one word that its other fields leave no doubt about, or contradict."""
    one_word = [each for each in rule_book.contradictions.values() if not rule_book.quantities[each.field].several]
    sure = {each.field: each.adds for each in one_word if each.adds and truth(each.when, {}, sheet)}
    whole = {**sure, **sheet}
    worse = [each for each in rule_book.contradictions.values() if each.overrules and truth(each.when, {}, whole)]
    return {**whole, **{each.field: each.overrules for each in worse}}


def _beyond(needed: Competence, has: Competence) -> bool:
    return COMPETENCES.index(needed) > COMPETENCES.index(has)
