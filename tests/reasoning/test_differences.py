"""Readings as one observation of causes: the sums against plain enumeration of every combination of causes."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.reasoning.differences import Differences, InReadings, by_priors, in_combinations, weights_of_readings
from diagnose.reasoning.hypotheses import hypotheses
from diagnose.reasoning.posterior import Evidence, Network, posterior
from diagnose.reasoning.sweep import Showing
from diagnose.rule_book.patterns import Comparisons

MECHANISMS = ("none", "other", "a", "b")
KNOWN = Comparisons(nothing="none", another="other", several={"other": 0.6, "b": 0.4})
SHARES = st.floats(0.0, 1.0)


@st.composite
def networks(draw: st.DrawFn) -> tuple[Network, Evidence]:
    """Draw three causes, two findings of which one is present, and one or two comparisons."""
    causes = ("x", "y", "z")
    strengths = np.array(draw(st.lists(st.lists(SHARES, min_size=2, max_size=2), min_size=3, max_size=3)))
    network = Network(
        causes=causes,
        findings=("f", "g"),
        priors=np.array(draw(st.lists(st.floats(0.001, 0.5), min_size=3, max_size=3))),
        strengths=strengths,
        leaks=np.array(draw(st.lists(st.floats(0.001, 0.9), min_size=2, max_size=2))),
        column={"f": 0, "g": 1},
        differences=Differences(mechanisms=MECHANISMS, known=KNOWN),
    )
    readings = tuple(draw(st.lists(comparisons(), min_size=1, max_size=2)))
    return network, Evidence(("f",), ("g",), {}, {}, readings)


@st.composite
def comparisons(draw: st.DrawFn) -> InReadings:
    """Draw what a comparison says of three causes."""
    takes = np.array(draw(st.lists(st.lists(st.floats(0, 0.33), min_size=4, max_size=4), min_size=3, max_size=3)))
    takes[:, 0] = 0.0
    likeness = np.array(draw(st.lists(st.floats(0.001, 1.0), min_size=4, max_size=4)))
    leak = draw(st.floats(0.0, 0.3))
    showing = Showing(
        shows=takes.sum(axis=1),
        weighted=takes @ likeness,
        nothing=float(likeness[0]),
        several=float(0.6 * likeness[1] + 0.4 * likeness[3]),
        leak=leak,
        leak_weighted=leak * float(likeness[1]),
    )
    return InReadings(showing, takes, likeness, np.array(draw(st.lists(st.floats(0.1, 1.0), min_size=4, max_size=4))))


def of_readings(readings: InReadings, there: tuple[bool, ...]) -> float:
    """Return the likelihood of a comparison, for causes that are there, by every way in which they may show."""
    showing, total = readings.showing, 0.0
    members = [number for number, each in enumerate(there) if each]
    for leaks in (False, True):
        for shown in product((False, True), repeat=len(members)):
            chance = showing.leak if leaks else 1 - showing.leak
            for number, shows in zip(members, shown, strict=True):
                chance *= showing.shows[number] if shows else 1 - showing.shows[number]
            those = [number for number, shows in zip(members, shown, strict=True) if shows]
            if len(those) + leaks == 0:
                likely = showing.nothing
            elif len(those) + leaks > 1:
                likely = showing.several
            elif leaks:
                likely = showing.leak_weighted / showing.leak if showing.leak else 0.0
            else:
                likely = showing.weighted[those[0]] / showing.shows[those[0]] if showing.shows[those[0]] else 0.0
            total += chance * likely
    return total


def joint(network: Network, evidence: Evidence, there: tuple[bool, ...]) -> float:
    """Return the joint probability of a combination of causes and the evidence."""
    rows = [number for number, each in enumerate(there) if each]
    chance = math.prod(
        network.priors[number] if each else 1 - network.priors[number] for number, each in enumerate(there)
    )
    silent = (1 - network.leaks) * np.prod(1 - network.strengths[rows], axis=0)
    return chance * (1 - silent[0]) * silent[1] * math.prod(of_readings(each, there) for each in evidence.readings)


@settings(max_examples=60, deadline=None)
@given(networks())
def test_the_sums_are_those_over_every_combination(drawn: tuple[Network, Evidence]) -> None:
    """Probabilities of causes and that of the evidence, with one and with two comparisons."""
    network, evidence = drawn
    every = {there: joint(network, evidence, there) for there in product((False, True), repeat=3)}
    some = sum(each for there, each in every.items() if any(there))
    found = posterior(network, evidence)
    assert found.evidence_probability == pytest.approx(sum(every.values()), rel=1e-9)
    for number in range(3):
        with_it = sum(each for there, each in every.items() if there[number])
        assert found.probabilities[number] == pytest.approx(with_it / some, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(networks())
def test_mechanisms_are_told_as_the_sums_have_them(drawn: tuple[Network, Evidence]) -> None:
    """The probability of a mechanism is its share of the evidence, as far as the readings tell of what was thought."""
    network, evidence = drawn
    found = posterior(network, evidence).mechanisms[0]
    shares = {name: of_mechanism(network, evidence, number) for number, name in enumerate(MECHANISMS)}
    assert math.fsum(shares.values()) == pytest.approx(1.0)
    meant = np.array(list(shares.values())) * evidence.readings[0].meant
    assert found == pytest.approx(meant / meant.sum(), rel=1e-6, abs=1e-9)


def of_mechanism(network: Network, evidence: Evidence, number: int) -> float:
    """Return the share of the evidence to which the likelihood of one mechanism contributes."""
    first, name = evidence.readings[0], MECHANISMS[number]
    only = np.zeros(4)
    only[number] = first.likeness[number]
    showing = Showing(
        shows=first.showing.shows,
        weighted=first.takes @ only,
        nothing=first.showing.nothing if name == "none" else 0.0,
        several={"other": 0.6, "b": 0.4}.get(name, 0.0) * first.likeness[number],
        leak=first.showing.leak,
        leak_weighted=first.showing.leak_weighted if name == "other" else 0.0,
    )
    part = replace(evidence, readings=(InReadings(showing, first.takes, only, first.meant), *evidence.readings[1:]))
    theirs, whole = (
        sum(joint(network, each, there) for there in product((False, True), repeat=3) if any(there))
        for each in (part, evidence)
    )
    return theirs / whole


@settings(max_examples=60, deadline=None)
@given(networks())
def test_combinations_weigh_as_much_as_their_joint_probability(drawn: tuple[Network, Evidence]) -> None:
    """What planning looks at: every combination of one, two and three causes."""
    network, evidence = drawn
    likely = hypotheses(network, evidence, posterior(network, evidence).probabilities)
    every = {there: joint(network, evidence, there) for there in product((False, True), repeat=3) if any(there)}
    whole = sum(every.values())
    for members, weight in zip(likely.members.tolist(), likely.weights.tolist(), strict=True):
        there = tuple(number in members for number in range(3))
        assert weight == pytest.approx(every[there] / whole, rel=1e-6, abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(networks())
def test_by_priors_and_for_each_cause(drawn: tuple[Network, Evidence]) -> None:
    """The likelihood of readings alone, and how it changes with one cause there or not, in decibans (Good 1950)."""
    network, evidence = drawn
    readings = evidence.readings[0]
    given_ = {True: np.zeros(3), False: np.zeros(3)}
    whole = 0.0
    for there in product((False, True), repeat=3):
        chance = [network.priors[number] if each else 1 - network.priors[number] for number, each in enumerate(there)]
        likely = of_readings(readings, there)
        whole += math.prod(chance) * likely
        for number in range(3):
            given_[there[number]][number] += math.prod(chance) / chance[number] * likely
    assert by_priors(readings.showing, network.priors) == pytest.approx(whole, rel=1e-9)
    wanted = 10 * np.log10(given_[True] / given_[False])
    assert weights_of_readings(readings.showing, network.priors) == pytest.approx(wanted, abs=1e-6)


def test_a_cause_that_is_nobody_shows_nothing() -> None:
    """Combinations of fewer than three causes are filled up with none."""
    showing = Showing(np.array([0.5]), np.array([0.4]), nothing=0.1, several=0.2)
    found = in_combinations(showing, np.array([[0.5, 0.0, 0.0]]), np.array([[0.4, 0.0, 0.0]]))
    assert found == pytest.approx([0.5 * 0.1 + 0.4])
