"""The posterior is exact: against an exact-inference library, against enumeration, and in its properties."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count, islice
from typing import Any

import numpy as np
import pyagrum
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.reasoning.frequencies import frequency_on
from diagnose.reasoning.posterior import (
    MOST_PRESENT,
    Evidence,
    Network,
    applies,
    build_network,
    posterior,
    scaled_priors,
)
from diagnose.rule_book.quantities import AND_MORE, Quantity
from tests.reasoning.books import book, cause, finding, real_rule_book
from tests.reasoning.independent import enumerated, given_some_cause, library_model, network_of, no_cause

EVIDENCE_SETS = 100


def evidence_sets(network: Network, seed: int = 20) -> Iterator[Evidence]:
    """Yield evidence of 2 to 6 present and 0 to 12 absent findings.

    Half of the sets are drawn from all findings; in the other half the present ones come from what two causes show,
    so that many causes compete for them.
    """
    random = np.random.default_rng(seed)
    shown = [np.flatnonzero(row) for row in network.strengths]
    for number in count():
        pool = np.arange(len(network.findings))
        if number % 2:
            pair = random.choice(len(network.causes), 2, replace=False)
            pool = np.union1d(shown[pair[0]], shown[pair[1]])
        present = random.choice(pool, min(len(pool), int(random.integers(2, 7))), replace=False)
        others = np.setdiff1d(np.arange(len(network.findings)), present)
        absent = random.choice(others, int(random.integers(0, 13)), replace=False)
        names = [tuple(network.findings[column] for column in each) for each in (present, absent)]
        heard = {
            name: float(random.choice([0.02, 0.2])) for name in (*names[0], *names[1][:2]) if random.random() < 0.3
        }
        yield Evidence(*names, misread=heard)


@st.composite
def small_networks(draw: st.DrawFn) -> tuple[Network, Evidence]:
    """Draw 2 to 7 causes, 1 to 6 findings and evidence, with priors, strengths and leaks down to one in a million."""
    causes, findings = draw(st.integers(2, 7)), draw(st.integers(1, 6))
    prior = st.floats(1e-6, 0.5)
    strength = st.sampled_from([0.0, 0.0, 1e-6, 0.025, 0.2, 0.5, 0.8, 0.985, 1.0]) | st.floats(1e-9, 1.0)
    network = network_of(
        draw(st.lists(prior, min_size=causes, max_size=causes)),
        [draw(st.lists(strength, min_size=findings, max_size=findings)) for _ in range(causes)],
        draw(st.lists(st.floats(1e-6, 0.5), min_size=findings, max_size=findings)),
    )
    said = draw(st.lists(st.sampled_from(["present", "absent", "unknown"]), min_size=findings, max_size=findings))
    tried = draw(st.dictionaries(st.sampled_from(network.causes), st.sampled_from([0.0, 0.05, 0.2, 1.0]), max_size=3))
    present = tuple(name for name, word in zip(network.findings, said, strict=True) if word == "present")
    absent = tuple(name for name, word in zip(network.findings, said, strict=True) if word == "absent")
    heard = draw(
        st.dictionaries(st.sampled_from(network.findings), st.sampled_from([1e-6, 0.02, 0.2, 1.0]), max_size=4)
    )
    return network, Evidence(
        present, absent, tried, {name: heard[name] for name in (*present, *absent) if name in heard}
    )


class TestAgainstALibrary:
    """pyAgrum, exact inference by lazy propagation."""

    @pytest.mark.parametrize(
        ("sheet", "sets"),
        [({}, EVIDENCE_SETS), ({"output": ("4-20 mA",), "build": "compact"}, 20)],
        ids=["any meter", "compact"],
    )
    def test_posterior_is_the_librarys_on_the_real_rule_book(self, sheet: dict, sets: int) -> None:
        """On 100 random sets of evidence (20 for a second meter) each probability agrees within 1e-9.

        Drawn again are the few sets (about 1 in 15) whose junction tree would be too wide for the library.
        """
        network = build_network(real_rule_book(), sheet)
        models = (library_model(network, evidence) for evidence in evidence_sets(network))
        for model in islice((each for each in models if each), sets):
            evidence = model.evidence
            ours = posterior(network, evidence)
            marginals, joint = model.infer()
            wanted = given_some_cause(network, evidence, marginals, joint)
            assert np.abs(ours.probabilities - wanted).max() < 1e-9, evidence
            assert ours.evidence_probability == pytest.approx(joint, rel=1e-9)

    def test_one_node_with_all_parents_says_the_same_as_the_chain(self) -> None:
        """Where a finding has few causes, the library's noisy-OR without any rewriting gives the same."""
        network = build_network(real_rule_book(), {})
        causes_of = dict(zip(network.findings, np.count_nonzero(network.strengths, axis=0), strict=True))
        few = [name for name, causes in causes_of.items() if 2 <= causes <= 8][:12]
        for start in range(0, 12, 4):
            evidence = Evidence(tuple(few[start : start + 3]), (few[start + 3],))
            model = _plain_model(network, evidence)
            engine = pyagrum.VariableElimination(model)
            engine.setEvidence({**dict.fromkeys(evidence.present, 1), **dict.fromkeys(evidence.absent, 0)})
            causes = [name for name in network.causes if model.exists(name)]
            marginals = {name: engine.posterior(name)[1] for name in causes}
            ours = posterior(network, evidence)
            unconditioned = 1 - no_cause(network, evidence) / ours.evidence_probability
            for name, wanted in marginals.items():
                row = network.causes.index(name)
                assert ours.probabilities[row] * unconditioned == pytest.approx(wanted, abs=1e-9)


def _plain_model(network: Network, evidence: Evidence) -> pyagrum.BayesNet:
    model = pyagrum.BayesNet()
    for name in (*evidence.present, *evidence.absent):
        column = network.column[name]
        model.addNoisyORNet(pyagrum.LabelizedVariable(name, "", 2), float(network.leaks[column]))
        for row in np.flatnonzero(network.strengths[:, column]):
            parent = network.causes[row]
            if not model.exists(parent):
                model.add(pyagrum.LabelizedVariable(parent, "", 2))
                model.cpt(parent).fillWith([1 - network.priors[row], network.priors[row]])
            model.addWeightedArc(parent, name, float(network.strengths[row, column]))
    return model


PRIORS, LEAKS = [0.02, 0.01, 0.05], [0.01, 0.02, 0.01]
STRENGTHS = [[0.9, 0.5, 0.0], [0.0, 0.8, 0.7], [0.3, 0.0, 0.6]]


class TestWorkedExample:
    """Three causes, three findings; figures by enumeration, by quickscore (Heckerman 1989) and by pyAgrum."""

    network = network_of(PRIORS, STRENGTHS, LEAKS)
    evidence = Evidence(("f0", "f1"), ("f2",))

    def unconditioned(self) -> list[float]:
        """Return P(cause | evidence) without the condition that some cause is there."""
        ours = posterior(self.network, self.evidence)
        some = 1 - no_cause(self.network, self.evidence) / ours.evidence_probability
        return [float(each) for each in ours.probabilities * some]

    def test_published_figures(self) -> None:
        """P(evidence) 0.0091269352; causes 0.96307158, 0.00914410, 0.03499525."""
        assert posterior(self.network, self.evidence).evidence_probability == pytest.approx(0.0091269352, abs=5e-11)
        assert self.unconditioned() == pytest.approx([0.96307158, 0.00914410, 0.03499525], abs=5e-9)

    def test_the_condition_that_some_cause_is_there_raises_all_alike(self) -> None:
        """P(cause | evidence, at least one) is P(cause, evidence) over P(evidence) less P(no cause, evidence)."""
        none = 0.98 * 0.99 * 0.95 * 0.01 * 0.02 * 0.99
        wanted = np.array([0.96307158, 0.00914410, 0.03499525]) * 0.0091269352 / (0.0091269352 - none)
        assert posterior(self.network, self.evidence).probabilities == pytest.approx(wanted, abs=1e-7)

    def test_the_other_convention_for_leaks_differs(self) -> None:
        """`addNoisyORCompound` counts the leak into the links: 0.962497, 0.009353, 0.035287, which is not ours."""
        model = pyagrum.BayesNet()
        for number, prior in enumerate(PRIORS):
            model.add(pyagrum.LabelizedVariable(f"c{number}", "", 2))
            model.cpt(f"c{number}").fillWith([1 - prior, prior])
        for column, leak in enumerate(LEAKS):
            model.addNoisyORCompound(pyagrum.LabelizedVariable(f"f{column}", "", 2), leak)
            for row in range(3):
                if STRENGTHS[row][column]:
                    model.addWeightedArc(f"c{row}", f"f{column}", STRENGTHS[row][column])
        engine = pyagrum.LazyPropagation(model)
        engine.setEvidence({"f0": 1, "f1": 1, "f2": 0})
        other = [engine.posterior(f"c{number}")[1] for number in range(3)]
        assert other == pytest.approx([0.962497, 0.009353, 0.035287], abs=5e-7)
        assert max(abs(a - b) for a, b in zip(other, self.unconditioned(), strict=True)) > 1e-4

    def test_bayes_rule_with_one_cause(self) -> None:
        """Prior 0.05, sensitivity and specificity 0.9 give 0.321429."""
        network = network_of([0.05], [[1 - 0.1 / 0.9]], [0.1])
        ours = posterior(network, Evidence(("f0",), ()))
        share = 1 - no_cause(network, Evidence(("f0",), ())) / ours.evidence_probability
        assert share == pytest.approx(0.321429, abs=5e-7)


class TestAgainstEnumeration:
    """All combinations of causes summed in exact fractions."""

    @given(small_networks())
    @settings(max_examples=150, deadline=None)
    def test_posterior_is_the_enumerated_one(self, drawn: tuple[Network, Evidence]) -> None:
        """On any small network, remedies tried among the evidence, however improbable all of it is."""
        network, evidence = drawn
        ours = posterior(network, evidence)
        wanted, joint = enumerated(network, evidence)
        assert ours.probabilities == pytest.approx([float(each) for each in wanted], rel=1e-9, abs=1e-15)
        assert ours.evidence_probability == pytest.approx(float(joint), rel=1e-9)

    def test_nothing_cancels_where_the_evidence_is_next_to_impossible(self) -> None:
        """At a joint probability of about 1e-21 every probability keeps nine figures."""
        strengths = [[1e-4 * (1 + (row * column) % 3) for column in range(6)] for row in range(7)]
        network = network_of([1e-3] * 7, strengths, [2e-4 * (1 + column) for column in range(6)])
        evidence = Evidence(network.findings, ())
        wanted, joint = enumerated(network, evidence)
        assert 1e-22 < joint < 1e-18
        ours = posterior(network, evidence)
        assert ours.probabilities == pytest.approx([float(each) for each in wanted], rel=1e-9, abs=0)
        assert ours.evidence_probability == pytest.approx(float(joint), rel=1e-9, abs=0)

    def test_all_causes_put_right_leaves_nothing(self) -> None:
        """With a factor of zero for every cause all probabilities are zero, and none is undefined."""
        network = network_of(PRIORS, STRENGTHS, LEAKS)
        ours = posterior(network, Evidence(("f0",), ("f2",), dict.fromkeys(network.causes, 0.0)))
        assert ours.probabilities.tolist() == [0.0, 0.0, 0.0]


class TestProperties:
    """What holds whatever the network."""

    @given(small_networks())
    @settings(max_examples=100, deadline=None)
    def test_probabilities_are_probabilities_and_add_up_to_one_cause_at_least(
        self, drawn: tuple[Network, Evidence]
    ) -> None:
        """Each lies between 0 and 1; together they come to at least 1, for one cause at least is there."""
        probabilities = posterior(*drawn).probabilities
        assert (probabilities >= 0).all()
        assert (probabilities <= 1 + 1e-12).all()
        assert probabilities.sum() >= 1 - 1e-9 or not probabilities.any()

    @given(small_networks(), st.randoms(use_true_random=False))
    @settings(max_examples=60, deadline=None)
    def test_the_order_of_findings_does_not_matter(self, drawn: tuple[Network, Evidence], random: Any) -> None:
        """Findings in another order give the same probabilities."""
        network, evidence = drawn
        mixed = Evidence(
            tuple(random.sample(evidence.present, len(evidence.present))),
            tuple(random.sample(evidence.absent, len(evidence.absent))),
            evidence.factors,
            evidence.misread,
        )
        ours, other = posterior(network, evidence), posterior(network, mixed)
        assert ours.probabilities == pytest.approx(other.probabilities, rel=1e-9, abs=1e-15)

    @given(small_networks(), st.floats(1e-3, 1.0), st.booleans())
    @settings(max_examples=60, deadline=None)
    def test_a_finding_that_only_one_cause_shows_moves_it_the_right_way(
        self, drawn: tuple[Network, Evidence], strength: float, present: bool
    ) -> None:
        """Absent, it never raises that cause; present, it never lowers it."""
        network, evidence = drawn
        column = np.zeros((len(network.causes), 1))
        column[0] = strength
        wider = network_of(
            network.priors.tolist(),
            np.hstack((network.strengths, column)).tolist(),
            [*network.leaks.tolist(), 0.05],
        )
        new = wider.findings[-1]
        more = Evidence(
            (*evidence.present, *([new] if present else [])),
            (*evidence.absent, *([] if present else [new])),
            evidence.factors,
            evidence.misread,
        )
        before, after = posterior(wider, evidence).probabilities[0], posterior(wider, more).probabilities[0]
        if present:
            assert after >= before - 1e-12
        else:
            assert after <= before + 1e-12

    def test_an_absent_finding_may_raise_a_cause_that_shows_it_less_than_its_rival(self) -> None:
        """Two causes compete for f0; that f1 is absent speaks against both, and far more against the second."""
        network = network_of([0.01, 0.01], [[0.8, 0.1], [0.8, 0.95]], [0.001, 0.01])
        before = posterior(network, Evidence(("f0",), ())).probabilities
        after = posterior(network, Evidence(("f0",), ("f1",))).probabilities
        assert after[0] > before[0]
        assert after[1] < before[1]

    @given(small_networks())
    @settings(max_examples=40, deadline=None)
    def test_an_absent_finding_that_nothing_shows_changes_no_cause(self, drawn: tuple[Network, Evidence]) -> None:
        """It only makes the evidence as a whole less probable."""
        network, evidence = drawn
        strengths = np.hstack((network.strengths, np.zeros((len(network.causes), 1))))
        wider = network_of(network.priors.tolist(), strengths.tolist(), [*network.leaks.tolist(), 0.25])
        more = Evidence(evidence.present, (*evidence.absent, wider.findings[-1]), evidence.factors, evidence.misread)
        before, after = posterior(wider, evidence), posterior(wider, more)
        assert after.probabilities == pytest.approx(before.probabilities, rel=1e-12, abs=1e-15)
        assert after.evidence_probability == pytest.approx(0.75 * before.evidence_probability, rel=1e-12)


class TestManyFindings:
    """More present findings than the exact method carries."""

    def test_those_that_tell_least_are_left_out_and_named(self) -> None:
        """The result is that without the findings left out, and each of these tells causes apart less than any kept."""
        random = np.random.default_rng(7)
        strengths = random.choice([0.0, 0.0, 0.2, 0.5, 0.8], (30, MOST_PRESENT + 4))
        network = network_of([0.01] * 30, strengths.tolist(), random.uniform(0.002, 0.4, MOST_PRESENT + 4).tolist())
        ours = posterior(network, Evidence(network.findings, ()))
        kept = tuple(name for name in network.findings if name not in ours.left_out)
        assert len(ours.left_out) == 4
        without = posterior(network, Evidence(kept, ()))
        assert without.left_out == ()
        assert ours.probabilities.tolist() == without.probabilities.tolist()
        telling = strengths.max(axis=0) / (network.leaks + network.priors @ strengths)
        assert min(telling[network.column[n]] for n in kept) >= max(telling[network.column[n]] for n in ours.left_out)

    def test_exactly_as_many_as_it_carries_are_all_kept(self) -> None:
        """None is left out at the limit itself."""
        network = network_of([0.1, 0.1], [[0.5] * MOST_PRESENT] * 2, [0.01] * MOST_PRESENT)
        assert posterior(network, Evidence(network.findings, ())).left_out == ()

    def test_every_finding_of_the_real_rule_book_at_once(self) -> None:
        """Nonsense of that size still gets an answer, with the rest named."""
        network = build_network(real_rule_book(), {})
        ours = posterior(network, Evidence(network.findings, ()))
        assert len(ours.left_out) == len(network.findings) - MOST_PRESENT
        assert np.isfinite(ours.probabilities).all()


class TestPriors:
    """Shares among complaints become priors."""

    @pytest.mark.parametrize(
        "sheet",
        [{}, {"output": ("4-20 mA",)}, {"build": "compact", "output": ("pulse",)}],
        ids=["any", "loop", "compact pulse"],
    )
    def test_several_at_once_is_what_the_rule_book_states(self, sheet: dict) -> None:
        """Whatever causes apply, P(two or more | at least one) is the rule book's, and shares keep their ratios."""
        rule_book = real_rule_book()
        network = build_network(rule_book, sheet)
        none = float(np.prod(1 - network.priors))
        one = none * float(np.sum(network.priors / (1 - network.priors)))
        assert (1 - none - one) / (1 - none) == pytest.approx(rule_book.settings.several_at_once, rel=1e-9)
        shares = np.array([frequency_on(rule_book, rule_book.causes[name], sheet) for name in network.causes])
        assert network.priors / shares == pytest.approx(np.full(len(shares), network.priors[0] / shares[0]))

    @given(st.lists(st.floats(0.1, 10), min_size=1, max_size=40), st.floats(0.01, 0.5))
    @settings(max_examples=60, deadline=None)
    def test_no_prior_exceeds_one_half(self, shares: list[float], several: float) -> None:
        """Not even with one cause, or shares that cannot reach the figure wanted."""
        assert (scaled_priors(shares, several) <= 0.5).all()

    def test_causes_that_do_not_apply_are_not_in_the_network(self) -> None:
        """What the data sheet contradicts is out; what it does not say contradicts nothing."""
        loop = cause("loop", {"f": 0.5}, applies={"output": ("4-20 mA",)})
        rule_book = book(finding("f"), loop, cause("other", {"f": 0.5}))
        assert build_network(rule_book, {"output": ("pulse",)}).causes == ("other",)
        assert build_network(rule_book, {"output": ("pulse", "4-20 mA")}).causes == ("loop", "other")
        assert build_network(rule_book, {}).causes == ("loop", "other")
        assert applies({}, {"output": ("pulse",)})

    @pytest.mark.parametrize(
        ("sheet", "share"),
        [
            ({}, 0.1),
            ({"output": ("pulse", "bus")}, 1.0),
            ({"output": ("pulse", AND_MORE)}, 0.1),
            ({"output": ("bus",)}, 1.0),
        ],
    )
    def test_a_cause_counts_as_often_as_there_are_meters_that_can_have_it(self, sheet: dict, share: float) -> None:
        """Where nobody says what a meter has, its shares count; two words of which either will do, together."""
        output = Quantity(
            id="output", title="output", choices=("pulse", "bus", "loop"), shares={"bus": 0.1, "pulse": 0.5}
        )
        causes = [
            cause("bus", {"f": 0.5}, applies={"output": ("bus",)}),
            cause("any", {"f": 0.5}),
            cause("either", {"f": 0.5}, applies={"output": ("pulse", "bus")}),
        ]
        network = build_network(book(finding("f"), output, *causes), sheet)
        priors = dict(zip(network.causes, network.priors, strict=True))
        assert priors["bus"] / priors["any"] == pytest.approx(share)
        assert priors["either"] / priors["any"] == pytest.approx(0.1 + 0.5 if not sheet else 1.0)

    def test_a_cause_that_stands_for_others_shows_every_symptom(self) -> None:
        """`shows_others` counts for symptoms that the cause does not list, not for results or history."""
        parts = [
            finding("s1", kind="symptom"),
            finding("s2", kind="symptom"),
            finding("r"),
            finding("h", kind="history"),
        ]
        network = build_network(book(*parts, cause("unknown", {"s2": 0.8}, shows_others=0.1)), {})
        assert dict(zip(network.findings, network.strengths[0], strict=True)) == {"h": 0, "r": 0, "s1": 0.1, "s2": 0.8}

    def test_finding_probabilities_are_those_of_the_library(self) -> None:
        """Prior probabilities of the worked example's findings, as exact inference gives them."""
        network = network_of(PRIORS, STRENGTHS, LEAKS)
        for number, ours in enumerate(network.finding_probabilities):
            assert ours == pytest.approx(float(enumerated(network, Evidence((f"f{number}",), ()))[1]), rel=1e-12)
