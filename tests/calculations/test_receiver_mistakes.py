"""What each classic mistake makes of a share of the range: the table of fact sheet section 3, row by row."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import CALCULATIONS, FUNCTIONS, receiver_mistakes
from diagnose.calculations.calculation import AnyCalculation, calculations_in
from diagnose.calculations.current_loop import current_from_share, share_from_current
from diagnose.calculations.receiver_mistakes import (
    MISTAKES,
    half_the_current,
    no_current,
    reading_of_held_output,
    reading_with_current_lost,
    reading_with_other_range,
    reading_with_shunt,
    sender_0_20_receiver_4_20,
    sender_4_20_receiver_0_20,
    square_root_left_on,
    square_root_missing,
)
from tests.calculations.worked import Refusal, Row, without_row

TABLE = "fact sheet section 3, classic mistakes (scaling of IEC 60381-1, Ohm's law)"
SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)


def rows(calculation: AnyCalculation, shown: tuple[float, ...], *others: float, within: float = 1e-9) -> list[Row]:
    """Return a line of the fact sheet's table as rows."""
    return [
        Row(calculation, (share, *others), value, TABLE, within) for share, value in zip(SHARES, shown, strict=True)
    ]


ROWS = [
    *rows(sender_4_20_receiver_0_20, (0.20, 0.40, 0.60, 0.80, 1.00)),
    *rows(sender_0_20_receiver_4_20, (-0.25, 0.0625, 0.375, 0.6875, 1.00)),
    *rows(square_root_left_on, (0.0, 0.5, 0.70711, 0.86603, 1.0), within=1e-5),
    Row(square_root_left_on, (0.01,), 0.1, TABLE),
    *rows(square_root_missing, (0.0, 0.0625, 0.25, 0.5625, 1.0)),
    *rows(half_the_current, (-0.125, 0.0, 0.125, 0.25, 0.375)),
    *rows(reading_with_shunt, (0.25, 0.75, 1.25, 1.75, 2.25), 500.0, 250.0),
    *rows(reading_with_shunt, (-0.001, 0.248, 0.497, 0.746, 0.995), 249.0, 250.0),
    *rows(reading_with_shunt, (-0.125, 0.0, 0.125, 0.25, 0.375), 125.0, 250.0),
    *rows(reading_with_other_range, (0.0, 0.5, 1.0, 1.5, 2.0), 200.0, 100.0),
    *rows(reading_with_other_range, (0.5, 0.625, 0.75, 0.875, 1.0), 100.0, 100.0, 0.0, -100.0),
    Row(reading_with_current_lost, (0.5, 0.0005), 0.46875, TABLE),
    Row(reading_with_current_lost, (0.5, -0.0005), 0.53125, "two earths: current comes in; fact sheet section 3"),
    *rows(no_current, (-0.25,) * 5),
    *rows(reading_of_held_output, (0.3,) * 5, 0.3),
    Row(square_root_left_on, (-0.01,), 0.0, "no root below zero"),
    Row(square_root_missing, (-0.1,), 0.0, "no root below zero"),
]

REFUSED = [
    Refusal(reading_with_shunt, (0.5, 0.0, 250.0), "greater than 0 ohm"),
    Refusal(reading_with_shunt, (0.5, 250.0, 0.0), "greater than 0 ohm"),
    Refusal(reading_with_other_range, (0.5, 100.0, 0.0), "must differ"),
    Refusal(reading_with_other_range, (0.5, 100.0, 100.0, 100.0), "must differ"),
    Refusal(square_root_left_on, (math.inf,), "finite"),
]

SHARE = st.floats(-0.1, 1.1)


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
    assert without_row(receiver_mistakes, ROWS) == set()


def test_rules_may_name_every_mistake() -> None:
    """Each function is in the table by which rules name calculations, though in no subject for people."""
    names = {each.name for each in calculations_in([receiver_mistakes])}
    assert names <= set(FUNCTIONS) <= set(CALCULATIONS)


@pytest.mark.parametrize(
    ("sent_zero", "sent_full", "read_zero", "read_full", "mistake"),
    [(4, 20, 0, 20, sender_4_20_receiver_0_20), (0, 20, 4, 20, sender_0_20_receiver_4_20)],
)
@given(SHARE)
def test_two_scalings_one_behind_the_other(
    sent_zero: float, sent_full: float, read_zero: float, read_full: float, mistake: AnyCalculation, share: float
) -> None:
    """What is sent by one range and read by the other is what the formula says."""
    milliampere = sent_zero + (sent_full - sent_zero) * share
    read = (milliampere - read_zero) / (read_full - read_zero)
    assert mistake(share) == pytest.approx(read, abs=1e-12)


@given(SHARE)
def test_half_the_current_is_half_the_current(share: float) -> None:
    """The receiver gets half of what is sent, and a shunt of half the resistance looks the same."""
    half = share_from_current(current_from_share(share) / 2)
    assert half_the_current(share) == pytest.approx(half, abs=1e-12)
    assert reading_with_shunt(share, 125.0, 250.0) == pytest.approx(half, abs=1e-12)


@given(st.floats(0, 1))
def test_root_and_square_undo_each_other(share: float) -> None:
    """One mistake upon the other shows the truth."""
    assert square_root_left_on(square_root_missing(share)) == pytest.approx(share, abs=1e-9)


@given(st.floats(0.001, 0.999))
def test_a_root_reads_high_and_a_square_low(share: float) -> None:
    """Between zero and full range; a receiver at 0–20 mA reads high as well, a sender at 0–20 mA low."""
    assert square_root_left_on(share) > share > square_root_missing(share)
    assert sender_4_20_receiver_0_20(share) > share > sender_0_20_receiver_4_20(share)


@given(st.floats(-100, 100))
def test_both_directions_read_as_one(flow: float) -> None:
    """Fact sheet section 3: -100 to 100 read as 0 to 100 shows 50 + Q/2."""
    shown = reading_with_other_range((flow + 100) / 200, 100.0, 100.0, 0.0, -100.0)
    assert -100 + 200 * shown == pytest.approx(50 + flow / 2, abs=1e-9)


@given(st.floats(0.1, 200), st.floats(1, 1000), st.floats(1, 1000))
def test_another_range_with_zero_right_makes_a_constant_ratio(flow: float, sent: float, read: float) -> None:
    """Fact sheet section 3: Q' = Q · URV_rx / URV_tx."""
    shown = sent * reading_with_other_range(flow / sent, read, sent)
    assert shown == pytest.approx(flow * read / sent)


@given(SHARE, SHARE)
def test_no_mistake_of_the_list_turns_the_direction(one: float, other: float) -> None:
    """More true flow never shows less, whatever the mistake."""
    low, high = sorted((one, other))
    for mistake in MISTAKES:
        if mistake.reading is not None:
            assert mistake.reading(low) <= mistake.reading(high), mistake.name
