"""Coverage of rule books: what is detected, what is told apart, where it is thin."""

from __future__ import annotations

import json
from itertools import product
from typing import Any

import numpy as np
import pytest

from diagnose.authoring.coverage import Coverage, coverage
from diagnose.authoring.coverage_text import in_words
from diagnose.authoring.telling_apart import FaultTable, confusion
from diagnose.documents.typed import as_json
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.condition_types import Operand, Relation
from diagnose.rule_book.quantities import Quantity
from diagnose.rule_book.rules import InferenceRule
from diagnose.rule_book.work import Outcome
from tests.authoring.test_testability import RATES, SIGNATURES
from tests.engines import real_engine
from tests.reasoning.books import book, cause, check, finding, yes_or_no

FIELD = Quantity(id="build", title="build", choices=("one piece", "two pieces"), where_to_find="look at it")


def symptom(name: str, **more: Any) -> Any:
    """Return a symptom that never shows by itself."""
    return finding(name, kind="symptom", leak=0.0, **more)


def coverage_of(rule_book: RuleBook, confirmed: list[tuple[str, ...]] | None = None) -> Coverage:
    """Return the coverage of a rule book."""
    return coverage(Engine(rule_book), confirmed)


@pytest.fixture
def covered() -> Coverage:
    """Return the coverage of the worked table written as rules."""
    tests = [f"t{number}" for number in range(3)]
    causes = [
        cause(name, {test: 1.0 for test, mark in zip(tests, marks, strict=True) if mark == "1"}, frequency=RATES[name])
        for name, marks in SIGNATURES.items()
    ]
    parts = [part for test in tests for part in (symptom(test), yes_or_no(f"look-{test}", test))]
    return coverage_of(book(*causes, *parts))


class TestTableOfZerosAndOnes:
    """A deterministic rule book gives exactly the figures of the worked table."""

    def test_detection(self, covered: Coverage) -> None:
        """By rate, and the one that no test shows is named."""
        assert (covered.detection, covered.likely_detection) == (pytest.approx(0.9), pytest.approx(0.9))
        assert covered.undetected == ("f6",)

    def test_isolation(self, covered: Coverage) -> None:
        """13 of 18 to one, all to two; the mean sizes of a group."""
        assert covered.isolation == {1: pytest.approx(13 / 18), 2: 1.0, 3: 1.0}
        assert covered.groups == (("f2", "f3"),)
        assert (covered.mean_size, covered.weighted_mean_size) == (1.25, pytest.approx(23 / 18))


class TestToldApart:
    """The same signature where findings are only probable."""

    def groups(self, *parts: Any) -> tuple[tuple[str, ...], ...]:
        """Return the ambiguity groups of a rule book with a symptom that both causes show."""
        return coverage_of(book(symptom("dark"), *parts)).groups

    def test_a_proof_that_checks_settle_tells_apart(self) -> None:
        """Nearly always against hardly ever misleads in fewer than one of twenty."""
        parts = (cause("a", {"dark": 0.9, "proof": 0.985}), cause("b", {"dark": 0.9}), finding("proof"))
        assert self.groups(*parts) == (("a", "b"),)
        assert self.groups(*parts, yes_or_no("look", "proof")) == ()

    def test_a_finding_that_only_tends_does_not(self) -> None:
        """Usually against sometimes misleads in one of five; several such together do not."""
        names = [f"hint{number}" for number in range(8)]
        hints = [part for name in names for part in (finding(name, leak=0.0), yes_or_no(f"look-{name}", name))]
        a, b = {"dark": 0.9, "hint0": 0.8}, {"dark": 0.9, "hint0": 0.2}
        assert self.groups(*hints, cause("a", a), cause("b", b)) == (("a", "b"),)
        many = dict.fromkeys(names, 0.8)
        few = dict.fromkeys(names, 0.2)
        assert self.groups(*hints, cause("a", {"dark": 0.9} | many), cause("b", {"dark": 0.9} | few)) == ()

    def test_a_check_for_other_meters_does_not_tell(self) -> None:
        """What can only be looked at on the other build settles nothing."""
        a = cause("a", {"dark": 0.9, "proof": 1.0}, applies={"build": ("one piece",)})
        parts = (FIELD, finding("proof"), a, cause("b", {"dark": 0.9}))
        assert self.groups(*parts, yes_or_no("look", "proof", applies={"build": ("one piece",)})) == ()
        assert self.groups(*parts, yes_or_no("look", "proof", applies={"build": ("two pieces",)})) == (("a", "b"),)
        assert self.groups(*parts, yes_or_no("look", "proof", not_when={"build": ("one piece",)})) == (("a", "b"),)

    def test_the_data_sheet_tells(self) -> None:
        """Causes that no meter can have together need no check."""
        a = cause("a", {"dark": 0.9}, applies={"build": ("one piece",)})
        b = cause("b", {"dark": 0.9}, applies={"build": ("two pieces",)})
        assert self.groups(FIELD, a, b) == ()
        assert self.groups(FIELD, a, cause("b", {"dark": 0.9})) == (("a", "b"),)

    def test_a_reading_settles_what_rules_conclude_from_it(self) -> None:
        """Rules on both sides of a measured quantity make its check tell."""
        parts = (
            cause("a", {"dark": 0.9, "proof": 1.0}),
            cause("b", {"dark": 0.9}),
            finding("proof"),
            Quantity(id="volt", title="voltage", unit="V"),
            check("measure", measures="volt"),
        )
        low, high = (
            Relation(quantity="volt", relation=side, operands=(Operand(constant=5.0),)) for side in ("below", "above")
        )
        there = InferenceRule(id="low", when=low, present=("proof",), because="low")
        gone = InferenceRule(id="high", when=high, absent=("proof",), because="high")
        assert self.groups(*parts, there) == (("a", "b"),)
        assert self.groups(*parts, there, gone) == ()

    def test_alternatives_are_one_question(self) -> None:
        """Reads high or reads low or neither: what rules one out is no second proof."""
        names = ("high", "low")
        sides = [finding(name, alternatives="side", leak=0.0) for name in names]
        which = check(
            "which", *(Outcome(answer=name, present=(name,), absent=tuple({*names} - {name})) for name in names)
        )
        table = FaultTable(
            Engine(
                book(
                    symptom("dark"),
                    *sides,
                    which,
                    cause("a", {"dark": 1.0, "high": 0.7}),
                    cause("b", {"dark": 1.0, "low": 0.7}),
                )
            )
        )
        questions = table.questions("a", "b", {})
        assert [answers[0].tolist() for answers in questions] == [pytest.approx([0.7, 0.0, 0.3])]
        assert confusion(questions) == pytest.approx(0.15)

    def test_confusion_against_all_combinations(self) -> None:
        """On nine questions, the sum over all combinations of answers."""
        random = np.random.default_rng(3)
        questions = [(random.dirichlet([1, 1]), random.dirichlet([1, 1])) for _ in range(9)]
        answers = [
            [
                np.prod([question[side][pick] for question, pick in zip(questions, picks, strict=True)])
                for side in (0, 1)
            ]
            for picks in product((0, 1), repeat=9)
        ]
        assert confusion(questions) == pytest.approx(sum(map(min, answers)) / 2, rel=1e-3)


class TestThin:
    """What is missing."""

    def test_what_is_counted(self) -> None:
        """The cause that stands for others is none; symptoms, cases and look-alikes that are missing are named."""
        rule_book = book(
            symptom("dark", phrases=("dark", "no light")),
            symptom("dim", phrases=tuple("abcdefgh")),
            cause("a", {"dark": 0.9, "dim": 0.9}, looks_like=("b",)),
            cause("b", {"dark": 0.9}, looks_like=("a", "c")),
            cause("c", {"dark": 0.2}),
            cause("others", {}, shows_others=0.1),
            yes_or_no("look-dim", "dim"),
            yes_or_no("look-dark", "dark"),
        )
        breadth = coverage_of(rule_book, [("a",), ("b", "c")]).breadth
        assert breadth.counts == {"causes": 3, "findings": 2, "checks": 3, "inference": 0, "cautions": 0}
        assert breadth.few_phrases == {"dark": 2}
        assert breadth.few_cases == {"somewhere": 2}
        assert breadth.no_look_alike == ("c",)
        assert breadth.not_told == ()
        assert coverage_of(rule_book).breadth.few_cases is None

    def test_a_look_alike_that_no_check_tells(self) -> None:
        """A finding that differs by less than sixty points, or that nobody can look at, tells nothing."""
        twins = (symptom("dark"), cause("a", {"dark": 0.9}, looks_like=("b",)), cause("b", {"dark": 0.4}))
        assert coverage_of(book(*twins, yes_or_no("look", "dark"))).breadth.not_told == (("a", "b"),)


class TestInWords:
    """What the trainer reads."""

    def test_figures_and_names(self) -> None:
        """Groups and gaps with their names; nothing missing reads as none."""
        twins = (symptom("dark"), cause("a", {"dark": 0.9}), cause("b", {"dark": 0.9}), cause("c", {}))
        text = in_words(coverage_of(book(*twins)))
        assert "  isolated to a group of one                  0.0 %" in text
        assert "  Ambiguity groups of more than one: 1\n    a, b\n" in text
        assert "  Causes without a symptom: 1\n    c\n" in text
        assert "not counted, no cases given (--cases)" in text

    def test_the_object_has_the_same(self) -> None:
        """Keys are text; everything is plain."""
        covered = json.loads(as_json(coverage_of(book(symptom("dark"), cause("a", {"dark": 0.9})))))
        assert covered["format"] == "coverage/1"
        assert covered["isolation"] == {"1": 1.0, "2": 1.0, "3": 1.0}
        assert list(covered["breadth"]["no_look_alike"]) == ["a"]

    def test_the_rule_book_that_came_along(self) -> None:
        """Every cause shows something that somebody reports, and groups of three hold everything."""
        covered = coverage(real_engine())
        assert covered.detection == 1.0
        assert covered.isolation[3] == 1.0
        assert covered.isolation[1] >= 0.95
