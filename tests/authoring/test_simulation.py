"""Simulated interviews, the fixed order, and the figures of many."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import msgspec
import pytest

from diagnose.authoring.faults import Fault
from diagnose.authoring.figures import figures
from diagnose.authoring.fixed_order import FixedOrderResult, family, follow
from diagnose.authoring.simulated_interview import InterviewResult, interview
from diagnose.authoring.simulation import FaultToDraw, Order, SimulatedFault, collect, simulate, simulate_one
from diagnose.authoring.simulation_text import SimulationDocument, in_words
from diagnose.documents.typed import as_json
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.work import Outcome
from tests.authoring.invented import PLACE, fault, lamp
from tests.engines import real_engine
from tests.reasoning.books import SETTINGS, book, cause, check, finding, remedy, yes_or_no

BOOK = lamp()
ENGINE = Engine(BOOK)


class TestInterview:
    """One fault with the real diagnosis."""

    def test_found_and_cured(self) -> None:
        """The feed: felt first for nothing is opened, then put right and proved."""
        result = interview(ENGINE, fault("feed"), 0.0)
        assert (result.end, result.ranks, result.first) == ("cured", {"feed": 1}, "feed")
        steps = ["check feel-feed (2 min)", "remedy feed (10 min)", "done Cured and proved (0 min)"]
        assert [line.split(" | ")[0] for line in result.log] == steps
        # 2 minutes of looking; 10 of repair, 3 of proof
        assert (result.looking, result.minutes, result.steps, result.needless) == (2.0, 15.0, 2, 0)

    def test_changes_of_the_plant_take_their_time(self) -> None:
        """The bulb: isolated for the work (5), and put back (2.5)."""
        result = interview(ENGINE, fault("bulb"), 0.0)
        assert (result.end, result.looking) == ("cured", 2.0)
        assert result.minutes == 2.0 + 5.0 + 10.0 + 3.0 + 2.5

    def test_one_cause_after_the_other(self) -> None:
        """Of two causes each is put right; the one cured first counts as found."""
        result = interview(ENGINE, fault("feed", "ballast", complaint=("dark", "hum")), 0.0)
        assert result.end == "cured"
        assert sorted(result.ranks.values()) == [0, 1]
        assert result.ranks_at_remedy == {"feed": 1, "ballast": 1}

    def test_a_needless_remedy_is_counted(self) -> None:
        """With nothing to tell them apart the likelier one is tried first, in vain, and its minutes count."""
        parts = (
            finding("dark", complaint="common", leak=0.001),
            cause("a", {"dark": 1.0}, frequency=9.0),
            cause("b", {"dark": 1.0}),
            *(remedy(name, works=1.0) for name in "ab"),
        )
        result = interview(Engine(book(*parts)), fault("b"), 0.0)
        assert (result.end, result.needless, result.looking) == ("cured", 1, 13.0)
        assert (result.ranks, result.ranks_before) == ({"b": 1}, {"b": 2})

    def test_believed_cured(self) -> None:
        """A remedy in vain that is taken for a cure ends the interview wrongly, and somebody must come again."""
        parts = (
            finding("dark", complaint="common", leak=0.001),
            cause("a", {"dark": 1.0}, frequency=9.0),
            cause("b", {"dark": 1.0}),
            *(remedy(name, works=1.0) for name in "ab"),
        )
        ends = [interview(Engine(book(*parts)), fault("b", key=str(key)), 1.0) for key in range(12)]
        closed = [each for each in ends if each.end == "wrongly closed"]
        assert closed
        assert all(each.looking >= 180 and each.ranks["b"] > 0 for each in closed)

    def test_what_a_person_may_not_do_is_handed_over(self) -> None:
        """An ordinary person does not isolate; the cause is first all the same."""
        result = interview(ENGINE, fault("bulb", competence="ordinary"), 0.0)
        assert (result.end, result.ranks, result.violations) == ("handed over", {"bulb": 1}, ())
        assert result.looking == 2.0 + 180.0

    def test_a_step_that_the_meter_has_not_is_passed_over(self) -> None:
        """Nobody is asked where the lamp hangs; whoever stands there sees it, and it costs nothing."""
        outside = yes_or_no("look-outside", "feed-dead", applies={"place": ("outside",)}, minutes=0.5)
        place = msgspec.structs.replace(PLACE, where_to_find="")
        result = interview(Engine(lamp(place, outside)), fault("feed", sheet={"place": "inside"}), 0.0)
        assert result.log[0].startswith("check look-outside (0.5 min) | ")
        assert "->" not in result.log[0]
        assert (result.end, result.looking) == ("cured", 2.0)

    def test_what_says_whether_a_step_is_in_place_is_asked_first(self) -> None:
        """Where the lamp hangs can be told by looking; a step for outside is then not even proposed."""
        outside = yes_or_no("look-outside", "feed-dead", applies={"place": ("outside",)}, minutes=0.5)
        result = interview(Engine(lamp(PLACE, outside)), fault("feed", sheet={"place": "inside"}), 0.0)
        assert not any("look-outside" in line for line in result.log)

    def test_what_a_step_asks_of_the_data_sheet_is_filled_in(self) -> None:
        """Before the cover is opened somebody asks for gas; the caution is then certain."""
        rule_book = lamp(
            yes_or_no(
                "look-closer", "filament-broken", minutes=0.2, needs={"cover": ("open",), "supply": ("isolated",)}
            )
        )
        result = interview(Engine(rule_book), fault("bulb", sheet={"gas": "yes"}), 0.0)
        assert (result.end, result.violations) == ("cured", ())


class TestFixedOrder:
    """The measure to beat."""

    def test_family_of_a_complaint(self) -> None:
        """Checks of what the complaint's causes show, cheapest first, changes of the plant included."""
        assert [each.id for each in family(ENGINE, fault("feed"))] == ["ask", "feel-feed", "look-at-bulb"]
        assert [each.id for each in family(ENGINE, fault("ballast", complaint=("hum",)))] == ["ask"]

    def test_as_far_as_this_person_may(self) -> None:
        """Nothing is opened by an ordinary person."""
        assert [each.id for each in family(ENGINE, fault("feed", competence="ordinary"))] == ["ask", "feel-feed"]

    def test_it_stops_when_the_cause_is_found(self) -> None:
        """What tells nothing new is passed over; the check that proves is the last."""
        followed = follow(ENGINE, fault("feed"), 0.0)
        assert (followed.found, followed.checks, followed.looking) == (True, 2, 4.0)
        assert followed.minutes == 4.0 + 10.0 + 3.0

    def test_nothing_proves(self) -> None:
        """Without a check the remedies are gone through, likeliest first."""
        parts = (
            finding("dark", complaint="common"),
            cause("a", {"dark": 1.0}, frequency=9.0),
            cause("b", {"dark": 1.0}),
        )
        followed = follow(Engine(book(*parts)), fault("b"), 0.0)
        assert (followed.found, followed.checks, followed.looking) == (False, 0, 13.0)

    def test_both_ways_meet_the_same_answers(self) -> None:
        """A wrong answer misleads the fixed order as it does the interview."""
        wrong = fault("feed")
        assert not follow(ENGINE, wrong, 1.0).found


def simulated(
    kind: str, ranks: dict[str, int], looking: float, fixed: float | None = None, **more: Any
) -> SimulatedFault:
    """Return one simulated fault of which only ranks and minutes matter."""
    given = {"ranks": ranks, "ranks_at_remedy": ranks, "ranks_before": ranks, "end": "cured", "first": "feed"}
    rest = {"looking": looking, "minutes": looking + 10, "steps": 4, "needless": 0, "violations": (), "log": ()}
    rest |= {"best": (0.5,), "questions": 3, "cautions": 1}
    rest |= {"wrong_answers": 0, "wrong_results": 0}
    followed = None if fixed is None else FixedOrderResult(looking=fixed, minutes=fixed + 10, checks=9, found=True)
    return SimulatedFault(
        kind=kind,  # type: ignore[arg-type]
        fault=Fault(key="1", causes=tuple(ranks), sheet={}, known={}, complaint=("dark",)),
        interview=InterviewResult(**{**given, **rest, **more}),
        fixed=followed,
    )


class TestFigures:
    """What many interviews come to."""

    FAULTS = (
        simulated("single", {"feed": 1}, 10, 40),
        simulated("single", {"feed": 1}, 20, 80),
        simulated("single", {"bulb": 2}, 30, 90, needless=2, end="handed over", wrong_answers=1),
        simulated("double", {"feed": 0, "bulb": 3}, 50),
        simulated("double", {"feed": 0, "bulb": 4}, 50, violations=("check x: out of state",)),
        simulated("less skilled", {"feed": 1}, 10, end="handed over"),
    )

    def test_shares_and_medians(self) -> None:
        """Two of three first, one of two doubles found, a quarter of the minutes."""
        found = figures(BOOK, self.FAULTS)
        assert (found.first.hits, found.first.of) == (2, 3)
        assert (found.both.hits, found.both.of) == (1, 2)
        assert (found.handed_over_first.hits, found.handed_over_first.of) == (0, 1)
        assert (found.looking, found.fixed_looking, found.saved) == (20, 80, 0.75)
        assert found.missed == {"an answer was wrong": 1}
        assert found.needless == pytest.approx(2 / 3)
        assert (found.less_skilled, found.less_skilled_cured) == (1, 0)
        assert (found.violations, found.steps_watched) == ({"check x: out of state": 1}, 24)
        assert [(area.area, area.faults, area.first) for area in found.areas] == [("somewhere", 3, 2)]
        assert [(worst.cause, worst.missed, worst.instead) for worst in found.worst] == [("bulb", 1, {"feed": 1})]

    def test_chance_is_told(self) -> None:
        """Nine hundred of a thousand give or take two points; three of three say little."""
        many = [simulated("single", {"feed": 1 if number < 900 else 2}, 1, 1) for number in range(1000)]
        assert figures(BOOK, many).first.give_or_take == pytest.approx(0.0187, abs=0.0005)
        assert figures(BOOK, many[:3]).first.give_or_take > 0.3

    def test_in_words(self) -> None:
        """Every figure with its name, every violation, every area."""
        text = in_words(figures(BOOK, self.FAULTS), Order(single=3), complete=False)
        assert "Left early: the figures are those of the faults that were finished." in text
        assert "  true cause first when the interview ends            66.7 % ± " in text
        assert "Safety: 1 violations in 24 steps\n  1 × check x: out of state\n" in text
        assert "  bulb                               1 of 1    feed" in text

    def test_nothing_finished(self) -> None:
        """Left at once: no figures, no failure."""
        text = in_words(figures(BOOK, ()), Order(), complete=False)
        assert "0 violations in 0 steps" in text
        assert "Single faults" not in text


def only(**kinds: int) -> Order:
    """Return an order of these kinds of faults and no others."""
    none = {"single": 0, "double": 0, "less_skilled": 0, "intermittent": 0, "outside": 0}
    return Order(**{**none, **kinds})  # type: ignore[arg-type]


class TestSimulate:
    """Many faults, by any number of processes."""

    ORDER = Order(single=6, double=3, less_skilled=2, intermittent=2, outside=2, wrong=0.2, seed=7)

    def test_the_same_seed_gives_the_same_whatever_the_processes(self) -> None:
        """One process, and two that share the work; another seed gives something else."""
        one = list(simulate(ENGINE, self.ORDER, 1))
        kinds = ["single"] * 6 + ["double"] * 3 + ["less skilled"] * 2 + ["outside"] * 2
        assert [each.kind for each in one if each] == kinds  # no fault of this lamp comes and goes
        assert list(simulate(ENGINE, self.ORDER, 2)) == one
        assert list(simulate(ENGINE, only(single=6, seed=8), 1)) != one[:6]

    def test_all_kinds_go_forward_side_by_side(self) -> None:
        """Figures that were ended early are of every kind; the faults of one meter stay together."""
        order = Order(single=80, double=40, less_skilled=16, intermittent=16, outside=16)
        tasks = order.tasks()
        assert sorted(tasks, key=lambda each: (each.kind, each.number)) == sorted(
            {*tasks}, key=lambda each: (each.kind, each.number)
        )
        assert {each.kind for each in tasks[: len(tasks) // 2]} == {each.kind for each in tasks}
        assert [each.number for each in tasks[:8]] == list(range(8))

    def test_a_rule_book_without_double_faults(self) -> None:
        """What cannot be drawn is left out."""
        lonely = book(finding("dark", complaint="common"), cause("a", {"dark": 1.0}))
        faults, complete = collect(simulate(Engine(lonely), only(single=1, double=2)), lambda: None)
        assert ([each.kind for each in faults], complete) == (["single"], True)

    def test_a_fault_that_comes_and_goes_is_told_to_do_so(self) -> None:
        """Only causes that do are drawn, and looks come too late at times."""
        settings = msgspec.structs.replace(SETTINGS, intermittent="now-and-then", seen_while_it_shows=0.3)
        loose = cause("loose", {"dark": 0.9, "now-and-then": 0.9, "feed-dead": 0.9})
        parts = (finding("now-and-then", kind="history"), loose, remedy("loose", works=1.0))
        engine = Engine(msgspec.structs.replace(lamp(*parts), settings=settings))
        faults = [each for each in simulate(engine, only(intermittent=8)) if each]
        assert len(faults) == 8
        assert all(each.fault.causes == ("loose",) and each.fault.comes_and_goes for each in faults)
        assert all("now-and-then" in each.fault.complaint for each in faults)
        assert all(each.interview.violations == () for each in faults)
        assert figures(engine.rule_book, faults).intermittent_cured.of == 8

    def test_a_cause_taken_out_is_not_found(self) -> None:
        """Nobody who does not know it can name it; what really happens is not changed by that."""
        faults = [each for each in simulate(ENGINE, only(outside=6)) if each]
        assert len(faults) == 6
        ranked = len(BOOK.causes)
        assert all(each.interview.ranks_before[each.fault.causes[0]] == ranked for each in faults)
        assert all(each.interview.end != "undecided" for each in faults)

    def test_left_in_the_middle(self) -> None:
        """Ctrl-C keeps what is there."""

        def interrupted() -> Iterator[SimulatedFault]:
            yield TestFigures.FAULTS[0]
            raise KeyboardInterrupt

        advanced: list[int] = []
        faults, complete = collect(interrupted(), lambda: advanced.append(1))
        assert (faults, complete, advanced) == ([TestFigures.FAULTS[0]], False, [1])

    def test_as_an_object(self) -> None:
        """Order, figures and every fault."""
        faults = [each for each in simulate(ENGINE, only(single=2)) if each]
        document = SimulationDocument(
            complete=True, order=Order(single=2), figures=figures(BOOK, faults), faults=tuple(faults)
        )
        made = json.loads(as_json(document))
        assert (made["format"], made["complete"], len(made["faults"])) == ("simulation/1", True, 2)
        assert made["faults"][0]["interview"]["log"]

    @pytest.mark.parametrize(
        "task", [FaultToDraw("single", 1), FaultToDraw("double", 1), FaultToDraw("less skilled", 2)], ids=str
    )
    def test_the_rule_book_that_came_along(self, task: FaultToDraw) -> None:
        """A few of its faults, every step watched."""
        result = simulate_one(real_engine(), Order(), task)
        assert result is not None
        assert result.interview.steps >= 1
        assert result.interview.violations == ()


def test_a_check_that_answers_nothing_is_not_asked_for_ever() -> None:
    """An outcome that says nothing is no answer; the interview ends all the same."""
    dull = check("dull", Outcome(answer="cannot tell"), Outcome(answer="f", present=("feed-dead",)))
    assert interview(Engine(lamp(dull)), fault("feed"), 0.0).end == "cured"
