"""The engine: all that is worked out once for a rule book, and what it remembers of the meters that it has met.

One object serves every way in. Tables for reading text come ready from the cache (:mod:`diagnose.reasoning.ready`);
the rules for forward chaining are compiled when the first diagnosis wants them.
"""

from __future__ import annotations

import copy
from collections import deque
from collections.abc import Callable, Collection, Hashable, Iterable, Mapping
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import msgspec

from diagnose.observations import Observation, State, WordEvidence
from diagnose.reasoning.dangers import Dangers, Memory
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import Competence
from diagnose.rule_book.conditions import names_in
from diagnose.rule_book.quantities import DataSheet, Value
from diagnose.rule_book.rules import InferenceRule
from diagnose.rule_book.work import Check

if TYPE_CHECKING:  # numerics and experta are loaded when they are first needed: a first question must come fast
    from diagnose.language.lexicon import Lexicon
    from diagnose.language.likeness import ComplaintWords
    from diagnose.language.meaning import CauseMeaning
    from diagnose.reasoning.costs import Costs
    from diagnose.reasoning.diagnosis import Diagnosis
    from diagnose.reasoning.inference import Conclusions, Inference
    from diagnose.reasoning.posterior import Network

KEPT = 64
"""How many meters, and people at them, are remembered."""

DIAGNOSES_KEPT = 8

_Asked = tuple[DataSheet, tuple[Observation, ...], State]
_Told = tuple[tuple[str, Value], ...]
"""Fields of a data sheet with what it says of them, in order."""


class Engine:
    """A rule book with everything that follows from it alone."""

    def __init__(
        self,
        rule_book: RuleBook,
        lexicon: Callable[[], Lexicon] | None = None,
        meaning: Callable[[], CauseMeaning | None] | None = None,
        fingerprint: str = "",
    ) -> None:
        self.rule_book = rule_book
        self._lexicon = lexicon
        self._meaning = meaning
        self._fingerprint = fingerprint
        self.found_before: dict[str, int] = {}
        self._costs = lru_cache(KEPT)(self._costs_of)
        self._dangers = lru_cache(KEPT)(self._dangers_of)
        self._networks = lru_cache(KEPT)(self._network_of)
        self._memories = lru_cache(KEPT)(_fresh_memory)
        self.diagnoses: deque[tuple[_Asked, Diagnosis]] = deque(maxlen=DIAGNOSES_KEPT)
        self.weighed: deque[tuple[str, WordEvidence]] = deque(maxlen=DIAGNOSES_KEPT)

    def with_history(self, found_before: Mapping[str, int]) -> Engine:
        """Return the engine for one meter: with the causes that were found on it before, each so many times.

        Causes that the rule book does not have (any more) are left out.
        """
        known = {name: times for name, times in found_before.items() if name in self.rule_book.causes}
        engine = copy.copy(self)
        engine.found_before = known
        engine._networks = lru_cache(KEPT)(engine._network_of)
        engine.diagnoses = deque(maxlen=DIAGNOSES_KEPT)
        return engine

    @cached_property
    def fingerprint(self) -> str:
        """What tells the rule book from another one, whatever folder it came from."""
        from diagnose.rule_book.cache import digest_of

        return self._fingerprint or digest_of(self.rule_book)

    @cached_property
    def lexicon(self) -> Lexicon:
        """Phrases and words by which text is read."""
        from diagnose.language.lexicon import Lexicon

        return self._lexicon() if self._lexicon else Lexicon(self.rule_book)

    @cached_property
    def meaning(self) -> CauseMeaning | None:
        """What the rule book says of each cause, by its meaning; None where meaning is not looked at."""
        return self._meaning() if self._meaning else None

    @cached_property
    def complaint_words(self) -> ComplaintWords:
        """The words that people use of each complaint."""
        from diagnose.language.likeness import ComplaintWords

        return ComplaintWords(self.rule_book, self.lexicon.vocabulary)

    @cached_property
    def inference(self) -> Inference:
        """The inference rules, compiled."""
        from diagnose.reasoning.inference import Inference

        return Inference(self.rule_book.inference, rules_by_plan(self.rule_book))

    @cached_property
    def inference_without_readings(self) -> Inference:
        """The rules that rest on findings and the data sheet alone: all that can fire where nothing is measured."""
        from diagnose.reasoning.inference import Inference

        return Inference(self._rules_without_readings)

    @cached_property
    def _rules_without_readings(self) -> dict[str, InferenceRule]:
        fields = self.rule_book.data_sheet_fields().keys()
        rules = self.rule_book.inference
        return {name: rule for name, rule in rules.items() if names_in(rule.when)[1] <= fields}

    @cached_property
    def touched_by_rules(self) -> frozenset[str]:
        """Findings from which those rules conclude something."""
        return frozenset().union(*(names_in(rule.when)[0] for rule in self._rules_without_readings.values()))

    def consequences(self, seen: Mapping[str, bool], data_sheet: DataSheet) -> Conclusions:
        """Return what is seen together with what follows from it where nothing is measured."""
        return self.inference_without_readings.run(seen, data_sheet)

    @cached_property
    def concluded(self) -> dict[str, tuple[str, ...]]:
        """For each quantity the findings that rules may conclude from it, directly or by calculation."""
        return _concluded(self.rule_book)

    @cached_property
    def held_against(self) -> dict[str, tuple[str, ...]]:
        """For each quantity the data-sheet fields with which some rule compares it."""
        return _held_against(self.rule_book)

    @cached_property
    def outcomes(self) -> dict[str, tuple[dict[str, bool], ...]]:
        """For each check what each of its outcomes sets."""
        return {check.id: self._outcomes_of(check) for check in self.rule_book.checks.values()}

    @cached_property
    def momentary(self) -> frozenset[str]:
        """Checks that look at what a fault shows at the moment; not those that provoke it or ask what went before."""
        findings = self.rule_book.findings
        return frozenset(
            check.id
            for check in self.rule_book.checks.values()
            if not check.provokes
            and any(findings[name].says_what_is_wrong for outcome in self.outcomes[check.id] for name in outcome)
        )

    def outcomes_offered(self, check: Check, comes_and_goes: bool) -> tuple[dict[str, bool], ...]:
        """Return what each outcome sets that makes sense for a fault, which may come and go."""
        if not comes_and_goes or not any(each.standing_only for each in check.outcomes):
            return self.outcomes[check.id]
        kept = tuple(each for each in check.outcomes if not each.standing_only)
        offered = self._outcomes_of(msgspec.structs.replace(check, outcomes=kept)) if kept else ()
        return offered if len(offered) > 1 else self.outcomes[check.id]

    def network(self, data_sheet: DataSheet) -> Network:
        """Return the network of the causes that apply to a meter."""
        return self._networks(_told(data_sheet, self._fields_of_causes))

    def _network_of(self, told: _Told) -> Network:
        from diagnose.reasoning.posterior import build_network

        return build_network(self.rule_book, dict(told), self.found_before)

    @cached_property
    def _fields_of_causes(self) -> frozenset[str]:
        rows = (row.where for cause in self.rule_book.causes.values() for row in cause.frequency_where)
        return frozenset().union(*(cause.applies for cause in self.rule_book.causes.values()), *rows)

    @cached_property
    def forbidding_fields(self) -> frozenset[str]:
        """Fields of the data sheet of which a word may forbid some step."""
        return self.rule_book.forbidding_fields()

    @cached_property
    def _fields_of_steps(self) -> frozenset[str]:
        return self.rule_book.fields_of_steps()

    def dangers(self, data_sheet: DataSheet, nobody_knows: Iterable[str] = ()) -> Dangers:
        """Return what is dangerous at a meter; of what nobody knows only the fields that may forbid a step count."""
        unknown = frozenset((self.forbidding_fields & set(nobody_knows)) - data_sheet.keys())
        return self._dangers(_told(data_sheet, self._fields_of_steps), unknown)

    def _dangers_of(self, told: _Told, unknown: frozenset[str]) -> Dangers:
        return Dangers(self.rule_book, dict(told), unknown, self._memories)

    def costs(self, data_sheet: DataSheet, state: State) -> Costs:
        """Return what steps take on this meter for this person, however the plant stands."""
        dangers = self.dangers(data_sheet, state.not_known)
        return self._costs(dangers, state.competence, state.missing_tools, state.avoided)

    def _costs_of(
        self, dangers: Dangers, competence: Competence, missing_tools: tuple[str, ...], avoided: tuple[str, ...]
    ) -> Costs:
        from diagnose.reasoning.costs import Costs

        return Costs(dangers, State(competence=competence, missing_tools=missing_tools, avoided=avoided))

    def _outcomes_of(self, check: Check) -> tuple[dict[str, bool], ...]:
        """Return what each outcome of a check sets; one that sets nothing ("cannot tell") does not count as one.

        For a check that only measures: each finding that rules may conclude from the quantity, alone, and none.
        """
        if check.outcomes:
            return tuple(
                {**dict.fromkeys(each.absent, False), **dict.fromkeys(each.present, True)}
                for each in check.outcomes
                if each.present or each.absent
            )
        nothing = dict.fromkeys(self.concluded.get(check.measures, ()), False)
        return (nothing, *({**nothing, name: True} for name in nothing))


def _fresh_memory(triggers: Hashable) -> Memory:
    return Memory()


def _told(data_sheet: DataSheet, fields: Collection[str]) -> _Told:
    """Return what a data sheet says of some fields, for meters that are alike in them."""
    return tuple(sorted((name, value) for name, value in data_sheet.items() if name in fields))


def _concluded(rule_book: RuleBook) -> dict[str, tuple[str, ...]]:
    """Return for each quantity the findings that rules may conclude from it or from what is calculated with it."""
    direct: dict[str, set[str]] = {name: set() for name in rule_book.quantities}
    for rule in rule_book.inference.values():
        for name in names_in(rule.when)[1]:
            direct[name] |= {*rule.present, *rule.absent}
    feeds: dict[str, list[str]] = {name: [] for name in rule_book.quantities}
    for quantity in rule_book.quantities.values():
        for source in quantity.calculate.sources if quantity.calculate else ():
            if source in feeds:
                feeds[source].append(quantity.id)

    def reached(name: str) -> set[str]:
        return direct[name].union(*(reached(each) for each in feeds[name]))

    return {name: tuple(sorted(reached(name))) for name in rule_book.quantities}


def rules_by_plan(rule_book: RuleBook) -> frozenset[str]:
    """Return the rules that rest on the data sheet alone."""
    fields = rule_book.data_sheet_fields()

    def planned(name: str) -> bool:
        quantity = rule_book.quantities.get(name)
        if name in fields or quantity is None:  # not a quantity: a figure that stands in the rule book
            return True
        return quantity.calculate is not None and all(map(planned, quantity.calculate.sources))

    return frozenset(
        rule.id
        for rule in rule_book.inference.values()
        if not names_in(rule.when)[0] and all(map(planned, names_in(rule.when)[1]))
    )


def _held_against(rule_book: RuleBook) -> dict[str, tuple[str, ...]]:
    """Return for each quantity the data-sheet fields that some rule holds it against."""
    found: dict[str, set[str]] = {name: set() for name in rule_book.quantities}
    for rule in rule_book.inference.values():
        names = names_in(rule.when)[1]
        fields = {name for name in names if rule_book.quantities[name].where_to_find}
        for name in names - fields:
            found[name] |= fields
    return {name: tuple(sorted(fields)) for name, fields in found.items()}
