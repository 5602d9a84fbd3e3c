"""Forward chaining gives what direct evaluation gives, whatever the order, with nothing left over from before."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.reasoning.compiled_rules import CompiledRules, Fact, KnowledgeEngine, Rule
from diagnose.reasoning.engine import rules_by_plan
from diagnose.reasoning.inference import Inference, used_by
from diagnose.rule_book.condition_types import All, AnyOf, Condition, FindingIs, Operand, Relation
from diagnose.rule_book.conditions import names_in
from diagnose.rule_book.quantities import Limit, Value
from diagnose.rule_book.rules import InferenceRule
from tests.reasoning.books import real_rule_book
from tests.reasoning.rule_sets import (
    ANSWERS,
    FINDINGS,
    VALUES,
    VALUES_AND_LIMITS,
    Clips,
    Rules,
    fired_by_fixed_point,
    renamed,
    rule_sets,
    settled,
)


def rule(name: str, when: Condition, present: str = "", absent: str = "") -> InferenceRule:
    """Return a rule; findings are separated by blanks."""
    return InferenceRule(
        id=name, when=when, present=tuple(present.split()), absent=tuple(absent.split()), because=f"because of {name}"
    )


def inference(*rules: InferenceRule) -> Inference:
    """Return these rules, compiled."""
    return Inference({each.id: each for each in rules})


def is_(name: str) -> FindingIs:
    """Return the condition that a finding is present."""
    return FindingIs(name, True)


def not_(name: str) -> FindingIs:
    """Return the condition that a finding is absent."""
    return FindingIs(name, False)


def below(quantity: str, limit: float) -> Relation:
    """Return the condition that a quantity is below a figure."""
    return Relation(quantity=quantity, relation="below", operands=(Operand(constant=limit),))


def agrees(engine: Inference, rules: Rules, answered: dict[str, bool], values: dict[str, Value]) -> None:
    """Hold the result of the engine against direct evaluation."""
    inferred = engine.run(answered, values)
    findings, because, conflicts = settled(
        rules, lambda unsettled: fired_by_fixed_point(rules, answered, values, unsettled), answered
    )
    assert inferred.findings == findings
    assert inferred.because == because
    assert {each.finding for each in inferred.conflicts} == conflicts


class TestAgainstDirectEvaluation:
    """Conditions evaluated to a fixed point by `diagnose.rule_book.conditions.truth`."""

    @given(rule_sets(), st.lists(st.tuples(ANSWERS, VALUES), min_size=1, max_size=3))
    @settings(max_examples=150, deadline=None)
    def test_random_rule_sets(self, rules: Rules, runs: list[tuple[dict, dict]]) -> None:
        """All, any and not, comparisons with figures, words and other quantities, and chains of them."""
        engine = Inference(rules)
        for answered, values in runs:
            agrees(engine, rules, answered, values)

    @given(rule_sets(), ANSWERS, VALUES_AND_LIMITS)
    @settings(max_examples=150, deadline=None)
    def test_readings_that_are_only_limits(
        self, rules: Rules, answered: dict[str, bool], values: dict[str, Value]
    ) -> None:
        """A limit fires what it settles, alone and joined with other readings, and nothing else."""
        agrees(Inference(rules), rules, answered, values)

    def test_the_real_rule_book(self) -> None:
        """With random answers and readings about each rule's limits, 80 times."""
        rules = real_rule_book().inference
        engine = Inference(rules)
        random = np.random.default_rng(3)
        firing = set()
        for _ in range(80):
            answered, values = some_answers(random), some_values(random)
            agrees(engine, rules, answered, values)
            firing |= fired_by_fixed_point(rules, answered, values)
        assert len(firing) > len(rules) / 2  # else the draws would hardly test anything


def some_answers(random: np.random.Generator) -> dict[str, bool]:
    """Return up to 30 random answers, among them findings that rules look at."""
    rule_book = real_rule_book()
    looked_at = sorted(set().union(*(names_in(each.when)[0] for each in rule_book.inference.values())))
    names = [*random.choice(looked_at, 12), *random.choice(list(rule_book.findings), 18)]
    return {str(name): bool(random.integers(2)) for name in names[: random.integers(0, 30)]}


def some_values(random: np.random.Generator) -> dict[str, Value]:
    """Return values of about half of the quantities, most of them near a figure that some rule compares with."""
    rule_book = real_rule_book()
    figures: dict[str, list[float]] = {name: [0.0] for name in rule_book.quantities}
    for each in rule_book.inference.values():
        for comparison in _comparisons(each.when):
            figures[comparison.quantity] += [operand.constant for operand in comparison.operands]
            for operand in comparison.operands:
                for factor, name in operand.terms:
                    figures[comparison.quantity].append(factor * figures[name][0])
    values: dict[str, Value] = {}
    for name, quantity in rule_book.quantities.items():
        if random.random() < 0.5:
            continue
        if quantity.choices:
            words = tuple(str(word) for word in random.choice(quantity.choices, 2))
            values[name] = words if quantity.several else words[0]
        else:
            middle = float(random.choice(figures[name]))
            values[name] = (
                middle + float(random.choice([0.0, 1e-6, -1e-6])) + abs(middle) * float(random.normal(0, 0.1))
            )
    return values


def _comparisons(condition: Condition) -> list[Relation]:
    if isinstance(condition, Relation):
        return [condition]
    if isinstance(condition, FindingIs):
        return []
    return [each for part in condition.of for each in _comparisons(part)]


class TestAgainstClips:
    """CLIPS, a rule engine of its own, through clipspy."""

    @given(rule_sets(), ANSWERS, VALUES)
    @settings(max_examples=150, deadline=None)
    def test_random_rule_sets(self, rules: Rules, answered: dict[str, bool], values: dict[str, Value]) -> None:
        """The same rules fire, so the same findings, reasons and conflicts follow."""
        findings, because, conflicts = settled(
            rules, lambda unsettled: Clips(rules, answered, unsettled).fired(answered, values), answered
        )
        inferred = Inference(rules).run(answered, values)
        assert inferred.findings == findings
        assert inferred.because == because
        assert {each.finding for each in inferred.conflicts} == conflicts


class TestOrder:
    """Nothing depends on the order of anything."""

    @given(rule_sets(), ANSWERS, VALUES, st.permutations(FINDINGS), st.randoms(use_true_random=False))
    @settings(max_examples=80, deadline=None)
    def test_other_names_change_every_order_and_no_result(
        self, rules: Rules, answered: dict[str, bool], values: dict[str, Value], mixed: list[str], random: Any
    ) -> None:
        """Facts are declared and rules ranked by name; called otherwise, the same follows under the other names."""
        ids = list(rules)
        names = dict(zip(FINDINGS, mixed, strict=True)) | dict(zip(ids, random.sample(ids, len(ids)), strict=True))
        other_rules, other_answers = renamed(rules, answered, names)
        before, after = Inference(rules).run(answered, values), Inference(other_rules).run(other_answers, values)
        assert after.findings == {names[name]: present for name, present in before.findings.items()}
        assert {each.finding for each in after.conflicts} == {names[each.finding] for each in before.conflicts}
        assert {name: set(each) for name, each in after.because.items()} == {
            names[name]: {names[rule_id] for rule_id in each} for name, each in before.because.items()
        }

    @given(rule_sets(), ANSWERS, VALUES, st.randoms(use_true_random=False))
    @settings(max_examples=40, deadline=None)
    def test_answers_in_any_order(
        self, rules: Rules, answered: dict[str, bool], values: dict[str, Value], random: Any
    ) -> None:
        """Answers, readings and rules shuffled give an equal result."""
        other = Inference(dict(random.sample(list(rules.items()), len(rules))))
        mixed = dict(random.sample(list(answered.items()), len(answered)))
        readings = dict(random.sample(list(values.items()), len(values)))
        assert other.run(mixed, readings) == Inference(rules).run(answered, values)


class TestRunningAgain:
    """One engine serves many runs."""

    def test_a_conclusion_goes_with_the_answer_that_made_it(self) -> None:
        """An answer withdrawn takes the whole chain behind it along."""
        engine = inference(rule("r1", is_("a"), present="b"), rule("r2", is_("b"), present="c"))
        assert engine.run({"a": True}, {}).findings == {"a": True, "b": True, "c": True}
        assert engine.run({}, {}).findings == {}
        assert engine.run({"a": False}, {}).findings == {"a": False}

    def test_a_reading_replaced_leaves_nothing_of_the_first(self) -> None:
        """The finding of the first reading is gone with it."""
        engine = inference(rule("low", below("x", 1), present="a"), rule("not-low", All((below("y", 1),)), absent="a"))
        assert engine.run({}, {"x": 0.5}).findings == {"a": True}
        assert engine.run({}, {"x": 2.0}).findings == {}
        assert engine.run({}, {"y": 0.0}).because == {"a": ("not-low",)}

    @given(rule_sets(), st.lists(st.tuples(ANSWERS, VALUES), min_size=2, max_size=4))
    @settings(max_examples=40, deadline=None)
    def test_an_engine_used_before_is_as_good_as_new(self, rules: Rules, runs: list[tuple[dict, dict]]) -> None:
        """After any runs, the next gives what a fresh engine gives."""
        used = Inference(rules)
        for answered, values in runs:
            assert used.run(answered, values) == Inference(rules).run(answered, values)


class TestConflicts:
    """Answers and rules that say opposite things."""

    def test_an_answer_is_not_overruled_by_a_rule(self) -> None:
        """The answer stands, the conflict is told with the rule's reason, and the rule is no reason for the answer."""
        inferred = inference(rule("r", is_("a"), absent="b")).run({"a": True, "b": True}, {})
        assert inferred.findings == {"a": True, "b": True}
        assert inferred.because == {}
        assert [(each.finding, each.text) for each in inferred.conflicts] == [
            ("b", "answered present, yet because of r")
        ]

    def test_what_follows_is_taken_from_the_answer_not_from_the_rule(self) -> None:
        """A rule that waits for the overruled side does not fire."""
        rules = (rule("r", is_("a"), absent="b"), rule("s", not_("b"), present="c"))
        assert "c" not in inference(*rules).run({"a": True, "b": True}, {}).findings

    def test_of_two_contradicting_rules_neither_counts(self) -> None:
        """The finding stays open, and both reasons are told."""
        inferred = inference(rule("r", is_("a"), present="b"), rule("s", is_("a"), absent="b")).run({"a": True}, {})
        assert inferred.findings == {"a": True}
        assert [(each.finding, each.text) for each in inferred.conflicts] == [("b", "because of r / because of s")]

    def test_a_rule_that_says_what_was_answered_is_a_reason_for_it(self) -> None:
        """No conflict, and the rule is named beside the answer."""
        inferred = inference(rule("r", is_("a"), present="b")).run({"a": True, "b": True}, {})
        assert (inferred.because, inferred.conflicts) == ({"b": ("r",)}, ())


class TestReadings:
    """Comparisons with what was measured."""

    def test_a_quantity_that_nobody_read_makes_nothing_true(self) -> None:
        """Neither a comparison nor its opposite, alone or joined with another quantity."""
        opposite = Relation(quantity="x", relation="below", operands=(Operand(constant=1.0),), holds=False)
        joined = Relation(quantity="x", relation="above", operands=(Operand(terms=((1.0, "y"),)),))
        engine = inference(rule("r", opposite, present="a"), rule("s", joined, present="b"))
        assert engine.run({}, {}).findings == {}
        assert engine.run({}, {"y": 0.0}).findings == {}
        assert engine.run({}, {"y": 0.0, "x": 1.0}).findings == {"a": True, "b": True}

    def test_figures_and_words_of_other_quantities_do_not_disturb(self) -> None:
        """A comparison of figures survives a word elsewhere, and one of words a figure."""
        word = Relation(quantity="colour", relation="one of", choices=("red",))
        engine = inference(rule("r", below("x", 1.0), present="a"), rule("s", word, present="b"))
        assert engine.run({}, {"x": 0.0, "colour": "red"}).findings == {"a": True, "b": True}
        assert engine.run({}, {"x": 2.0, "colour": "blue"}).findings == {}

    def test_a_limit_fires_what_it_settles(self) -> None:
        """Over range is above a figure below that; about one beyond it nothing is said, either way."""
        above = Relation(quantity="x", relation="above", operands=(Operand(constant=10.0),))
        not_above = Relation(quantity="x", relation="above", operands=(Operand(constant=50.0),), holds=False)
        joined = Relation(quantity="y", relation="below", operands=(Operand(terms=((1.0, "x"),)),))
        engine = inference(
            rule("r", above, present="a"), rule("s", not_above, present="b"), rule("t", joined, present="c")
        )
        assert engine.run({}, {"x": Limit(20.0, "above"), "y": 15.0}).findings == {"a": True, "c": True}
        assert engine.run({}, {"x": Limit(20.0, "below"), "y": 15.0}).findings == {"b": True}

    def test_one_of_several_words_suffices(self) -> None:
        """A field with several words fits when one of them does."""
        word = Relation(quantity="colour", relation="one of", choices=("red",))
        engine = inference(rule("r", word, present="a"))
        assert engine.run({}, {"colour": ("blue", "red")}).findings == {"a": True}
        assert engine.run({}, {"colour": ("blue", "green")}).findings == {}

    def test_used_by_names_only_what_made_the_rule_true(self) -> None:
        """Of an `any`, the branch that held; of a comparison, both quantities."""
        joined = Relation(quantity="x", relation="above", operands=(Operand(terms=((1.0, "y"),)),))
        made = rule("r", AnyOf((is_("a"), All((is_("b"), joined)))), present="c")
        assert used_by(made, {"b": True}, {"x": 1.0, "y": 0.0}) == ("b", "x", "y")
        assert used_by(made, {"a": True}, {}) == ("a",)


class TestEngine:
    """What the engine would do to its surroundings, and the trap in it that is avoided."""

    def test_importing_changes_neither_logging_nor_collections(self) -> None:
        """No root handler, no other level, no `collections.Mapping` in a fresh interpreter."""
        code = (
            "import collections, logging\n"
            "before = (list(logging.root.handlers), logging.root.level)\n"
            "import diagnose.reasoning.compiled_rules\n"
            "assert (list(logging.root.handlers), logging.root.level) == before, logging.root.handlers\n"
            "assert not hasattr(collections, 'Mapping')\n"
        )
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
        assert (done.returncode, done.stderr) == (0, "")

    def test_every_rule_has_a_salience_of_its_own(self) -> None:
        """Helper rules of an `any` as well, for the whole real rule book."""
        compiled = CompiledRules(list(real_rule_book().inference.values()))
        saliences = [each.salience for each in compiled._engine.get_rules()]
        assert len(saliences) >= len(real_rule_book().inference)
        assert len(set(saliences)) == len(saliences)

    def test_equal_salience_fires_withdrawn_rules_and_a_salience_each_does_not(self) -> None:
        """Eight rules wait for the absence of a fact, three of those facts come: only five rules may fire."""
        assert any(_fired_wrongly(lambda _: 0) for _ in range(30))
        assert not any(_fired_wrongly(lambda rank: rank) for _ in range(30))


def _fired_wrongly(salience: Callable[[int], int]) -> bool:
    """Tell whether rules fire that were withdrawn before the run; rules wait for `NOT`, which ours never do."""
    from experta import NOT  # the module is in sys.modules by now, however it had to be imported

    fired: set[int] = set()

    def action(number: int) -> Callable[..., None]:
        return lambda engine: fired.add(number)

    members = {
        f"rule_{number}": Rule(NOT(Fact(number=number)), salience=salience(number))(action(number))
        for number in range(8)
    }
    engine = type("Waiting", (KnowledgeEngine,), members)()
    engine.reset()
    for number in (1, 4, 6):
        engine.declare(Fact(number=number))
    engine.run()
    return fired != {0, 2, 3, 5, 7}


BY_PLAN = {
    each.id: each
    for each in (
        rule("planned-fine", below("planned", 5.0), absent="load-high"),
        rule("planned-high", below("other-plan", 5.0), present="load-high"),
        rule("measured-high", below("measured", 5.0), present="load-high"),
        rule("measured-fine", below("reading", 5.0), absent="load-high"),
        rule("calm", not_("load-high"), absent="current-stops"),
    )
}
PLANNING = Inference(BY_PLAN, by_plan={"planned-fine", "planned-high"})


class TestByPlan:
    """A rule that rests on the data sheet alone gives way to what is measured or seen."""

    def test_a_measurement_beats_the_plan(self) -> None:
        """The plan says fine, the reading says high: it is high, and no conflict is told."""
        inferred = PLANNING.run({}, {"planned": 1.0, "measured": 1.0})
        assert (inferred.findings, inferred.conflicts) == ({"load-high": True}, ())
        assert inferred.because == {"load-high": ("measured-high",)}

    def test_what_rests_on_the_plan_falls_with_it(self) -> None:
        """With the plan alone the current does not stop; with the reading that is not said any more."""
        assert PLANNING.run({}, {"planned": 1.0}).findings == {"load-high": False, "current-stops": False}
        assert "current-stops" not in PLANNING.run({}, {"planned": 1.0, "measured": 1.0}).findings

    def test_two_plans_or_two_readings_that_disagree_are_a_conflict(self) -> None:
        """Among equals neither counts."""
        for values in ({"planned": 1.0, "other-plan": 1.0}, {"measured": 1.0, "reading": 1.0}):
            inferred = PLANNING.run({}, values)
            assert "load-high" not in inferred.findings
            assert [each.finding for each in inferred.conflicts] == ["load-high"]

    def test_each_run_starts_afresh(self) -> None:
        """What was overruled once counts again when the reading is gone."""
        PLANNING.run({}, {"planned": 1.0, "measured": 1.0})
        assert PLANNING.run({}, {"planned": 1.0}).findings["load-high"] is False

    def test_the_real_rule_book_knows_its_rules_by_plan(self) -> None:
        """A planned loop is one, a measured current is none, and neither is a rule that needs a finding."""
        planned = rules_by_plan(real_rule_book())
        assert "planned-loop-has-reserve" in planned
        assert "usual-flow-is-slow" in planned
        assert "loop-current-is-what-display-calls-for" not in planned
        assert "calm-without-dosing-means-dosing" not in planned
