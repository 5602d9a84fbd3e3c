"""Straight pipe before and behind a meter: wanted, there, and the word for it.

Sources of the figures (facts section 2): engineers' handbook 7.6 (5 before, 3 behind); common practice and ISO 6817
clause 7 (10 before, 5 behind where the liquid swirls or jets); common practice (2 to 3 behind, slim reducers, dosing).
"""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS
from diagnose.calculations.solving import solve
from diagnose.calculations.straight_run import (
    cone_angle,
    required_length_downstream,
    required_length_upstream,
    required_run_after_cone,
    required_run_downstream,
    required_run_upstream,
    straight_run_downstream,
    straight_run_upstream,
)
from diagnose.errors import OutOfRange
from diagnose.terms import TERMS

WORDS = ("fine", "doubtful", "wrong")
DISTURBANCES = TERMS["flow-disturbance"].choices
RUN = st.floats(0.0, 100.0)


@pytest.mark.parametrize(
    ("disturbance", "before", "behind"),
    [
        ("none", 5.0, 3.0),
        ("bend", 5.0, 3.0),
        ("two bends in one plane", 5.0, 3.0),
        ("tee", 5.0, 3.0),
        ("reducer", 5.0, 3.0),
        ("open valve", 5.0, 3.0),
        ("two bends in different planes", 10.0, 5.0),
        ("expander", 10.0, 5.0),
        ("part-open valve", 10.0, 5.0),
        ("pump", 10.0, 5.0),
        ("swirl", 10.0, 5.0),
        ("dosing point", 50.0, 3.0),
    ],
)
def test_diameters_wanted(disturbance: str, before: float, behind: float) -> None:
    """General rule, bad cases, and a dosing point before the meter."""
    assert (required_run_upstream(disturbance), required_run_downstream(disturbance)) == (before, behind)


@pytest.mark.parametrize(("degrees", "wanted"), [(8.0, 0.0), (16.0, 0.0), (16.1, 5.0), (180.0, 5.0)])
def test_slim_reducer_counts_as_straight_pipe(degrees: float, wanted: float) -> None:
    """Up to 16 degrees in all (8 to the axis)."""
    assert required_run_after_cone("reducer", math.radians(degrees)) == wanted


def test_angle_of_a_reducer() -> None:
    """150 to 100 mm: tangent of half the angle is 25 mm over the length; 177.9 mm make 16 degrees."""
    assert math.degrees(cone_angle(0.150, 0.100, 0.025 / math.tan(math.radians(8)))) == pytest.approx(16.0)
    assert math.degrees(cone_angle(0.150, 0.100, 0.180)) == pytest.approx(15.81, abs=0.005)


@given(st.floats(0.01, 3.0), st.floats(1.01, 5.0), st.floats(0.01, 5.0), st.floats(1.1, 5.0))
def test_longer_reducer_is_slimmer(bore: float, wider: float, length: float, longer: float) -> None:
    """And a wider pipe makes a blunter one."""
    angle = cone_angle(bore * wider, bore, length)
    assert cone_angle(bore * wider, bore, length * longer) < angle < cone_angle(bore * wider * 1.1, bore, length)


@pytest.mark.parametrize(
    ("function", "inputs"),
    [
        (required_run_upstream, ("waterfall",)),
        (required_run_downstream, ("waterfall",)),
        (required_run_after_cone, ("expander", 0.1)),
        (required_run_after_cone, ("reducer", 0.0)),
        (required_run_after_cone, ("reducer", 3.2)),
        (cone_angle, (0.1, 0.1, 0.1)),
        (cone_angle, (0.15, 0.1, 0.0)),
        (straight_run_upstream, (-0.1, 0.1)),
        (straight_run_downstream, (0.1, 0.0)),
        (required_length_upstream, (-1.0, 0.1)),
        (required_length_downstream, (1.0, 0.0)),
    ],
)
def test_out_of_range_is_refused(function: Any, inputs: tuple[Any, ...]) -> None:
    """A word that is none of the choices, a length below nothing, a cone that is no reducer."""
    with pytest.raises(OutOfRange):
        function(*inputs)


def results(**given: Any) -> dict[str, Any]:
    """Return what follows from terms in this subject."""
    solved = solve(
        {name.replace("_", "-"): value for name, value in given.items()}, SUBJECTS["installation"].calculations
    )
    assert solved.contradictions == ()
    return {each.calculation.gives: each.result for each in solved.worked}


def test_lengths_are_counted_in_bores() -> None:
    """0.7 m before and 0.3 m behind a meter of 100 mm after a pump that wants 1 m and 0.5 m."""
    follows = results(flow_disturbance="pump", straight_length_upstream=0.7, straight_length_downstream=0.3, bore=0.1)
    assert follows == {
        "required-run-upstream": 10.0,
        "required-run-downstream": 5.0,
        "required-length-upstream": 1.0,
        "required-length-downstream": 0.5,
        "straight-run-upstream": pytest.approx(7.0),
        "straight-run-downstream": pytest.approx(3.0),
    }


def test_slim_reducer_may_sit_at_the_meter() -> None:
    """By its lengths: 150 to 100 mm over 180 mm, nothing straight between it and the meter."""
    slim = {"flow_disturbance": "reducer", "pipe_inner_diameter": 0.15, "bore": 0.1, "straight_run_upstream": 0.0}
    assert results(**slim, reducer_length=0.18)["required-run-upstream"] == 0.0
    assert results(**slim, reducer_length=0.10)["required-run-upstream"] == 5.0
