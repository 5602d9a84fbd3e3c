"""Flow, share, current and shunt voltage of a 4–20 mA loop, and what NAMUR NE 43 makes of a current."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS, current_loop
from diagnose.calculations.current_loop import (
    current_from_flow,
    current_from_share,
    current_from_shunt_voltage,
    flow_from_current,
    flow_from_share,
    share_from_current,
    share_from_flow,
    shunt_resistance_from_voltage,
    shunt_voltage,
    upper_range_value_from_share,
)
from diagnose.calculations.solving import solve
from tests.calculations.worked import Refusal, Row, without_row

SCALING = "fact 3.4: scaling of IEC 60381-1"
NE_43 = "fact 3.2: NAMUR NE 43"
SPAN_SHARES = "fact 3.3: limits of NAMUR NE 43 as shares of span"
SHUNT = "fact 3.5: Ohm's law, 250 ohm"

ROWS = [
    Row(flow_from_current, (0.008, 250.0), 62.5, SCALING),
    Row(flow_from_current, (0.012, 250.0), 125.0, SCALING),
    Row(flow_from_current, (0.0136, 250.0), 150.0, SCALING),
    Row(flow_from_current, (0.020, 250.0), 250.0, SCALING),
    Row(flow_from_current, (0.012, 100.0, -100.0), 0.0, SCALING),
    Row(current_from_flow, (37.5, 100.0), 0.010, SCALING),
    Row(current_from_flow, (0.0, 100.0, -100.0), 0.012, SCALING),
    Row(share_from_flow, (62.5, 250.0), 0.25, SCALING),
    Row(share_from_flow, (0.0, 100.0, -100.0), 0.5, SCALING),
    Row(flow_from_share, (0.6, 250.0), 150.0, SCALING),
    Row(flow_from_share, (0.5, 100.0, -100.0), 0.0, SCALING),
    Row(upper_range_value_from_share, (150.0, 0.6), 250.0, SCALING),
    Row(upper_range_value_from_share, (0.0, 0.5, -100.0), 100.0, SCALING),
    Row(share_from_current, (0.0036,), -0.025, SPAN_SHARES),
    Row(share_from_current, (0.0038,), -0.0125, SPAN_SHARES),
    Row(share_from_current, (0.0205,), 1.03125, SPAN_SHARES),
    Row(share_from_current, (0.0210,), 1.0625, SPAN_SHARES),
    Row(current_from_share, (-0.025,), 0.0036, SPAN_SHARES),
    Row(current_from_share, (1.0625,), 0.021, SPAN_SHARES),
    *(
        Row(calculation, inputs, expected, SHUNT)
        for current, voltage in (
            (0.0036, 0.900),
            (0.004, 1.000),
            (0.012, 3.000),
            (0.020, 5.000),
            (0.0205, 5.125),
            (0.021, 5.250),
        )
        for calculation, inputs, expected in (
            (shunt_voltage, (current, 250.0), voltage),
            (current_from_shunt_voltage, (voltage, 250.0), current),
            (shunt_resistance_from_voltage, (voltage, current), 250.0),
        )
    ),
]

REFUSED = [
    Refusal(current_from_flow, (1.0, 5.0, 5.0), "must differ"),
    Refusal(current_from_flow, (1.0, 0.0, 5.0), "must be above the lower"),
    Refusal(flow_from_current, (0.012, 0.0, 5.0), "must be above the lower"),
    Refusal(flow_from_current, (0.012, 5.0, 5.0), "must differ"),
    Refusal(share_from_flow, (1.0, 5.0, 5.0), "must differ"),
    Refusal(flow_from_share, (0.5, 5.0, 5.0), "must differ"),
    Refusal(upper_range_value_from_share, (1.0, 0.0), "at a higher current"),
    Refusal(current_from_shunt_voltage, (1.0, 0.0), "greater than 0 ohm"),
    Refusal(shunt_voltage, (0.012, -250.0), "greater than 0 ohm"),
    Refusal(shunt_resistance_from_voltage, (3.0, 0.0), "without current"),
    Refusal(current_from_share, (float("nan"),), "finite"),
    Refusal(share_from_current, (-0.004,), "the leads are reversed, of the milliammeter or of the meter"),
    Refusal(flow_from_current, (-0.004, 100.0), "the loop carries 4 mA"),
]

FLOW = st.floats(-1e3, 1e3)
CURRENT = st.floats(-0.0005, 0.03)


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
    assert without_row(current_loop, ROWS) == set()


@given(FLOW, FLOW, FLOW)
def test_flow_and_current_are_inverse(flow: float, lower: float, upper: float) -> None:
    """The flow that a current stands for drives that current."""
    assume(upper - lower > 1e-3)
    assume(flow - lower > -0.25 * (upper - lower))  # below that the current flows backwards
    assert flow_from_current(current_from_flow(flow, upper, lower), upper, lower) == pytest.approx(flow, abs=1e-6)
    assert flow_from_share(share_from_flow(flow, upper, lower), upper, lower) == pytest.approx(flow, abs=1e-6)


@given(CURRENT)
def test_share_and_current_are_inverse(current: float) -> None:
    """A share of the range is another word for a current."""
    assert current_from_share(share_from_current(current)) == pytest.approx(current, abs=1e-12)


@given(FLOW, FLOW)
def test_range_values_are_4_and_20_milliampere(lower: float, upper: float) -> None:
    """By definition."""
    assume(upper - lower > 1e-3)
    assert current_from_flow(lower, upper, lower) == pytest.approx(0.004)
    assert current_from_flow(upper, upper, lower) == pytest.approx(0.020)


@given(FLOW, st.floats(1e-3, 1e3), st.floats(1e-3, 1e4))
def test_more_flow_is_more_current(flow: float, more: float, span: float) -> None:
    """With a rising characteristic, beyond both ends too."""
    assert current_from_flow(flow + more, span) > current_from_flow(flow, span)


@given(FLOW, st.floats(0.02, 1.1), FLOW)
def test_the_range_that_is_told_makes_the_share_that_was_seen(flow: float, share: float, lower: float) -> None:
    """Put back into the scaling, the upper range value gives the same share."""
    assume(flow - lower > 1e-3)
    upper = upper_range_value_from_share(flow, share, lower)
    assert share_from_flow(flow, upper, lower) == pytest.approx(share)


@given(CURRENT, st.floats(1e-3, 1e4))
def test_shunt_voltage_gives_current_and_resistance_back(current: float, resistance: float) -> None:
    """Ohm's law there and back."""
    assume(abs(current) > 1e-6)
    voltage = shunt_voltage(current, resistance)
    assert current_from_shunt_voltage(voltage, resistance) == pytest.approx(current)
    assert shunt_resistance_from_voltage(voltage, current) == pytest.approx(resistance)


def test_a_flow_chains_to_current_share_region_and_shunt_voltage() -> None:
    """From flow, URV and shunt all the rest follows, LRV taken as 0 and told as taken."""
    given_ = {"flow": 37.5, "upper-range-value": 100.0, "shunt-resistance": 250.0}
    solved = solve(given_, SUBJECTS["loop"].calculations)
    results = {each.calculation.gives: each.result for each in solved.worked}
    assert results == pytest.approx({"loop-current": 0.01, "share-of-range": 0.375, "shunt-voltage": 2.5})
    assert {"lower-range-value": 0.0} in [dict(each.taken) for each in solved.worked]
    assert solved.refused == ()
