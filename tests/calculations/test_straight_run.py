"""Straight pipe before and behind a meter: wanted, there, and the word for it.

Sources of the figures (facts section 2): engineers' handbook 7.6 (5 before, 3 behind); common practice and ISO 6817
clause 7 (10 before, 5 behind where the liquid swirls or jets); common practice (2 to 3 behind, slim reducers, dosing).
"""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS
from diagnose.calculations.solving import solve
from diagnose.calculations.straight_run import (
    cone_angle,
    downstream_run_verdict,
    downstream_run_verdict_of_anything,
    required_length_downstream,
    required_length_upstream,
    required_run_after_cone,
    required_run_downstream,
    required_run_upstream,
    straight_run_downstream,
    straight_run_upstream,
    upstream_run_verdict,
    upstream_run_verdict_of_anything,
)
from diagnose.calculations.terms import TERMS
from diagnose.errors import OutOfRange

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


@pytest.mark.parametrize(
    ("disturbance", "there", "word"),
    [
        ("bend", 5.0, "fine"),
        ("bend", 4.9, "wrong"),
        ("pump", 10.0, "fine"),
        ("pump", 9.9, "doubtful"),
        ("pump", 5.0, "doubtful"),
        ("pump", 4.9, "wrong"),
        ("dosing point", 50.0, "fine"),
        ("dosing point", 20.0, "doubtful"),
        ("dosing point", 19.0, "wrong"),
    ],
)
def test_word_for_what_stands_before(disturbance: str, there: float, word: str) -> None:
    """Fine from what is wanted, wrong below what everything wants."""
    assert upstream_run_verdict(there, required_run_upstream(disturbance), disturbance) == word


@pytest.mark.parametrize(
    ("disturbance", "there", "word"),
    [
        ("bend", 3.0, "fine"),
        ("bend", 2.0, "doubtful"),
        ("bend", 1.9, "wrong"),
        ("pump", 5.0, "fine"),
        ("pump", 3.0, "doubtful"),
        ("pump", 1.9, "wrong"),
    ],
)
def test_word_for_what_stands_behind(disturbance: str, there: float, word: str) -> None:
    """Common practice says 2 to 3: between them it is doubtful."""
    assert downstream_run_verdict(there, required_run_downstream(disturbance), disturbance) == word


@pytest.mark.parametrize(
    ("there", "before", "behind"),
    [(1.0, *("wrong",) * 2), (4.0, "wrong", "doubtful"), (5.0, "doubtful", "fine"), (10.0, "fine", "fine")],
)
def test_word_when_nobody_says_what_disturbs(there: float, before: str, behind: str) -> None:
    """Fine or wrong only where it is so whatever stands there."""
    assert (upstream_run_verdict_of_anything(there), downstream_run_verdict_of_anything(there)) == (before, behind)


@given(RUN, RUN, st.sampled_from(DISTURBANCES))
def test_more_straight_pipe_is_never_worse(less: float, more: float, disturbance: str) -> None:
    """On either side, with the disturbance known or not."""
    assume(less <= more)
    before, behind = required_run_upstream(disturbance), required_run_downstream(disturbance)
    pairs = [
        [upstream_run_verdict(each, before, disturbance) for each in (less, more)],
        [downstream_run_verdict(each, behind, disturbance) for each in (less, more)],
        [upstream_run_verdict_of_anything(each) for each in (less, more)],
        [downstream_run_verdict_of_anything(each) for each in (less, more)],
    ]
    assert all(WORDS.index(worse) >= WORDS.index(better) for worse, better in pairs)


@given(RUN, st.sampled_from([each for each in DISTURBANCES if each != "dosing point"]))
def test_word_without_the_disturbance_is_never_kinder(there: float, disturbance: str) -> None:
    """Who does not know what disturbs the flow gets no better word than who knows."""
    known = upstream_run_verdict(there, required_run_upstream(disturbance), disturbance)
    assert WORDS.index(upstream_run_verdict_of_anything(there)) >= WORDS.index(known)


@given(st.integers(1, 60), st.floats(0.005, 3.0))
def test_length_of_so_many_diameters_is_so_many_diameters(count: int, bore: float) -> None:
    """Length and count are inverse, and the length that is wanted is always enough."""
    assert straight_run_upstream(required_length_upstream(float(count), bore), bore) == pytest.approx(count)
    assert straight_run_downstream(required_length_downstream(float(count), bore), bore) == pytest.approx(count)
    assert upstream_run_verdict(straight_run_upstream(5 * bore, bore), 5.0, "bend") == "fine"


def test_three_tenths_of_a_metre_are_three_diameters_of_100_millimetres() -> None:
    """0.3 / 0.1 falls a trifle short of 3 in binary; nobody is told that it is doubtful."""
    assert straight_run_downstream(0.3, 0.1) < 3
    assert downstream_run_verdict(straight_run_downstream(0.3, 0.1), 3.0, "bend") == "fine"


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
        (upstream_run_verdict, (-1.0, 5.0, "bend")),
        (downstream_run_verdict, (1.0, 3.0, "waterfall")),
        (upstream_run_verdict_of_anything, (-1.0,)),
        (downstream_run_verdict_of_anything, (-1.0,)),
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


def test_known_disturbance_decides_the_word() -> None:
    """Seven diameters suffice after a bend, not after a pump, and are doubtful after nobody knows what."""
    assert results(straight_run_upstream=7.0, flow_disturbance="bend")["upstream-run-verdict"] == "fine"
    assert results(straight_run_upstream=7.0, flow_disturbance="pump")["upstream-run-verdict"] == "doubtful"
    assert results(straight_run_upstream=7.0) == {"upstream-run-verdict": "doubtful"}


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
        "upstream-run-verdict": "doubtful",
        "downstream-run-verdict": "doubtful",
    }


def test_slim_reducer_may_sit_at_the_meter() -> None:
    """By its lengths: 150 to 100 mm over 180 mm, nothing straight between it and the meter."""
    slim = {"flow_disturbance": "reducer", "pipe_inner_diameter": 0.15, "bore": 0.1, "straight_run_upstream": 0.0}
    assert results(**slim, reducer_length=0.18)["upstream-run-verdict"] == "fine"
    assert results(**slim, reducer_length=0.10)["upstream-run-verdict"] == "wrong"
