"""The Brier score and its parts, against scikit-learn and by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sklearn.calibration import calibration_curve
from sklearn.metrics import brier_score_loss

from diagnose.learning.calibration import calibration

FORECASTS = st.lists(st.tuples(st.floats(0, 1), st.booleans()), min_size=1, max_size=60)


@given(FORECASTS)
def test_the_brier_score_is_that_of_scikit_learn(forecasts: list[tuple[float, bool]]) -> None:
    """Whatever came true."""
    said, came = zip(*forecasts, strict=True)
    wanted = brier_score_loss(came, said, labels=[False, True])
    assert calibration("all", forecasts).brier == pytest.approx(wanted)


@given(st.lists(st.tuples(st.integers(0, 1000).map(lambda n: n / 1000), st.booleans()), min_size=2, max_size=60))
def test_the_reliability_diagram_is_that_of_scikit_learn(forecasts: list[tuple[float, bool]]) -> None:
    """Bin by bin; its bins leave out their lower edge as ours do, but for what is exactly nothing."""
    said, came = zip(*forecasts, strict=True)
    if len(set(came)) < 2:
        return
    shares, means = calibration_curve(came, said, n_bins=10)
    bins = calibration("all", forecasts).bins
    edges = {number / 10 for number in range(11)}
    if not edges & set(said):  # on an edge rounding decides which bin it is
        assert [each.mean for each in bins] == pytest.approx(list(means))
        assert [each.share for each in bins] == pytest.approx(list(shares))


@given(FORECASTS)
def test_the_parts_add_up(forecasts: list[tuple[float, bool]]) -> None:
    """Reliability - resolution + uncertainty, and what binning takes away (Murphy 1973)."""
    told = calibration("all", forecasts)
    assert told.reliability - told.resolution + told.uncertainty + told.left == pytest.approx(told.brier)
    assert min(told.reliability, told.resolution, told.uncertainty) >= 0
    assert sum(each.forecasts for each in told.bins) == told.forecasts
    assert sum(each.true for each in told.bins) == told.true


@given(st.lists(st.tuples(st.sampled_from([0.05, 0.35, 0.95]), st.booleans()), min_size=1, max_size=40))
def test_nothing_is_left_where_all_forecasts_of_a_bin_are_equal(forecasts: list[tuple[float, bool]]) -> None:
    """Then the three parts are the whole score."""
    assert calibration("all", forecasts).left == pytest.approx(0.0, abs=1e-12)


def test_ten_forecasts_worked_out_by_hand() -> None:
    """Five of 0.8 of which four came true, five of 0.4 of which one did.

    Overall 0.5: uncertainty 0.25; resolution (0.3² + 0.3²) / 2 = 0.09; reliability (0² + 0.2²) / 2 = 0.02; so 0.18.
    """
    told = calibration("all", [(0.8, n < 4) for n in range(5)] + [(0.4, n < 1) for n in range(5)])
    assert told.uncertainty == pytest.approx(0.25)
    assert told.resolution == pytest.approx(0.09)
    assert told.reliability == pytest.approx(0.02)
    assert told.brier == pytest.approx(0.18)


def test_nothing_was_forecast() -> None:
    """Nothing is told, and nothing breaks."""
    told = calibration("nothing", [])
    assert (told.forecasts, told.brier, told.bins) == (0, 0.0, ())
