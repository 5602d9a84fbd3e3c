"""Exact units of flow against pint and scipy, and what a wrong label shows."""

from __future__ import annotations

import pint
import pytest
import scipy.constants
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import flow_units
from diagnose.calculations.flow_units import (
    BARREL,
    DAY,
    FLOW_UNITS,
    FOOT,
    IMPERIAL_GALLON,
    US_GALLON,
    all_label_ratios,
    label_mistakes,
    label_ratio,
    unit_mixups_of_flows,
    unit_mixups_of_ratio,
)
from tests.calculations.worked import Refusal, Row, without_row

REGISTRY = pint.UnitRegistry()
PINT = {
    "m3/h": "meter**3/hour",
    "m3/min": "meter**3/minute",
    "m3/s": "meter**3/second",
    "m3/day": "meter**3/day",
    "L/s": "liter/second",
    "L/min": "liter/minute",
    "L/h": "liter/hour",
    "ML/day": "1e6*liter/day",
    "US gal/min": "gallon/minute",
    "imp gal/min": "imperial_gallon/minute",
    "US MGD": "1e6*gallon/day",
    "imp MGD": "1e6*imperial_gallon/day",
    "ft3/s": "foot**3/second",
    "acre-ft/day": "43560*foot**3/day",  # pint's own acre_foot is of survey feet
    "barrel/day": "oil_barrel/day",
}
UNITS = st.sampled_from(sorted(FLOW_UNITS))

TABLE = [
    # fact sheet section 4: 1 unit in m³/h; those marked exact there to the last digit
    ("L/s", 3.6, 1e-15),
    ("L/min", 0.06, 1e-15),
    ("m3/day", 0.0416667, 1e-6),
    ("ML/day", 41.6666667, 1e-9),
    ("ft3/s", 101.9406477312, 1e-15),
    ("US gal/min", 0.22712470704, 1e-15),
    ("imp gal/min", 0.2727654, 1e-15),
    ("US MGD", 157.725491, 1e-8),
    ("imp MGD", 189.4204167, 1e-9),
    ("acre-ft/day", 51.3950766, 1e-9),
]

LABELS = "fact sheet section 4, label mistakes (exact definitions)"
ROWS = [
    Row(label_ratio, ("US gal/min", "m3/h"), 4.40287, LABELS, 1e-6),
    Row(label_ratio, ("L/min", "m3/h"), 16.6667, LABELS, 3e-6),
    Row(label_ratio, ("L/s", "m3/h"), 0.277778, LABELS, 1e-6),
    Row(label_ratio, ("imp gal/min", "m3/h"), 3.66615, LABELS, 1.4e-6),
    Row(label_ratio, ("US gal/min", "imp gal/min"), 1 / 0.832674, LABELS, 1e-6),
]
REFUSED = [
    Refusal(label_ratio, ("furlongs", "m3/h"), "must be one of"),
    Refusal(label_mistakes, ("furlongs",), "must be one of"),
    Refusal(unit_mixups_of_ratio, (0.0,), "greater than 0"),
    Refusal(unit_mixups_of_ratio, (1.0, 0.0), "greater than 0"),
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
    """None is left untested; tables are tested below."""
    tables = ("label-mistakes", "unit-mixups-of-flows", "unit-mixups-of-ratio")
    assert without_row(flow_units, ROWS, tables) == set()


@pytest.mark.parametrize(("unit", "expected", "within"), TABLE, ids=lambda each: str(each))
def test_a_unit_in_cubic_metres_per_hour(unit: str, expected: float, within: float) -> None:
    """Fact sheet section 4, every row."""
    assert FLOW_UNITS[unit] * 3600 == pytest.approx(expected, rel=within)


@pytest.mark.parametrize("unit", FLOW_UNITS)
def test_a_unit_is_that_of_pint(unit: str) -> None:
    """pint, every unit of the list, to the last digits of a float."""
    expected = REGISTRY.Quantity(1.0, "dimensionless") * REGISTRY.Quantity(PINT[unit])
    assert FLOW_UNITS[unit] == pytest.approx(expected.to("meter**3/second").magnitude, rel=1e-14)


def test_volumes_are_those_of_scipy() -> None:
    """scipy.constants: gallon, gallon_imp, foot, barrel (fact sheet section 4: 0.158987294928 m³), day."""
    assert pytest.approx(scipy.constants.gallon, rel=1e-15) == US_GALLON
    assert pytest.approx(scipy.constants.gallon_imp, rel=1e-15) == IMPERIAL_GALLON
    assert pytest.approx(scipy.constants.foot, rel=1e-15) == FOOT
    assert pytest.approx(scipy.constants.barrel, rel=1e-15) == BARREL
    assert pytest.approx(0.158987294928, rel=1e-12) == BARREL
    assert scipy.constants.day == DAY
    assert FLOW_UNITS["acre-ft/day"] * DAY == pytest.approx(scipy.constants.acre * scipy.constants.foot, rel=1e-14)


def test_a_million_us_gallons_a_day_in_litres_per_second() -> None:
    """Fact sheet section 4: 43.8126364 L/s."""
    assert FLOW_UNITS["US MGD"] * 1000 == pytest.approx(43.8126364, rel=1e-9)


@given(UNITS, UNITS)
def test_two_labels_the_other_way_round_undo_each_other(one: str, other: str) -> None:
    """shown/true of a mix-up is true/shown of the opposite one, and that of a right label is 1."""
    assert label_ratio(one, other) * label_ratio(other, one) == pytest.approx(1.0)
    assert label_ratio(one, one) == 1.0


@given(UNITS, UNITS, UNITS)
def test_a_chain_of_labels_multiplies(one: str, two: str, three: str) -> None:
    """A number relabelled twice is off by both ratios."""
    assert label_ratio(one, two) * label_ratio(two, three) == pytest.approx(label_ratio(one, three))


def test_every_pair_of_different_units_has_its_ratio() -> None:
    """All ordered pairs, each against pint."""
    ratios = all_label_ratios()
    assert len(ratios) == len(FLOW_UNITS) * (len(FLOW_UNITS) - 1)
    for (number, label), ratio in ratios.items():
        expected = (REGISTRY.Quantity(PINT[label]) / REGISTRY.Quantity(PINT[number])).to("dimensionless").magnitude
        assert ratio == pytest.approx(expected, rel=1e-13)


def test_the_table_of_a_label_has_all_other_units() -> None:
    """Each with what one of it is, shown/true and true/shown."""
    rows = {row[0]: row[1:] for row in label_mistakes("imp gal/min").rows}
    assert set(rows) == set(FLOW_UNITS) - {"imp gal/min"}
    one, shown, true = rows["US gal/min"]
    assert one == pytest.approx(0.22712470704 / 3600)
    assert true == pytest.approx(0.832674, rel=1e-6)
    assert shown == pytest.approx(1 / 0.832674, rel=1e-6)


@given(UNITS, UNITS, st.floats(-0.004, 0.004))
def test_a_mixup_is_found_by_its_ratio(number: str, label: str, error: float) -> None:
    """With readings off by less than the tolerance the pair is among those that fit; nothing outside is."""
    shown = label_ratio(number, label) * (1 + error)
    found = unit_mixups_of_ratio(shown, 0.005).rows
    assert number == label or (number, label) in [row[:2] for row in found]
    assert all(abs(float(row[2]) - shown) <= 0.00501 * float(row[2]) for row in found)
    assert [row[3] for row in found] == sorted(row[3] for row in found)


def test_a_mixup_from_two_flows() -> None:
    """22.7 m³/h shown as 100: the number is in US gal/min (fact sheet section 4, 4.40287)."""
    table = unit_mixups_of_flows(100.0, 22.7)
    assert [row[:2] for row in table.rows] == [("US gal/min", "m3/h")]
    assert unit_mixups_of_flows(22.7, 22.7).remark == "the unit is right: shown and true flow agree"


@pytest.mark.parametrize(("shown", "true"), [(20.0, 0.0), (0.0, 20.0), (-20.0, 20.0), (160.0, 100.0)])
def test_where_no_mixup_can_be_told_none_is_named(shown: float, true: float) -> None:
    """Without flow, with the other sign, and at a ratio that no pair of units makes."""
    table = unit_mixups_of_flows(shown, true)
    assert table.rows == ()
    assert "mix-up of units" in table.remark
