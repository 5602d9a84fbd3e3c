"""Straight line of the meter against the reference, and the chance that it is one by chance."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import scipy
import statsmodels.api as sm
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from diagnose.calculations import SUBJECTS
from diagnose.calculations.significance import chi_squared_tail, normal_tail, student_tail
from diagnose.calculations.solving import solve
from diagnose.calculations.straight_line import StraightLine, deviations, fit, straight_line
from diagnose.errors import OutOfRange

# Fact 8.12, invented points
REFERENCE = (5.0, 10.0, 20.0, 40.0, 60.0)
METER = (5.31, 10.42, 20.59, 41.01, 61.42)
SPREAD = tuple(0.002 * each + 0.02 for each in REFERENCE)

FIGURE = st.floats(-100.0, 100.0)
POINTS = st.lists(st.tuples(FIGURE, FIGURE, st.floats(0.01, 10.0)), min_size=3, max_size=12).filter(
    lambda points: max(x for x, _, _ in points) - min(x for x, _, _ in points) > 1
)


def test_the_worked_line() -> None:
    """Fact 8.12, unweighted, by statsmodels OLS."""
    line = fit(REFERENCE, METER)
    assert line.zero == pytest.approx(0.206106, abs=5e-7)
    assert line.gain == pytest.approx(1.020144, abs=5e-7)
    assert line.zero_error == pytest.approx(0.010107, abs=5e-7)
    assert line.gain_error == pytest.approx(0.000299, abs=5e-7)
    assert line.residual == pytest.approx(0.013623, abs=5e-7)
    assert (line.chi_squared, line.freedom) == (None, 3)


def test_the_worked_weighted_line() -> None:
    """Fact 8.12 with 0.002 Q + 0.02 as standard uncertainty, by statsmodels WLS and numpy."""
    line = fit(REFERENCE, METER, SPREAD)
    assert line.zero == pytest.approx(0.211878, abs=5e-7)
    assert line.gain == pytest.approx(1.019883, abs=5e-7)
    assert line.zero_error == pytest.approx(0.030562, abs=5e-7)
    assert line.gain_error == pytest.approx(0.001926, abs=5e-7)
    assert line.chi_squared == pytest.approx(0.17434, abs=5e-6)
    assert line.residual is None


def norris() -> tuple[list[float], list[float]]:
    """Return x and y of the NIST StRD data set Norris as scipy ships it."""
    path = Path(scipy.__file__).parent / "stats/tests/data/nist_linregress/Norris.dat"
    rows = re.findall(r"^\s*(\d+\.\d+)\s+(\d+\.\d+)\s*$", path.read_text(), re.MULTILINE)
    assert len(rows) == 36
    return [float(x) for _, x in rows], [float(y) for y, _ in rows]


def test_nist_norris() -> None:
    """NIST StRD Norris (a calibration of ozone monitors), certified values; fact sheet section 9."""
    line = fit(*norris())
    assert line.zero == pytest.approx(-0.262323073774029, rel=1e-11)
    assert line.gain == pytest.approx(1.00211681802045, rel=1e-13)
    assert line.zero_error == pytest.approx(0.232818234301152, rel=1e-12)
    assert line.gain_error == pytest.approx(0.429796848199937e-3, rel=1e-12)
    assert line.residual == pytest.approx(0.884796396144373, rel=1e-12)
    assert line.freedom == 34


@given(POINTS)
def test_least_squares_of_statsmodels_and_scipy(points: list[tuple[float, float, float]]) -> None:
    """OLS of statsmodels and linregress of scipy give the same line, errors and covariance."""
    x, y, _ = (np.array(each) for each in zip(*points, strict=True))
    line = fit(list(x), list(y))
    ours = [line.zero, line.gain, line.zero_error, line.gain_error, line.covariance]
    other = sm.OLS(y, sm.add_constant(x, has_constant="add")).fit()
    assert ours == pytest.approx([*other.params, *other.bse, other.cov_params()[0, 1]], rel=1e-6, abs=1e-7)
    assume(line.residual is not None and line.residual > 1e-3 * max(1e-3, *abs(y)))  # scipy takes 1 - r², which cancels
    regressed = stats.linregress(x, y)
    assert ours[:4] == pytest.approx(
        [regressed.intercept, regressed.slope, regressed.intercept_stderr, regressed.stderr], rel=1e-6, abs=1e-7
    )


@given(POINTS)
def test_weighted_least_squares_of_statsmodels_and_numpy(points: list[tuple[float, float, float]]) -> None:
    """WLS of statsmodels with scale one, and polyfit with the covariance of given uncertainties."""
    x, y, spread = (np.array(each) for each in zip(*points, strict=True))
    line = fit(list(x), list(y), list(spread))
    ours = [line.zero, line.gain, line.zero_error, line.gain_error, line.covariance]
    other = sm.WLS(y, sm.add_constant(x, has_constant="add"), weights=spread**-2.0).fit(
        cov_type="fixed scale", cov_kwds={"scale": 1.0}
    )
    assert ours == pytest.approx([*other.params, *other.bse, other.cov_params()[0, 1]], rel=1e-6, abs=1e-6)
    (gain, zero), covariance = np.polyfit(x, y, 1, w=1 / spread, cov="unscaled")
    assert ours == pytest.approx(
        [zero, gain, covariance[1, 1] ** 0.5, covariance[0, 0] ** 0.5, covariance[0, 1]], rel=1e-6, abs=1e-6
    )
    assert line.chi_squared == pytest.approx(float(np.sum(((y - zero - gain * x) / spread) ** 2)), rel=1e-6, abs=1e-6)


@given(POINTS, st.floats(0.01, 10.0))
def test_one_uncertainty_for_all_moves_nothing(points: list[tuple[float, float, float]], spread: float) -> None:
    """Equal weights are no weights: the same line; errors in proportion to the uncertainty that is given."""
    x, y, _ = zip(*points, strict=True)
    plain, weighted, doubled = fit(x, y), fit(x, y, [spread]), fit(x, y, [2 * spread] * len(x))
    assert (weighted.zero, weighted.gain) == pytest.approx((plain.zero, plain.gain), rel=1e-9, abs=1e-9)
    assert doubled.gain_error == pytest.approx(2 * weighted.gain_error)
    assert plain.residual is not None
    assert weighted.chi_squared == pytest.approx(plain.freedom * (plain.residual / spread) ** 2, rel=1e-6, abs=1e-9)


@given(POINTS, st.floats(-10, 10), st.floats(0.5, 2))
def test_the_line_follows_its_points(points: list[tuple[float, float, float]], up: float, steeper: float) -> None:
    """Points moved up and stretched move zero and gain likewise; through exact points the line goes exactly."""
    x, y, spread = zip(*points, strict=True)
    before = fit(x, y, spread)
    after = fit(x, [up + steeper * each for each in y], spread)
    assert after.zero == pytest.approx(up + steeper * before.zero, rel=1e-6, abs=1e-6)
    assert after.gain == pytest.approx(steeper * before.gain, rel=1e-6, abs=1e-9)
    exact = fit(x, [up + steeper * each for each in x])
    assert (exact.zero, exact.gain) == pytest.approx((up, steeper), rel=1e-7, abs=1e-7)
    assert exact.at(3.0) == pytest.approx(up + 3 * steeper, rel=1e-7, abs=1e-7)


@given(st.floats(0, 50), st.integers(1, 200))
def test_tails_of_scipy(value: float, freedom: int) -> None:
    """Student's t, normal and chi-squared tails as scipy has them."""
    assert student_tail(value, freedom) == pytest.approx(2 * stats.t.sf(value, freedom), rel=1e-9, abs=1e-13)
    assert student_tail(-value, freedom) == student_tail(value, freedom)
    assert normal_tail(value) == pytest.approx(2 * stats.norm.sf(value), rel=1e-9)
    assert chi_squared_tail(10 * value, freedom) == pytest.approx(stats.chi2.sf(10 * value, freedom), rel=1e-9)


@pytest.mark.parametrize(
    ("freedom", "t"), [(1, 12.71), (2, 4.30), (3, 3.18), (5, 2.57), (10, 2.23), (20, 2.09), (50, 2.01), (100, 1.984)]
)
def test_students_t_of_the_guide(freedom: int, t: float) -> None:
    """JCGM 100:2008, table G.2, column 95 %."""
    assert student_tail(t, freedom) == pytest.approx(0.05, abs=5e-4)


@pytest.mark.parametrize(
    ("x", "y", "spread", "words"),
    [
        ((1.0, 2.0), (1.0, 2.0), (), "3 points or more"),
        ((1.0, 2.0, 3.0), (1.0, 2.0), (), "both figures"),
        ((2.0, 2.0, 2.0), (1.0, 2.0, 3.0), (), "not all be the same"),
        ((0.0, 0.0, 0.0), (1.0, 2.0, 3.0), (), "not all be the same"),
        ((1.0, 2.0, 3.0), (1.0, 2.0, 3.0), (0.1, 0.1), "one for each"),
        ((1.0, 2.0, 3.0), (1.0, 2.0, 3.0), (0.1, 0.0, 0.1), "greater than"),
    ],
)
def test_points_that_make_no_line_are_refused(
    x: tuple[float, ...], y: tuple[float, ...], spread: tuple[float, ...], words: str
) -> None:
    """The message says what is wanted."""
    with pytest.raises(OutOfRange, match=words):
        straight_line(x, y, spread)


def si(figures: tuple[float, ...]) -> tuple[float, ...]:
    """Return flows [m³/h] in m³/s."""
    return tuple(each / 3600 for each in figures)


def test_the_table_says_what_is_more_than_chance() -> None:
    """Zero and gain of fact 8.12 are; its figures stand in SI under units of flow."""
    table = straight_line(si(REFERENCE), si(METER))
    row = dict(zip((f"{each.title} [{each.unit}]" for each in table.columns), table.rows[0], strict=True))
    assert float(row["zero [m3/h]"]) * 3600 == pytest.approx(0.206106, abs=5e-7)
    assert row["gain []"] == pytest.approx(1.020144, abs=5e-7)
    assert row["residual s.d. [m3/h]"] == pytest.approx(0.013623 / 3600, abs=5e-10)
    assert row["points []"] == 5
    assert table.remark == "zero 0.206 m3/h is significant; gain error +2.01 % is significant"


@pytest.mark.parametrize(
    ("meter", "spread", "words"),
    [
        # invented: a sound meter with scatter; the same without any; a bent line with small uncertainties
        ((5.02, 9.97, 20.03, 39.95, 60.04), (), "gain error [^;]* is not significant"),
        (REFERENCE, (), "zero 0 m3/h is not significant"),
        ((5.0, 10.5, 20.8, 40.5, 60.0), (0.05,), "scatter more than their uncertainties allow"),
        ((5.02, 9.97, 20.03, 39.95, 60.04), (0.05,), "not significant$"),
    ],
)
def test_significance(meter: tuple[float, ...], spread: tuple[float, ...], words: str) -> None:
    """Of a sound meter nothing is significant; what scatters more than it may is told."""
    table = straight_line(si(REFERENCE), si(meter), si(spread))
    assert re.search(words, table.remark)


def test_chance_of_the_worked_line_is_that_of_statsmodels() -> None:
    """The p-values of zero and of the gain's difference from one."""
    line = fit(REFERENCE, METER)
    other = sm.OLS(METER, sm.add_constant(REFERENCE)).fit()
    assert line.p_value(line.zero, line.zero_error) == pytest.approx(other.pvalues[0], rel=1e-6)
    assert line.p_value(line.gain - 1, line.gain_error) == pytest.approx(other.t_test("x1 = 1").pvalue, rel=1e-4)


def test_a_line_without_scatter_leaves_nothing_to_chance() -> None:
    """No error: what differs from nothing differs for sure."""
    line = StraightLine(1.0, 1.0, 0.0, 0.0, 0.0, 0.0, None, 3)
    assert (line.p_value(1.0, 0.0), line.p_value(0.0, 0.0)) == (0.0, 1.0)


def test_deviation_point_by_point() -> None:
    """Facts 8.8 and 8.12: 51 of 50 is +2 %; 5.31 of 5 is +6.2 %; at standstill there is none."""
    table = deviations((50.0, 5.0, 0.0), (51.0, 5.31, 0.1))
    assert [row[2] for row in table.rows[:2]] == pytest.approx([0.02, 0.062])
    assert table.rows[2] == (0.0, 0.1, "none")
    with pytest.raises(OutOfRange, match="both figures"):
        deviations((1.0,), (1.0, 2.0))


def test_both_tables_follow_from_the_points() -> None:
    """What a person gets for two lists, with uncertainties or without."""
    given_values = {"reference-flows": si(REFERENCE), "indicated-flows": si(METER)}
    calculations = SUBJECTS["comparison"].calculations
    for more in ({}, {"standard-uncertainties": si(SPREAD)}):
        solved = solve({**given_values, **more}, calculations)
        assert {each.calculation.name for each in solved.worked} == {"straight-line", "deviations"}
        assert not solved.unused


@given(st.lists(st.floats(1.0, 100.0), min_size=4, max_size=8, unique=True), st.floats(0.9, 1.1), st.floats(-1.0, 1.0))
def test_zero_and_gain_of_exact_points_come_back(flows: list[float], gain: float, zero: float) -> None:
    """A meter with a zero and a gain error, read without scatter."""
    assume(max(flows) - min(flows) > 1)
    table = straight_line(tuple(flows), tuple(zero + gain * each for each in flows))
    assert table.rows[0][0] == pytest.approx(zero, abs=1e-9)
    assert table.rows[0][2] == pytest.approx(gain, abs=1e-10)
