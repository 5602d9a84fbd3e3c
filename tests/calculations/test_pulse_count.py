"""Counting pulses: how many, how long, how fine."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from diagnose.calculations import SUBJECTS, pulse_count
from diagnose.calculations.pulse_count import (
    count_for_resolution,
    counted_volume,
    counting_time,
    flow_step,
    frequency_from_count,
    overflow_time,
    pulse_resolution,
    pulse_value_from_volume,
)
from diagnose.calculations.pulse_count import pulse_count as count_in_time
from diagnose.calculations.solving import solve, standard_uncertainty
from tests.calculations.worked import Refusal, Row, without_row

RESOLUTION = "fact 8.9: resolution of N counts is 1/N"
DEFINITION = "definition"

ROWS = [
    Row(pulse_resolution, (1000.0,), 0.001, RESOLUTION),
    Row(count_for_resolution, (0.001,), 1000.0, RESOLUTION),
    Row(count_in_time, (10.0, 100.0), 1000.0, DEFINITION),
    Row(counting_time, (1000.0, 10.0), 100.0, DEFINITION),
    Row(frequency_from_count, (1000.0, 100.0), 10.0, DEFINITION),
    Row(counted_volume, (100.0, 0.010), 1.0, DEFINITION),
    Row(flow_step, (0.010, 1.0), 0.010, RESOLUTION),
    Row(pulse_value_from_volume, (1.0, 100.0), 0.010, DEFINITION),
    Row(overflow_time, (36000.0, 0.01), 3.6e6, DEFINITION),
]

REFUSED = [
    Refusal(pulse_resolution, (0.5,), "not more than 100 %"),
    Refusal(count_for_resolution, (0.0,), "greater than 0 %"),
    Refusal(count_in_time, (0.0, 100.0), "greater than 0"),
    Refusal(counting_time, (1000.0, 0.0), "without pulses"),
    Refusal(frequency_from_count, (1000.0, 0.0), "greater than 0 s"),
    Refusal(counted_volume, (100.0, 0.0), "greater than 0 L"),
    Refusal(flow_step, (0.010, 0.0), "greater than 0 s"),
    Refusal(pulse_value_from_volume, (0.0, 100.0), "greater than 0 L"),
    Refusal(overflow_time, (36000.0, 0.0), "only with forward flow"),
]

COUNT = st.floats(1.0, 1e8)
POSITIVE = st.floats(1e-3, 1e5)


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_worked_value(row: Row) -> None:
    """The calculation gives what its source says."""
    row.holds()


@pytest.mark.parametrize("row", REFUSED, ids=str)
def test_what_cannot_be_is_refused_in_words(row: Refusal) -> None:
    """No figure comes out of inputs for which the formula says nothing."""
    row.holds()


def test_every_calculation_has_a_worked_value() -> None:
    """None is left untested."""
    assert without_row(pulse_count, ROWS) == set()


@given(COUNT)
def test_count_and_resolution_are_inverse(count: float) -> None:
    """A finer count is a longer one."""
    assert count_for_resolution(pulse_resolution(count)) == pytest.approx(count)
    assert pulse_resolution(2 * count) < pulse_resolution(count)


@given(COUNT, POSITIVE, POSITIVE)
def test_count_time_and_volume_give_each_other_back(count: float, frequency: float, value: float) -> None:
    """N = f t and V = N V_p, there and back."""
    time = counting_time(count, frequency)
    assert count_in_time(frequency, time) == pytest.approx(count)
    assert frequency_from_count(count, time) == pytest.approx(frequency)
    assert pulse_value_from_volume(counted_volume(count, value), count) == pytest.approx(value)


@given(POSITIVE, POSITIVE, st.floats(1.01, 10.0))
def test_more_flow_fills_a_totaliser_sooner(capacity: float, flow: float, factor: float) -> None:
    """Time is inverse to flow."""
    assert overflow_time(capacity, flow * factor) * factor == pytest.approx(overflow_time(capacity, flow))


def test_a_wanted_resolution_leads_to_the_time() -> None:
    """Fact 8.9: 0.1 % needs 1000 pulses; 36 m³/h with 1 L each (10 Hz) takes 100 s."""
    given_ = {"pulse-resolution": 0.001, "flow": 0.01, "pulse-value": 0.001}
    results = {each.calculation.gives: each.result for each in solve(given_, SUBJECTS["pulse"].calculations).worked}
    assert results["pulse-count"] == pytest.approx(1000.0)
    assert results["counting-time"] == pytest.approx(100.0)


def test_pulses_by_the_stopwatch_are_a_flow_with_its_uncertainty() -> None:
    """1000 pulses of 10 L in 100.0 ± 0.5 s are 100 L/s ± 0.5 %: first order, JCGM 100:2008, 5.1.2."""
    given_ = {"pulse-count": 1000.0, "counting-time": ufloat(100.0, 0.5), "pulse-value": 0.010}
    results = {each.calculation.gives: each.result for each in solve(given_, SUBJECTS["pulse"].calculations).worked}
    assert results["flow"].nominal_value == pytest.approx(0.1)
    assert standard_uncertainty(results["flow"]) == pytest.approx(0.0005)
