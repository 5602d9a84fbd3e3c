"""The line of a comparison: certified values, other libraries, and what must always hold."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import scipy
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.outliers_influence import OLSInfluence

from diagnose.comparison.fit import fit_pairs
from tests.comparison.comparisons import WORKED_INDICATED, WORKED_REFERENCE

CURVED = ([1.0, 2.0, 3.0, 4.0, 5.0, 6.0], [1.1, 2.3, 3.9, 5.7, 8.1, 10.4])
ONE_APART = ([10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0], [10.1, 20.0, 30.2, 44.0, 50.1, 60.2, 70.0])
"""Invented."""


def ordinary(x: list[float], y: list[float]) -> sm.regression.linear_model.RegressionResultsWrapper:
    """Return the ordinary least squares of statsmodels."""
    return sm.OLS(y, sm.add_constant(np.array(x))).fit()


def norris() -> tuple[list[float], list[float]]:
    """Return reference and indication of NIST StRD Norris, a calibration of ozone monitors, from the scipy wheel."""
    path = Path(scipy.__file__).parent / "stats/tests/data/nist_linregress/Norris.dat"
    rows = [line.split() for line in path.read_text().splitlines()[60:]]
    y, x = zip(*[map(float, row) for row in rows if len(row) == 2], strict=True)
    return list(x), list(y)


def test_norris() -> None:
    """NIST StRD Norris: certified zero, gain, their standard deviations and the residual one."""
    x, y = norris()
    found = fit_pairs(x, y)
    assert found
    assert len(x) == 36
    assert found.zero.value == pytest.approx(-0.262323073774029, rel=1e-9)
    assert found.gain.value == pytest.approx(1.00211681802045, rel=1e-12)
    assert found.line.zero_error == pytest.approx(0.232818234301152, rel=1e-9)
    assert found.line.gain_error == pytest.approx(0.429796848199937e-3, rel=1e-9)
    assert found.line.residual == pytest.approx(0.884796396144373, rel=1e-9)
    limits = ordinary(x, y).conf_int()
    assert [found.zero.low, found.zero.high] == pytest.approx(list(limits[0]), rel=1e-6)
    assert [found.gain.low, found.gain.high] == pytest.approx(list(limits[1]), rel=1e-9)


def test_the_worked_comparison() -> None:
    """Fact sheet 8.12, from statsmodels OLS: zero 0.206106, gain 1.020144 (se 0.010107, 0.000299; s 0.013623)."""
    found = fit_pairs(WORKED_REFERENCE, WORKED_INDICATED)
    assert found
    assert found.zero.value == pytest.approx(0.206106, abs=5e-7)
    assert found.gain.value == pytest.approx(1.020144, abs=5e-7)
    assert found.line.zero_error == pytest.approx(0.010107, abs=5e-7)
    assert found.line.gain_error == pytest.approx(0.000299, abs=5e-7)
    assert found.line.residual == pytest.approx(0.013623, abs=5e-7)
    assert found.outliers == ()


def test_the_worked_weighted_comparison() -> None:
    """Fact sheet 8.12 with s = 0.002 ref + 0.02: zero 0.211878, gain 1.019883, sd 0.030562, 0.001926, chi² 0.17434."""
    spread = [0.002 * each + 0.02 for each in WORKED_REFERENCE]
    found = fit_pairs(WORKED_REFERENCE, WORKED_INDICATED, u_indicated=spread)
    assert found
    assert found.lack
    assert found.zero.value == pytest.approx(0.211878, abs=5e-7)
    assert found.gain.value == pytest.approx(1.019883, abs=5e-7)
    assert found.line.zero_error == pytest.approx(0.030562, abs=5e-7)
    assert found.line.gain_error == pytest.approx(0.001926, abs=5e-7)
    assert found.line.chi_squared == pytest.approx(0.17434, abs=5e-6)
    assert found.lack.chance == pytest.approx(scipy.stats.chi2.sf(0.17434, 3), abs=1e-5)
    # statsmodels with weights as known (use_t and scale fixed): normal limits
    weights = [each**-2 for each in spread]
    limits = sm.WLS(WORKED_INDICATED, sm.add_constant(np.array(WORKED_REFERENCE)), weights=weights).fit(
        cov_type="fixed scale", use_t=False
    )
    assert [found.gain.low, found.gain.high] == pytest.approx(list(limits.conf_int()[1]), rel=1e-9)
    assert [found.zero.low, found.zero.high] == pytest.approx(list(limits.conf_int()[0]), rel=1e-9)


def test_the_references_uncertainty_counts_times_the_gain() -> None:
    """A meter of twice the gain carries twice the reference's uncertainty; own and reference's add as squares."""
    reference = [10.0, 20.0, 30.0, 40.0]
    both = fit_pairs(reference, [20.0, 40.1, 59.9, 80.0], [0.3] * 4, [0.8] * 4)
    own = fit_pairs(reference, [20.0, 40.1, 59.9, 80.0], u_indicated=[1.0] * 4)
    assert both
    assert own
    assert both.line.gain_error == pytest.approx(own.line.gain_error, rel=1e-3)


def test_chance_without_difference_is_the_joint_test() -> None:
    """The chance of zero 0 and gain 1 together is the F test of statsmodels."""
    for x, y in (CURVED, ONE_APART, norris()):
        found = fit_pairs(x, y)
        assert found
        joint = ordinary(x, y).f_test((np.eye(2), [0, 1]))
        assert found.no_difference == pytest.approx(float(joint.pvalue), rel=1e-6)


def test_a_bend_is_the_test_of_a_squared_term() -> None:
    """The chance of a bend is that of a squared term in the least squares of statsmodels."""
    x, y = CURVED
    found = fit_pairs(x, y)
    assert found
    assert found.lack
    squared = sm.OLS(y, sm.add_constant(np.column_stack([x, np.square(x)]))).fit()
    assert found.lack.chance == pytest.approx(squared.pvalues[2], rel=1e-6)
    assert found.lack.shown


def test_what_stands_apart_is_told_and_kept() -> None:
    """Outliers are those of the Bonferroni test on externally studentised residuals (statsmodels); none is dropped."""
    x, y = ONE_APART
    found = fit_pairs(x, y)
    assert found
    (outlier,) = found.outliers
    test = OLSInfluence(ordinary(x, y)).resid_studentized_external
    whole = ordinary(x, y).outlier_test()
    assert outlier.point == 3
    assert outlier.ratio == pytest.approx(test[3], rel=1e-6)
    assert outlier.chance == pytest.approx(whole[3][2], rel=1e-6)
    assert found.gain.value == pytest.approx(ordinary(x, y).params[1])


def test_two_points_have_a_line_but_no_confidence() -> None:
    """Without uncertainties nothing says how sure a line through two points is; with them, they say."""
    bare = fit_pairs([10.0, 50.0], [10.5, 51.2])
    sure = fit_pairs([10.0, 50.0], [10.5, 51.2], u_indicated=[0.1, 0.2])
    assert bare
    assert sure
    assert bare.gain.value == pytest.approx(40.7 / 40)
    assert math.isnan(bare.gain.low)
    assert math.isnan(bare.no_difference)
    assert sure.line.gain_error == pytest.approx(math.hypot(0.1, 0.2) / 40)


@pytest.mark.parametrize("x", [[10.0], [10.0, 10.0, 10.0], [0.0, 0.0]])
def test_one_flow_makes_no_line(x: list[float]) -> None:
    """There is no line through one flow."""
    assert fit_pairs(x, [each + 1 for each in x]) is None


@settings(max_examples=40)
@given(
    st.lists(st.integers(1, 1000), min_size=3, max_size=8, unique=True),
    st.floats(0.5, 2.0),
    st.floats(-5.0, 5.0),
    st.floats(0.001, 1000.0),
)
def test_the_unit_does_not_matter(flows: list[int], gain: float, zero: float, unit: float) -> None:
    """In another unit the gain is the same, the zero is that times the unit, and nothing stands apart."""
    own = [float(each) for each in flows]
    shown = [zero + gain * each for each in own]
    found = fit_pairs([unit * each for each in own], [unit * each for each in shown])
    assert found
    assert found.gain.value == pytest.approx(gain, rel=1e-6)
    assert found.zero.value == pytest.approx(unit * zero, rel=1e-5, abs=1e-7 * unit * max(own))
    assert found.outliers == ()
