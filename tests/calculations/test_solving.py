"""All that follows from what is given, once each; nothing given is replaced; uncertainty goes along."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from diagnose.calculations import CALCULATIONS, FUNCTIONS, SUBJECTS
from diagnose.calculations.bus_addresses import LOADS
from diagnose.calculations.calculation import AnyCalculation
from diagnose.calculations.flow_units import FLOW_UNITS
from diagnose.calculations.solving import could_follow, nominal, solve, standard_uncertainty
from diagnose.calculations.supply import VOLTAGE_BANDS
from diagnose.terms import ANY_UNIT, TERMS, shipped_terms
from diagnose.units import unit_info

VELOCITY = CALCULATIONS["velocity"]
FLOW = CALCULATIONS["flow-from-velocity"]
DEVIATION = CALCULATIONS["deviation"]
PAIR = (VELOCITY, FLOW)


def test_a_result_is_worked_out_from_what_is_given() -> None:
    """60 m³/h in 100 mm is 2.12207 m/s (continuity)."""
    solved = solve({"flow": 60 / 3600, "bore": 0.1}, PAIR)
    assert [(each.calculation.name, each.result) for each in solved.worked] == [
        ("velocity", pytest.approx(2.12207, rel=3e-6))
    ]


def test_what_is_given_is_never_replaced_but_its_contradiction_told() -> None:
    """Flow and bore make another velocity than the one given: both stay visible."""
    solved = solve({"flow": 60 / 3600, "bore": 0.1, "velocity": 3.0}, PAIR)
    assert solved.worked == ()
    assert [each.result for each in solved.contradictions] == [pytest.approx(2.12207, rel=3e-6)]


def test_a_contradiction_is_told_though_something_was_taken_for_want_of_better() -> None:
    """37.5 of 0 to 100 is 10 mA; 12 mA does not fit, and that LRV was taken as zero is told with it."""
    given = {"flow": 37.5, "upper-range-value": 100.0, "loop-current": 0.012}
    solved = solve(given, [CALCULATIONS["current-from-flow"]])
    assert [(each.result, each.taken) for each in solved.contradictions] == [
        (pytest.approx(0.010), {"lower-range-value": 0.0})
    ]
    assert solved.unused == ()


@pytest.mark.parametrize("turned", [False, True])
def test_what_may_be_left_out_counts_where_it_follows_in_whatever_order(turned: bool) -> None:
    """20 km of 1.5 mm2 (IEC 60228: 12.1 ohm/km) add 484 ohm to the receiver's 250, before the load is worked out."""
    calculations = SUBJECTS["loop"].calculations
    given = {"receiver-resistance": 250.0, "cable-length": 20_000.0, "conductor-area": 1.5e-6}
    solved = solve(given, tuple(reversed(calculations)) if turned else calculations)
    results = {each.calculation.gives: each.result for each in solved.worked}
    assert results["loop-load"] == pytest.approx(734.0)


def test_values_that_fit_together_contradict_nothing() -> None:
    """What was rounded for typing is no contradiction."""
    assert solve({"flow": 60 / 3600, "bore": 0.1, "velocity": 2.12}, PAIR).contradictions == ()


def test_what_is_out_of_range_is_refused_by_name_and_the_rest_goes_on() -> None:
    """A reference of zero makes no deviation, but the velocity is still told."""
    given = {"flow": 0.01, "bore": 0.1, "indicated": 0.01, "reference": 0.0}
    solved = solve(given, (*PAIR, DEVIATION))
    assert [each.calculation.name for each in solved.worked] == ["velocity"]
    assert [(each.name, text) for each, text in solved.refused] == [
        ("deviation", "a deviation needs a reference that is not zero")
    ]


def test_what_was_not_needed_is_told() -> None:
    """Somebody who gives a thing expects it to matter."""
    assert solve({"flow": 0.01, "bore": 0.1, "temperature": 293.15}, PAIR).unused == ("temperature",)


def test_what_is_missing_is_known_nearest_first() -> None:
    """From the flow alone nothing follows; the velocity lacks only the bore."""
    assert could_follow(["flow"], (DEVIATION, VELOCITY)) == (VELOCITY,)


def test_uncertainty_is_propagated_as_the_guide_says() -> None:
    """v = 4Q/(πD²): u(v)/v = sqrt((u(Q)/Q)² + (2 u(D)/D)²) (JCGM 100:2008, 5.1.6)."""
    solved = solve({"flow": ufloat(0.01, 0.0001), "bore": ufloat(0.1, 0.0005)}, PAIR)
    result = solved.worked[0].result
    assert nominal(result) == pytest.approx(0.04 / (math.pi * 0.01))
    assert standard_uncertainty(result) / nominal(result) == pytest.approx(math.hypot(0.01, 0.01))


@given(flow=st.floats(1e-6, 10), bore=st.floats(0.005, 3))
def test_an_inverse_pair_leads_back(flow: float, bore: float) -> None:
    """Velocity from flow and flow from that velocity are one."""
    velocity = solve({"flow": flow, "bore": bore}, PAIR).worked[0].result
    assert solve({"velocity": velocity, "bore": bore}, PAIR).worked[0].result == pytest.approx(flow)


@pytest.mark.parametrize("calculation", CALCULATIONS.values(), ids=lambda each: each.name)
def test_every_calculation_says_what_it_is(calculation: AnyCalculation) -> None:
    """Its terms are declared with units that are known; it has a formula, a source, and gives a term or a table."""
    assert calculation.formula
    assert calculation.source
    assert calculation.title
    assert ">>>" in (calculation.__doc__ or ""), "a worked example belongs in the docstring"
    for name in (*calculation.inputs, *filter(None, [calculation.gives])):
        term = TERMS[name]
        assert term.title
        if term.unit != ANY_UNIT:
            unit_info(term.unit)


def test_no_name_stands_for_two_calculations() -> None:
    """The table by which rules name them has them all."""
    every = [each for subject in SUBJECTS.values() for each in subject.calculations]
    names = [each.name for each in every]
    assert len({id(CALCULATIONS[name]) for name in names}) == len(set(names))
    assert {name for name, each in CALCULATIONS.items() if each.gives} == set(FUNCTIONS)


def test_every_name_of_a_calculation_stands_in_the_vocabulary() -> None:
    """An argument or a result that no quantity of the shipped rule book has is a mistake of the calculation."""
    names = {name for each in CALCULATIONS.values() for name in (*each.inputs, each.gives) if name}
    judged = {name for subject in SUBJECTS.values() for name in subject.judged}
    assert names | judged <= shipped_terms().keys()


def test_tables_have_the_words_of_the_vocabulary() -> None:
    """What Python looks up by a word is there for every word, and for no other."""
    terms = shipped_terms()
    assert set(terms["typical-liquid"].choices) == {"all", *terms["typical-liquid"].figures["liquid-conductivity"]}
    assert set(terms["typical-liquid"].choices) == {"all", *terms["typical-liquid"].figures_from}
    disturbance = terms["flow-disturbance"]
    for run in ("required-run-upstream", "required-run-downstream"):
        assert set(disturbance.choices) == set(disturbance.figures[run])
    assert set(terms["number-unit"].choices) == set(terms["label-unit"].choices) == set(FLOW_UNITS)
    assert set(terms["unit-load-of-device"].choices) == set(terms["unit-load-of-master"].choices) == set(LOADS)
    assert set(terms["supply-kind"].choices) == set(VOLTAGE_BANDS)


def test_short_names_are_unique() -> None:
    """`--lrv` means one thing only."""
    names = [name for term in TERMS.values() for name in (term.id, *term.short)]
    assert len(names) == len(set(names))
