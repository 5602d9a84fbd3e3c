"""What a wrong bore, gas, a deposit, zero and gain make of a reading; how the velocity profile is weighted."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from fluids import nearest_pipe
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS
from diagnose.calculations.effects import (
    clear_bore_share,
    deposit_conductivity_ratio,
    deviation_by_bore,
    deviation_by_deposit,
    deviation_by_flush_deposit,
    deviation_by_gas,
    deviation_by_zero_and_gain,
    flow_corrected_for_bore,
    flow_corrected_for_gas,
    flow_corrected_for_zero_and_gain,
    velocity_profile_weight,
    zero_offset,
)
from diagnose.calculations.flow import flow_from_velocity
from diagnose.calculations.solving import solve
from diagnose.errors import OutOfRange

HOUR = 3600.0
ELECTRODE, POLE = math.pi / 2, 0.0
PIPE = nearest_pipe(NPS=4, schedule="40")[1]  # ASME B36.10: 102.26 mm

BORE, SHARE = st.floats(1e-3, 3.0), st.floats(0.05, 1.0)
RATIO = st.floats(0.0, 1e3)
FLOW = st.floats(-1e2, 1e2)

VALUES: list[tuple[Callable[..., float], tuple[float, ...], float, float]] = [
    # (D_set / D)^2 - 1: continuity; fact 1.23
    (deviation_by_bore, (0.102, 0.100), 0.0404, 5e-7),
    (deviation_by_bore, (0.100, PIPE), -0.04371, 5e-6),
    (flow_corrected_for_bore, (104.04 / HOUR, 0.102, 0.100), 100 / HOUR, 1e-9),
    # 1 / (1 - alpha): liquid's velocity over the full bore; fact 1.20
    (deviation_by_gas, (0.01,), 0.01010, 5e-6),
    (deviation_by_gas, (0.02,), 0.02041, 5e-6),
    (deviation_by_gas, (0.05,), 0.05263, 5e-6),
    (deviation_by_gas, (0.10,), 0.11111, 5e-6),
    (deviation_by_gas, (0.20,), 0.250, 5e-6),
    # 90 liquid + 10 gas without slip read 100; fact 1.20
    (flow_corrected_for_gas, (100 / HOUR, 0.10), 90 / HOUR, 1e-12),
    # 2 / ((1 + b^2) + s (1 - b^2)): Shercliff's two layers; fact 1.24
    (deviation_by_deposit, (0.98, 0.0), 0.02020, 5e-6),
    (deviation_by_deposit, (0.98, 0.1), 0.01814, 5e-6),
    (deviation_by_deposit, (0.98, 1.0), 0.0, 1e-12),
    (deviation_by_deposit, (0.98, 10.0), -0.15125, 5e-6),
    (deviation_by_deposit, (0.98, 100.0), -0.6622, 5e-5),
    (deviation_by_deposit, (0.96, 5.0), -0.13555, 5e-6),
    # 1 / b: faster by 1/b^2, shorter way for the voltage by b; fact 1.25
    (deviation_by_flush_deposit, (0.98, 0.0), 0.02041, 5e-6),
    (clear_bore_share, (0.001, 0.100), 0.98, 1e-12),
    (deposit_conductivity_ratio, (0.005, 0.05), 0.1, 1e-12),
    # g + z / v with g 0.5 %, z 2 mm/s: definition; fact 1.27
    (deviation_by_zero_and_gain, (0.1, 0.002, 0.005), 0.025, 1e-9),
    (deviation_by_zero_and_gain, (0.2, 0.002, 0.005), 0.015, 1e-9),
    (deviation_by_zero_and_gain, (0.5, 0.002, 0.005), 0.009, 1e-9),
    (deviation_by_zero_and_gain, (1.0, 0.002, 0.005), 0.007, 1e-9),
    (deviation_by_zero_and_gain, (2.0, 0.002, 0.005), 0.006, 1e-9),
    (deviation_by_zero_and_gain, (5.0, 0.002, 0.005), 0.0054, 1e-9),
    (deviation_by_zero_and_gain, (10.0, 0.002, 0.005), 0.0052, 1e-9),
    (deviation_by_zero_and_gain, (-0.1, 0.002), -0.02, 1e-9),
    (zero_offset, (flow_from_velocity(0.002, 0.1), 0.1), 0.002, 1e-12),
    # W: Shercliff's point electrodes in a uniform field; table of facts section 1
    (velocity_profile_weight, (0.0, ELECTRODE), 1.0, 1e-12),
    (velocity_profile_weight, (0.25, ELECTRODE), 1.0667, 5e-5),
    (velocity_profile_weight, (0.5, ELECTRODE), 1.3333, 5e-5),
    (velocity_profile_weight, (0.75, ELECTRODE), 2.2857, 5e-5),
    (velocity_profile_weight, (0.9, ELECTRODE), 5.2632, 5e-5),
    (velocity_profile_weight, (0.0, POLE), 1.0, 1e-12),
    (velocity_profile_weight, (0.25, POLE), 0.9412, 5e-5),
    (velocity_profile_weight, (0.5, POLE), 0.8, 5e-5),
    (velocity_profile_weight, (0.75, POLE), 0.64, 5e-5),
    (velocity_profile_weight, (0.9, POLE), 0.5525, 5e-5),
    (velocity_profile_weight, (1.0, POLE), 0.5, 1e-12),
]


@pytest.mark.parametrize(
    ("function", "inputs", "value", "within"), VALUES, ids=[f"{each[0].__name__}{each[1]}" for each in VALUES]
)
def test_a_worked_value(function: Callable[..., float], inputs: tuple[float, ...], value: float, within: float) -> None:
    """The function gives the value that stands in the table beside its source."""
    assert function(*inputs) == pytest.approx(value, abs=within)


@pytest.mark.parametrize("radius", [0.0, 0.25, 0.5, 0.75, 0.9])
def test_weight_is_one_on_the_mean_of_every_ring(radius: float) -> None:
    """So that any profile which is the same all round the axis reads right (facts section 1, ring mean 1.0000)."""
    angles = np.linspace(0.0, 2 * math.pi, 721)[:-1]
    assert np.mean([velocity_profile_weight(radius, float(angle)) for angle in angles]) == pytest.approx(1.0, abs=1e-9)


def reading_by_finite_volumes(clear: float, ratio: float, cells: int) -> tuple[float, float]:
    """Return indicated over true at the old wall and at the deposit's face, solved on rings of liquid and deposit.

    Charge is conserved in each ring: (r J)' + σ (f / r - u) = 0 with J = σ (u - f'), no current through the wall; the
    liquid runs with a parabolic profile, radius and mean velocity over the old bore are 1.
    """
    inside = round(cells * clear)
    width = np.concatenate([np.full(inside, clear / inside), np.full(cells - inside, (1 - clear) / (cells - inside))])
    edge = np.concatenate([[0.0], np.cumsum(width)])
    middle = (edge[1:] + edge[:-1]) / 2
    liquid = np.arange(cells) < inside
    sigma = np.where(liquid, 1.0, ratio)
    peak = 2 / clear**2

    def speed(radius: float) -> float:
        return peak * (1 - (radius / clear) ** 2) if radius < clear else 0.0

    matrix, right = np.zeros((cells, cells)), np.zeros(cells)
    for i in range(cells):
        matrix[i, i] += sigma[i] * width[i] / middle[i]
        right[i] += sigma[i] * speed(middle[i]) * width[i]
    half = 2 * sigma / width
    for i in range(cells - 1):
        conductance = half[i] * half[i + 1] / (half[i] + half[i + 1]) * edge[i + 1]
        driven = speed(edge[i + 1]) * sigma[i] * edge[i + 1]  # is nought at the deposit: the liquid rests there
        matrix[i, i] += conductance
        matrix[i, i + 1] -= conductance
        matrix[i + 1, i + 1] += conductance
        matrix[i + 1, i] -= conductance
        right[i] -= driven
        right[i + 1] += driven
    potential = np.linalg.solve(matrix, right)
    at_face = (half[inside - 1] * potential[inside - 1] + half[inside] * potential[inside]) / (
        half[inside - 1] + half[inside]
    )
    return float(potential[-1]), float(at_face)


@pytest.mark.parametrize(("clear", "ratio"), [(0.8, 0.1), (0.8, 1.0), (0.8, 5.0), (0.9, 10.0), (0.9, 0.01)])
def test_deposit_reads_as_the_field_solved_numerically(clear: float, ratio: float) -> None:
    """Both places of the electrodes, against rings of finite volume that know nothing of the closed formula."""
    at_wall, at_face = reading_by_finite_volumes(clear, ratio, 500)
    assert 1 + deviation_by_deposit(clear, ratio) == pytest.approx(at_wall, abs=2e-4)
    assert 1 + deviation_by_flush_deposit(clear, ratio) == pytest.approx(at_face, abs=2e-4)


@given(BORE, st.floats(0.5, 2.0), FLOW)
def test_correction_for_the_bore_undoes_the_deviation(true: float, wrong: float, flow: float) -> None:
    """What a wrong bore does to a flow, the correction takes back; the right bore does nothing."""
    indicated = flow * (1 + deviation_by_bore(wrong * true, true))
    assert flow_corrected_for_bore(indicated, wrong * true, true) == pytest.approx(flow, abs=1e-9)
    assert deviation_by_bore(true, true) == 0


@given(st.floats(0.0, 0.52), st.floats(0.0, 0.52), FLOW)
def test_gas_reads_high_the_more_the_more_there_is(less: float, more: float, flow: float) -> None:
    """Gas never makes a reading low, and its correction gives the liquid back."""
    assume(more - less > 1e-6)
    assert 0 <= deviation_by_gas(less) < deviation_by_gas(more)
    assert flow_corrected_for_gas(flow * (1 + deviation_by_gas(more)), more) == pytest.approx(flow, abs=1e-9)


@given(st.floats(0.05, 0.999), RATIO, st.floats(1.1, 100.0))
def test_better_conducting_deposit_reads_lower(clear: float, ratio: float, better: float) -> None:
    """At the wall: high while it conducts less than the liquid, right when as well, low when better."""
    assert deviation_by_deposit(clear, ratio * better + 0.1) < deviation_by_deposit(clear, ratio)
    assert deviation_by_flush_deposit(clear, ratio * better + 0.1) < deviation_by_flush_deposit(clear, ratio)
    assert (deviation_by_deposit(clear, ratio) > 1e-12) == (ratio < 1 - 1e-9) or abs(ratio - 1) < 1e-6


@given(SHARE)
def test_deposit_like_the_liquid_and_no_deposit_read_right(clear: float) -> None:
    """Liquid that merely stands still at the wall is no error; a clean bore is none whatever the ratio."""
    assert deviation_by_deposit(clear, 1.0) == pytest.approx(0.0, abs=1e-12)
    assert deviation_by_deposit(1.0, 100 * clear) == deviation_by_flush_deposit(1.0, 100 * clear) == 0.0
    assert deviation_by_flush_deposit(clear, 0.0) == pytest.approx(1 / clear - 1)


@given(st.floats(0.05, 10.0), st.floats(-0.02, 0.02), st.floats(-0.1, 0.1), BORE)
def test_correction_for_zero_and_gain_undoes_the_deviation(
    speed: float, offset: float, gain: float, bore: float
) -> None:
    """With the gain counted on the true flow and the zero added to it."""
    flow = flow_from_velocity(speed, bore)
    indicated = flow * (1 + deviation_by_zero_and_gain(speed, offset, gain))
    assert flow_corrected_for_zero_and_gain(indicated, bore, offset, gain) == pytest.approx(flow)


@given(st.floats(0.01, 10.0), st.floats(1.01, 100.0), st.floats(1e-4, 0.01))
def test_zero_counts_the_less_the_faster_the_liquid(speed: float, faster: float, offset: float) -> None:
    """Its share falls with the velocity while that of the gain stays."""
    slow, fast = (deviation_by_zero_and_gain(each, offset) for each in (speed, speed * faster))
    assert slow == pytest.approx(fast * faster)


@given(st.floats(0.0, 0.99), st.floats(0.0, math.pi))
def test_weight_is_least_at_the_poles_and_greatest_at_the_electrodes(radius: float, angle: float) -> None:
    """On each ring, and it mirrors about both axes."""
    weight = velocity_profile_weight(radius, angle)
    least, greatest = velocity_profile_weight(radius, POLE), velocity_profile_weight(radius, ELECTRODE)
    assert least * (1 - 1e-9) <= weight <= greatest * (1 + 1e-9)
    assert velocity_profile_weight(radius, -angle) == pytest.approx(weight)
    assert velocity_profile_weight(radius, math.pi - angle) == pytest.approx(weight)


OUT_OF_RANGE: list[tuple[Callable[..., float], tuple[float, ...]]] = [
    (deviation_by_bore, (0.1, 0.0)),
    (deviation_by_bore, (0.0, 0.1)),
    (flow_corrected_for_bore, (1.0, 0.0, 0.1)),
    (deviation_by_gas, (-0.01,)),
    (deviation_by_gas, (0.53,)),
    (flow_corrected_for_gas, (1.0, 1.0)),
    (clear_bore_share, (-0.001, 0.1)),
    (clear_bore_share, (0.05, 0.1)),
    (deposit_conductivity_ratio, (0.1, 0.0)),
    (deposit_conductivity_ratio, (-0.1, 1.0)),
    (deviation_by_deposit, (0.0, 1.0)),
    (deviation_by_deposit, (1.01, 1.0)),
    (deviation_by_deposit, (0.9, -1.0)),
    (deviation_by_flush_deposit, (0.0, 1.0)),
    (deviation_by_flush_deposit, (0.9, -1.0)),
    (zero_offset, (1.0, 0.0)),
    (deviation_by_zero_and_gain, (0.0, 0.002)),
    (flow_corrected_for_zero_and_gain, (1.0, 0.1, 0.002, -1.0)),
    (velocity_profile_weight, (1.01, 0.0)),
    (velocity_profile_weight, (-0.1, 0.0)),
    (velocity_profile_weight, (1.0, ELECTRODE)),
]


@pytest.mark.parametrize(
    ("function", "inputs"), OUT_OF_RANGE, ids=[f"{each[0].__name__}{each[1]}" for each in OUT_OF_RANGE]
)
def test_out_of_range_is_refused(function: Callable[..., float], inputs: tuple[float, ...]) -> None:
    """No figure comes out of inputs for which the formula says nothing."""
    with pytest.raises(OutOfRange):
        function(*inputs)


CHAINS: list[tuple[dict[str, float], dict[str, float]]] = [
    # nothing but what the inputs speak of: no deviation of gas out of a wrong bore
    (
        {"indicated": 104.04 / HOUR, "bore-entered": 0.102, "bore": 0.1},
        {"deviation-by-bore": 0.0404, "flow-corrected-for-bore": 100 / HOUR},
    ),
    ({"void-fraction": 0.05, "bore": 0.1}, {"deviation-by-gas": 0.05263}),
    ({"deposit-thickness": 0.001, "bore": 0.1}, {"clear-bore-share": 0.98}),
    (
        {"clear-bore-share": 0.98, "deposit-conductivity": 0.5, "liquid-conductivity": 0.05},
        {
            "deposit-conductivity-ratio": 10.0,
            "deviation-by-deposit": -0.15125,
            "deviation-by-flush-deposit": -0.15107,
        },
    ),
    (
        {"velocity": 0.1, "flow-at-standstill": flow_from_velocity(0.002, 0.1), "bore": 0.1, "gain-error": 0.005},
        {"flow": flow_from_velocity(0.1, 0.1), "zero-offset": 0.002, "deviation-by-zero-and-gain": 0.025},
    ),
]


@pytest.mark.parametrize(("given", "follows"), CHAINS, ids=[", ".join(each[0]) for each in CHAINS])
def test_what_follows(given: dict[str, float], follows: dict[str, float]) -> None:
    """All that follows from these inputs, and no more."""
    solved = solve(given, SUBJECTS["flow"].calculations)
    results = {each.calculation.gives: each.result for each in solved.worked}
    assert results == pytest.approx(follows, rel=1e-4)
    assert (solved.refused, solved.contradictions, solved.unused[1:]) == ((), (), ())
