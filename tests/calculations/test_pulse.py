"""Pulses and flow, the limits of output and counter, and what is lost beyond them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS, pulse
from diagnose.calculations.pulse import (
    counted_flow,
    counted_flow_of_all,
    counted_flow_of_output,
    counted_frequency,
    counter_frequency_from_width,
    flow_from_pulse_frequency,
    full_flow_frequency,
    highest_pulse_flow,
    highest_pulse_frequency,
    k_factor,
    least_pulse_value,
    lost_pulses,
    passing_frequency,
    passing_frequency_of_counter,
    passing_frequency_of_output,
    pulse_duty,
    pulse_frequency,
    pulse_value,
    pulse_value_from_frequency,
)
from diagnose.calculations.solving import solve
from tests.calculations.worked import Refusal, Row, without_row

FACTOR = "fact 8.9: f = K Q"
FAULTS = "fact 8.10: pulse width over half a period loses pulses at high flow only"
HALF_PERIOD = "half a period of a square wave, definition of frequency (ISO 80000-3)"

CUBIC_METRES_PER_HOUR = 1 / 3600
LITRE = 0.001

ROWS = [
    Row(pulse_value, (100 / LITRE,), 0.01 * LITRE, FACTOR),
    Row(k_factor, (0.01 * LITRE,), 100 / LITRE, FACTOR),
    Row(pulse_frequency, (36 * CUBIC_METRES_PER_HOUR, LITRE / 100), 1000.0, FACTOR + ": K 100 pulse/L"),
    Row(pulse_frequency, (36 * CUBIC_METRES_PER_HOUR, LITRE / 10), 100.0, FACTOR + ": 10 pulse/L"),
    Row(pulse_frequency, (0.0, LITRE), 0.0, FACTOR),
    Row(flow_from_pulse_frequency, (1000.0, LITRE / 100), 36 * CUBIC_METRES_PER_HOUR, "fact 8.9: Q = 3.6 f/K"),
    Row(flow_from_pulse_frequency, (100.0, LITRE / 10), 36 * CUBIC_METRES_PER_HOUR, "fact 8.9: Q = 3.6 f/K"),
    Row(pulse_value_from_frequency, (36 * CUBIC_METRES_PER_HOUR, 100.0), LITRE / 10, FACTOR),
    Row(full_flow_frequency, (36 * CUBIC_METRES_PER_HOUR, LITRE / 10), 100.0, FACTOR),
    Row(highest_pulse_frequency, (0.05,), 10.0, HALF_PERIOD),
    Row(highest_pulse_frequency, (0.5,), 1.0, HALF_PERIOD),
    Row(counter_frequency_from_width, (0.02,), 25.0, HALF_PERIOD),
    Row(passing_frequency, (10.0, 25.0), 10.0, "the lesser of two limits"),
    Row(passing_frequency, (50.0, 25.0), 25.0, "the lesser of two limits"),
    Row(passing_frequency_of_output, (10.0,), 10.0, "one limit alone"),
    Row(passing_frequency_of_counter, (25.0,), 25.0, "one limit alone"),
    Row(pulse_duty, (2.0, 0.05), 0.1, "share of a period, definition"),
    Row(counted_frequency, (40.0, 25.0), 25.0, FAULTS),
    Row(counted_frequency, (20.0, 25.0), 20.0, FAULTS),
    Row(lost_pulses, (40.0, 25.0), 0.375, FAULTS),
    Row(lost_pulses, (25.0, 25.0), 0.0, FAULTS),
    Row(lost_pulses, (0.0, 25.0), 0.0, FAULTS),
    Row(counted_flow, (10.0, LITRE), 36 * CUBIC_METRES_PER_HOUR, FACTOR),
    Row(counted_flow_of_output, (10.0, LITRE), 36 * CUBIC_METRES_PER_HOUR, FACTOR),
    Row(counted_flow_of_all, (1000.0, LITRE / 10), 360 * CUBIC_METRES_PER_HOUR, "fact 8.10: K wrong, constant ratio"),
    Row(highest_pulse_flow, (10.0, LITRE), 36 * CUBIC_METRES_PER_HOUR, FACTOR),
    Row(least_pulse_value, (36 * CUBIC_METRES_PER_HOUR, 10.0), LITRE, FACTOR),
]

REFUSED = [
    Refusal(pulse_value, (0.0,), "greater than 0"),
    Refusal(k_factor, (-1.0,), "greater than 0 L"),
    Refusal(pulse_frequency, (-0.01, LITRE), "one direction"),
    Refusal(pulse_frequency, (0.01, 0.0), "greater than 0 L"),
    Refusal(flow_from_pulse_frequency, (-1.0, LITRE), "not less than 0 Hz"),
    Refusal(pulse_value_from_frequency, (0.01, 0.0), "without pulses"),
    Refusal(pulse_value_from_frequency, (0.0, 10.0), "greater than 0 L"),
    Refusal(highest_pulse_frequency, (0.0,), "greater than 0 ms"),
    Refusal(counter_frequency_from_width, (0.0,), "greater than 0 ms"),
    Refusal(passing_frequency, (0.0, 1.0), "greater than 0 Hz"),
    Refusal(pulse_duty, (30.0, 0.05), "overlap"),
    Refusal(lost_pulses, (1.0, 0.0), "greater than 0 Hz"),
    Refusal(full_flow_frequency, (-1.0, LITRE), "not less than 0 Hz"),
    Refusal(least_pulse_value, (1.0, 0.0), "greater than 0 Hz"),
]

FLOW = st.floats(1e-6, 10.0)
VALUE = st.floats(1e-6, 10.0)
FREQUENCY = st.floats(1e-3, 1e5)


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
    assert without_row(pulse, ROWS) == set()


@given(FLOW, VALUE)
def test_flow_frequency_and_pulse_value_give_each_other_back(flow: float, value: float) -> None:
    """Three sides of f = Q / V_p."""
    frequency = pulse_frequency(flow, value)
    assert flow_from_pulse_frequency(frequency, value) == pytest.approx(flow)
    assert pulse_value_from_frequency(flow, frequency) == pytest.approx(value)
    assert pulse_value(k_factor(value)) == pytest.approx(value)


@given(FREQUENCY, FREQUENCY, st.floats(1.0, 10.0))
def test_pulses_are_lost_at_high_flow_only(frequency: float, limit: float, more: float) -> None:
    """Fact 8.10: none up to the limit, beyond it ever more, and what is counted and lost make all that was sent."""
    lost = lost_pulses(frequency, limit)
    assert (lost == 0) == (frequency <= limit)
    assert lost <= lost_pulses(frequency * more, limit) < 1
    assert counted_frequency(frequency, limit) == pytest.approx(frequency * (1 - lost))


@given(st.floats(1e-5, 10.0))
def test_pulse_and_gap_are_alike_at_the_highest_frequency(width: float) -> None:
    """There a pulse takes half of the time."""
    assert pulse_duty(highest_pulse_frequency(width), width) == pytest.approx(0.5)


@given(FLOW, FREQUENCY)
def test_the_least_pulse_value_just_passes_at_full_range(upper: float, limit: float) -> None:
    """Full range then makes exactly the frequency that passes."""
    value = least_pulse_value(upper, limit)
    assert full_flow_frequency(upper, value) == pytest.approx(limit)
    assert highest_pulse_flow(limit, value) == pytest.approx(upper)


@given(FREQUENCY, VALUE, VALUE)
def test_a_wrong_pulse_value_makes_a_constant_ratio(frequency: float, sent: float, read: float) -> None:
    """Fact 8.10: shown over true is the ratio of the two pulse values at every flow."""
    shown = counted_flow_of_all(frequency, read)
    assert shown / flow_from_pulse_frequency(frequency, sent) == pytest.approx(read / sent)


def test_the_narrower_of_two_limits_decides() -> None:
    """Output of 100 ms pulses (5 Hz) into a counter of 50 Hz: at 10 Hz half of the pulses are lost."""
    given_ = {
        "flow": 36 * CUBIC_METRES_PER_HOUR,
        "pulse-value": LITRE,
        "pulse-width": 0.1,
        "counter-least-width": 0.01,
    }
    results = {each.calculation.gives: each.result for each in solve(given_, SUBJECTS["pulse"].calculations).worked}
    assert results["passing-frequency"] == pytest.approx(5.0)
    assert results["lost-pulses"] == pytest.approx(0.5)
    assert results["counted-flow"] == pytest.approx(18 * CUBIC_METRES_PER_HOUR)


@pytest.mark.parametrize(
    ("known", "passing"), [({"pulse-width": 0.1}, 5.0), ({"counter-highest-frequency": 50.0}, 50.0)]
)
def test_one_limit_alone_is_enough(known: dict[str, float], passing: float) -> None:
    """Of output or counter, whichever is known."""
    results = {each.calculation.gives: each.result for each in solve(known, SUBJECTS["pulse"].calculations).worked}
    assert results["passing-frequency"] == pytest.approx(passing)


def test_a_k_factor_alone_leads_to_frequency() -> None:
    """Fact 8.9: K 100 pulse/L, 36 m³/h makes 1000 Hz."""
    given_ = {"k-factor": 100 / LITRE, "flow": 36 * CUBIC_METRES_PER_HOUR}
    results = {each.calculation.gives: each.result for each in solve(given_, SUBJECTS["pulse"].calculations).worked}
    assert results["pulse-frequency"] == pytest.approx(1000.0)
