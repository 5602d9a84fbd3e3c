"""Conditions of inference rules: from what an author writes to typed conditions in negation normal form.

An author writes ``all``, ``any``, ``not``; ``finding: present | absent``; and for quantities ``below``, ``above`` (each
optionally ``by-more-than``), ``at-least``, ``at-most``, ``equals``, ``between``, ``near`` with ``within``,
``differs-from`` with ``by-more-than``, ``is`` (a word, or one of several). ``by-more-than: tolerance`` takes the
tolerances of both sides together. An operand is a figure with its unit, a quantity, or ``50 % of`` a quantity. Nothing
is evaluated as code.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from diagnose.errors import UnitError
from diagnose.place import Problem, did_you_mean
from diagnose.rule_book.condition_types import All, AnyOf, Condition, FindingIs, Operand, Relation
from diagnose.rule_book.limits import (
    is_uncertain,
    side_of,
    true_within_limits,
    true_within_uncertainty,
    value_of,
    without_uncertainty,
)
from diagnose.rule_book.quantities import AND_MORE, Limit, Quantity
from diagnose.units import read_measurement, to_si, unit_info

if TYPE_CHECKING:  # a rule book from the cache needs no YAML
    from diagnose.yaml_places import Document, KeyPath

_RELATIONS = {
    frozenset({"at-least"}),
    frozenset({"at-most"}),
    frozenset({"equals"}),
    frozenset({"below"}),
    frozenset({"below", "by-more-than"}),
    frozenset({"above"}),
    frozenset({"above", "by-more-than"}),
    frozenset({"between"}),
    frozenset({"near", "within"}),
    frozenset({"differs-from", "by-more-than"}),
    frozenset({"is"}),
}
_WORDS = (
    *("below", "above", "by-more-than", "at-least", "at-most", "equals"),
    *("between", "near", "within", "differs-from", "is"),
)
_THE_OTHER_SIDE = {"at-least": "below", "at-most": "above"}
"""What is at least a figure is not below it; so a pair of rules, one for each side, leaves no gap."""
_SHARE = re.compile(r"^(?P<share>.+?)\s*%\s*of\s+(?P<name>[a-z0-9][a-z0-9-]*)$")


@dataclass
class ConditionReader:
    """Reads conditions against the known findings and quantities, collecting problems."""

    document: Document
    findings: Mapping[str, object]
    quantities: Mapping[str, Quantity]
    problems: list[Problem]
    unreadable: frozenset[str] = frozenset()
    """Quantities whose own problems are told already; a condition on one is left out without a word."""

    def read(self, raw: Any, path: KeyPath, holds: bool = True) -> Condition | None:
        """Return the condition at ``path``, or None with problems."""
        if not isinstance(raw, dict) or not raw:
            self._wrong(
                path,
                "bad-condition",
                "a condition is a mapping",
                "for example `loop-current: {below: 3.6 mA}`",
            )
            return None
        parts = [self._entry(key, value, (*path, key), holds) for key, value in raw.items()]
        if any(part is None for part in parts):
            return None
        known = tuple(part for part in parts if part is not None)
        if len(known) == 1:
            return known[0]
        return All(known) if holds else AnyOf(known)

    def _entry(self, key: str, value: Any, path: KeyPath, holds: bool) -> Condition | None:
        if key == "not":
            return self.read(value, path, not holds)
        if key in ("all", "any"):
            return self._group(key, value, path, holds)
        if key in self.findings:
            return self._finding(key, value, path, holds)
        if key in self.quantities:
            return self._comparison(self.quantities[key], value, path, holds)
        if key in self.unreadable:
            return None
        known = [*self.findings, *self.quantities, "all", "any", "not"]
        self._wrong(
            path,
            "unknown-name",
            f"no finding or quantity is called `{key}`",
            did_you_mean(key, known),
            of_key=True,
        )
        return None

    def _group(self, key: str, value: Any, path: KeyPath, holds: bool) -> Condition | None:
        if not isinstance(value, list) or not value:
            self._wrong(path, "bad-condition", f"`{key}` needs a list of conditions", "start each with a hyphen")
            return None
        parts = [self.read(item, (*path, number), holds) for number, item in enumerate(value)]
        if any(part is None for part in parts):
            return None
        known = tuple(part for part in parts if part is not None)
        return All(known) if (key == "all") == holds else AnyOf(known)

    def _finding(self, key: str, value: Any, path: KeyPath, holds: bool) -> Condition | None:
        if value not in ("present", "absent"):
            self._wrong(path, "bad-condition", "a finding is `present` or `absent`", "write one of the two")
            return None
        return FindingIs(key, (value == "present") == holds)

    def _comparison(self, quantity: Quantity, value: Any, path: KeyPath, holds: bool) -> Condition | None:
        if not isinstance(value, dict):
            value = {"is": value}
        for word in value:
            if word not in _WORDS:
                self._wrong(
                    (*path, word),
                    "bad-condition",
                    f"`{word}` compares nothing",
                    did_you_mean(word, _WORDS),
                    True,
                )
                return None
        if frozenset(value) not in _RELATIONS:
            pairs = "; ".join(sorted(" + ".join(sorted(each)) for each in _RELATIONS))
            self._wrong(path, "bad-condition", "these words do not go together", f"use one of: {pairs}")
            return None
        if quantity.text:
            self._wrong(
                path, "bad-condition", f"`{quantity.id}` is a text, which nothing compares", "give it `choices`"
            )
            return None
        if bool(quantity.choices) != ("is" in value):
            wanted = f"is one of: {', '.join(quantity.choices)}" if quantity.choices else "has a figure, not a word"
            self._wrong(path, "bad-condition", f"`{quantity.id}` {wanted}", "compare it like this")
            return None
        if "is" in value:
            return self._choice(quantity, value["is"], (*path, "is"), holds)
        operands = self._operands(quantity, value, path)
        if operands is None:
            return None
        word = next((each for each in ("below", "above", *_THE_OTHER_SIDE) if each in value), "between")
        opposite = "differs-from" in value or word in _THE_OTHER_SIDE
        return Relation(
            quantity=quantity.id,
            relation=_THE_OTHER_SIDE.get(word, word),  # type: ignore[arg-type]
            operands=operands,
            holds=holds != opposite,
        )

    def _choice(self, quantity: Quantity, value: Any, path: KeyPath, holds: bool) -> Condition | None:
        words = tuple(map(str, value)) if isinstance(value, list) else (str(value),)
        for word in words:
            if word not in quantity.choices:
                self._wrong(
                    path,
                    "unknown-choice",
                    f"`{quantity.id}` is never `{word}`",
                    did_you_mean(word, quantity.choices, f"it is one of: {', '.join(quantity.choices)}"),
                )
                return None
        return Relation(quantity=quantity.id, relation="one of", choices=words, holds=holds)

    def _operands(self, quantity: Quantity, value: dict[str, Any], path: KeyPath) -> tuple[Operand, ...] | None:
        if "between" in value:
            both = value["between"]
            if not isinstance(both, list) or len(both) != 2:
                self._wrong((*path, "between"), "bad-condition", "`between` needs two figures", "[lower, upper]")
                return None
            pair = [self.operand(quantity, each, (*path, "between", n)) for n, each in enumerate(both)]
            return (pair[0], pair[1]) if pair[0] and pair[1] else None
        figures = {word: each for word, each in value.items() if each != "tolerance"}
        read = {word: self.operand(quantity, each, (*path, word)) for word, each in figures.items()}
        if any(each is None for each in read.values()):
            return None
        got = {word: each for word, each in read.items() if each is not None}
        if "tolerance" in (value.get("by-more-than"), value.get("within")):
            return self._within_tolerance(quantity, value, got, path)
        margin = got.get("by-more-than") or got.get("within") or Operand()
        for word, sign in (("below", -1), ("above", 1), ("at-least", 1), ("at-most", 1)):
            if word in got:
                return (_plus(got[word], margin, sign),)
        middle = got.get("near") or got.get("equals") or got["differs-from"]
        return (_plus(middle, margin, -1), _plus(middle, margin, 1))

    def _within_tolerance(
        self, quantity: Quantity, value: dict[str, Any], got: dict[str, Operand], path: KeyPath
    ) -> tuple[Operand, ...] | None:
        """Return the limits that follow from the tolerances of both sides, combined."""
        word = next(iter(got))
        middle = got[word]
        names = (quantity.id, *(name for _, name in middle.terms))
        sides = [self.quantities[name] for name in dict.fromkeys(names)]
        within = tuple((each.tolerance or 0.0, each.tolerance_share, each.id) for each in sides)
        if not any(absolute or share for absolute, share, _ in within):
            key = "within" if "within" in value else "by-more-than"
            text = f"neither `{quantity.id}` nor what it is compared with has a tolerance"
            self._wrong((*path, key), "bad-condition", text, "give one of them a `tolerance`, or write a figure")
            return None
        signs = {"below": (-1,), "above": (1,)}.get(word, (-1, 1))
        return tuple(Operand(constant=middle.constant, terms=middle.terms, sign=each, within=within) for each in signs)

    def operand(self, quantity: Quantity, raw: Any, path: KeyPath) -> Operand | None:
        """Return a figure with its unit, a quantity, or a share of one as an operand in SI units."""
        text = str(raw).strip()
        share = _SHARE.match(text)
        name = share["name"] if share else text
        if share or name in self.quantities or re.fullmatch(r"[a-z][a-z-]*[a-z]", name):
            return self._named(quantity, name, share["share"] if share else "100", path)
        measured = read_measurement(text)
        if measured is None:
            self._wrong(path, "bad-figure", f"`{text}` is not a figure", f"for example `1.5 {quantity.unit}`")
            return None
        if quantity.unit and not measured.unit:
            self._wrong(path, "missing-unit", f"`{text}` has no unit", f"write for example `{text} {quantity.unit}`")
            return None
        try:
            return Operand(constant=to_si(measured.number, measured.unit, quantity.unit))
        except UnitError as error:
            self._wrong(path, "unit", str(error), f"`{quantity.id}` is in {quantity.unit or 'no unit'}")
            return None

    def _named(self, quantity: Quantity, name: str, share: str, path: KeyPath) -> Operand | None:
        measured = read_measurement(share)
        if name in self.unreadable:
            return None
        if name not in self.quantities:
            self._wrong(path, "unknown-name", f"no quantity is called `{name}`", did_you_mean(name, self.quantities))
            return None
        if measured is None or measured.unit:
            self._wrong(path, "bad-figure", f"`{share} %` is not a share", "write for example `50 % of` a quantity")
            return None
        other = self.quantities[name]
        if other.choices or other.text or unit_info(other.unit).dimension != unit_info(quantity.unit).dimension:
            self._wrong(
                path,
                "unit",
                f"`{name}` does not measure the same as `{quantity.id}`",
                "compare like with like",
            )
            return None
        return Operand(terms=((measured.number / 100, name),))

    def _wrong(self, path: KeyPath, code: str, text: str, help: str, of_key: bool = False) -> None:
        self.problems.append(self.document.problem(path, code, text, help, of_key=of_key))


def _plus(one: Operand, other: Operand, sign: int) -> Operand:
    terms = one.terms + tuple((sign * factor, name) for factor, name in other.terms)
    return Operand(constant=one.constant + sign * other.constant, terms=terms)


def names_in(condition: Condition) -> tuple[frozenset[str], frozenset[str]]:
    """Return the findings and the quantities that a condition speaks of."""
    if isinstance(condition, FindingIs):
        return frozenset({condition.finding}), frozenset()
    if isinstance(condition, Relation):
        return frozenset(), frozenset(compared(condition))
    inner = [names_in(part) for part in condition.of]
    return frozenset().union(*(each[0] for each in inner)), frozenset().union(*(each[1] for each in inner))


def truth(condition: Condition, findings: Mapping[str, bool], values: Mapping[str, Any]) -> bool | None:
    """Return whether a condition is true, false, or (None) cannot be told from what is known.

    ``findings`` maps known findings to present, ``values`` quantities to SI figures, limits or words.

    >>> low = Relation(quantity="loop-current", relation="below", operands=(Operand(constant=0.0036),))
    >>> truth(low, {}, {"loop-current": 0.0035}), truth(low, {}, {"loop-current": 0.004}), truth(low, {}, {})
    (True, False, None)
    """
    if isinstance(condition, FindingIs):
        known = findings.get(condition.finding)
        return None if known is None else known == condition.present
    if isinstance(condition, Relation):
        return _compared(condition, values)
    parts = [truth(part, findings, values) for part in condition.of]
    deciding = isinstance(condition, AnyOf)
    if deciding in parts:
        return deciding
    return None if None in parts else not deciding


def _compared(comparison: Relation, values: Mapping[str, Any]) -> bool | None:
    if any(name not in values for name in compared(comparison)):
        return None
    return compare(comparison, values)


def compared(comparison: Relation) -> tuple[str, ...]:
    """Return the quantities that a comparison speaks of, the one compared first."""
    others = (name for operand in comparison.operands for _, name in operand.terms)
    return tuple(dict.fromkeys((comparison.quantity, *others)))


def compare(comparison: Relation, values: Mapping[str, Any]) -> bool | None:
    """Return whether a comparison holds; every quantity that it names is in ``values``.

    None where one of them is a limit that does not settle it, its uncertainty reaches to both sides, or there may be
    more words than were told.
    """
    values = {name: values[name] for name in compared(comparison)}
    if any(isinstance(each, Limit) for each in values.values()):
        true = true_within_limits(comparison, {name: without_uncertainty(each) for name, each in values.items()})
        return None if true is None else comparison.holds == true
    if any(map(is_uncertain, values.values())):
        true = true_within_uncertainty(comparison, values)
        return None if true is None else comparison.holds == true
    value = values[comparison.quantity]
    if comparison.relation == "one of":
        words = value if isinstance(value, tuple) else (value,)
        told = any(word in comparison.choices for word in words)
        return None if not told and AND_MORE in words else comparison.holds == told
    sides = [side_of(value, value_of(each, values)) for each in comparison.operands]
    if comparison.relation == "between":
        true = sides[0] >= 0 >= sides[1]
    else:
        true = sides[0] == (-1 if comparison.relation == "below" else 1)
    return comparison.holds == true
