"""A pipe that is not full: wet share, what the meter makes of it, what flows; the segment against `fluids`."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from fluids import A_partial_circle
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS
from diagnose.calculations.filling import (
    deviation_by_filling,
    fill_depth,
    fill_share,
    flow_corrected_for_filling,
    part_full_flow,
    wet_area_share,
    wet_velocity,
)
from diagnose.calculations.flow import flow_from_velocity
from diagnose.calculations.solving import solve
from diagnose.errors import OutOfRange

HOUR = 3600.0

# h/D, wet share of the area, factor A_full / A_wet: fact 1.21 (`fluids`)
FILLINGS = [
    (0.95, 0.98131, 1.01905),
    (0.90, 0.94796, 1.05490),
    (0.80, 0.85762, 1.16602),
    (0.75, 0.80450, 1.24301),
    (0.70, 0.74768, 1.33746),
    (0.60, 0.62647, 1.59625),
    (0.50, 0.5, 2.0),
]


@pytest.mark.parametrize(("share", "area", "factor"), FILLINGS)
def test_a_worked_filling(share: float, area: float, factor: float) -> None:
    """Depth gives area, area gives the factor by which the meter reads high."""
    assert wet_area_share(share) == pytest.approx(area, abs=6e-6)
    assert 1 + deviation_by_filling(wet_area_share(share)) == pytest.approx(factor, abs=6e-6)


@pytest.mark.parametrize("share", [0.001, 0.05, 0.25, 0.5, 0.62, 0.75, 0.9, 0.999])
def test_wet_area_is_that_of_fluids(share: float) -> None:
    """`fluids.A_partial_circle` over the whole circle."""
    assert wet_area_share(share) == pytest.approx(A_partial_circle(1.0, share) / (math.pi / 4), rel=1e-9)


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_deeper_is_wetter(one: float, other: float) -> None:
    """Dry is nought, full is all, and what is wet below leaves the rest dry above."""
    assume(other - one > 1e-6)
    assert wet_area_share(one) < wet_area_share(other)
    assert wet_area_share(one) + wet_area_share(1 - one) == pytest.approx(1.0)
    assert (wet_area_share(0.0), wet_area_share(1.0)) == (0.0, pytest.approx(1.0))


@given(st.floats(0.0, 1.0), st.floats(1e-3, 3.0))
def test_depth_and_its_share_are_inverse(share: float, bore: float) -> None:
    """Depth over bore, there and back."""
    assume(share * bore <= bore)
    assert fill_share(fill_depth(share, bore), bore) == pytest.approx(share)


@given(st.floats(-10.0, 10.0), st.floats(1e-3, 3.0), st.floats(0.01, 1.0))
def test_velocity_of_the_liquid_and_its_flow_are_inverse(speed: float, bore: float, area: float) -> None:
    """A full pipe is no exception."""
    flow = part_full_flow(speed, bore, area)
    assert wet_velocity(flow, bore, area) == pytest.approx(speed)
    assert part_full_flow(speed, bore, 1.0) == pytest.approx(flow_from_velocity(speed, bore))


@given(st.floats(-100.0, 100.0), st.floats(0.5, 1.0))
def test_correction_undoes_the_deviation(flow: float, area: float) -> None:
    """What a half-empty pipe adds, the correction takes off; a full pipe adds nothing."""
    indicated = flow * (1 + deviation_by_filling(area))
    assert flow_corrected_for_filling(indicated, area) == pytest.approx(flow)
    assert deviation_by_filling(1.0) == 0


OUT_OF_RANGE: list[tuple[Callable[..., float], tuple[float, ...]]] = [
    (fill_share, (0.101, 0.1)),
    (fill_share, (-0.001, 0.1)),
    (fill_share, (0.05, 0.0)),
    (fill_depth, (1.1, 0.1)),
    (wet_area_share, (1.001,)),
    (wet_area_share, (-0.001,)),
    (deviation_by_filling, (0.499,)),
    (deviation_by_filling, (1.001,)),
    (flow_corrected_for_filling, (1.0, 0.3)),
    (part_full_flow, (1.0, 0.0, 0.5)),
    (wet_velocity, (1.0, 0.1, 0.0)),
]


@pytest.mark.parametrize(
    ("function", "inputs"), OUT_OF_RANGE, ids=[f"{each[0].__name__}{each[1]}" for each in OUT_OF_RANGE]
)
def test_out_of_range_is_refused(function: Callable[..., float], inputs: tuple[float, ...]) -> None:
    """Nor is a deviation told of a pipe in which the electrodes stand dry."""
    with pytest.raises(OutOfRange):
        function(*inputs)


def test_all_follows_from_depth_bore_and_reading() -> None:
    """80 of 100 mm, 20 m3/h shown: share, area, deviation, flow, velocity of the liquid."""
    solved = solve({"fill-depth": 0.08, "bore": 0.1, "indicated": 20 / HOUR}, SUBJECTS["flow"].calculations)
    assert {each.calculation.gives: each.result for each in solved.worked} == pytest.approx(
        {
            "fill-share": 0.8,
            "wet-area-share": 0.85762,
            "deviation-by-filling": 0.16602,
            "part-full-flow": 17.1524 / HOUR,
            "wet-velocity": 0.70736,
        },
        rel=5e-5,
    )


def test_shallow_liquid_tells_a_flow_but_no_deviation() -> None:
    """30 of 100 mm at a known velocity: the flow follows, the meter's deviation is refused in words."""
    solved = solve({"fill-depth": 0.03, "bore": 0.1, "wet-velocity": 1.0}, SUBJECTS["flow"].calculations)
    assert [each.calculation.gives for each in solved.worked] == ["fill-share", "wet-area-share", "part-full-flow"]
    assert [(each.gives, "electrodes are out of the liquid" in text) for each, text in solved.refused] == [
        ("deviation-by-filling", True)
    ]
