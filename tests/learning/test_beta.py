"""The beta distribution is that of scipy."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from diagnose.learning.beta import below, credible, quantile

SHAPE = st.floats(0.02, 5000)


@given(SHAPE, SHAPE, st.floats(0, 1))
def test_the_probability_below_a_share(a: float, b: float, share: float) -> None:
    """As scipy has it."""
    assert below(a, b, share) == pytest.approx(stats.beta.cdf(share, a, b), rel=1e-8, abs=1e-12)


@given(SHAPE, SHAPE, st.sampled_from([0.025, 0.25, 0.5, 0.975]))
def test_a_quantile_has_that_probability_below_it(a: float, b: float, probability: float) -> None:
    """As scipy has it, but where it is nothing or one to the last digit."""
    wanted = float(stats.beta.ppf(probability, a, b))
    assert quantile(a, b, probability) == pytest.approx(wanted, rel=1e-6, abs=1e-12)


@given(SHAPE, SHAPE)
def test_an_interval_holds_the_middle(a: float, b: float) -> None:
    """Low, the median, high stand in this order."""
    low, high = credible(a, b)
    assert 0 <= low <= quantile(a, b, 0.5) <= high <= 1


def test_what_was_never_possible_is_nothing() -> None:
    """Without weight on one side a share is nothing, or all."""
    assert credible(0.0, 3.0) == (0.0, 0.0)
    assert credible(3.0, 0.0) == (1.0, 1.0)
