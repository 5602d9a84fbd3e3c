"""What a meter with an invented fault shows, and what remedies do to it."""

from __future__ import annotations

from random import Random

import pytest

from diagnose.authoring.faults import draw_fault, draw_meter
from diagnose.authoring.person import Person
from diagnose.authoring.world import World
from diagnose.observations import CheckDone, FindingSeen, RemedyTried
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.condition_types import FindingIs
from diagnose.rule_book.quantities import Quantity
from diagnose.rule_book.rules import InferenceRule
from diagnose.rule_book.work import Outcome
from tests.authoring.invented import PLACE, fault
from tests.reasoning.books import book, cause, check, finding, remedy, yes_or_no

CHANCE = Random(0)


class TestFaults:
    """Faults drawn from a rule book."""

    def test_by_frequency_among_the_causes_that_apply(self) -> None:
        """Three in four are the cause that is three times as frequent; one for other meters never comes."""
        inside = {"place": ("inside",)}
        rule_book = book(
            PLACE,
            finding("dark", kind="symptom", complaint="common"),
            cause("often", {"dark": 1.0}, frequency=3.0),
            cause("seldom", {"dark": 1.0}),
            cause("inside", {"dark": 1.0}, applies=inside),
            cause("silent", {}, frequency=100.0),
        )
        meters = [draw_meter(rule_book, str(number)) for number in range(20)]
        outside = next(meter for meter in meters if meter.sheet == {"place": "outside"})
        drawn = [draw_fault(rule_book, outside, str(number), 1) for number in range(400)]
        names = [each.causes[0] for each in drawn if each]
        assert set(names) == {"often", "seldom"}
        assert names.count("often") / 400 == pytest.approx(0.75, abs=0.06)

    def test_half_of_the_data_sheet_is_filled_in(self) -> None:
        """What is filled in is true; sometimes it is nothing."""
        meters = [draw_meter(book(PLACE), str(number)) for number in range(40)]
        assert all(meter.known in ({}, meter.sheet) for meter in meters)
        assert 10 < sum(bool(meter.known) for meter in meters) < 30

    def test_two_causes_are_two(self) -> None:
        """Never the same twice; where there is but one there is no double fault."""
        parts = (finding("dark", kind="symptom"), cause("a", {"dark": 0.5}), cause("b", {"dark": 0.5}))
        meter = draw_meter(book(*parts), "m")
        pairs = [draw_fault(book(*parts), meter, str(number), 2) for number in range(10)]
        assert all(pair is not None and set(pair.causes) == {"a", "b"} for pair in pairs)
        assert draw_fault(book(*parts[:2]), meter, "1", 2) is None

    def test_somebody_complains_of_what_the_cause_shows(self) -> None:
        """One or two findings, never two that exclude each other, and always one."""
        rule_book = book(
            *(finding(name, complaint="common", alternatives="side") for name in ("high", "low")),
            finding("dim", complaint="other"),
            finding("inside", leak=0.5),
            cause("a", {"high": 0.9, "low": 0.9, "dim": 0.01, "inside": 1.0}),
        )
        meter = draw_meter(rule_book, "m")
        said = [each.complaint for number in range(100) if (each := draw_fault(rule_book, meter, str(number), 1))]
        assert len(said) == 100
        assert {("high",), ("low",)} <= set(said) <= {("high",), ("low",), ("dim",), ("high", "dim"), ("low", "dim")}


class TestWorld:
    """Findings as they are."""

    def test_answers_come_as_often_as_the_model_says(self) -> None:
        """Two causes at one half and a leak of a fifth: 1 - 0.5 × 0.5 × 0.8 = 0.8."""
        rule_book = book(finding("f", leak=0.2), cause("a", {"f": 0.5}), cause("b", {"f": 0.5}), yes_or_no("look", "f"))
        engine = Engine(rule_book)
        worlds = [World(engine, fault("a", "b", complaint=(), key=str(number))) for number in range(600)]
        seen = [world.outcome(rule_book.checks["look"], Random(number))["f"] for number, world in enumerate(worlds)]
        assert sum(seen) / 600 == pytest.approx(0.8, abs=0.04)

    def test_what_was_seen_stays(self) -> None:
        """Another check of the same finding says the same, the complaint too."""
        rule_book = book(
            finding("dark"),
            finding("f"),
            cause("a", {"f": 0.5}),
            yes_or_no("x", "f"),
            yes_or_no("y", "f"),
            yes_or_no("z", "dark"),
        )
        engine = Engine(rule_book)
        for number in range(20):
            world = World(engine, fault("a", key=str(number)))
            first, second = (world.outcome(rule_book.checks[name], Random(number)) for name in "xy")
            assert first == second
            assert world.outcome(rule_book.checks["z"], CHANCE) == {"dark": True}

    def test_a_remedy_takes_away_what_its_cause_alone_made(self) -> None:
        """Own findings go; shared ones and history stay; the fault is cured when nothing is left."""
        rule_book = book(
            *(finding(name, leak=0.0) for name in ("own", "shared")),
            finding("past", kind="history", leak=0.0),
            cause("a", {"own": 1.0, "shared": 1.0, "past": 1.0}),
            cause("b", {"shared": 1.0}),
            *(remedy(name, works=1.0) for name in "ab"),
            *(yes_or_no(f"look-{name}", name) for name in ("own", "shared", "past")),
        )
        world = World(Engine(rule_book), fault("a", "b", complaint=()))
        for name in ("own", "shared", "past"):
            assert world.outcome(rule_book.checks[f"look-{name}"], CHANCE) == {name: True}
        assert world.try_remedy(rule_book.remedies["a"], CHANCE) == "partly"
        assert [world.shows(name) for name in ("own", "shared", "past")] == [False, True, True]
        assert world.try_remedy(rule_book.remedies["a"], CHANCE) == "not cured"
        assert world.try_remedy(rule_book.remedies["b"], CHANCE) == "cured"
        assert world.shows("shared") is False

    def test_a_remedy_works_as_often_as_it_says(self) -> None:
        """At one half, about half of them cure."""
        rule_book = book(cause("a", {}), remedy("a", works=0.5))
        engine = Engine(rule_book)
        verdicts = [
            World(engine, fault("a", complaint=())).try_remedy(rule_book.remedies["a"], Random(number))
            for number in range(200)
        ]
        assert set(verdicts) == {"cured", "not cured"}
        assert 75 < verdicts.count("cured") < 125

    def test_at_most_one_of_alternatives_shows(self) -> None:
        """High as a complaint rules low out, though the cause shows both."""
        sides = [finding(name, alternatives="side") for name in ("high", "low")]
        rule_book = book(*sides, cause("a", {"high": 1.0, "low": 1.0}), yes_or_no("look", "low"))
        world = World(Engine(rule_book), fault("a", complaint=("high",)))
        assert world.outcome(rule_book.checks["look"], CHANCE) == {"low": False}

    def test_what_rules_conclude_holds(self) -> None:
        """A dead lamp does not hum, whatever the cause would show."""
        rule = InferenceRule(id="r", when=FindingIs("dead", True), absent=("hum",), because="dead")
        rule_book = book(finding("dead"), finding("hum"), rule, cause("a", {"hum": 1.0}), yes_or_no("listen", "hum"))
        world = World(Engine(rule_book), fault("a", complaint=("dead",)))
        assert world.outcome(rule_book.checks["listen"], CHANCE) == {"hum": False}

    def test_an_answer_fits_as_well_as_it_can(self) -> None:
        """Of answers that exclude each other the one with what shows is given, and "cannot tell" never."""
        which = check(
            "which",
            Outcome(answer="a", present=("a",), absent=("b",)),
            Outcome(answer="b", present=("b",), absent=("a",)),
            Outcome(answer="cannot tell"),
        )
        rule_book = book(finding("a", leak=0.0), finding("b", leak=0.0), which, cause("x", {"b": 1.0}))
        person = Person(Engine(rule_book), fault("x", complaint=()), wrong=0.0)
        assert person.look(which) == [CheckDone(check="which", answer="b")]


class TestPerson:
    """Somebody who answers."""

    BOOK = book(
        finding("f", leak=0.0),
        finding("dark", kind="symptom", complaint="common", leak=0.0),
        cause("a", {"f": 1.0, "dark": 1.0}),
        cause("b", {"dark": 1.0}),
        *(remedy(name, works=1.0) for name in "abc"),
        yes_or_no("look", "f"),
    )
    ENGINE = Engine(BOOK)

    @pytest.mark.parametrize(("wrong", "answer", "verdict"), [(0.0, "yes", "cured"), (1.0, "no", "other")])
    def test_right_and_wrong_answers(self, wrong: float, answer: str, verdict: str) -> None:
        """Always right, or always another outcome; a cure that is misread leaves the fault."""
        person = Person(self.ENGINE, fault("a"), wrong)
        assert person.complaint() == [FindingSeen(finding="dark", present=True)]
        assert person.look(self.BOOK.checks["look"]) == [CheckDone(check="look", answer=answer)]
        tried = person.repair(self.BOOK.remedies["a"])[0]
        assert isinstance(tried, RemedyTried)
        assert (tried.verdict == "cured") == (verdict == "cured")
        assert person.world.open == ([] if verdict == "cured" else ["a"])

    def test_one_in_five(self) -> None:
        """About the share that was asked for is wrong."""
        answers = [Person(self.ENGINE, fault("a", key=str(n)), 0.2).look(self.BOOK.checks["look"]) for n in range(300)]
        assert 40 < answers.count([CheckDone(check="look", answer="no")]) < 80

    def test_the_same_fault_gives_the_same_answers(self) -> None:
        """Whoever asks, and whatever was asked before."""
        one, other = (Person(self.ENGINE, fault("a", "b"), 0.5) for _ in range(2))
        other.repair(self.BOOK.remedies["c"])
        assert one.look(self.BOOK.checks["look"]) == other.look(self.BOOK.checks["look"])

    def test_what_is_still_wrong_is_said(self) -> None:
        """After the first of two causes, the complaint is what the second shows."""
        said = Person(self.ENGINE, fault("a", "b"), 0.0).repair(self.BOOK.remedies["a"])
        assert said == [RemedyTried(remedy="a", verdict="partly"), FindingSeen(finding="dark", present=True)]

    def test_a_reading_is_answered_by_what_it_tells(self) -> None:
        """A check that measures is answered by the findings that rules may conclude."""
        volt = Quantity(id="volt", title="voltage", unit="V")
        measure = check("measure", measures="volt")
        rule_book = book(
            volt, finding("low"), finding("high"), measure, cause("a", {"low": 1.0}), *_rules("low", "high")
        )
        said = Person(Engine(rule_book), fault("a", complaint=()), 0.0).look(measure)
        assert said == [FindingSeen(finding="high", present=False), FindingSeen(finding="low", present=True)]
        wrong = Person(Engine(rule_book), fault("a", complaint=()), 1.0).look(measure)
        assert wrong != said


def _rules(*names: str) -> list[InferenceRule]:
    from diagnose.rule_book.condition_types import Operand, Relation

    when = Relation(quantity="volt", relation="below", operands=(Operand(constant=5.0),))
    return [InferenceRule(id=f"r-{name}", when=when, present=(name,), because="so") for name in names]
