"""Rules as experta runs them. The only importer of experta.

Conditions reach it in negation normal form over known facts, so rules are monotone: what fires does not depend on the
order of answers. An ``any`` becomes helper rules that declare that it holds, which spares experta multiplying out the
alternatives; every rule has a salience of its own, for with equal ones experta 1.9.4 may fire activations that were
withdrawn.
"""

from __future__ import annotations

import collections
import collections.abc
import logging
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from inspect import Parameter, Signature
from typing import Any

from diagnose.rule_book.condition_types import AnyOf, Condition, FindingIs, Relation
from diagnose.rule_book.conditions import compare, compared
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


class CompiledRules:
    """Some inference rules, compiled."""

    def __init__(self, rules: Sequence[InferenceRule]) -> None:
        """Compile rules; those of a higher place fire first, which changes nothing in what fires."""
        self._fired: set[str] = set()
        self._closed: Collection[str] = ()
        self._overruled: Collection[tuple[str, str]] = ()
        compiled: list[_Compiled] = []
        for rule in rules:
            self._compile(rule, compiled)
        members = {
            f"rule_{rank}": Rule(*patterns, salience=rank)(action) for rank, (patterns, action) in enumerate(compiled)
        }
        self._engine: Any = type("Rules", (KnowledgeEngine,), members)()

    def fired(
        self,
        answered: Mapping[str, bool],
        values: Mapping[str, Value],
        closed: Collection[str],
        overruled: Collection[tuple[str, str]],
    ) -> set[str]:
        """Return the rules that fire where no rule may settle a ``closed`` finding, nor one that it is overruled in.

        ``overruled`` are pairs of a rule and a finding.
        """
        self._fired, self._closed, self._overruled = set(), closed, overruled
        engine = self._engine
        engine.reset()
        facts = [_Known(finding=name, stands=_word(present)) for name, present in answered.items()]
        facts += [_Reading(quantity=name, value=value) for name, value in values.items()]
        engine.declare(*facts)  # in one go, for each time the whole agenda is gone through
        engine.run()
        return self._fired

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
        if isinstance(condition, Relation):
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


def _comparison_patterns(comparison: Relation, node: str) -> list[Any]:
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


def _alone(comparison: Relation) -> Callable[[Any], bool]:
    wants_words = comparison.relation == "one of"

    def test(value: Any) -> bool:
        if wants_words == isinstance(value, int | float | Limit):
            return False  # experta tries every reading's value, whichever quantity it belongs to
        return compare(comparison, {comparison.quantity: value}) is True

    return test


def _joined(comparison: Relation, names: Mapping[str, str]) -> Callable[..., bool]:
    def test(**values: Any) -> bool:
        return compare(comparison, {names[variable]: value for variable, value in values.items()}) is True

    # experta passes to a test the variables that its signature names, so the signature is made to measure.
    parameters = [Parameter(variable, Parameter.KEYWORD_ONLY) for variable in names]
    test.__signature__ = Signature(parameters)  # type: ignore[attr-defined]
    return test
