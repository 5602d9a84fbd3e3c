"""Rule sets drawn at random, and two other ways to work them out: by fixed point and by CLIPS."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any

import clips
from hypothesis import strategies as st

from diagnose.rule_book.condition_types import All, AnyOf, Condition, FindingIs, Operand, Relation
from diagnose.rule_book.conditions import truth
from diagnose.rule_book.quantities import Limit, Value
from diagnose.rule_book.rules import InferenceRule

FINDINGS = tuple("abcdef")
NUMBERS = ("x", "y", "z")
WORDS = ("red", "green", "blue")
WORD = "colour"
FIGURES = st.integers(-4, 4).map(lambda half: half / 2)

Rules = Mapping[str, InferenceRule]
Facts = set[tuple[str, bool]]


@st.composite
def comparisons(draw: st.DrawFn) -> Relation:
    """Draw a comparison of a quantity with figures or with another quantity, or of a word with words."""
    holds = draw(st.booleans())
    if draw(st.integers(0, 4)) == 0:
        choices = tuple(draw(st.sets(st.sampled_from(WORDS), min_size=1, max_size=2)))
        return Relation(quantity=WORD, relation="one of", choices=choices, holds=holds)
    relation = draw(st.sampled_from(["below", "above", "between"]))
    quantity = draw(st.sampled_from(NUMBERS))
    terms: tuple[tuple[float, str], ...] = ()
    if draw(st.booleans()):
        terms = ((draw(st.sampled_from([0.5, 1.0, 2.0])), draw(st.sampled_from(NUMBERS))),)
    lower = draw(FIGURES)
    operands = [Operand(constant=lower, terms=terms)]
    if relation == "between":
        operands.append(Operand(constant=lower + draw(st.sampled_from([0.0, 0.5, 2.0])), terms=terms))
    return Relation(quantity=quantity, relation=relation, operands=tuple(operands), holds=holds)


def conditions() -> st.SearchStrategy[Condition]:
    """Return conditions of `all` and `any` up to three deep, over findings said either way and comparisons."""
    leaf = st.builds(FindingIs, st.sampled_from(FINDINGS), st.booleans()) | comparisons()
    return st.recursive(
        leaf,
        lambda inner: st.one_of(
            st.builds(All, st.lists(inner, min_size=1, max_size=3).map(tuple)),
            st.builds(AnyOf, st.lists(inner, min_size=1, max_size=3).map(tuple)),
        ),
        max_leaves=6,
    )


@st.composite
def rule_sets(draw: st.DrawFn) -> Rules:
    """Draw 1 to 8 rules, each concluding one or two findings present or absent; chains arise by themselves."""
    rules = {}
    for number in range(draw(st.integers(1, 8))):
        concluded = draw(st.lists(st.sampled_from(FINDINGS), min_size=1, max_size=2, unique=True))
        cut = draw(st.integers(0, len(concluded)))
        rules[f"rule-{number}"] = InferenceRule(
            id=f"rule-{number}",
            when=draw(conditions()),
            present=tuple(concluded[:cut]),
            absent=tuple(concluded[cut:]),
            because=f"reason {number}",
        )
    return rules


ANSWERS = st.dictionaries(st.sampled_from(FINDINGS), st.booleans(), max_size=4)
VALUES = st.builds(
    lambda numbers, word: {**numbers, **({WORD: word} if word else {})},
    st.dictionaries(st.sampled_from(NUMBERS), FIGURES, max_size=3),
    st.none() | st.sampled_from(WORDS) | st.lists(st.sampled_from(WORDS), min_size=2, max_size=2).map(tuple),
)

VALUES_AND_LIMITS = st.builds(
    lambda figures, limits: {**figures, **limits},
    VALUES,
    st.dictionaries(
        st.sampled_from(NUMBERS), st.builds(Limit, FIGURES, st.sampled_from(["above", "below"])), max_size=2
    ),
)


def two_sided(condition: Condition) -> Condition:
    """Return the condition over "said present" and "said absent", so that a finding may be concluded both ways."""
    if isinstance(condition, FindingIs):
        return FindingIs(f"{condition.finding} {condition.present}", True)
    if isinstance(condition, Relation):
        return condition
    return type(condition)(tuple(two_sided(part) for part in condition.of))


def fired_by_fixed_point(
    rules: Rules, answered: Mapping[str, bool], values: Mapping[str, Value], unsettled: Collection[str] = ()
) -> set[str]:
    """Return the rules that fire when conditions are evaluated again and again until nothing new follows."""
    known = {f"{name} {present}": True for name, present in answered.items()}
    fired: set[str] = set()
    while True:
        new = [
            rule
            for rule in rules.values()
            if rule.id not in fired and truth(two_sided(rule.when), known, values) is True
        ]
        if not new:
            return fired
        for rule in new:
            fired.add(rule.id)
            for name, present in concluded_by(rule):
                if name not in answered and name not in unsettled:
                    known[f"{name} {present}"] = True


def concluded_by(rule: InferenceRule) -> list[tuple[str, bool]]:
    """Return what a rule concludes."""
    return [(name, True) for name in rule.present] + [(name, False) for name in rule.absent]


Fire = Callable[[Collection[str]], Iterable[str]]
"""Findings that no rule may settle → the rules that fire."""


def settled(rules: Rules, fire: Fire, answered: Mapping[str, bool]) -> tuple[dict, dict, set[str]]:
    """Return findings, the rules behind each, and the findings in conflict, as documented for inference.

    An answer is never overruled; of two rules that contradict each other neither counts, nor what rests on them.
    """
    unsettled: set[str] = set()
    while True:
        says: dict[str, dict[bool, list[str]]] = {}
        for rule_id in sorted(fire(unsettled)):
            for name, present in concluded_by(rules[rule_id]):
                says.setdefault(name, {}).setdefault(present, []).append(rule_id)
        fresh = {name for name, sides in says.items() if len(sides) == 2} - unsettled - answered.keys()
        if not fresh:
            break
        unsettled |= fresh
    free = {name: sides for name, sides in says.items() if name not in unsettled}
    findings = {**{name: next(iter(sides)) for name, sides in free.items()}, **answered}
    conflicts = unsettled | {n for n, sides in says.items() if n in answered and (not answered[n]) in sides}
    because = {n: tuple(sides[findings[n]]) for n, sides in says.items() if n in findings and findings[n] in sides}
    return findings, because, conflicts


class Clips:
    """The same rules as CLIPS constructs; words that a value may have several of are several facts."""

    TEMPLATES = (
        "(deftemplate known (slot finding) (slot stands))",
        "(deftemplate reading (slot quantity) (slot value))",
        "(deftemplate words (slot quantity) (multislot value))",
        "(deftemplate fired (slot rule))",
    )

    def __init__(self, rules: Rules, answered: Mapping[str, bool], unsettled: Collection[str] = ()) -> None:
        self.closed = {*answered, *unsettled}
        self.environment = clips.Environment()
        self.variables = 0
        for template in self.TEMPLATES:
            self.environment.build(template)
        for rule in rules.values():
            self.environment.build(self._rule(rule))

    def fired(self, answered: Mapping[str, bool], values: Mapping[str, Value]) -> set[str]:
        """Return the rules that fire."""
        self.environment.reset()
        for name, present in answered.items():
            self.environment.assert_string(f"(known (finding {name}) (stands {_stands(present)}))")
        for name, value in values.items():
            if isinstance(value, float):
                self.environment.assert_string(f"(reading (quantity {name}) (value {value}))")
            else:
                words = " ".join(value if isinstance(value, tuple) else (value,))
                self.environment.assert_string(f"(words (quantity {name}) (value {words}))")
        self.environment.run()
        return {str(fact["rule"]) for fact in self.environment.facts() if fact.template.name == "fired"}

    def _rule(self, rule: InferenceRule) -> str:
        made = [
            f"(assert (known (finding {name}) (stands {_stands(present)})))"
            for name, present in concluded_by(rule)
            if name not in self.closed
        ]
        return f"(defrule {rule.id} {self._condition(rule.when)} => (assert (fired (rule {rule.id}))) {' '.join(made)})"

    def _condition(self, condition: Condition) -> str:
        if isinstance(condition, FindingIs):
            return f"(known (finding {condition.finding}) (stands {_stands(condition.present)}))"
        if isinstance(condition, Relation):
            return self._comparison(condition)
        word = "and" if isinstance(condition, All) else "or"
        return f"({word} {' '.join(self._condition(part) for part in condition.of)})"

    def _comparison(self, comparison: Relation) -> str:
        names: list[str] = [comparison.quantity]
        names += [name for operand in comparison.operands for _, name in operand.terms if name not in names]
        variable = {}
        for name in dict.fromkeys(names):
            self.variables += 1
            variable[name] = f"?v{self.variables}"
        value = variable[comparison.quantity]
        if comparison.relation == "one of":
            several = value.replace("?", "$?")
            tests = " ".join(f"(member$ {word} {several})" for word in comparison.choices)
            test = f"(or {tests} FALSE)"
            pattern = f"(words (quantity {comparison.quantity}) (value {several}))"
            return f"(and {pattern} (test {test if comparison.holds else f'(not {test})'}))"
        limits = [
            f"(+ {each.constant} 0 {' '.join(f'(* {factor} {variable[name]})' for factor, name in each.terms)})"
            for each in comparison.operands
        ]
        tests = {
            "below": f"(< {value} {limits[0]})",
            "above": f"(> {value} {limits[0]})",
            "between": f"(<= {limits[0]} {value} {limits[-1]})",
        }
        test = tests[comparison.relation]
        patterns = " ".join(f"(reading (quantity {name}) (value {each}))" for name, each in variable.items())
        return f"(and {patterns} (test {test if comparison.holds else f'(not {test})'}))"


def _stands(present: bool) -> str:
    return "present" if present else "absent"


def renamed(rules: Rules, answers: Mapping[str, bool], names: Mapping[str, str]) -> tuple[dict, dict[str, bool]]:
    """Return the same rules and answers with findings called otherwise, which changes every order there is."""

    def condition(each: Condition) -> Any:
        if isinstance(each, FindingIs):
            return FindingIs(names[each.finding], each.present)
        if isinstance(each, Relation):
            return each
        return type(each)(tuple(condition(part) for part in each.of))

    made = {
        names.get(rule.id, rule.id): InferenceRule(
            id=names.get(rule.id, rule.id),
            when=condition(rule.when),
            present=tuple(names[name] for name in rule.present),
            absent=tuple(names[name] for name in rule.absent),
            because=rule.because,
        )
        for rule in rules.values()
    }
    return made, {names[name]: present for name, present in answers.items()}
