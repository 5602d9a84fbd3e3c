"""What a loop can carry and needs: loads, voltages, saturation."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS, loop_budget
from diagnose.calculations.loop_budget import (
    greatest_load,
    highest_current,
    least_supply_voltage,
    loop_load,
    loop_load_from_voltages,
    saturation_flow,
    saturation_share,
    terminal_voltage,
)
from diagnose.calculations.solving import solve
from tests.calculations.worked import Refusal, Row, without_row

BUDGET = "fact 3.6: Ohm's law"
SATURATION = "fact 3.7: Ohm's law"
CABLE = "fact 3.8: cable of IEC 60228, class 2"
NE_43 = "fact 3.2: NAMUR NE 43"
HART = "fact 3.13: from memory"

ROWS = [
    Row(greatest_load, (24.0, 12.0, 0.0205), 585.4, BUDGET, 1e-4),
    Row(greatest_load, (24.0, 12.0, 0.021), 571.4, BUDGET, 1e-4),
    Row(greatest_load, (24.0, 12.0), 571.4, "21 mA of NAMUR NE 43 where nothing is given", 1e-4),
    Row(greatest_load, (24.0, 12.0, 0.022), 545.5, BUDGET, 1e-4),
    Row(greatest_load, (24.0, 10.5, 0.022), 613.6, BUDGET, 1e-4),
    Row(highest_current, (24.0, 12.0, 585.366), 0.0205, BUDGET, 1e-5),
    Row(highest_current, (24.0, 12.0, 571.429), 0.0210, BUDGET, 1e-5),
    Row(highest_current, (24.0, 12.0, 545.455), 0.0220, BUDGET, 1e-5),
    Row(highest_current, (24.0, 10.5, 613.636), 0.0220, BUDGET, 1e-5),
    Row(highest_current, (24.0, 12.0, 750.0), 0.016, SATURATION),
    Row(highest_current, (24.0, 12.0, 874.5), 0.01372, SATURATION, 2e-4),
    Row(highest_current, (10.0, 12.0, 250.0), 0.0, "no current flows backwards"),
    Row(saturation_share, (0.016,), 0.75, SATURATION),
    Row(saturation_flow, (0.75, 250.0), 187.5, "fact 3.4: scaling"),
    Row(saturation_flow, (0.75, 100.0, -100.0), 50.0, "fact 3.4: scaling"),
    Row(loop_load, (250.0, 600.0, 24.5), 874.5, CABLE),
    Row(loop_load, (250.0,), 250.0, "a receiver alone"),
    Row(least_supply_voltage, (12.0, 750.0, 0.016), 24.0, SATURATION),
    Row(least_supply_voltage, (12.0, 250.0), 17.25, "12 V + 21 mA · 250 ohm, Ohm's law"),
    Row(terminal_voltage, (24.0, 0.016, 750.0), 12.0, SATURATION),
    Row(terminal_voltage, (24.0, 0.020, 250.0), 19.0, "fact 3.5: 5.000 V are lost"),
    Row(loop_load_from_voltages, (24.0, 12.0, 0.016), 750.0, SATURATION),
]

REFUSED = [
    Refusal(highest_current, (24.0, 12.0, 0.0), "greater than 0 ohm"),
    Refusal(highest_current, (24.0, 12.0, -1.0), "greater than 0 ohm"),
    Refusal(highest_current, (-1.0, 12.0, 250.0), "not less than 0 V"),
    Refusal(loop_load, (0.0,), "greater than 0 ohm"),
    Refusal(loop_load, (250.0, -1.0), "not less than 0 ohm"),
    Refusal(greatest_load, (10.0, 12.0), "less than the output alone needs"),
    Refusal(greatest_load, (24.0, 12.0, 0.0), "greater than 0 mA"),
    Refusal(least_supply_voltage, (12.0, 0.0), "greater than 0 ohm"),
    Refusal(terminal_voltage, (24.0, 0.02, 1300.0), "cannot drive this current"),
    Refusal(loop_load_from_voltages, (24.0, 12.0, 0.0), "without current"),
    Refusal(loop_load_from_voltages, (12.0, 24.0, 0.016), "greater than 0 ohm"),
    Refusal(saturation_flow, (0.75, 5.0, 5.0), "must differ"),
]

VOLTAGE = st.floats(0, 60)
LOAD = st.floats(1.0, 1e4)


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
    assert without_row(loop_budget, ROWS) == set()


@given(VOLTAGE, VOLTAGE, LOAD, LOAD)
def test_load_never_helps_and_supply_never_hurts(supply: float, least: float, load: float, more: float) -> None:
    """More load never lets more current flow, more supply never less, and no current is negative."""
    current = highest_current(supply, least, load)
    assert 0 <= highest_current(supply, least, load + more) <= current <= highest_current(supply + more, least, load)


@given(VOLTAGE, st.floats(0.5, 40), st.floats(0.004, 0.025))
def test_the_greatest_load_carries_the_needed_current_and_needs_the_supply(
    least: float, more: float, needed: float
) -> None:
    """Load, current and supply are three sides of one budget."""
    load = greatest_load(least + more, least, needed)
    assert highest_current(least + more, least, load) == pytest.approx(needed)
    assert least_supply_voltage(least, load, needed) == pytest.approx(least + more)


@given(st.floats(20, 60), st.floats(0.004, 0.02), st.floats(10, 900))
def test_a_load_is_told_from_the_voltages_that_it_makes(supply: float, current: float, load: float) -> None:
    """What is lost on the way, over the current, is the load."""
    left = terminal_voltage(supply, current, load)
    assert loop_load_from_voltages(supply, left, current) == pytest.approx(load)


def test_a_loop_from_cable_to_saturation() -> None:
    """Fact 3.7: 250 + 600 + 24.5 ohm (500 m of 0.75 mm², fact 3.8) stop at 13.72 mA; nothing is refused."""
    given_ = {
        "loop-supply-voltage": 24.0,
        "least-terminal-voltage": 12.0,
        "receiver-resistance": 250.0,
        "barrier-resistance": 600.0,
        "conductor-area": 0.75e-6,
        "cable-length": 500.0,
    }
    solved = solve(given_, SUBJECTS["loop"].calculations)
    results = {each.calculation.gives: each.result for each in solved.worked}
    assert results["cable-resistance"] == pytest.approx(24.5)
    assert results["loop-load"] == pytest.approx(874.5)
    assert results["highest-loop-current"] == pytest.approx(0.01372, rel=2e-4)
    assert solved.refused == ()


def test_a_hot_cable_counts_as_hot() -> None:
    """Fact 3.8: 24.5 ohm at 20 °C are 28.35 ohm at 60 °C (IEC 60028), and the load follows."""
    given_ = {
        "receiver-resistance": 250.0,
        "conductor-area": 0.75e-6,
        "cable-length": 500.0,
        "conductor-temperature": 333.15,
    }
    solved = solve(given_, SUBJECTS["loop"].calculations)
    results = {each.calculation.gives: each.result for each in solved.worked}
    assert results["loop-load"] == pytest.approx(278.35, abs=0.005)
