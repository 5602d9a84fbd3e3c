"""Forward chaining: known findings and values to further findings, with the rules that made them.

The only importer of experta. Conditions reach it in negation normal form over known facts, so rules are monotone: what
fires does not depend on the order of answers. An ``any`` becomes helper rules that declare that it holds, which
spares experta multiplying out the alternatives; every rule has a salience of its own, for with equal ones experta
1.9.4 may fire activations that were withdrawn.
"""

from __future__ import annotations

import collections
import collections.abc
import logging
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import lru_cache
from inspect import Parameter, Signature
from typing import Any

import msgspec

from diagnose.rule_book.condition_types import AnyOf, Comparison, Condition, FindingIs
from diagnose.rule_book.conditions import compare, compared, names_in, truth
from diagnose.rule_book.quantities import Limit, Value
from diagnose.rule_book.rules import InferenceRule


@contextmanager
def _as_experta_expects() -> Iterator[None]:
    """Give experta 1.9.4 the old name that its pinned frozendict wants, and keep its logging set-up to itself."""
    handlers = logging.root.handlers[:]
    level = logging.root.level
    missing = not hasattr(collections, "Mapping")
    if missing:
        collections.Mapping = collections.abc.Mapping  # type: ignore[attr-defined]
    try:
        yield
    finally:
        if missing:
            del collections.Mapping  # type: ignore[attr-defined]
        logging.root.handlers[:] = handlers
        logging.root.setLevel(level)


with _as_experta_expects():
    from experta import MATCH, TEST, Fact, KnowledgeEngine, P, Rule


_Compiled = tuple[list[Any], Callable[..., None]]
"""Patterns and action of one experta rule."""


class _Known(Fact):  # type: ignore[misc]
    """A finding that is known: ``finding`` and ``stands`` ("present" or "absent")."""


class _Reading(Fact):  # type: ignore[misc]
    """A quantity that is known: ``quantity`` and ``value``."""


class _Holds(Fact):  # type: ignore[misc]
    """An ``any`` of a rule of which some part is true."""


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
        self._fired: set[str] = set()
        self._closed: set[str] = set()
        names = [names_in(rule.when) for rule in self._rules.values()]
        self._findings_asked = frozenset().union(*(findings for findings, _ in names))
        concluded = ((*rule.present, *rule.absent) for rule in self._rules.values())
        self._findings_touched = self._findings_asked.union(*concluded)
        self._quantities_asked = frozenset().union(*(quantities for _, quantities in names))
        compiled: list[_Compiled] = []
        for rule in self._rules.values():
            self._compile(rule, compiled)
        members = {
            f"rule_{rank}": Rule(*patterns, salience=rank)(action) for rank, (patterns, action) in enumerate(compiled)
        }
        self._engine: Any = type("Rules", (KnowledgeEngine,), members)()
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
        self._fired = set()
        self._closed = {*answered, *unsettled}
        engine = self._engine
        engine.reset()
        known = sorted(self._findings_asked & answered.keys())
        facts = [_Known(finding=name, stands=_word(answered[name])) for name in known]
        facts += [_Reading(quantity=name, value=value) for name, value in values.items()]
        engine.declare(*facts)  # in one go, for each time the whole agenda is gone through
        engine.run()
        return self._fired

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

    def _compile(self, rule: InferenceRule, compiled: list[_Compiled]) -> None:
        patterns = self._patterns(rule.when, rule.id, compiled)

        def fire(engine: Any, **_: Any) -> None:
            self._fired.add(rule.id)
            for present, names in ((True, rule.present), (False, rule.absent)):
                for name in names:
                    if name not in self._closed and (rule.id, name) not in self._overruled:
                        engine.declare(_Known(finding=name, stands=_word(present)))

        compiled.append((patterns, fire))

    def _patterns(self, condition: Condition, node: str, compiled: list[_Compiled]) -> list[Any]:
        if isinstance(condition, FindingIs):
            return [_Known(finding=condition.finding, stands=_word(condition.present))]
        if isinstance(condition, Comparison):
            return _comparison_patterns(condition, node)
        if isinstance(condition, AnyOf):
            for number, part in enumerate(condition.of):
                branch = f"{node}/{number}"
                compiled.append((self._patterns(part, branch, compiled), _declare_holds(node)))
            return [_Holds(node=node)]
        return [
            pattern
            for number, part in enumerate(condition.of)
            for pattern in self._patterns(part, f"{node}/{number}", compiled)
        ]


def _declare_holds(node: str) -> Callable[..., None]:
    def fire(engine: Any, **_: Any) -> None:
        engine.declare(_Holds(node=node))

    return fire


def _word(present: bool) -> str:
    return "present" if present else "absent"


def _comparison_patterns(comparison: Comparison, node: str) -> list[Any]:
    """Return patterns for one comparison; with other quantities in it, a join and a test."""
    names = compared(comparison)
    if len(names) == 1:
        return [_Reading(quantity=comparison.quantity, value=P(_alone(comparison)))]
    # Variables are named after the place of the comparison in its rule, so that two comparisons do not share any.
    stem = "v" + "".join(letter if letter.isalnum() else "_" for letter in node)
    variables = [f"{stem}_{number}" for number in range(len(names))]
    patterns = [
        _Reading(quantity=name, value=getattr(MATCH, variable)) for name, variable in zip(names, variables, strict=True)
    ]
    return [*patterns, TEST(_joined(comparison, dict(zip(variables, names, strict=True))))]


def _alone(comparison: Comparison) -> Callable[[Any], bool]:
    wants_words = comparison.relation == "one of"

    def test(value: Any) -> bool:
        if wants_words == isinstance(value, int | float | Limit):
            return False  # experta tries every reading's value, whichever quantity it belongs to
        return compare(comparison, {comparison.quantity: value}) is True

    return test


def _joined(comparison: Comparison, names: Mapping[str, str]) -> Callable[..., bool]:
    def test(**values: Any) -> bool:
        return compare(comparison, {names[variable]: value for variable, value in values.items()}) is True

    # experta passes to a test the variables that its signature names, so the signature is made to measure.
    parameters = [Parameter(variable, Parameter.KEYWORD_ONLY) for variable in names]
    test.__signature__ = Signature(parameters)  # type: ignore[attr-defined]
    return test


def used_by(rule: InferenceRule, findings: Mapping[str, bool], values: Mapping[str, Value]) -> tuple[str, ...]:
    """Return the findings and quantities that made a rule fire, for "why"."""
    return tuple(sorted(_true_names(rule.when, findings, values)))


def _true_names(condition: Condition, findings: Mapping[str, bool], values: Mapping[str, Value]) -> set[str]:
    if not truth(condition, findings, values):
        return set()
    if isinstance(condition, FindingIs):
        return {condition.finding}
    if isinstance(condition, Comparison):
        return set(compared(condition))
    return set().union(*(_true_names(part, findings, values) for part in condition.of))
