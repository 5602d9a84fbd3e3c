"""From what the display says and the receiver shows to the mistakes that fit."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS
from diagnose.calculations.calculation import Table
from diagnose.calculations.receiver_fits import fits, fitting_mistakes, mistakes_fitting_readings
from diagnose.calculations.receiver_mistakes import MISTAKES, Mistake
from diagnose.calculations.solving import solve
from diagnose.errors import OutOfRange

FIGURED = [each for each in MISTAKES if each.reading is not None]
INNER = (0.3, 0.45, 0.6, 0.8)
"""Shares at which no two mistakes of the list show the same."""


def fitting(table: Table) -> list[object]:
    """Return the names of the mistakes that a table says to fit."""
    return [row[0] for row in table.rows if row[3] == "yes"]


@pytest.mark.parametrize(
    ("share", "reading", "mistake"),
    [
        # fact sheet section 3, classic mistakes, column x = 0.25 or 0.5
        (0.25, 0.40, "sender 4-20, receiver 0-20"),
        (0.50, 0.375, "sender 0-20, receiver 4-20"),
        (0.50, 0.70711, "square root left on"),
        (0.50, 0.125, "half the current"),
        (0.50, 1.25, "shunt 500 instead of 250 ohm"),
        (0.25, 0.625, "both directions sent, one read"),
        (0.50, 0.46875, "0.5 mA lost"),
        (0.50, -0.25, "no current"),
    ],
)
def test_a_reading_of_the_fact_sheet_fits_its_mistake_alone(share: float, reading: float, mistake: str) -> None:
    """The mistake of that line stands first, without misfit, and no other of the usual amounts fits."""
    table = fitting_mistakes(share, reading)
    assert table.rows[0][0] == mistake
    assert table.rows[0][2] == pytest.approx(0.0, abs=5e-6)
    assert fitting(table) == [mistake]
    assert mistake in table.remark


def test_a_small_shunt_error_is_seen_with_a_small_tolerance_only() -> None:
    """Fact sheet section 3: 249 ohm shows 0.746 at 0.75, 0.4 points off; half a per cent of range hides that."""
    assert fitting(fitting_mistakes(0.75, 0.746, 0.001)) == ["shunt 249 instead of 250 ohm"]
    assert fitting_mistakes(0.75, 0.746).remark == "the receiver shows what the display says"


def test_what_agrees_is_fine_unless_the_flow_hides_a_mistake() -> None:
    """In the middle nothing else fits; at full range five scalings meet, and another flow is asked for."""
    assert fitting_mistakes(0.6, 0.6).remark == "the receiver shows what the display says"
    full = fitting_mistakes(1.0, 1.0)
    assert "square root left on" in full.remark
    assert "A reading at 50 % of range would tell them apart" in full.remark


def test_two_mistakes_that_meet_are_told_apart_elsewhere() -> None:
    """At 25 % a square and a sender at 0–20 mA both show 6.25 % (fact sheet section 3)."""
    table = fitting_mistakes(0.25, 0.0625)
    assert set(fitting(table)) == {"sender 0-20, receiver 4-20", "square root missing"}
    assert "would tell them apart" in table.remark


def test_a_receiver_at_the_end_of_its_range_hides_what_lies_beyond() -> None:
    """No current is -25 %, which a limiting receiver shows as 0: it still fits, and so does what else lies below."""
    assert "no current" in fitting(fitting_mistakes(0.2, 0.0))
    assert "shunt 500 instead of 250 ohm" in fitting(fitting_mistakes(0.9, 1.0))
    assert "square root left on" not in fitting(fitting_mistakes(0.2, 0.0))


def test_nothing_that_fits_is_said_so() -> None:
    """A reading that no usual amount makes asks for a second one; open amounts are offered, not concluded."""
    table = fitting_mistakes(0.5, 0.8)
    assert fitting(table) == []
    assert "take a second reading" in table.remark
    amounts = {row[0]: row[1] for row in table.rows if row[3] == "needs another reading"}
    assert amounts == {
        "other range, zero right": "URV in the receiver 1.6 times the meter's",
        "current lost or added": "4.8 mA is added",
        "other shunt or parallel path": "as 350 instead of 250 ohm",
        "output or receiver held": "at 80 % (16.8 mA)",
    }


@pytest.mark.parametrize("mistake", FIGURED, ids=lambda each: each.name)
@given(st.floats(0.02, 0.98))
def test_every_mistake_fits_what_it_shows(mistake: Mistake, share: float) -> None:
    """Forward and back: whatever a mistake makes the receiver show is explained by it."""
    assert mistake.reading is not None
    reading = mistake.reading(share)
    assert mistake.name in fitting(fitting_mistakes(share, reading))


@pytest.mark.parametrize("mistake", FIGURED, ids=lambda each: each.name)
def test_four_readings_leave_one_mistake(mistake: Mistake) -> None:
    """With readings at four flows no other mistake of the usual amounts fits as well."""
    assert mistake.reading is not None
    pairs = [(share, mistake.reading(share)) for share in INNER]
    exact = [each.mistake for each in fits(pairs, 0.001) if each.parameter_count == 0 and each.misfit <= 0.001]
    assert exact == [mistake.name]


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(-0.25, 1.3)), min_size=1, max_size=5))
def test_the_order_is_that_of_the_misfit_and_of_the_test(pairs: list[tuple[float, float]]) -> None:
    """What the readings could refuse stands first, the least misfit first; misfits are never negative."""
    found = fits(pairs, 0.005)
    keys = [(not each.tested, each.misfit) for each in found]
    assert keys == sorted(keys)
    assert all(each.misfit >= 0 for each in found)


SEVERAL = [
    # zero right, constant ratio: fact sheet section 3, Q' = Q · URV_rx / URV_tx with 150 and 100
    ((20.0, 40.0, 60.0), (30.0, 60.0, 90.0), "other range, zero right", "URV in the receiver 1.5 times the meter's"),
    # x - d/16: 1.6 mA lost is 10 points everywhere
    ((20.0, 40.0, 60.0), (10.0, 30.0, 50.0), "current lost or added", "1.6 mA is lost"),
    ((20.0, 40.0, 60.0), (30.0, 50.0, 70.0), "current lost or added", "1.6 mA is added"),
    # ((4 + 16x) · 200/250 - 4)/16 = 0.8 x - 0.05
    ((20.0, 40.0, 60.0), (11.0, 27.0, 43.0), "other shunt or parallel path", "as 200 instead of 250 ohm"),
    ((20.0, 40.0, 60.0), (30.0, 30.0, 30.0), "output or receiver held", "at 30 % (8.8 mA)"),
    # 0..100 sent, 10..70 read: 10 + 0.6 Q
    ((20.0, 40.0, 60.0), (22.0, 34.0, 46.0), "other range at both ends", "0 % shows as 10 %, 100 % as 70 %"),
    ((25.0, 50.0, 75.0), (40.0, 60.0, 80.0), "sender 4-20, receiver 0-20", ""),
]


@pytest.mark.parametrize(("display", "shown", "mistake", "amount"), SEVERAL, ids=lambda each: str(each))
def test_several_readings_give_the_amount(
    display: tuple[float, ...], shown: tuple[float, ...], mistake: str, amount: str
) -> None:
    """The simplest mistake that fits is named in the verdict, with its amount by least squares."""
    table = mistakes_fitting_readings(display, shown, 100.0)
    assert (mistake, amount, 0.0, "yes") in table.rows
    named = f"{mistake} ({amount})" if amount else mistake
    assert table.remark == f"what fits: {named}"


@given(st.floats(0.3, 3.0), st.lists(st.floats(5, 90), min_size=3, max_size=6, unique=True))
def test_a_ratio_is_found_again(ratio: float, display: list[float]) -> None:
    """Least squares gives the ratio of the ranges back, in front of anything with more amounts."""
    shown = [ratio * each for each in display]
    pairs = [(one / 100, other / 100) for one, other in zip(display, shown, strict=True)]
    found = next(each for each in fits(pairs, 0.001) if each.mistake == "other range, zero right")
    assert found.misfit <= 0.001


def test_readings_must_come_in_pairs() -> None:
    """Each flow on the display needs the receiver's at the same time."""
    with pytest.raises(OutOfRange, match="there are 2 and 1"):
        mistakes_fitting_readings((1.0, 2.0), (1.0,), 100.0)
    with pytest.raises(OutOfRange, match="must differ"):
        mistakes_fitting_readings((1.0, 2.0), (1.0, 2.0), 5.0, 5.0)
    with pytest.raises(OutOfRange, match=r"greater than 0 %"):
        fitting_mistakes(0.5, 0.5, 0.0)


def test_display_and_receiver_flow_ask_the_inverse_question() -> None:
    """From two flows and a range the table follows; a receiver at zero or a meter at zero is no error."""
    for flow, shown in ((25.0, 40.0), (25.0, 0.0), (0.0, 20.0), (25.0, -25.0)):
        given_ = {"flow": flow, "receiver-flow": shown, "upper-range-value": 100.0}
        solved = solve(given_, SUBJECTS["loop"].calculations)
        tables = [each.calculation.name for each in solved.worked if each.table is not None]
        assert tables == ["fitting-mistakes", "unit-mixups-of-flows"]
        assert solved.refused == ()
