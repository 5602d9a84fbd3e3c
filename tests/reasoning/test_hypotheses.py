"""Combinations of causes: with up to three causes they are all there is, so they must be exact."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.reasoning.hypotheses import KEPT, Hypotheses, hypotheses
from diagnose.reasoning.posterior import Evidence, Network, build_network, posterior
from tests.reasoning.books import real_rule_book
from tests.reasoning.independent import network_of


@st.composite
def three_causes(draw: st.DrawFn) -> tuple[Network, Evidence]:
    """Draw a network of three causes and three findings, and evidence with a remedy tried."""
    strength = st.sampled_from([0.0, 0.2, 0.8]) | st.floats(0.001, 0.999)
    strengths = [draw(st.lists(strength, min_size=3, max_size=3)) for _ in range(3)]
    network = network_of(draw(st.lists(st.floats(0.001, 0.5), min_size=3, max_size=3)), strengths, [0.01, 0.1, 0.3])
    tried = draw(st.dictionaries(st.sampled_from(network.causes), st.sampled_from([0.05, 0.5]), max_size=2))
    return network, Evidence(("f0", "f1"), ("f2",), tried)


def share(likely: Hypotheses, causes: int) -> np.ndarray:
    """Return the probability of each cause by the combinations."""
    rows = [[cause in members for cause in range(causes)] for members in likely.members.tolist()]
    return np.asarray(likely.weights @ np.array(rows, dtype=float))


class TestHypotheses:
    """The combinations that planning looks ahead with."""

    @given(three_causes())
    @settings(max_examples=60, deadline=None)
    def test_all_combinations_of_three_causes_give_the_posterior(self, drawn: tuple[Network, Evidence]) -> None:
        """Singles, pairs and the triple are everything with a cause in it, so their sums are the exact posterior."""
        network, evidence = drawn
        exact = posterior(network, evidence).probabilities
        likely = hypotheses(network, evidence, exact)
        assert len(likely.weights) == 7
        assert share(likely, 3) == pytest.approx(exact, rel=1e-9)

    @given(three_causes())
    @settings(max_examples=30, deadline=None)
    def test_weights_and_silence(self, drawn: tuple[Network, Evidence]) -> None:
        """Weights fall and sum to one; a finding is silent when the leak and each member are."""
        network, evidence = drawn
        likely = hypotheses(network, evidence, posterior(network, evidence).probabilities)
        assert likely.weights.sum() == pytest.approx(1)
        assert (np.diff(likely.weights) <= 0).all()
        for members, silent in zip(likely.members, likely.silent, strict=True):
            there = [row for row in members if row >= 0]
            wanted = (1 - network.leaks) * np.prod(1 - network.strengths[there], axis=0)
            assert silent == pytest.approx(wanted)

    def test_causes_put_right_are_in_no_combination(self) -> None:
        """A factor of zero takes a cause out; with all causes out nothing is left."""
        network = network_of([0.1, 0.1], [[0.5], [0.5]], [0.1])
        one = Evidence(("f0",), (), {"c0": 0.0})
        likely = hypotheses(network, one, posterior(network, one).probabilities)
        assert likely.members.tolist() == [[1, -1, -1]]
        none = Evidence(("f0",), (), {"c0": 0.0, "c1": 0.0})
        assert len(hypotheses(network, none, posterior(network, none).probabilities).weights) == 0

    def test_on_the_real_rule_book_they_carry_almost_everything(self) -> None:
        """For what two causes show, the combinations kept give the exact posterior within a tenth."""
        network = build_network(real_rule_book(), {})
        random = np.random.default_rng(11)
        for _ in range(20):
            shown = [np.argsort(-network.strengths[row])[:2] for row in random.choice(len(network.causes), 2)]
            present = tuple(sorted({network.findings[column] for each in shown for column in each}))
            evidence = Evidence(present, ())
            exact = posterior(network, evidence).probabilities
            likely = hypotheses(network, evidence, exact)
            assert len(likely.weights) <= KEPT
            assert np.abs(share(likely, len(network.causes)) - exact).max() < 0.1

    def test_a_pair_of_likely_causes_is_there(self) -> None:
        """Two findings, each of one cause alone, are explained best by the pair."""
        strengths = np.zeros((30, 30))
        np.fill_diagonal(strengths, 0.9)
        network = network_of([0.01] * 30, strengths.tolist(), [1e-5] * 30)
        evidence = Evidence(("f3", "f7"), ())
        likely = hypotheses(network, evidence, posterior(network, evidence).probabilities)
        assert set(likely.members[0].tolist()) in [{*pair, -1} for pair in combinations((3, 7), 2)]
