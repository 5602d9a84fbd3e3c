"""Copper cores and cables against IEC 60228, ASTM B258 and an outside library."""

from __future__ import annotations

import fluids
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS, conductors
from diagnose.calculations.conductors import (
    cable_length_from_resistance,
    cable_resistance,
    conductor_area_of_gauge,
    conductor_resistance_of_area,
    conductor_resistance_of_gauge,
    copper_factor,
)
from diagnose.calculations.solving import solve
from tests.calculations.worked import Refusal, Row, without_row

CELSIUS = 273.15
IEC_60228 = {  # facts 3.9 and 3.10: mm2 → ohm/km at 20 degC, class 2 and class 5, plain copper
    0.5: (36.0, 39.0),
    0.75: (24.5, 26.0),
    1.0: (18.1, 19.5),
    1.5: (12.1, 13.3),
    2.5: (7.41, 7.98),
    4.0: (4.61, 4.95),
    6.0: (3.08, 3.30),
    10.0: (1.83, 1.91),
}
AWG = {14: 8.285, 16: 13.174, 18: 20.948, 20: 33.308, 22: 52.962, 24: 84.213, 26: 133.904}  # facts 3.11: ohm/km

LOOP = "facts 3.8, by hand from IEC 60228: 2 L r"
ROWS = [
    *(
        Row(conductor_resistance_of_area, (size * 1e-6, kind), ohm / 1000, f"IEC 60228, class {kind}")
        for size, both in IEC_60228.items()
        for kind, ohm in zip("25", both, strict=True)
    ),
    Row(conductor_resistance_of_area, (0.34e-6,), 1.7241e-8 / 0.34e-6, "IEC 60028: 1.7241e-8 ohm m over the area"),
    *(
        Row(conductor_resistance_of_gauge, (f"{n}",), ohm / 1000, "facts 3.11, ASTM B258", 6e-5)
        for n, ohm in AWG.items()
    ),
    Row(conductor_area_of_gauge, ("36",), 3.141592653589793 / 4 * 0.127e-3**2, "ASTM B258: AWG 36 is 0.005 in"),
    *(
        Row(conductor_area_of_gauge, (each,), 3.141592653589793 / 4 * 11.684e-3**2, "ASTM B258: AWG 4/0 is 0.46 in")
        for each in ("4/0", "0000", "AWG 4/0", "awg 0000")
    ),
    *(
        Row(conductor_area_of_gauge, (each,), 67.43e-6, "ASTM B258 (from memory): AWG 2/0 is 67.43 mm2", 1e-4)
        for each in ("00", "2/0", "2 / 0 AWG", "AWG 00")
    ),
    *(
        Row(conductor_area_of_gauge, (each,), 53.48e-6, "ASTM B258 (from memory): AWG 1/0 is 53.48 mm2", 2e-4)
        for each in ("0", "1/0", "#0")
    ),
    *(
        Row(conductor_area_of_gauge, (each,), 0.823e-6, "ASTM B258 (from memory): AWG 18 is 0.823 mm2", 1e-3)
        for each in ("18", "AWG 18", "18 AWG", "awg18", "#18")
    ),
    Row(cable_resistance, (500, 24.5e-3), 24.5, LOOP),
    Row(cable_resistance, (500, 24.5e-3, CELSIUS + 60), 28.35, LOOP + " (1 + 0.00393 · 40)", 1e-4),
    Row(cable_resistance, (1000, 36.0e-3), 72.0, LOOP),
    Row(cable_resistance, (300, 18.1e-3), 10.86, LOOP),
    Row(cable_resistance, (1000, 12.1e-3), 24.2, LOOP),
    Row(cable_length_from_resistance, (24.2, 12.1e-3), 1000.0, LOOP + ", solved for L"),
]


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_published_value(row: Row) -> None:
    """The calculation gives what the source beside it says."""
    row.holds()


REFUSED = [
    Refusal(conductor_resistance_of_gauge, ("18.5",), "write a whole number up to 40, or 1/0 to 4/0"),
    *(Refusal(conductor_area_of_gauge, (each,), "is no AWG size") for each in ("41", "-1", "5/0", "18 mm2", "0.5", "")),
    Refusal(conductor_resistance_of_area, (0.0,), "greater than 0 mm2"),
    Refusal(conductor_resistance_of_area, (1e-6, "3"), "one of: 2, 5"),
    Refusal(cable_resistance, (-1.0, 0.02), "not less than 0 m"),
    Refusal(cable_resistance, (100.0, 0.02, CELSIUS + 250), "not more than 200 degC"),
    Refusal(cable_length_from_resistance, (10.0, 0.0), "greater than 0 ohm/km"),
]


@pytest.mark.parametrize("row", REFUSED, ids=str)
def test_what_cannot_be_is_refused_in_words(row: Refusal) -> None:
    """No figure comes out where the formula says nothing."""
    row.holds()


def test_every_calculation_has_both() -> None:
    """A calculation has worked values, and inputs that it refuses."""
    assert without_row(conductors, ROWS) == set() == without_row(conductors, REFUSED)


@pytest.mark.parametrize("gauge", AWG)
def test_gauges_agree_with_the_fluids_library(gauge: int) -> None:
    """`fluids.t_from_gauge` holds the diameters of the standard, rounded to a tenth of a mil."""
    diameter = fluids.t_from_gauge(gauge, SI=True, schedule="AWG")
    assert conductor_area_of_gauge(str(gauge)) == pytest.approx(3.141592653589793 / 4 * diameter**2, rel=6e-3)


@pytest.mark.parametrize(("celsius", "factor"), [(60, 1 / 0.862), (25, 1 / 0.980), (0, 0.9214), (20, 1.0)])
def test_copper_changes_with_temperature_as_the_tables_say(celsius: float, factor: float) -> None:
    """Facts 3.12: correction factors of tables based on IEC 60228, three digits (25 and 60 degC)."""
    assert copper_factor(CELSIUS + celsius) == pytest.approx(factor, rel=3e-3)


def test_six_steps_of_gauge_are_half_the_diameter() -> None:
    """The rule of the trade: AWG n + 6 has a quarter of the area, to 0.5 %."""
    assert conductor_area_of_gauge("24") * 4 == pytest.approx(conductor_area_of_gauge("18"), rel=1e-2)


@given(st.floats(1e-3, 1e5), st.floats(1e-4, 1.0), st.floats(CELSIUS - 60, CELSIUS + 200))
def test_length_and_resistance_are_inverse(length: float, ohm: float, kelvin: float) -> None:
    """The length by a cable's resistance is its length."""
    assert cable_length_from_resistance(cable_resistance(length, ohm, kelvin), ohm, kelvin) == pytest.approx(length)


@given(st.floats(0.05e-6, 20e-6), st.sampled_from(["2", "5"]))
def test_no_core_is_better_than_its_copper_and_a_larger_one_is_better(area: float, kind: str) -> None:
    """Standard sizes have a few per cent more than their name says, and twice the area always less resistance."""
    resistance = conductor_resistance_of_area(area, kind)
    assert 0.99 * 1.7241e-8 / area <= resistance < 1.25 * 1.7241e-8 / area
    assert conductor_resistance_of_area(2 * area, kind) < resistance


@given(st.integers(0, 39))
def test_a_larger_gauge_number_is_a_thinner_core(gauge: int) -> None:
    """Each step has 1.26 times the resistance (the 39th root of 92, squared)."""
    step = conductor_resistance_of_gauge(f"{gauge + 1}") / conductor_resistance_of_gauge(f"{gauge}")
    assert step == pytest.approx(92 ** (2 / 39))


def test_gauge_length_and_temperature_lead_to_the_cable() -> None:
    """From what stands on the cable to its resistance: AWG 18, 500 m, 20.948 ohm/km."""
    solved = solve({"conductor-gauge": "18", "cable-length": 500.0}, SUBJECTS["supply"].calculations)
    results = {each.calculation.gives: each.result for each in solved.worked}
    assert results["cable-resistance"] == pytest.approx(20.948, rel=2e-5)
    assert results["conductor-area"] == pytest.approx(0.823e-6, rel=1e-3)
    assert not solved.refused
