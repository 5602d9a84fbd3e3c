"""Conductivity at another temperature, against the meter's need, and of typical liquids."""

from __future__ import annotations

import gsw
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS, conductivity
from diagnose.calculations.conductivity import (
    conductivity_at_reference,
    conductivity_at_temperature,
    conductivity_margin,
    typical_conductivity,
)
from diagnose.calculations.solving import solve
from diagnose.terms import shipped_terms
from tests.calculations.worked import Refusal, Row, without_row

CELSIUS = 273.15
MICRO = 1e-4
"""1 µS/cm in S/m."""

LIQUIDS = {
    name: tuple(figure / MICRO for figure in figures)
    for name, figures in shipped_terms()["typical-liquid"].figures["liquid-conductivity"].items()
}
"""Figures of the vocabulary in µS/cm: one, or lowest and highest."""

RULE = "facts, table of conductivity: 2 %/K"
ROWS = [
    Row(conductivity_at_temperature, (500 * MICRO, CELSIUS + 15), 400 * MICRO, RULE),
    Row(conductivity_at_temperature, (500 * MICRO, CELSIUS + 25), 500 * MICRO, RULE),
    Row(conductivity_at_temperature, (500 * MICRO, CELSIUS + 35, 0.019), 595 * MICRO, "by hand: 1 + 0.019 · 10"),
    Row(conductivity_at_temperature, (500 * MICRO, CELSIUS + 25, 0.02, CELSIUS + 20), 550 * MICRO, "by hand"),
    Row(conductivity_at_reference, (400 * MICRO, CELSIUS + 15), 500 * MICRO, RULE),
    # the limit of the EU for drinking water, 2500 µS/cm at 20 °C, is given as 2790 at 25 °C as well (facts)
    Row(conductivity_at_reference, (2500 * MICRO, CELSIUS + 20), 2790 * MICRO, "Directive (EU) 2020/2184", 5e-3),
    Row(conductivity_margin, (500 * MICRO, 5 * MICRO), 100.0, "definition, least 5 µS/cm of facts 1.8"),
    Row(conductivity_margin, (5 * MICRO, 20 * MICRO), 0.25, "definition, demineralised water of facts 1.8"),
]


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_published_value(row: Row) -> None:
    """The calculation gives what the source beside it says."""
    row.holds()


REFUSED = [
    Refusal(conductivity_at_temperature, (0.05, CELSIUS - 25), "not valid so far below"),
    Refusal(conductivity_at_temperature, (0.0, CELSIUS + 25), "greater than 0 uS/cm"),
    Refusal(conductivity_at_temperature, (0.05, CELSIUS + 20, 0.5), "not more than 10 %/K"),
    Refusal(conductivity_at_reference, (0.05, CELSIUS - 30), "not valid so far below"),
    Refusal(conductivity_margin, (0.05, 0.0), "greater than 0 uS/cm"),
    Refusal(typical_conductivity, ("mercury",), "must be one of"),
]


@pytest.mark.parametrize("row", REFUSED, ids=str)
def test_what_cannot_be_is_refused_in_words(row: Refusal) -> None:
    """No figure comes out where the formula says nothing."""
    row.holds()


def test_every_calculation_has_both() -> None:
    """A calculation has worked values, and inputs that it refuses."""
    assert without_row(conductivity, ROWS, tables=["typical-conductivity"]) == set()
    assert without_row(conductivity, REFUSED) == set()


@pytest.mark.parametrize(
    ("celsius", "off"), [(5, -0.048), (10, -0.025), (15, -0.011), (20, -0.003), (25, 0.0), (30, 0.000)]
)
def test_how_far_the_linear_rule_is_off_for_sea_water(celsius: float, off: float) -> None:
    """`gsw.C_from_SP` (TEOS-10, PSS-78) at practical salinity 35, in mS/cm: 33.455 at 5 to 53.071 at 25 degC.

    The rule of 2 %/K comes out 4.8 % low at 5 degC and 1.1 % low at 15 degC; the calculation says so itself.
    """
    linear = conductivity_at_temperature(float(gsw.C_from_SP(35, 25, 0)) / 10, CELSIUS + celsius)
    assert linear / (float(gsw.C_from_SP(35, celsius, 0)) / 10) - 1 == pytest.approx(off, abs=1e-3)


def test_sea_water_of_the_table_is_that_of_teos_10() -> None:
    """53.071 mS/cm at 25 degC (`gsw.C_from_SP`)."""
    assert LIQUIDS["sea water"][0] / 1000 == pytest.approx(float(gsw.C_from_SP(35, 25, 0)), abs=5e-4)


def test_potassium_chloride_of_the_table_is_that_of_its_ions() -> None:
    """Molar conductivities of KCl from memory (Robinson & Stokes): 141.3 and 128.9 S cm²/mol."""
    for name, molar, concentration in (("KCl 0.01 mol/l", 141.3, 0.01), ("KCl 0.1 mol/l", 128.9, 0.1)):
        assert LIQUIDS[name][0] == pytest.approx(molar * concentration * 1000, rel=3e-3)


def test_ultrapure_water_of_the_table_is_that_of_its_own_ions() -> None:
    """Ions by IAPWS R11-07 (`iapws`, pKw 13.994 at 25 degC), 349.65 + 198.0 S cm²/mol from memory."""
    from iapws._iapws import _Kw

    molar = 10 ** (-_Kw(997.047, 298.15) / 2) * 0.997047
    assert LIQUIDS["ultrapure water"][0] == pytest.approx(molar * (349.65 + 198.0) * 1000, rel=2e-3)


def test_one_typical_liquid_stands_alone() -> None:
    """Facts 1.8: demineralised water may lie on either side of 5 µS/cm."""
    ((name, lowest, highest, _),) = typical_conductivity("demineralised water").rows
    assert name == "demineralised water"
    assert float(lowest) < 5 * MICRO < float(highest)


def test_all_typical_liquids_stand_in_one_table_with_a_source_each() -> None:
    """Figures are SI in the cells; no row is without its source, none is upside down."""
    table = typical_conductivity("all")
    assert [row[0] for row in table.rows] == list(LIQUIDS)
    assert all(row[1] <= row[2] and row[-1] for row in table.rows)
    assert dict((row[0], row[2]) for row in table.rows)["drinking water"] == pytest.approx(0.08)


@given(st.floats(1e-7, 100), st.floats(CELSIUS - 5, CELSIUS + 95), st.floats(0, 0.03))
def test_there_and_back_is_the_same(sigma: float, kelvin: float, coefficient: float) -> None:
    """Conductivity at the reference temperature and at the liquid's are inverse."""
    there = conductivity_at_temperature(sigma, kelvin, coefficient)
    assert conductivity_at_reference(there, kelvin, coefficient) == pytest.approx(sigma)


@given(st.floats(1e-7, 100), st.floats(CELSIUS, CELSIUS + 90), st.floats(0.1, 5))
def test_warmer_water_conducts_better(sigma: float, kelvin: float, more: float) -> None:
    """With the usual 2 %/K, at every temperature."""
    assert conductivity_at_temperature(sigma, kelvin + more) > conductivity_at_temperature(sigma, kelvin)


def test_the_margin_is_taken_at_the_liquids_temperature() -> None:
    """What suffices at 25 degC may not at 5 degC: 6 µS/cm become 3.6."""
    given = {"reference-conductivity": 6 * MICRO, "temperature": CELSIUS + 5, "least-conductivity": 5 * MICRO}
    results = {each.calculation.gives: each.result for each in solve(given, SUBJECTS["electrodes"].calculations).worked}
    assert results["liquid-conductivity"] == pytest.approx(3.6 * MICRO)
    assert results["conductivity-margin"] == pytest.approx(0.72)
