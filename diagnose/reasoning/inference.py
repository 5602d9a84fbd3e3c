"""Forward chaining: known findings and values to further findings, with the rules that made them.

Rules are compiled (:mod:`diagnose.reasoning.compiled_rules`) when they may fire for the first time.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from functools import lru_cache
from itertools import islice
from typing import TYPE_CHECKING

import msgspec

from diagnose.rule_book.condition_types import AnyOf, Condition, FindingIs, Relation
from diagnose.rule_book.conditions import compared, names_in, truth
from diagnose.rule_book.quantities import Value
from diagnose.rule_book.rules import InferenceRule

if TYPE_CHECKING:
    from diagnose.reasoning.compiled_rules import CompiledRules


class Conflict(msgspec.Struct, frozen=True, kw_only=True):
    """A finding that one side says is present and another absent."""

    finding: str
    text: str


class Conclusions(msgspec.Struct, frozen=True, kw_only=True):
    """What forward chaining arrived at.

    ``findings`` are answered and concluded ones; ``because`` names for each concluded finding the rules that made it.
    """

    findings: dict[str, bool]
    because: dict[str, tuple[str, ...]]
    conflicts: tuple[Conflict, ...]


REMEMBERED = 2000
"""So many results are kept: an interview comes back to the same ones again and again."""


class Inference:
    """The inference rules of a rule book, compiled once; the last results of :meth:`run` are remembered.

    ``by_plan`` names rules that rest on the data sheet alone: what is measured or seen overrules them.
    """

    def __init__(self, rules: Mapping[str, InferenceRule], by_plan: Collection[str] = ()) -> None:
        self._rules = dict(sorted(rules.items()))
        self._by_plan = frozenset(by_plan)
        self._overruled: set[tuple[str, str]] = set()
        names = [names_in(rule.when) for rule in self._rules.values()]
        self._findings_asked = frozenset().union(*(findings for findings, _ in names))
        concluded = ((*rule.present, *rule.absent) for rule in self._rules.values())
        self._findings_touched = self._findings_asked.union(*concluded)
        self._quantities_asked = frozenset().union(*(quantities for _, quantities in names))
        self._asking: dict[str, list[str]] = defaultdict(list)
        for (findings, quantities), name in zip(names, self._rules, strict=True):
            for each in findings | quantities:
                self._asking[each].append(name)
        self._compiled: CompiledRules | None = None
        self._in_compiled: set[str] = set()
        self._chained = lru_cache(REMEMBERED)(self._chain)

    def run(self, answered: Mapping[str, bool], values: Mapping[str, Value]) -> Conclusions:
        """Return all findings that follow from ``answered`` findings and known ``values``.

        An answer is never overruled by a rule; a rule that contradicts one is reported as a conflict. Of two rules
        that contradict each other neither counts, nor does anything that would rest on what they say; but a rule by
        plan gives way to one that is not.
        """
        touched = tuple((name, answered[name]) for name in sorted(self._findings_touched & answered.keys()))
        asked = tuple((name, values[name]) for name in sorted(self._quantities_asked & values.keys()))
        found = self._chained(touched, asked)
        return msgspec.structs.replace(found, findings={**answered, **found.findings}, because=dict(found.because))

    def _chain(self, touched: tuple[tuple[str, bool], ...], asked: tuple[tuple[str, Value], ...]) -> Conclusions:
        """Return what follows from the findings and values that the rules have to do with."""
        answered, values = dict(touched), dict(asked)
        conflicts: dict[str, Conflict] = {}
        self._overruled = set()
        while True:
            says = self._says(self._fire(answered, values, conflicts.keys()))
            if self._overrule(says, answered):
                continue
            fresh = {
                name: sides
                for name, sides in says.items()
                if len(sides) == 2 and name not in answered and name not in conflicts
            }
            if not fresh:
                return self._result(answered, says, conflicts)
            for name, sides in fresh.items():
                reasons = [self._rules[each].because for side in (True, False) for each in sides[side]]
                conflicts[name] = Conflict(finding=name, text=" / ".join(reasons))

    def _overrule(self, says: Mapping[str, Mapping[bool, Sequence[str]]], answered: Mapping[str, bool]) -> bool:
        """Take back what rules by plan say against rules that are not; tell whether there was any."""
        before = len(self._overruled)
        for name, sides in says.items():
            planned = {side for side, rules in sides.items() if self._by_plan.issuperset(rules)}
            if len(sides) == 2 and len(planned) == 1 and name not in answered:
                self._overruled |= {(rule, name) for rule in sides[planned.pop()]}
        return len(self._overruled) > before

    def _fire(self, answered: Mapping[str, bool], values: Mapping[str, Value], unsettled: Collection[str]) -> set[str]:
        """Return the rules that fire when no rule may settle what is answered or unsettled."""
        known = {name: answered[name] for name in sorted(self._findings_asked & answered.keys())}
        relevant = self._may_fire(known, values.keys())
        if not relevant:
            return set()
        closed = {*answered, *unsettled}
        return self._compiled_with(relevant).fired(known, values, closed, self._overruled)

    def _may_fire(self, known: Mapping[str, bool], valued: Collection[str]) -> set[str]:
        """Return the rules that may fire where these findings and the values of these quantities are known.

        The others need not be compiled, nor facts be held against them: of a large rule book one meter meets few.
        """
        settled: set[tuple[str, bool]] = set(known.items())
        found: set[str] = set()
        fresh: set[str] = {*known, *valued}
        while fresh:
            asked = {rule for name in fresh for rule in self._asking.get(name, ())} - found
            firing = [rule for rule in asked if _may_hold(self._rules[rule].when, settled, valued)]
            concluded = {
                (name, present)
                for rule in firing
                for present, names in ((True, self._rules[rule].present), (False, self._rules[rule].absent))
                for name in names
            }
            found |= {*firing}
            fresh = {name for name, _ in concluded - settled}
            settled |= concluded
        return found

    def _compiled_with(self, relevant: set[str]) -> CompiledRules:
        """Return compiled rules with these among them.

        Each time there are twice as many as before, so that all compiling together takes no longer than twice that of
        all rules.
        """
        if self._compiled is None or not relevant <= self._in_compiled:
            from diagnose.reasoning.compiled_rules import CompiledRules  # experta takes its time to load

            wanted = self._in_compiled | relevant
            more = (name for name in self._rules if name not in wanted)
            self._in_compiled = wanted.union(islice(more, max(0, 2 * len(self._in_compiled) - len(wanted))))
            self._compiled = CompiledRules([rule for name, rule in self._rules.items() if name in self._in_compiled])
        return self._compiled

    def _says(self, fired: set[str]) -> dict[str, dict[bool, list[str]]]:
        """Return for each finding which rules say that it is present and which that it is absent."""
        says: dict[str, dict[bool, list[str]]] = {}
        for rule_id in sorted(fired):
            rule = self._rules[rule_id]
            for present, names in ((True, rule.present), (False, rule.absent)):
                for name in names:
                    if (rule_id, name) in self._overruled:
                        continue
                    says.setdefault(name, {}).setdefault(present, []).append(rule_id)
        return dict(sorted(says.items()))

    def _result(
        self,
        answered: Mapping[str, bool],
        says: Mapping[str, Mapping[bool, Sequence[str]]],
        between_rules: Mapping[str, Conflict],
    ) -> Conclusions:
        findings = dict(answered)
        because: dict[str, tuple[str, ...]] = {}
        conflicts = dict(between_rules)
        for name, sides in says.items():
            if name in answered and (not answered[name]) in sides:
                rules = ", ".join(self._rules[each].because for each in sides[not answered[name]])
                conflicts[name] = Conflict(finding=name, text=f"answered {_word(answered[name])}, yet {rules}")
            elif name not in answered and name not in between_rules:
                findings[name] = next(iter(sides))
            if name in findings and findings[name] in sides:
                because[name] = tuple(sides[findings[name]])
        told = tuple(conflicts[name] for name in sorted(conflicts))
        return Conclusions(findings=findings, because=because, conflicts=told)


def _word(present: bool) -> str:
    return "present" if present else "absent"


def _may_hold(condition: Condition, settled: Collection[tuple[str, bool]], valued: Collection[str]) -> bool:
    """Check whether a condition may be true, whatever the values of the quantities that are known."""
    if isinstance(condition, FindingIs):
        return (condition.finding, condition.present) in settled
    if isinstance(condition, Relation):
        return all(name in valued for name in compared(condition))
    parts = (_may_hold(part, settled, valued) for part in condition.of)
    return any(parts) if isinstance(condition, AnyOf) else all(parts)


def used_by(rule: InferenceRule, findings: Mapping[str, bool], values: Mapping[str, Value]) -> tuple[str, ...]:
    """Return the findings and quantities that made a rule fire, for "why"."""
    return tuple(sorted(_true_names(rule.when, findings, values)))


def _true_names(condition: Condition, findings: Mapping[str, bool], values: Mapping[str, Value]) -> set[str]:
    if not truth(condition, findings, values):
        return set()
    if isinstance(condition, FindingIs):
        return {condition.finding}
    if isinstance(condition, Relation):
        return set(compared(condition))
    return set().union(*(_true_names(part, findings, values) for part in condition.of))
