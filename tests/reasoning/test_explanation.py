"""Why: findings for and against each cause in decibans, with their origin and source."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings

from diagnose.observations import CheckDone, FindingSeen, Measurement, State, WordEvidence
from diagnose.reasoning.diagnosis import diagnose
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.explanation import weight_of_evidence, weights_of_evidence
from diagnose.reasoning.posterior import Evidence, Network, build_network, posterior
from diagnose.rule_book.condition_types import Operand, Relation
from diagnose.rule_book.quantities import Quantity
from diagnose.rule_book.rules import InferenceRule
from tests.reasoning.books import book, cause, finding, yes_or_no
from tests.reasoning.independent import enumerated, network_of
from tests.reasoning.test_posterior import small_networks

BOOK = book(
    finding("dark", title="display is dark"),
    finding("warm", title="it is warm"),
    finding("loud", title="it is loud"),
    cause("fuse", {"dark": 0.9, "warm": 0.2}),
    cause("fan", {"loud": 0.8, "warm": 0.5}),
    yes_or_no("listen", "loud"),
    Quantity(id="current", title="current", unit="mA", si_factor=0.001),
    InferenceRule(
        id="no-current",
        when=Relation(quantity="current", relation="below", operands=(Operand(constant=0.002),)),
        present=("dark",),
        because="no current goes in",
        source="judgement",
    ),
)
ENGINE = Engine(BOOK)


class TestWeightOfEvidence:
    """Ten times the logarithm of the likelihood ratio (Good 1950)."""

    def test_likelihood_ratio_of_nine(self) -> None:
        """Sensitivity and specificity of 0.9 give 9.54 decibans and take odds of 1 to 19 to 9 to 19."""
        decibans = weight_of_evidence(0.9, 0.1)
        assert decibans == pytest.approx(9.542425, abs=5e-7)
        odds = 0.05 / 0.95 * 10 ** (decibans / 10)
        assert odds == pytest.approx(9 / 19)
        assert odds / (1 + odds) == pytest.approx(0.321429, abs=5e-7)

    @given(small_networks())
    @settings(max_examples=40, deadline=None)
    def test_each_finding_alone_moves_the_odds_by_its_weight(self, drawn: tuple[Network, Evidence]) -> None:
        """Prior odds of a cause times the weight are the odds by enumeration, whichever way the finding is known."""
        network, evidence = drawn
        if (network.strengths == 1).any():  # an absent finding that a cause never misses weighs minus infinity
            network = network_of(network.priors.tolist(), (network.strengths * 0.99).tolist(), network.leaks.tolist())
        weights = weights_of_evidence(network, evidence)
        known = [((name,), ()) for name in evidence.present] + [((), (name,)) for name in evidence.absent]
        for column, (present, absent) in enumerate(known):
            alone = Evidence(present, absent, misread=evidence.misread)
            given_some, joint = enumerated(network, alone)
            none = enumerated(network, Evidence(present, absent, dict.fromkeys(network.causes, 0.0), evidence.misread))[
                1
            ]
            for row, prior in enumerate(network.priors):
                probability = float(given_some[row] * (joint - none) / joint)
                odds = prior / (1 - prior) * 10 ** (weights[row, column] / 10)
                assert odds / (1 + odds) == pytest.approx(probability, rel=1e-6, abs=1e-12)

    def test_signs(self) -> None:
        """A finding that is shown speaks for its cause, one that stays away against it, and for no other."""
        network = network_of([0.1, 0.1], [[0.8, 0.0], [0.0, 0.8]], [0.1, 0.1])
        weights = weights_of_evidence(network, Evidence(("f0",), ("f1",)))
        assert np.sign(weights.round(9)).tolist() == [[1, 0], [0, -1]]


class TestReasons:
    """What "why" shows."""

    def reasons_of(self, name: str, *observations: FindingSeen | Measurement | CheckDone | WordEvidence) -> tuple:
        """Return the findings for and against a cause."""
        causes = {each.id: each for each in diagnose(ENGINE, {}, observations, State()).causes}
        return causes[name].supporting, causes[name].opposing

    def test_for_and_against(self) -> None:
        """Heaviest first, each on its side."""
        said = [FindingSeen(finding=name, present=present) for name, present in (("dark", False), ("warm", True))]
        supporting, opposing = self.reasons_of("fuse", *said)
        assert [each.finding for each in supporting] == ["warm"]
        assert [each.finding for each in opposing] == ["dark"]
        supporting, _ = self.reasons_of("fuse", FindingSeen(finding="dark", present=True), said[1])
        assert [each.finding for each in supporting] == ["dark", "warm"]

    def test_what_somebody_said_is_quoted(self) -> None:
        """In their own words, or as the check that they did."""
        (reason,), _ = self.reasons_of("fuse", FindingSeen(finding="dark", present=True, quote="black screen"))
        assert reason.origin == "said: “black screen”"
        (reason,), _ = self.reasons_of("fan", CheckDone(check="listen", answer="yes"))
        assert reason.origin == "listen → yes"

    def test_what_a_rule_concluded_names_the_rule_its_figures_and_its_source(self) -> None:
        """The reading as people read it, and the citation."""
        (reason,), _ = self.reasons_of("fuse", Measurement(quantity="current", value=0.0005))
        assert reason.rules == ("no-current",)
        assert reason.origin.startswith("no current goes in (current 0.5")
        assert reason.source == "somebody's judgement"

    def test_what_hardly_weighs_is_not_shown(self) -> None:
        """A finding that the cause does not show is no reason either way."""
        supporting, opposing = self.reasons_of("fuse", FindingSeen(finding="loud", present=True))
        assert (supporting, opposing) == ((), ())

    def test_words_of_a_report_stand_among_the_reasons(self) -> None:
        """By their weight, for one cause and against another, and with no finding of their own."""
        worded = WordEvidence(decibans={"fuse": 30.0, "fan": -6.0}, words={"fuse": ("wire", "bang")})
        seen = FindingSeen(finding="dark", present=True)
        (first, second), _ = self.reasons_of("fuse", seen, worded)
        assert (first.finding, first.decibans, second.finding) == ("", 30.0, "dark")
        assert first.title == "words in the report that fit: wire, bang"
        _, (against,) = self.reasons_of("fan", worded)
        assert (against.title, against.decibans) == ("words of the report fit other causes better", -6.0)

    def test_words_of_a_report_count_in_the_posterior_as_factors_on_the_odds(self) -> None:
        """10 dB are a factor of ten on the cause that they are said of."""
        seen = FindingSeen(finding="dark", present=True)
        network = build_network(BOOK, {})
        expected = posterior(network, Evidence(("dark",), (), {"fuse": 10.0, "fan": 0.1}))
        found = diagnose(ENGINE, {}, (seen, WordEvidence(decibans={"fuse": 10.0, "fan": -10.0})), State())
        for name, probability in zip(network.causes, expected.probabilities, strict=True):
            assert found.probability(name) == pytest.approx(probability)
        assert found.worded
