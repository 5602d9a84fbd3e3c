"""What really flowed: by scale, bucket, tank, clock and pulses."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import iapws
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from diagnose.calculations import SUBJECTS
from diagnose.calculations.reference_volume import (
    buoyancy_factor,
    indicated_mean_flow,
    indicated_volume_of_pulses,
    level_change,
    rectangular_tank_area,
    reference_flow,
    resolution_of_comparison,
    round_tank_area,
    tank_volume,
    weighed_volume,
)
from diagnose.calculations.solving import solve, standard_uncertainty
from diagnose.calculations.water_density import density_of_water
from diagnose.errors import OutOfRange

CALCULATIONS = SUBJECTS["comparison"].calculations

WORKED: list[tuple[Callable[..., float], tuple[float, ...], float, float]] = [
    # Fact 8.2: iapws 1.5.5, IAPWS95(T, 0.101325 MPa).rho; the formula used is for 0.1 MPa, 0.0006 kg/m3 less
    (density_of_water, (277.15,), 999.9749, 0.002),
    (density_of_water, (283.15,), 999.7025, 0.002),
    (density_of_water, (293.15,), 998.2072, 0.002),
    (density_of_water, (303.15,), 995.6495, 0.002),
    (density_of_water, (313.15,), 992.2164, 0.002),
    (density_of_water, (333.15,), 983.1958, 0.002),
    (density_of_water, (353.15,), 971.7904, 0.002),
    # Fact 8.1: ISO 4185 form, air 1.2, weights 8000, water of 20 degC 998.2072 kg/m3
    (buoyancy_factor, (998.2072, 1.2, 8000.0), 1.0010534, 5e-8),
    (weighed_volume, (1000.0, 998.2072, 1.0010534), 1.0028514, 1e-7),
    (reference_flow, (1.0028514, 120.0), 30.08554 / 3600, 1e-8),
    # Fact 8.3: bucket and stopwatch, definition of flow
    (reference_flow, (0.020, 25.0), 2.88 / 3600, 1e-12),
    # Fact 8.4: tank draw-down, geometry
    (round_tank_area, (2.0,), 3.141593, 1e-6),
    (tank_volume, (3.14159265359, 0.5), 1.570796, 1e-6),
    (rectangular_tank_area, (3.0, 2.0), 6.0, 1e-12),
    (level_change, (1.8, 1.3), 0.5, 1e-12),
    (level_change, (1.3, 1.8), 0.5, 1e-12),
    # Fact 8.5: 1 m3 in 120 s
    (reference_flow, (1.0, 120.0), 30 / 3600, 1e-12),
    (indicated_mean_flow, (0.0204, 25.0), 2.9376 / 3600, 1e-12),
    # Fact 8.9: resolution of N counts is 1/N
    (resolution_of_comparison, (1000.0,), 0.001, 1e-12),
    (indicated_volume_of_pulses, (1000.0, 0.001), 1.0, 1e-12),
]


@pytest.mark.parametrize(
    ("function", "inputs", "value", "within"), WORKED, ids=[f"{each[0].__name__}{each[1]}" for each in WORKED]
)
def test_a_worked_value(function: Callable[..., float], inputs: tuple[float, ...], value: float, within: float) -> None:
    """The function gives the value of the fact sheet."""
    assert function(*inputs) == pytest.approx(value, abs=within)


def tanaka(celsius: float) -> float:
    """Return water's density [kg/m³] by Tanaka et al., Metrologia 38 (2001) 301; 0 to 40 °C."""
    upper = (celsius - 3.983035) ** 2 * (celsius + 301.797)
    return 999.974950 * (1 - upper / (522528.9 * (celsius + 69.34881)))


def kell(celsius: float) -> float:
    """Return water's density [kg/m³] by Kell, J. Chem. Eng. Data 20 (1975) 97, eq. 16; 0 to 150 °C of 1968."""
    upper = 999.83952 + 16.945176 * celsius - 7.9870401e-3 * celsius**2 - 46.170461e-6 * celsius**3
    return (upper + 105.56302e-9 * celsius**4 - 280.54253e-12 * celsius**5) / (1 + 16.879850e-3 * celsius)


@pytest.mark.parametrize("celsius", [0.01, 2.5, 4, 15, 25, 37.5, 50, 65, 90, 99.9])
def test_density_of_water_agrees_with_other_formulas(celsius: float) -> None:
    """IAPWS-95 to 2 ppm; Tanaka to 2 ppm where it holds; Kell to 20 ppm, for its degrees are those of 1968."""
    density = density_of_water(celsius + 273.15)
    assert density == pytest.approx(iapws.IAPWS95(T=celsius + 273.15, P=0.101325).rho, rel=2e-6)
    assert density == pytest.approx(kell(celsius), rel=20e-6)
    if celsius <= 40:
        assert density == pytest.approx(tanaka(celsius), rel=2e-6)


@given(st.floats(5.0, 99.0), st.floats(0.01, 1.0))
def test_warmer_water_is_lighter(celsius: float, more: float) -> None:
    """Above 4 °C; below it is the other way round."""
    assert density_of_water(celsius + more + 273.15) < density_of_water(celsius + 273.15)
    assert density_of_water(275.15) < density_of_water(277.13)


@given(st.floats(600.0, 2000.0), st.floats(0.0, 1.3), st.floats(0.001, 0.1))
def test_more_air_buoys_more(liquid: float, air: float, more: float) -> None:
    """No air, no correction; liquids lighter than the weights weigh too little in air."""
    assert buoyancy_factor(liquid, 0.0) == 1
    assert buoyancy_factor(liquid, air + more) > buoyancy_factor(liquid, air) >= 1


@given(st.floats(1e-3, 1e3), st.floats(1e-2, 1e5), st.floats(1.01, 10.0))
def test_flow_is_volume_over_time(volume: float, time: float, factor: float) -> None:
    """Twice the time for the same volume is half the flow; flow times time is the volume again."""
    assert reference_flow(volume, time * factor) * factor == pytest.approx(reference_flow(volume, time))
    assert reference_flow(volume, time) * time == pytest.approx(volume)


@given(st.floats(1.0, 1e9), st.floats(1e-4, 10.0))
def test_more_pulses_are_more_volume_and_finer(pulses: float, value: float) -> None:
    """One pulse more is one pulse's volume more, and that in proportion is the resolution."""
    volume = indicated_volume_of_pulses(pulses, value)
    assert volume * resolution_of_comparison(pulses) == pytest.approx(value)


REFUSED: list[tuple[Callable[..., float], tuple[float, ...], str]] = [
    (density_of_water, (273.0,), "0 degC"),
    (density_of_water, (373.2,), "100 degC"),
    (buoyancy_factor, (1.0, 1.2, 8000.0), "denser than the air"),
    (buoyancy_factor, (1000.0, 1.2, 1.2), "denser than the air"),
    (weighed_volume, (0.0, 998.0, 1.001), "net mass"),
    (round_tank_area, (0.0,), "diameter"),
    (rectangular_tank_area, (1.0, 0.0), "width"),
    (level_change, (1.3, 1.3), "change of level"),
    (tank_volume, (1.0, 0.0), "change of level"),
    (reference_flow, (1.0, 0.0), "time"),
    (indicated_mean_flow, (1.0, 0.0), "time"),
    (resolution_of_comparison, (0.0,), "pulses"),
    (resolution_of_comparison, (0.5,), "resolution"),
    (indicated_volume_of_pulses, (-1.0, 0.001), "pulses"),
    (indicated_volume_of_pulses, (100.0, 0.0), "one pulse"),
]


@pytest.mark.parametrize(
    ("function", "inputs", "words"), REFUSED, ids=[f"{each[0].__name__}{each[1]}" for each in REFUSED]
)
def test_out_of_range_is_refused_in_words(
    function: Callable[..., float], inputs: tuple[float, ...], words: str
) -> None:
    """The message names what is wrong."""
    with pytest.raises(OutOfRange, match=words):
        function(*inputs)


def results(**given_values: Any) -> dict[str, Any]:
    """Return what follows from inputs, term → value, in the subject as a person asks for it."""
    solved = solve({name.replace("_", "-"): value for name, value in given_values.items()}, CALCULATIONS)
    assert not solved.refused
    return {each.calculation.gives: each.result for each in solved.worked}


def test_gravimetric_chain() -> None:
    """Fact 8.1: from mass, temperature and time to 30.08554 m³/h, with the conventional densities."""
    found = results(weighed_mass=1000.0, water_temperature=293.15, collection_time=120.0)
    assert found["buoyancy-factor"] == pytest.approx(1.0010534, abs=5e-8)
    assert found["reference-volume"] == pytest.approx(1.0028514, abs=2e-6)
    assert 3600 * found["reference"] == pytest.approx(30.08554, abs=5e-5)


def test_levels_to_flow() -> None:
    """Fact 8.4 with both levels given, and a tank that takes 600 s for it."""
    found = results(tank_diameter=2.0, level_before=1.8, level_after=1.3, collection_time=600.0)
    assert found["reference-volume"] == pytest.approx(1.570796, abs=1e-6)
    assert 3600 * found["reference"] == pytest.approx(9.424778, abs=1e-6)


UNCERTAIN: list[tuple[dict[str, tuple[float, float]], str, float, float]] = [
    # Fact 8.3: 20.0 ± 0.1 L in 25.0 ± 0.2 s (standard): 0.943 % (by hand: hypot(0.5 %, 0.8 %))
    ({"reference-volume": (0.020, 1e-4), "collection-time": (25.0, 0.2)}, "reference", 2.88 / 3600, 0.00943),
    # Fact 8.4: 2.000 ± 0.005 m, 0.500 ± 0.002 m (standard): 1.570796 m³ ± 0.640 % (hypot(2 * 0.25 %, 0.4 %))
    ({"tank-diameter": (2.0, 0.005), "level-change": (0.5, 0.002)}, "reference-volume", 1.570796, 0.00640),
    # Fact 8.5: 1.000 ± 0.002 m³ in 120.0 ± 0.1 s: 30.00 m³/h, 0.2167 % (hypot(0.2 %, 0.0833 %))
    ({"reference-volume": (1.0, 0.002), "collection-time": (120.0, 0.1)}, "reference", 30 / 3600, 0.002167),
]
DIRECT: dict[str, Callable[[Any, Any], Any]] = {
    "reference": lambda volume, time: volume / time,
    "reference-volume": lambda diameter, change: np.pi / 4 * diameter**2 * change,
}


@pytest.mark.parametrize(("inputs", "term", "value", "relative"), UNCERTAIN, ids=["8.3", "8.4", "8.5"])
def test_uncertainty_of_the_reference(
    inputs: dict[str, tuple[float, float]], term: str, value: float, relative: float
) -> None:
    """The chain gives the fact sheet's uncertainty, that of the formula by `uncertainties`, and that of a Monte Carlo.

    The Monte Carlo (JCGM 101:2008) knows nothing of derivatives: 200 000 draws, so its spread is good to 0.2 %.
    """
    names = {name.replace("-", "_"): ufloat(*figures) for name, figures in inputs.items()}
    found = results(**names)[term]
    direct = DIRECT[term](*names.values())
    draw = np.random.default_rng(8)
    drawn = DIRECT[term](*(draw.normal(*figures, 200_000) for figures in inputs.values()))
    assert found.nominal_value == pytest.approx(value, rel=1e-6)
    assert standard_uncertainty(found) / value == pytest.approx(relative, rel=1e-3)
    assert standard_uncertainty(found) == pytest.approx(direct.std_dev, rel=1e-6)
    assert standard_uncertainty(found) == pytest.approx(drawn.std(), rel=0.01)


def test_expanded_uncertainties_of_the_fact_sheet() -> None:
    """Facts 8.4 and 8.5: U (k = 2) is 0.0201 m³ and 0.433 %."""
    tank = results(tank_diameter=ufloat(2.0, 0.005), level_change=ufloat(0.5, 0.002))["reference-volume"]
    flow = results(reference_volume=ufloat(1.0, 0.002), collection_time=ufloat(120.0, 0.1))["reference"]
    assert 2 * tank.std_dev == pytest.approx(0.0201, abs=5e-5)
    assert 200 * flow.std_dev / flow.nominal_value == pytest.approx(0.433, abs=5e-4)


def test_uncertainty_of_the_weighed_flow() -> None:
    """Mass, temperature and time each contribute; the density acts through the buoyancy too.

    By Monte Carlo with the density of Tanaka et al., so that neither derivative nor density formula is the same.
    """
    given_values = {"weighed_mass": (1000.0, 0.5), "water_temperature": (293.15, 1.0), "collection_time": (120.0, 0.05)}
    found = results(**{name: ufloat(*figures) for name, figures in given_values.items()})["reference"]
    draw = np.random.default_rng(81)
    mass, kelvin, time = (draw.normal(*figures, 200_000) for figures in given_values.values())
    density = tanaka(kelvin - 273.15)
    drawn = mass / density * (1 - 1.2 / 8000) / (1 - 1.2 / density) / time
    assert found.std_dev == pytest.approx(drawn.std(), rel=0.01)
    assert found.nominal_value == pytest.approx(drawn.mean(), rel=5e-6)


def test_pulses_against_a_bucket() -> None:
    """1020 pulses of 1 L against 1 m³: the meter reads 2 % high, give or take 0.1 % for a pulse."""
    found = results(pulse_count=1020.0, pulse_value=0.001, reference_volume=1.0)
    assert found["deviation"] == pytest.approx(0.02)
    assert found["pulse-resolution"] == pytest.approx(1 / 1020)
    assert found["meter-factor"] == pytest.approx(0.980392, abs=5e-7)


def test_time_cancels_between_meter_and_reference() -> None:
    """Meter and tank over the same time: what the clock is unsure of does not make the deviation unsure."""
    found = results(reference_volume=ufloat(1.0, 0.002), collection_time=ufloat(120.0, 1.2), indicated_volume=1.02)
    assert found["deviation"].nominal_value == pytest.approx(0.02)
    assert found["deviation"].std_dev == pytest.approx(1.02 * 0.002, rel=1e-6)
