"""Remedies in the best order, checks worth their minutes, and minutes that depend on how the plant stands."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.observations import State
from diagnose.reasoning.costs import Costs
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.planning import Option, Tasks, expected_cost, information_gain, plan
from tests.reasoning.books import book, cause, caution, finding, real_rule_book, remedy, state

START = np.array([0])


def one_each(remedies: int) -> np.ndarray:
    """Return needs for single faults, each with a remedy of its own."""
    return np.array([[number, -1, -1] for number in range(remedies)])


def cost_of_order(weights: list[float], minutes: list[float], order: tuple[int, ...]) -> float:
    """Return the expected minutes of remedies in this order, added up fault by fault."""
    return sum(weights[each] * sum(minutes[done] for done in order[: order.index(each) + 1]) for each in order)


class TestOrderOfRemedies:
    """Probability over minutes (Kadane and Simon; Kalagnanam and Henrion 1990)."""

    def test_worked_example(self) -> None:
        """Probabilities .5 .3 .15 .05, minutes 10 4 1 6: order 3, 2, 1, 4 at 10.2 minutes."""
        repair = expected_cost(
            np.array([[0.5, 0.3, 0.15, 0.05]]), one_each(4), Tasks.of(np.array([10.0, 4.0, 1.0, 6.0])), START
        )
        assert repair.order[0].tolist() == [2, 1, 0, 3]
        assert float(repair.minutes[0]) == pytest.approx(10.2)

    def test_brute_force_over_all_24_orders_of_the_example(self) -> None:
        """The best is 10.2, the natural order 12.5, the worst 17.45."""
        weights, minutes = [0.5, 0.3, 0.15, 0.05], [10.0, 4.0, 1.0, 6.0]
        costs = {order: cost_of_order(weights, minutes, order) for order in permutations(range(4))}
        assert min(costs.values()) == pytest.approx(10.2)
        assert costs[0, 1, 2, 3] == pytest.approx(12.5)
        assert max(costs.values()) == pytest.approx(17.45)

    @given(st.lists(st.floats(0.01, 1), min_size=4, max_size=4), st.lists(st.floats(0.5, 100), min_size=4, max_size=4))
    @settings(max_examples=60, deadline=None)
    def test_no_order_is_better_for_one_fault(self, weights: list[float], minutes: list[float]) -> None:
        """For any probabilities and minutes the cost is the least over all 24 orders."""
        repair = expected_cost(np.array([weights]), one_each(4), Tasks.of(np.array(minutes)), START)
        least = min(cost_of_order(weights, minutes, each) for each in permutations(range(4)))
        assert float(repair.minutes[0]) == pytest.approx(least)
        assert float(repair.minutes[0]) == pytest.approx(
            cost_of_order(weights, minutes, tuple(repair.order[0].tolist()))
        )

    def test_several_faults_end_with_the_last_of_their_remedies(self) -> None:
        """A pair of faults is put right when both remedies are done."""
        needs = np.array([[0, -1, -1], [0, 1, -1]])
        repair = expected_cost(np.array([[0.5, 0.5]]), needs, Tasks.of(np.array([10.0, 20.0])), START)
        assert float(repair.minutes[0]) == pytest.approx(0.5 * 10 + 0.5 * 30)

    def test_handing_over_where_it_is_cheaper_than_going_on(self) -> None:
        """Whoever is fetched goes straight for the right remedy; that beats long trials, not short ones."""
        weights = np.array([[0.5, 0.3, 0.2]])
        tasks = Tasks.of(np.array([10.0, 200.0, 300.0]))
        repair = expected_cost(weights, one_each(3), Tasks(tasks.minutes, tasks.after, hand_over=60.0), START)
        assert repair.tries.tolist() == [1]
        assert float(repair.minutes[0]) == pytest.approx(10 + 0.5 * 60 + 0.3 * 200 + 0.2 * 300)
        patient = expected_cost(weights, one_each(3), Tasks(tasks.minutes, tasks.after, hand_over=9000.0), START)
        assert patient.tries.tolist() == [3]
        assert float(patient.minutes[0]) == pytest.approx(0.5 * 10 + 0.3 * 210 + 0.2 * 510)

    def test_two_causes_of_one_remedy_are_put_right_together(self) -> None:
        """Their probabilities add up for the order, and the remedy is done once."""
        needs = np.array([[0, -1, -1], [1, -1, -1], [1, -1, -1]])
        repair = expected_cost(np.array([[0.4, 0.3, 0.3]]), needs, Tasks.of(np.array([10.0, 10.0])), START)
        assert repair.order[0].tolist() == [1, 0]
        assert float(repair.minutes[0]) == pytest.approx(0.6 * 10 + 0.4 * 20)


ISOLATING = 10.0
BOOK = book(
    state("supply", 1, "live", "isolated", minutes=ISOLATING),
    finding("f"),
    cause("a", {"f": 0.5}),
    cause("b", {"f": 0.5}),
    remedy("a", minutes=7.0, needs={"supply": ("isolated",)}),
    remedy("b", minutes=5.0, needs={"supply": ("isolated",)}),
)
PROOF = BOOK.checks["proof"].minutes


class TestMinutesFromWhereThePlantStands:
    """What is isolated once stays so."""

    def test_a_second_isolated_remedy_costs_no_isolation_again(self) -> None:
        """Two isolated remedies, the second needed for certain: isolation counts once."""
        costs = Costs(Dangers(BOOK, {}), State())
        live = costs.number({"supply": "live"})
        tasks = costs.tasks([live], ())
        repair = expected_cost(np.array([[0.0, 1.0]]), one_each(2), tasks, np.array([live]))
        assert repair.order[0].tolist() == [1, 0]
        assert float(repair.minutes[0]) == pytest.approx(ISOLATING + 5 + PROOF)
        both = expected_cost(np.array([[1.0]]), np.array([[0, 1, -1]]), tasks, np.array([live]))
        assert float(both.minutes[0]) == pytest.approx(ISOLATING + 5 + PROOF + 7 + PROOF)

    def test_from_isolated_the_change_is_not_paid(self) -> None:
        """A remedy takes its own minutes and its proof when the plant stands right already."""
        costs = Costs(Dangers(BOOK, {}), State())
        live, isolated = costs.number({"supply": "live"}), costs.number({"supply": "isolated"})
        assert costs.of(BOOK.remedies["a"], live).minutes == ISOLATING + 7 + PROOF
        assert costs.of(BOOK.remedies["a"], isolated).minutes == 7 + PROOF
        assert costs.of(BOOK.remedies["a"], live).after == isolated

    def test_every_isolated_remedy_of_the_real_rule_book_is_cheaper_once_isolated(self) -> None:
        """By the minutes of isolation at least."""
        rule_book = real_rule_book()
        costs = Costs(Dangers(rule_book, {}), State())
        start = State().standing(rule_book)
        live, isolated = costs.number(start), costs.number({**start, "supply": "isolated"})
        minutes = next(each.minutes for each in rule_book.states["supply"].changes if each.to == "isolated")
        some = [each for each in rule_book.remedies.values() if each.needs.get("supply") == ("isolated",)]
        assert some
        for each in some:
            assert costs.of(each, live).minutes - costs.of(each, isolated).minutes >= minutes

    def test_a_remedy_beyond_the_person_takes_a_call_out_more(self) -> None:
        """And so does one that was set aside."""
        ordinary = Costs(Dangers(BOOK, {}), State(competence="ordinary"))
        live = ordinary.number({"supply": "live"})
        assert ordinary.tasks([live], ()).minutes[live].tolist() == [200.0, 198.0]
        skilled = Costs(Dangers(BOOK, {}), State())
        live = skilled.number({"supply": "live"})
        assert skilled.tasks([live], ("a",)).minutes[live].tolist() == [200.0, 18.0]

    def test_exposure_counts_as_minutes(self) -> None:
        """A remedy that brings up a danger counts as 20 minutes longer."""
        rule_book = book(
            finding("f"),
            cause("a", {"f": 0.5}),
            remedy("a", meets=("fire",)),
            caution("burn", {"meets": ("fire",)}, signal="danger"),
        )
        costs = Costs(Dangers(rule_book, {}), State())
        assert costs.of(rule_book.remedies["a"], costs.number({})).minutes == 10 + 20 + PROOF


class TestAsking:
    """What a check is worth."""

    def test_half_split_of_four_inverters(self) -> None:
        """Equal odds: 2 bits; the middle probe leaves 1, the first and third 1.18872; so the middle is taken."""
        weights = np.full(4, 0.25)
        probes = [
            Option(f"behind {place}", 1.0, np.array([[fault < place for fault in range(4)]] * 1, dtype=float))
            for place in (1, 2, 3)
        ]
        probes = [Option(each.name, 1.0, np.vstack((each.likelihoods, 1 - each.likelihoods))) for each in probes]
        left = [2 - information_gain(weights, each.likelihoods) for each in probes]
        assert left == pytest.approx([1.18872, 1.0, 1.18872], abs=5e-6)
        made = plan(weights, one_each(4), Tasks.of(np.full(4, 60.0)), 0, probes)
        assert made.worth[0].name == "behind 2"

    def test_information_gain(self) -> None:
        """Prior .5 .3 .2, P(positive) .9 .2 .1: positive .53, gain .452526 bit (by entropies)."""
        prior = np.array([0.5, 0.3, 0.2])
        table = np.array([[0.9, 0.2, 0.1], [0.1, 0.8, 0.9]])
        assert information_gain(prior, table) == pytest.approx(0.452526, abs=5e-7)
        joint = table * prior
        assert joint.sum(axis=1) == pytest.approx([0.53, 0.47])
        assert joint[0] / joint[0].sum() == pytest.approx([0.84906, 0.11321, 0.03774], abs=5e-6)
        assert joint[1] / joint[1].sum() == pytest.approx([0.10638, 0.51064, 0.38298], abs=5e-6)

    def test_a_check_is_worth_what_it_saves_less_its_own_minutes(self) -> None:
        """Two faults at even odds, 10 and 10 minutes: knowing which saves 5; the check takes 2 of them."""
        table = np.eye(2)
        made = plan(np.array([0.5, 0.5]), one_each(2), Tasks.of(np.full(2, 10.0)), 0, [Option("look", 2.0, table)])
        assert made.minutes == pytest.approx(15)
        assert made.worth[0].saves == pytest.approx(15 - 10 - 2)

    def test_a_check_that_tells_nothing_costs_its_minutes(self) -> None:
        """No gain, and a saving below zero."""
        table = np.full((2, 2), 0.5)
        made = plan(np.array([0.5, 0.5]), one_each(2), Tasks.of(np.full(2, 10.0)), 0, [Option("idle", 2.0, table)])
        assert (made.worth[0].gain, made.worth[0].saves) == (pytest.approx(0), pytest.approx(-2))

    @given(st.lists(st.floats(0.01, 1), min_size=3, max_size=3), st.lists(st.floats(0, 1), min_size=3, max_size=3))
    @settings(max_examples=60, deadline=None)
    def test_a_check_for_nothing_never_costs(self, weights: list[float], shows: list[float]) -> None:
        """With no minutes of its own, no check makes the expected repair longer, and none takes information away."""
        share = np.array(weights) / sum(weights)
        table = np.array([shows, [1 - each for each in shows]])
        made = plan(share, one_each(3), Tasks.of(np.array([10.0, 25.0, 40.0])), 0, [Option("look", 0.0, table)])
        assert made.worth[0].saves >= -1e-9
        assert made.worth[0].gain >= -1e-12


class TestNeedlessRemedies:
    """A remedy that was not needed costs more than its minutes."""

    ONE_EACH = np.array([[0, -1, -1], [1, -1, -1]])

    def tasks(self, needless: float) -> Tasks:
        """Return two remedies of 20 minutes."""
        return Tasks(np.array([[20.0, 20.0]]), np.zeros((1, 2), dtype=np.intp), None, needless)

    def test_only_what_was_not_needed_is_charged(self) -> None:
        """With 0.6 and 0.4: 20 minutes for the first, 40 and one needless remedy of 30 for the second."""
        repair = expected_cost(np.array([[0.6, 0.4]]), self.ONE_EACH, self.tasks(30.0), np.array([0]))
        assert repair.minutes[0] == pytest.approx(0.6 * 20 + 0.4 * (40 + 30))

    def test_a_cheap_look_comes_before_a_remedy_that_may_be_needless(self) -> None:
        """A look of 4 minutes that settles it is made first; were needless work free, the remedy would come first."""
        look = Option("look", 18.0, np.array([[1.0, 0.0], [0.0, 1.0]]))
        weights = np.array([0.6, 0.4])
        assert plan(weights, self.ONE_EACH, self.tasks(30.0), 0, [look]).check == "look"
        assert plan(weights, self.ONE_EACH, self.tasks(0.0), 0, [look]).check == ""


def test_where_no_remedy_helps_a_check_is_planned_all_the_same() -> None:
    """Every remedy left out: what remains is to look, and to hand over."""
    look = Option("look", 2.0, np.array([[0.9, 0.1], [0.1, 0.9]]), 0)
    nothing = Tasks(np.zeros((1, 0)), np.zeros((1, 0), dtype=np.intp), 60.0, 0.0)
    made = plan(np.array([0.5, 0.5]), np.full((2, 1), -2), nothing, 0, [look])
    assert made.tries == 0
    assert not len(made.order)


def test_a_remedy_that_takes_no_time_comes_first_and_one_that_nothing_needs_last() -> None:
    """Among several that take none the more probable one; nothing is divided by zero."""
    needs = np.array([[0, -1, -1], [1, -1, -1], [2, -1, -1]])
    repair = expected_cost(
        np.array([[0.2, 0.5, 0.3], [0.0, 0.4, 0.6]]), needs, Tasks.of(np.array([0.0, 5.0, 0.0])), np.array([0, 0])
    )
    assert repair.order.tolist() == [[2, 0, 1], [2, 1, 0]]
    assert repair.minutes.tolist() == [2.5, 2.0]
