"""What the receiver shows, as share and flow, and the tables of all mistakes."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS, receiver
from diagnose.calculations.receiver import (
    flow_in_receiver_range,
    flows_with_mistakes,
    mistaken_flow,
    readings_with_mistakes,
    receiver_flow_from_reading,
    receiver_reading,
)
from diagnose.calculations.receiver_mistakes import MISTAKES
from diagnose.calculations.solving import solve
from diagnose.terms import TERMS
from tests.calculations.worked import Refusal, Row, without_row

TABLE = "fact sheet section 3, classic mistakes"

ROWS = [
    Row(receiver_reading, (40.0, 100.0), 0.4, "definition"),
    Row(receiver_reading, (50.0, 100.0, -100.0), 0.75, "definition"),
    Row(receiver_flow_from_reading, (0.75, 100.0, -100.0), 50.0, "definition"),
    Row(flow_in_receiver_range, (0.375, 200.0), 75.0, TABLE + ": Q' = Q · URV_rx / URV_tx, 37.5 of 100 in 200"),
    Row(flow_in_receiver_range, (0.0, 100.0), 0.0, TABLE + ": -100 of -100..100 shows 0 in 0..100"),
    Row(flow_in_receiver_range, (0.5, 100.0), 50.0, TABLE + ": 0 of -100..100 shows 50 in 0..100"),
    Row(flow_in_receiver_range, (1.0, 100.0), 100.0, TABLE + ": 100 of -100..100 shows 100 in 0..100"),
    Row(mistaken_flow, (0.46875, 100.0), 46.875, TABLE + ": 0.5 mA lost at 12 mA"),
]

REFUSED = [
    Refusal(receiver_reading, (1.0, 5.0, 5.0), "must differ"),
    Refusal(receiver_flow_from_reading, (0.5, 5.0, 5.0), "must differ"),
    Refusal(flow_in_receiver_range, (0.5, 0.0), "must differ"),
    Refusal(mistaken_flow, (0.5, 0.0), "must differ"),
    Refusal(readings_with_mistakes, (0.5, "gremlins"), "it is `gremlins`"),
    Refusal(flows_with_mistakes, (0.5, "all", 5.0, 5.0), "must differ"),
]


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_worked_value(row: Row) -> None:
    """The calculation gives what its source says."""
    row.holds()


@pytest.mark.parametrize("row", REFUSED, ids=str)
def test_what_cannot_be_is_refused_in_words(row: Refusal) -> None:
    """No figure comes out of inputs for which the formula says nothing."""
    row.holds()


def test_every_calculation_has_a_worked_value() -> None:
    """None is left untested; the two tables are tested below."""
    assert without_row(receiver, ROWS, ("readings-with-mistakes", "flows-with-mistakes")) == set()


def test_the_table_has_every_mistake_of_the_fact_sheet_at_half_range() -> None:
    """Fact sheet section 3, column x = 0.5, with the current that it looks like and its meaning by NE 43."""
    rows = {row[0]: row[1:3] for row in readings_with_mistakes(0.5, "all").rows}
    assert rows == {
        "sender 4-20, receiver 0-20": (pytest.approx(0.6), pytest.approx(0.0136)),
        "sender 0-20, receiver 4-20": (pytest.approx(0.375), pytest.approx(0.010)),
        "square root left on": (pytest.approx(0.70711, abs=5e-6), pytest.approx(0.0153137)),
        "square root missing": (pytest.approx(0.25), pytest.approx(0.008)),
        "half the current": (pytest.approx(0.125), pytest.approx(0.006)),
        "shunt 500 instead of 250 ohm": (pytest.approx(1.25), pytest.approx(0.024)),
        "shunt 249 instead of 250 ohm": (pytest.approx(0.497), pytest.approx(0.011952)),
        "receiver's range twice the meter's": (pytest.approx(1.0), pytest.approx(0.020)),
        "receiver's range half the meter's": (pytest.approx(0.25), pytest.approx(0.008)),
        "both directions sent, one read": (pytest.approx(0.75), pytest.approx(0.016)),
        "one direction sent, both read": (pytest.approx(0.0), pytest.approx(0.004)),
        "0.5 mA lost": (pytest.approx(0.46875), pytest.approx(0.0115)),
        "no current": (pytest.approx(-0.25), pytest.approx(0.0, abs=1e-12)),
        "both ends feed": ("-", "-"),
        "output held": ("-", "-"),
        "two earths": ("-", "-"),
    }


def test_a_shunt_of_twice_the_resistance_goes_off_scale() -> None:
    """Fact sheet section 3: at x = 0.75 and 1 beyond the 21 mA from which a receiver takes it for a failure."""
    for share in (0.75, 1.0):
        (row,) = readings_with_mistakes(share, "shunt 500 instead of 250 ohm").rows
        assert isinstance(row[2], float)
        assert row[2] >= 0.021


def test_one_mistake_may_be_asked_for() -> None:
    """Named by one of the words of the term; each mistake has its word."""
    for mistake in MISTAKES:
        assert [row[0] for row in readings_with_mistakes(0.5, mistake.name).rows] == [mistake.name]
    assert TERMS["mistake"].choices[1:] == tuple(each.name for each in MISTAKES)


def test_flows_stand_beside_their_ratio_to_the_truth() -> None:
    """25 of 0 to 100 with the square root left on shows 50, twice the flow; at no flow there is no ratio."""
    assert flows_with_mistakes(0.25, "square root left on", 100.0).rows == (("square root left on", 50.0, 2.0),)
    assert flows_with_mistakes(0.0, "sender 4-20, receiver 0-20", 100.0).rows[0][1:] == (20.0, "-")
    assert flows_with_mistakes(0.5, "output held", 100.0).rows[0][2] == "-"
    assert flows_with_mistakes(0.0, "sender 4-20, receiver 0-20", 4.0, 5e-324).rows[0][2] == "-"


@given(st.floats(-0.1, 1.1), st.floats(-1e3, 1e3), st.floats(-1e3, 1e3))
def test_the_two_tables_agree(share: float, upper: float, lower: float) -> None:
    """A flow of the second table is the share of the first, scaled."""
    assume(upper - lower > 1e-3)
    shares = readings_with_mistakes(share, "all").rows
    flows = flows_with_mistakes(share, "all", upper, lower).rows
    for one, other in zip(shares, flows, strict=True):
        assert one[0] == other[0]
        if isinstance(one[1], float):
            assert other[1] == pytest.approx(lower + one[1] * (upper - lower))


@given(st.floats(-0.3, 1.3), st.floats(1e-3, 1e3))
def test_reading_and_flow_of_the_receiver_are_inverse(reading: float, upper: float) -> None:
    """A share of the meter's range there and back."""
    assert receiver_reading(receiver_flow_from_reading(reading, upper), upper) == pytest.approx(reading, abs=1e-12)


def test_the_tables_wait_until_a_mistake_is_asked_for() -> None:
    """A flow and a range alone do not print sixteen lines of mistakes, nor a figure of a mistake that nobody made."""
    solved = solve({"flow": 37.5, "upper-range-value": 100.0}, SUBJECTS["loop"].calculations)
    assert [each.calculation.gives for each in solved.worked] == ["loop-current", "share-of-range"]


def test_the_range_of_the_receiver_gives_the_flow_that_it_shows() -> None:
    """37.5 of 0 to 100 is 75 in a receiver of 0 to 200."""
    given_ = {"flow": 37.5, "upper-range-value": 100.0, "receiver-upper-range-value": 200.0}
    solved = solve(given_, SUBJECTS["loop"].calculations)
    results = {each.calculation.gives: each.result for each in solved.worked}
    assert results["mistaken-flow"] == pytest.approx(75.0)
