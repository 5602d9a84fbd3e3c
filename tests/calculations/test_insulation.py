"""Insulation and earth continuity against IEC 60364-6 Table 6.1 and IEC 61010-1."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS, insulation
from diagnose.calculations.insulation import (
    insulation_test_voltage,
    leakage_current,
    least_insulation,
)
from diagnose.calculations.solving import solve
from tests.calculations.worked import Refusal, Row, without_row

TABLE = "facts 5.10: IEC 60364-6 Table 6.1"
GENTLE = "not in the table: the gentler test and the stricter limit while the kind is not known"
EARTH = "facts 5.12: IEC 61010-1, 0.1 ohm, 0.2 ohm with fixed cord"
DOUBT = "doubtful: measure again at the earth terminal"
ROWS = [
    Row(insulation_test_voltage, (24.0, "SELV"), 250.0, TABLE),
    Row(insulation_test_voltage, (24.0, "PELV"), 250.0, TABLE),
    Row(insulation_test_voltage, (24.0, "neither"), 500.0, TABLE),
    Row(insulation_test_voltage, (230.0, "neither"), 500.0, TABLE),
    Row(insulation_test_voltage, (500.0, "neither"), 500.0, TABLE),
    Row(insulation_test_voltage, (690.0, "neither"), 1000.0, TABLE),
    Row(insulation_test_voltage, (230.0, "SELV"), 500.0, "230 V is no extra-low voltage (IEC 61140)"),
    Row(insulation_test_voltage, (24.0, "not known"), 250.0, GENTLE),
    Row(insulation_test_voltage, (230.0, "not known"), 500.0, GENTLE),
    Row(least_insulation, (24.0, "SELV"), 0.5e6, TABLE),
    Row(least_insulation, (24.0, "PELV"), 0.5e6, TABLE),
    Row(least_insulation, (230.0, "neither"), 1e6, TABLE),
    Row(least_insulation, (690.0, "neither"), 1e6, TABLE),
    Row(least_insulation, (24.0, "not known"), 1e6, GENTLE),
    Row(leakage_current, (230.0, 1e6), 0.23e-3, "facts 5.11: 1 Mohm at 230 V"),
]


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_published_value(row: Row) -> None:
    """The calculation gives what the source beside it says."""
    row.holds()


REFUSED = [
    Refusal(insulation_test_voltage, (0.0, "SELV"), "greater than 0 V"),
    Refusal(least_insulation, (24.0, "FELV"), "one of: SELV, PELV, neither, not known"),
    Refusal(leakage_current, (230.0, 0.0), "greater than 0 Mohm"),
]


@pytest.mark.parametrize("row", REFUSED, ids=str)
def test_what_cannot_be_is_refused_in_words(row: Refusal) -> None:
    """No verdict comes out of what cannot be measured."""
    row.holds()


def test_every_calculation_has_both() -> None:
    """A calculation has worked values, and inputs that it refuses."""
    assert without_row(insulation, ROWS) == set() == without_row(insulation, REFUSED)


@given(st.floats(1.0, 1000.0), st.floats(1e3, 1e10))
def test_not_knowing_never_means_a_harsher_test_or_a_laxer_limit(voltage: float, ohm: float) -> None:
    """Of all kinds that the circuit may be."""
    kinds = ["SELV", "PELV", "neither"]
    assert insulation_test_voltage(voltage, "not known") <= min(insulation_test_voltage(voltage, k) for k in kinds)
    assert least_insulation(voltage, "not known") >= max(least_insulation(voltage, k) for k in kinds)
    assert leakage_current(voltage, ohm) * ohm == pytest.approx(voltage)


def test_a_measured_insulation_needs_only_the_nominal_voltage() -> None:
    """0.7 Mohm at 230 V is wrong and leaks a third of a milliampere; no test voltage is named unasked."""
    solved = solve({"nominal-supply-voltage": 230.0, "supply-insulation": 0.7e6}, SUBJECTS["supply"].calculations)
    results = {each.calculation.gives: each.result for each in solved.worked}
    assert results["insulation-leakage-current"] == pytest.approx(0.23e-3 / 0.7)
