"""Supply voltage, frequency and current against IEC 60038, EN 50160 and the fact sheet."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS, supply
from diagnose.calculations.solving import solve
from diagnose.calculations.supply import (
    mains_frequency_limits,
    supply_current,
    supply_current_over_range,
    supply_lower_limit,
    supply_upper_limit,
    supply_voltage_limits,
)
from tests.calculations.worked import Refusal, Row, without_row

MAINS = "facts 5.1: IEC 60038, 230 V +-10 % = 207 to 253 V"
DIRECT = "facts 5.1: common practice, 24 V d.c. -15/+20 %"
GRID = "facts 5.1: EN 50160, 50 Hz +-1 %, always +4/-6 %"
ISLAND = "facts 5.1: EN 50160, island grids +-2 %, +-15 %"
PLATE = "facts 5.2: 20 VA at 207/230/253 V; 10 W at 24 V"
MEASURED = "facts 5.2: none is open, several times the nameplate a short"
NONE, TOO_MUCH = "none: supply, fuse or power board open", "far too much: a short or a broken power board"
ROWS = [
    Row(supply_lower_limit, (230.0, "a.c."), 207.0, MAINS),
    Row(supply_upper_limit, (230.0, "a.c."), 253.0, MAINS),
    Row(supply_lower_limit, (24.0, "d.c."), 20.4, DIRECT),
    Row(supply_upper_limit, (24.0, "d.c."), 28.8, DIRECT),
    Row(supply_current, (20.0, 207.0), 0.097, PLATE, 6e-3),
    Row(supply_current, (20.0, 230.0), 0.087, PLATE, 6e-3),
    Row(supply_current, (20.0, 253.0), 0.079, PLATE, 6e-3),
    Row(supply_current, (10.0, 24.0), 0.417, PLATE, 1e-3),
]


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_published_value(row: Row) -> None:
    """The calculation gives what the source beside it says."""
    row.holds()


REFUSED = [
    Refusal(supply_lower_limit, (0.0, "a.c."), "greater than 0 V"),
    Refusal(supply_upper_limit, (230.0, "both"), "one of: a.c., d.c."),
    Refusal(supply_voltage_limits, (-24.0, "d.c."), "greater than 0 V"),
    Refusal(mains_frequency_limits, (50.0, "ship"), "one of: interconnected, island"),
    Refusal(supply_current, (20.0, 0.0), "greater than 0 V"),
    Refusal(supply_current_over_range, (20.0, 230.0, 0.0, 253.0), "greater than 0 V"),
]


@pytest.mark.parametrize("row", REFUSED, ids=str)
def test_what_cannot_be_is_refused_in_words(row: Refusal) -> None:
    """No figure comes out where the formula says nothing."""
    row.holds()


def test_every_calculation_has_both() -> None:
    """A calculation has worked values, and inputs that it refuses."""
    tables = ["supply-voltage-limits", "mains-frequency-limits", "supply-current-over-range"]
    assert without_row(supply, ROWS, tables) == set() == without_row(supply, REFUSED)


def test_mains_voltage_has_two_bands_and_direct_voltage_one() -> None:
    """Facts 5.1: 207 to 253 V for 95 % of the means, always 195.5 to 253 V; 24 V d.c. 20.4 to 28.8 V."""
    mostly, always = (row[1:] for row in supply_voltage_limits(230.0, "a.c.").rows)
    assert mostly == pytest.approx((207.0, 253.0))
    assert always == pytest.approx((195.5, 253.0))
    assert [row[1:] for row in supply_voltage_limits(24.0, "d.c.").rows] == [pytest.approx((20.4, 28.8))]


def test_mains_frequency_has_two_bands() -> None:
    """Facts 5.1: 49.5 to 50.5 Hz for 99.5 % of the year, always 47 to 52 Hz; island 49 to 51, 42.5 to 57.5 Hz."""
    assert [row[1:] for row in mains_frequency_limits(50.0).rows] == [
        pytest.approx((49.5, 50.5)),
        pytest.approx((47.0, 52.0)),
    ]
    assert [row[1:] for row in mains_frequency_limits(50.0, "island").rows] == [
        pytest.approx((49.0, 51.0)),
        pytest.approx((42.5, 57.5)),
    ]


def test_the_current_is_greatest_at_the_lowest_voltage() -> None:
    """Facts 5.2: 20 VA draw 97, 87 and 79 mA at 207, 230 and 253 V."""
    table = supply_current_over_range(20.0, 230.0, 207.0, 253.0)
    assert [round(1000 * row[2]) for row in table.rows] == [97, 87, 79]


@given(st.floats(1e-3, 1e4), st.floats(1e-3, 1e4))
def test_power_is_voltage_times_current(power: float, voltage: float) -> None:
    """By definition."""
    assert supply_current(power, voltage) * voltage == pytest.approx(power)


def test_a_measured_voltage_is_judged_by_nominal_voltage_and_kind_alone() -> None:
    """195 V where 230 V a.c. belong: the limits follow, and the verdict; nothing is taken."""
    given = {"nominal-supply-voltage": 230.0, "supply-kind": "a.c.", "supply-voltage": 195.0}
    solved = solve(given, SUBJECTS["supply"].calculations)
    assert not any(each.taken for each in solved.worked)
    assert not solved.refused
