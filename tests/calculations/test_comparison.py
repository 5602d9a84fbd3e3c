"""Deviation, meter factor, flow constant, uncertainty of the comparison and agreement."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat, umath

from diagnose.calculations import SUBJECTS
from diagnose.calculations.comparison import (
    deviation,
    deviation_of_volumes,
    meter_factor,
    meter_factor_from_deviation,
    meter_factor_of_volumes,
    new_flow_constant,
)
from diagnose.calculations.entering import enter, example
from diagnose.calculations.general import ratio
from diagnose.calculations.solving import solve
from diagnose.calculations.uncertainty import (
    agreement_number,
    agreement_number_of_shares,
    combined_uncertainty,
    combined_uncertainty_of_limits,
    combined_uncertainty_of_parts,
    deviation_uncertainty,
    deviation_uncertainty_of_shares,
    expanded_uncertainty,
    indicated_uncertainty,
    reference_uncertainty,
)
from diagnose.errors import OutOfRange
from diagnose.terms import TERMS

CALCULATIONS = SUBJECTS["comparison"].calculations
FLOW = st.floats(0.1, 1e3)
SHARE = st.floats(1e-4, 0.1)

WORKED: list[tuple[Callable[..., float], tuple[Any, ...], float, float]] = [
    # Fact 8.8: 51 indicated, 50 by the reference (definitions)
    (deviation, (51.0, 50.0), 0.02, 1e-12),
    (deviation, (49.0, 50.0), -0.02, 1e-12),
    (deviation_of_volumes, (0.0204, 0.0200), 0.02, 1e-12),
    (meter_factor, (51.0, 50.0), 0.980392, 5e-7),
    (meter_factor_of_volumes, (0.0204, 0.0200), 0.980392, 5e-7),
    (meter_factor_from_deviation, (0.02,), 0.980392, 5e-7),
    (new_flow_constant, (1.2340, 0.980392), 1.209804, 5e-7),
    # Fact 8.6: JCGM 100:2008, 4.3.7: 0.5 % / √3; 5.1.2; 6.2.1 with k = 2
    (combined_uncertainty_of_limits, ((0.005,),), 0.002887, 5e-7),
    (combined_uncertainty_of_limits, ((0.005, 0.003),), 0.0033665, 5e-8),
    # Fact 8.3 and 8.5: hypot(0.5 %, 0.8 %), hypot(0.2 %, 0.08333 %)
    (combined_uncertainty_of_parts, ((0.005, 0.008),), 0.00943, 5e-6),
    (combined_uncertainty_of_parts, ((0.002, 0.0008333),), 0.002167, 5e-7),
    (combined_uncertainty, ((0.003,), (0.005,)), 0.0041633, 5e-8),
    (expanded_uncertainty, (0.002167,), 0.00433, 5e-6),
    (expanded_uncertainty, (0.002167, 3.0), 0.0065, 5e-6),
    # Fact 8.7: E_n of 100.8 ± 0.5 and 100 ± 0.4
    (agreement_number, (100.8, 0.5, 100.0, 0.4), 1.249, 5e-4),
    (agreement_number_of_shares, (0.008, 0.5 / 100.8, 0.004), 1.249, 5e-4),
    # by hand: sqrt(0.255² + (1.02 · 0.2)²) / 50
    (deviation_uncertainty, (51.0, 50.0, 0.255, 0.2), 0.00653119, 5e-9),
    (deviation_uncertainty_of_shares, (0.02, 0.005, 0.004), 0.00653119, 5e-9),
    (indicated_uncertainty, (-51.0, 0.005), 0.255, 1e-12),
    (reference_uncertainty, (50.0, 0.004), 0.2, 1e-12),
]


@pytest.mark.parametrize(
    ("function", "inputs", "value", "within"), WORKED, ids=[f"{each[0].__name__}{each[1]}" for each in WORKED]
)
def test_a_worked_value(function: Callable[..., float], inputs: tuple[Any, ...], value: float, within: float) -> None:
    """The function gives the value of the fact sheet, or that of the formula by hand."""
    assert function(*inputs) == pytest.approx(value, abs=within)


REFUSED: list[tuple[Callable[..., Any], tuple[Any, ...], str]] = [
    (deviation, (1.0, 0.0), "reference that is not zero"),
    (deviation_of_volumes, (1.0, 0.0), "volume by the reference"),
    (meter_factor, (0.0, 1.0), "indication that is not zero"),
    (meter_factor_of_volumes, (0.0, 1.0), "meter that has counted something"),
    (meter_factor_from_deviation, (-1.0,), "shows nothing"),
    (new_flow_constant, (float("nan"), 1.0), "finite"),
    (combined_uncertainty, ((0.1, -0.1), (0.1,)), "standard uncertainties"),
    (combined_uncertainty_of_parts, ((-0.1,),), "standard uncertainties"),
    (combined_uncertainty_of_limits, ((-0.1,),), "limits"),
    (expanded_uncertainty, (0.1, 0.0), "coverage factor"),
    (agreement_number, (1.0, 0.0, 1.0, 0.0), "uncertainty greater than zero"),
    (agreement_number_of_shares, (0.01, 0.0, 0.0), "uncertainty greater than zero"),
    (deviation_uncertainty, (1.0, 0.0, 0.1, 0.1), "not zero"),
    (deviation_uncertainty, (1.0, 1.0, -0.1, 0.1), "uncertainty"),
    (deviation_uncertainty_of_shares, (0.0, -0.1, 0.1), "uncertainty"),
    (indicated_uncertainty, (1.0, -0.1), "relative"),
    (reference_uncertainty, (1.0, -0.1), "relative"),
]


@pytest.mark.parametrize(
    ("function", "inputs", "words"), REFUSED, ids=[f"{each[0].__name__}{each[1]}" for each in REFUSED]
)
def test_out_of_range_is_refused_in_words(function: Callable[..., Any], inputs: tuple[Any, ...], words: str) -> None:
    """The message names what is wrong."""
    with pytest.raises(OutOfRange, match=words):
        function(*inputs)


@given(FLOW, FLOW)
def test_the_meter_factor_takes_the_deviation_away(indicated: float, reference: float) -> None:
    """An indication times its factor does not deviate; the three ways to the factor agree."""
    factor = meter_factor(indicated, reference)
    assert deviation(indicated * factor, reference) == pytest.approx(0, abs=1e-12)
    assert meter_factor_from_deviation(deviation(indicated, reference)) == pytest.approx(factor)
    assert meter_factor_of_volumes(indicated, reference) == factor


@given(st.floats(-1e3, 1e3), FLOW | st.floats(-1e3, -0.1))
def test_deviation_is_ratio_less_one(indicated: float, reference: float) -> None:
    """Both speak of the same two readings."""
    assert deviation(indicated, reference) == pytest.approx(ratio(indicated, reference) - 1, abs=1e-9)


@given(FLOW, FLOW, st.floats(0.1, 10.0))
def test_the_new_constant_sets_the_meter_right(indicated: float, reference: float, constant: float) -> None:
    """The reading that the new constant gives, in proportion to it, is the reference."""
    new = new_flow_constant(constant, meter_factor(indicated, reference))
    assert indicated * new / constant == pytest.approx(reference)


@given(st.lists(SHARE, min_size=1, max_size=5), SHARE)
def test_another_contribution_never_helps(parts: list[float], more: float) -> None:
    """Uncertainty grows with each contribution, yet less than by adding them up."""
    before, after = (combined_uncertainty_of_parts(tuple(each)) for each in (parts, [*parts, more]))
    assert before <= after <= before + more
    assert combined_uncertainty(tuple(parts), (more,)) <= after


@given(FLOW, FLOW, SHARE, SHARE)
def test_shares_and_flows_give_the_same(indicated: float, reference: float, of_meter: float, of_ref: float) -> None:
    """E_n and the uncertainty of the deviation do not depend on whether shares or flows are given."""
    spreads = indicated_uncertainty(indicated, of_meter), reference_uncertainty(reference, of_ref)
    error = deviation(indicated, reference)
    assert deviation_uncertainty_of_shares(error, of_meter, of_ref) == pytest.approx(
        deviation_uncertainty(indicated, reference, *spreads)
    )
    assert agreement_number_of_shares(error, of_meter, of_ref) == pytest.approx(
        agreement_number(indicated, spreads[0], reference, spreads[1]), abs=1e-9
    )


@given(FLOW, FLOW, SHARE, SHARE)
def test_deviation_uncertainty_is_first_order_propagation(
    indicated: float, reference: float, of_meter: float, of_ref: float
) -> None:
    """The formula is what the `uncertainties` library propagates through the deviation."""
    meter, ref = ufloat(indicated, of_meter * indicated), ufloat(reference, of_ref * reference)
    propagated = ((meter - ref) / ref).std_dev
    assert deviation_uncertainty(indicated, reference, meter.std_dev, ref.std_dev) == pytest.approx(propagated)


def results(**given_values: Any) -> dict[str, Any]:
    """Return what follows from inputs, term → value, in the subject as a person asks for it."""
    solved = solve({name.replace("_", "-"): value for name, value in given_values.items()}, CALCULATIONS)
    assert not solved.refused
    return {each.calculation.gives: each.result for each in solved.worked}


def test_new_constant_with_uncertainty() -> None:
    """Fact 8.8 with fact 8.5's reference: the chain, `uncertainties` on the formula, and a Monte Carlo agree."""
    volume, time, shown = ufloat(1.0, 0.002), ufloat(120.0, 0.1), ufloat(30.6 / 3600, 0.05 / 3600)
    found = results(reference_volume=volume, collection_time=time, indicated=shown, old_flow_constant=1.2340)
    constant = found["new-flow-constant"]
    direct = 1.2340 * (volume / time) / shown
    draw = np.random.default_rng(88)
    drawn_volume, drawn_time, drawn_shown = (
        draw.normal(each.nominal_value, each.std_dev, 200_000) for each in (volume, time, shown)
    )
    drawn = 1.2340 * drawn_volume / drawn_time / drawn_shown
    assert constant.nominal_value == pytest.approx(1.2340 * 30 / 30.6)
    assert constant.std_dev == pytest.approx(direct.std_dev, rel=1e-6)
    assert constant.std_dev == pytest.approx(drawn.std(), rel=0.01)
    assert 100 * found["deviation"].nominal_value == pytest.approx(2.0)


def test_a_budget_goes_through_to_the_expanded_uncertainty() -> None:
    """Contributions and limits: u_c, then U with k = 2; root of the sum of squares by `uncertainties` as well."""
    found = results(standard_contributions=(0.002, 0.0008333), limit_contributions=(0.005,))
    by_library = umath.sqrt(ufloat(1, 0.002) ** 2) * ufloat(1, 0.0008333) * ufloat(1, 0.005 / 3**0.5)
    assert found["combined-uncertainty"] == pytest.approx(by_library.std_dev, rel=1e-6)
    assert found["deviation-uncertainty"] == pytest.approx(2 * by_library.std_dev, rel=1e-6)


def test_every_input_can_be_written_and_read_again() -> None:
    """The example of each term that the subject takes or gives is read, and shown in the term's unit."""
    names = {name for each in CALCULATIONS for name in (*each.inputs, each.gives) if name}
    for term in (TERMS[name] for name in sorted(names)):
        if term.choices:
            assert [enter(term, word) for word in term.choices] == list(term.choices)
        else:
            value = enter(term, example(term))
            assert enter(term, term.exactly(value).replace(", ", "; ")) == pytest.approx(value, rel=1e-4)


def test_little_that_is_given_gives_little() -> None:
    """From two readings follow the deviation and the meter factor, and nothing that nobody asked for."""
    assert set(results(indicated=51.0, reference=50.0)) == {"deviation", "meter-factor"}
    assert set(results(reference=50.0)) == set()
    assert set(results(deviation=0.02)) == {"meter-factor"}
