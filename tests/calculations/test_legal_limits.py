"""Maximum permissible errors of water meters, and the verdict on a deviation."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from diagnose.calculations import SUBJECTS
from diagnose.calculations.legal_limits import (
    conformity,
    flow_ratio,
    minimum_flow,
    overload_flow,
    permissible_error,
    transitional_flow,
    zone_of_flow,
    zone_of_reference,
)
from diagnose.calculations.solving import solve
from diagnose.errors import OutOfRange

CALCULATIONS = SUBJECTS["comparison"].calculations

WORKED: list[tuple[Callable[..., float], tuple[float, ...], float]] = [
    # Fact 8.15: OIML R 49-1 / ISO 4064-1, Directive 2014/32/EU Annex III: Q3 100 m3/h, R 160
    (minimum_flow, (100.0, 160.0), 0.625),
    (flow_ratio, (100.0, 0.625), 160.0),
    (transitional_flow, (0.625,), 1.0),
    (overload_flow, (100.0,), 125.0),
]


@pytest.mark.parametrize(("function", "inputs", "value"), WORKED, ids=[each[0].__name__ for each in WORKED])
def test_a_worked_value(function: Callable[..., float], inputs: tuple[float, ...], value: float) -> None:
    """The function gives the value of the fact sheet."""
    assert function(*inputs) == pytest.approx(value, rel=1e-12)


LIMITS: list[tuple[str, float, float, str, float]] = [
    # class, flow [m3/h] of Q3 100 R 160, water [degC], zone, permissible error [%]
    # Fact 8.13: class 2, OIML R 49-1 / Directive 2014/32/EU Annex III
    ("2", 0.625, 20, "lower zone", 5),
    ("2", 0.99, 20, "lower zone", 5),
    ("2", 0.99, 50, "lower zone", 5),
    ("2", 1.0, 20, "upper zone", 2),
    ("2", 100.0, 30, "upper zone", 2),
    ("2", 100.0, 30.1, "upper zone", 3),
    ("2", 125.0, 60, "upper zone", 3),
    # Fact 8.14: class 1, OIML R 49-1 (from memory)
    ("1", 0.7, 20, "lower zone", 3),
    ("1", 0.7, 50, "lower zone", 3),
    ("1", 50.0, 20, "upper zone", 1),
    ("1", 50.0, 50, "upper zone", 2),
]


@pytest.mark.parametrize(("accuracy", "flow", "celsius", "zone", "error"), LIMITS)
@pytest.mark.parametrize("term", ["flow", "reference"])
def test_from_the_name_plate_to_the_permissible_error(
    term: str, accuracy: str, flow: float, celsius: float, zone: str, error: float
) -> None:
    """Q3, R, class, water and a flow are enough; flows on an edge fall where the standard puts them, in SI as well."""
    found = results(
        {
            term: flow / 3600,
            "permanent-flow": 100 / 3600,
            "flow-ratio": 160.0,
            "accuracy-class": accuracy,
            "water-temperature": celsius + 273.15,
        }
    )
    assert found["flow-zone"] == zone
    assert 100 * found["permissible-error"] == pytest.approx(error)


def results(given_values: dict[str, Any]) -> dict[str, Any]:
    """Return what follows from inputs, term → value, in the subject as a person asks for it."""
    return {each.calculation.gives: each.result for each in solve(given_values, CALCULATIONS).worked}


@given(st.floats(0.5, 5000.0), st.sampled_from([40.0, 63.0, 80.0, 100.0, 125.0, 160.0, 250.0, 400.0, 1000.0]))
def test_test_points_lie_where_they_belong(permanent: float, ratio: float) -> None:
    """Q1, Q2, Q3 and Q4 of any meter, worked out anew by the tester, are no victims of rounding."""
    q1 = minimum_flow(permanent / 3600, ratio)
    q2, q4 = transitional_flow(q1), overload_flow(permanent / 3600)
    tested = (permanent / ratio / 3600, 1.6 * permanent / 3600 / ratio, permanent / 3600, permanent * 1.25 / 3600)
    zones = [zone_of_reference(flow, q1, q2, q4) for flow in tested]
    assert zones == ["lower zone", "upper zone", "upper zone", "upper zone"]
    assert [zone_of_flow(-flow, q1, q2, q4) for flow in tested] == zones
    assert zone_of_flow(0.99 * q1, q1, q2, q4) == "below Q1"
    assert zone_of_flow(1.01 * q4, q1, q2, q4) == "above Q4"
    assert flow_ratio(permanent / 3600, q1) == pytest.approx(ratio)


def test_outside_the_flow_range_no_error_is_permitted_or_forbidden() -> None:
    """Below Q1 and above Q4 the solver says why it has no limit, and gives no verdict."""
    for flow, words in ((0.5, "below Q1"), (130.0, "above Q4")):
        solved = solve(
            {
                "reference": flow / 3600,
                "permanent-flow": 100 / 3600,
                "flow-ratio": 160.0,
                "accuracy-class": "2",
                "water-temperature": 293.15,
                "deviation": 0.01,
                "deviation-uncertainty": 0.001,
            },
            CALCULATIONS,
        )
        assert [words in text for _, text in solved.refused] == [True]
        assert "conformity" not in {each.calculation.gives for each in solved.worked}


def test_a_name_plate_that_contradicts_itself_is_told() -> None:
    """Q1 as given is not Q3/R."""
    solved = solve({"permanent-flow": 100 / 3600, "flow-ratio": 160.0, "minimum-flow": 1 / 3600}, CALCULATIONS)
    assert "minimum-flow" in {each.calculation.gives for each in solved.contradictions}


@pytest.mark.parametrize(
    ("error", "uncertainty", "verdict"),
    [
        # guarded acceptance and rejection with guard band U, JCGM 106:2012, 8.3 (from memory): limit 2 %
        (1.5, 0.4, "within"),
        (-1.5, 0.4, "within"),
        (1.5, 0.5, "within"),
        (1.8, 0.4, "cannot tell"),
        (-2.3, 0.4, "cannot tell"),
        (2.5, 0.4, "outside"),
        (-2.5, 0.4, "outside"),
        (0.0, 2.5, "cannot tell"),
        (2.1, 0.0, "outside"),
        (2.0, 0.0, "within"),
    ],
)
def test_verdict(error: float, uncertainty: float, verdict: str) -> None:
    """Within and outside only when the whole interval is."""
    assert conformity(error / 100, uncertainty / 100, 0.02) == verdict


@given(st.floats(-0.1, 0.1), st.floats(1e-5, 0.05), st.floats(0.005, 0.05))
def test_a_verdict_is_rarely_wrong(error: float, uncertainty: float, limit: float) -> None:
    """By the normal distribution of scipy, “within” and “outside” are wrong in 2.3 % at most on either side."""
    true_error = stats.norm(error, uncertainty / 2)
    chance_within = true_error.cdf(limit) - true_error.cdf(-limit)
    verdict = conformity(error, uncertainty, limit)
    if verdict == "within":
        assert chance_within >= 1 - 2 * 0.02276
    elif verdict == "outside":
        assert chance_within <= 0.02276
    elif uncertainty < limit:  # a larger one may hide how unlikely conformity is
        assert 0.02 < chance_within < 0.98


REFUSED: list[tuple[Callable[..., Any], tuple[Any, ...], str]] = [
    (minimum_flow, (100.0, 5.0), "ratio"),
    (minimum_flow, (0.0, 100.0), "Q3"),
    (flow_ratio, (1.0, 1.0), "ratio"),
    (transitional_flow, (0.0,), "Q1"),
    (overload_flow, (-1.0,), "Q3"),
    (zone_of_reference, (1.0, 2.0, 1.0, 3.0), "must increase in this order"),
    (zone_of_flow, (1.0, 1.0, 1.6, 1.5), "must increase in this order"),
    (permissible_error, ("2", "below Q1", 293.15), "no permissible error"),
    (permissible_error, ("3", "upper zone", 293.15), "accuracy class"),
    (permissible_error, ("2", "upper zone", 200.0), "temperature"),
    (conformity, (0.01, -0.001, 0.02), "uncertainty"),
    (conformity, (0.01, 0.001, 0.0), "permissible"),
]


@pytest.mark.parametrize(
    ("function", "inputs", "words"), REFUSED, ids=[f"{each[0].__name__}{each[1]}" for each in REFUSED]
)
def test_out_of_range_is_refused_in_words(function: Callable[..., Any], inputs: tuple[Any, ...], words: str) -> None:
    """The message names what is wrong."""
    with pytest.raises(OutOfRange, match=words):
        function(*inputs)


def test_from_bucket_to_verdict() -> None:
    """An invented meter against an invented bucket: 20 L in 25 s, meter 3.00 m³/h, shares 0.2 % and 0.5 %."""
    found = results(
        {
            "reference-volume": 0.020,
            "collection-time": 25.0,
            "indicated": 3.00 / 3600,
            "relative-indicated-uncertainty": 0.002,
            "relative-reference-uncertainty": 0.005,
            "permanent-flow": 4 / 3600,
            "flow-ratio": 80.0,
            "accuracy-class": "2",
            "water-temperature": 288.15,
        }
    )
    assert 100 * found["deviation"] == pytest.approx(4.1667, abs=1e-4)
    assert 100 * found["deviation-uncertainty"] == pytest.approx(0.5610, abs=1e-4)
    assert (found["flow-zone"], found["conformity"]) == ("upper zone", "outside")
    assert found["agreement-number"] > 1
