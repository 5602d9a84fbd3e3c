"""Beside a second meter: silent on clean logs as often as stated; unrest and disagreement are found and sized."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from diagnose.tables.arrays import Array
from diagnose.trends.second import (
    _variance_inflation,
    effective_size,
    fit_line,
    noise,
    second_meter,
    typical_difference,
)
from diagnose.trends.series import RATE, SeriesView, series
from tests.benchmarks.false_alarms import seen
from tests.trends.logs import CLEAN, ar1

CLEAN_LOGS = 60


def log(own: Array, second: Array | None = None, running: Array | None = None) -> SeriesView:
    """Return readings every ten seconds as detectors look at them."""
    return SeriesView(data=series(np.arange(len(own)) * 10.0, own, 10.0), second=second, running=running)


def both(seed: int, factor: float = 1.0, offset: float = 0.0, varies: float = 0.2, count: int = 2000) -> SeriesView:
    """Return two meters at a flow that wanders by a share, both with noise of half a unit."""
    random = np.random.default_rng((seed, count))
    true = 80 * (1 + varies * ar1(random, count, 0.99))
    own = offset + factor * true + 0.5 * ar1(random, count, 0.6)
    return log(own, true + 0.5 * random.normal(size=count))


def chance(alarms: int, tested: int) -> bool:
    """Tell whether so many alarms are no more than the stated rate makes once in ten thousand such tests."""
    return alarms <= scipy.stats.binom.ppf(0.9999, max(tested, 1), RATE)


@pytest.mark.parametrize("detector", [noise, second_meter])
def test_clean_logs_raise_no_more_alarms_than_stated(detector: type) -> None:
    """Sixty logs with two meters, both right."""
    logs = [seen(CLEAN["pump, second meter"](np.random.default_rng((60, number)))) for number in range(CLEAN_LOGS)]
    signs = [detector(each) for each in logs]
    assert not any(sign.untested for sign in signs)
    assert chance(sum(sign.present for sign in signs), len(signs))


class TestNoise:
    """The meter's fast unrest against the second meter's."""

    @staticmethod
    def restless(seed: int, times: float, count: int = 2000, liquid: float = 0.0, memory: float = 0.0) -> SeriesView:
        """Return a meter so many times as restless as the second, at a liquid with some unrest of its own."""
        random = np.random.default_rng((seed, count))
        true = 80 * (1 + liquid * random.normal(size=count))
        return log(true + times * 0.9 * ar1(random, count, memory), true + 0.9 * random.normal(size=count))

    @pytest.mark.parametrize("times", [0.3, 1.0, 2.0])
    @pytest.mark.parametrize("count", [40, 2000])
    def test_up_to_twice_the_unrest_is_none(self, times: float, count: int) -> None:
        """At twice exactly, however few readings there are."""
        assert chance(sum(noise(self.restless(seed, times, count)).present for seed in range(60)), 60)

    @pytest.mark.parametrize(("times", "count"), [(3.0, 600), (8.0, 60)])
    def test_more_is_found(self, times: float, count: int) -> None:
        """With its ratio, within a quarter."""
        found = [noise(self.restless(seed, times, count)) for seed in range(20)]
        assert all(sign.present for sign in found)
        assert np.median([sign.parameters["ratio"] for sign in found]) == pytest.approx(times, rel=0.25)

    def test_what_the_liquid_does_is_none(self) -> None:
        """Both meters see it."""
        assert noise(self.restless(1, 2.0, liquid=0.1)).value == pytest.approx(1.0, abs=0.05)

    def test_spikes_and_jumps_are_no_unrest(self) -> None:
        """One reading in fifty far out."""
        quiet = self.restless(2, 1.0)
        values = quiet.data.values.copy()
        values[::50] += 40
        assert not noise(log(values, quiet.second)).present

    def test_unrest_at_standstill_does_not_count(self) -> None:
        """An empty pipe may show anything."""
        quiet = self.restless(3, 1.0)
        random = np.random.default_rng(3)
        running = (np.arange(2000) < 900).astype(float)
        values = np.where(running > 0, quiet.data.values, 20 * random.normal(size=2000))
        assert noise(log(values, quiet.second)).present
        assert not noise(log(values, quiet.second, running)).present

    def test_a_coarse_second_meter_hides_some(self) -> None:
        """Written in steps of nine it may be as restless as a third of that."""
        restless = self.restless(4, 5.0)
        assert noise(restless).present
        assert restless.second is not None
        coarse = noise(log(restless.data.values, np.round(restless.second / 9) * 9))
        assert not coarse.present
        assert not coarse.untested

    def test_a_second_meter_that_is_held_is_no_calm_one(self) -> None:
        """Dead, it tells nothing of the liquid; renewed every fourth reading, each renewal does."""
        quiet = self.restless(6, 1.0)
        assert quiet.second is not None
        assert "while the second one varies" in noise(log(quiet.data.values, np.full(2000, 80.0))).untested
        held = noise(log(quiet.data.values, np.repeat(quiet.second[::4], 4)))
        assert held.value == pytest.approx(1.0, abs=0.3)

    def test_without_a_second_meter_only_the_figure_is_told(self) -> None:
        """The unrest itself, from differences of neighbours: 0.9 as planted."""
        sign = noise(log(self.restless(5, 1.0).data.values))
        assert "second meter" in sign.untested
        assert not sign.present
        assert "0.9" in sign.because
        assert sign.parameters["own_noise"] == pytest.approx(0.9, rel=0.1)


class TestSecondMeter:
    """Whether both show the same."""

    @pytest.mark.parametrize(("memory", "count"), [(0.6, 60), (0.9, 100), (0.9, 1000), (0.95, 300), (0.95, 2000)])
    def test_noise_with_memory_is_no_difference(self, memory: float, count: int) -> None:
        """Five per cent of noise that keeps a share of the reading before."""
        alarms = 0
        for seed in range(60):
            random = np.random.default_rng((seed, count))
            own, second = 80 + 4 * ar1(random, count, memory), 80 + 0.3 * random.normal(size=count)
            alarms += second_meter(log(own, second)).present
        assert chance(alarms, 60)

    @pytest.mark.parametrize(("factor", "offset"), [(1.0, 0.0), (1.01, 0.0), (0.985, 0.0), (1.0, 0.4)])
    def test_what_agrees_on_site_is_no_difference(self, factor: float, offset: float) -> None:
        """About two per cent is common practice; at flows that vary as well."""
        assert chance(sum(second_meter(both(seed, factor, offset, 0.05)).present for seed in range(40)), 40)

    @pytest.mark.parametrize(
        ("factor", "offset", "percent"), [(1.03, 0.0, 3.0), (0.9, 0.0, -10.0), (1.0, 4.0, 5.0), (10.0, 0.0, 900.0)]
    )
    def test_factor_and_offset_are_found(self, factor: float, offset: float, percent: float) -> None:
        """All of twenty logs; factor and offset as planted, the difference in per cent at the usual flow."""
        found = [second_meter(both(seed, factor, offset)) for seed in range(20)]
        assert all(sign.present for sign in found)

        def typical(name: str) -> float:
            return float(np.median([sign.parameters[name] for sign in found]))

        assert typical("factor") == pytest.approx(factor, rel=0.01)
        assert typical("offset") == pytest.approx(offset, abs=0.5 * factor)
        assert typical("difference_percent") == pytest.approx(percent, rel=0.15)

    def test_the_error_of_the_factor_is_as_it_scatters(self) -> None:
        """Of two hundred logs: the usual standard error told, against the scatter of the factors, within a third."""
        found = [second_meter(both(seed, 1.05)).parameters for seed in range(200)]
        told = np.median([each["standard_error_of_factor"] for each in found])
        assert told == pytest.approx(np.std([each["factor"] for each in found]), rel=1 / 3)

    def test_a_difference_at_low_and_high_flow_only(self) -> None:
        """0.8 times and sixteen more agrees at 80, and nowhere else: told with both ends."""
        sign = second_meter(both(3, 0.8, 16.0))
        assert sign.present
        assert abs(float(sign.parameters["difference_percent"])) < 3
        assert float(sign.parameters["difference_percent_at_low_flow"]) > 3
        assert float(sign.parameters["difference_percent_at_high_flow"]) < -2
        assert sign.parameters["factor"] == pytest.approx(0.8, abs=0.02)
        assert sign.parameters["offset"] == pytest.approx(16, abs=2)
        assert "flow" in sign.because

    def test_unequal_noise_is_no_difference_at_the_ends(self) -> None:
        """Sorted by single readings, the noise of one meter would look like one."""
        alarms = 0
        for seed in range(40):
            random = np.random.default_rng(seed)
            true = 80 * (1 + 0.2 * ar1(random, 2000, 0.99))
            own, second = true + 6 * random.normal(size=2000), true + 0.5 * random.normal(size=2000)
            alarms += second_meter(log(own, second)).present
        assert chance(alarms, 40)

    def test_a_restless_second_meter_makes_no_factor(self) -> None:
        """Least squares on noise of the second meter would tell 0.7 times and thirty more."""
        random = np.random.default_rng(4)
        true = 80 * (1 + 0.1 * ar1(random, 4000, 0.9))
        sign = second_meter(log(1.05 * true + random.normal(size=4000), true + 6 * random.normal(size=4000)))
        assert sign.parameters["factor"] == pytest.approx(1.05, abs=0.01)
        assert sign.parameters["offset"] == 0.0

    def test_readings_far_out_move_nothing(self) -> None:
        """One in ten shows nothing at all."""
        clean = both(4, 1.04)
        values = clean.data.values.copy()
        values[::10] = 0.0
        sign = second_meter(log(values, clean.second))
        assert sign.parameters["difference_percent"] == pytest.approx(4.0, abs=0.3)
        assert sign.parameters["factor"] == pytest.approx(1.04, abs=0.01)

    def test_a_meter_that_ends_at_a_value_is_not_denied(self) -> None:
        """Typically alike, but a fifth of the time far apart: nobody says that they agree."""
        seen_ = both(7)
        assert seen_.second is not None
        capped = np.minimum(seen_.second, float(np.quantile(seen_.second, 0.75)))
        found = second_meter(log(seen_.data.values * 1.0, capped))
        assert found.present or not found.excludes

    def test_standstill_does_not_count(self) -> None:
        """A wrong zero at standstill is a sign of its own."""
        clean = both(5)
        assert clean.second is not None
        running = (np.arange(2000) < 600).astype(float)
        own = np.where(running > 0, clean.data.values, 5.0)
        second = np.where(running > 0, clean.second, 0.1)
        assert not second_meter(log(own, second, running)).present

    def test_nothing_beside_the_readings_is_told(self) -> None:
        """No second meter, or too little of it."""
        values = both(6).data.values
        assert "no second meter" in second_meter(log(values)).untested
        little = np.full(2000, np.nan)
        little[:20] = values[:20]
        assert "needs" in second_meter(log(values, little)).untested
        assert "needs" in noise(log(values, little)).untested


class TestOutside:
    """Known answers and other people's programs."""

    @pytest.mark.parametrize("memory", [0.0, 0.5, 0.9])
    def test_what_readings_with_memory_are_worth(self, memory: float) -> None:
        """n (1 - r)/(1 + r) for a first-order memory r (Bayley and Hammersley 1946), long logs within a sixth."""
        found = [effective_size(ar1(np.random.default_rng(seed), 20_000, memory)) for seed in range(9)]
        assert np.median(found) == pytest.approx(20_000 * (1 - memory) / (1 + memory), rel=1 / 6)

    def test_very_long_logs_are_worth_as_much(self) -> None:
        """Means of several readings together lose nothing."""
        values = ar1(np.random.default_rng(1), 200_000, 0.9)
        assert effective_size(values) == pytest.approx(200_000 / 19, rel=1 / 4)

    @pytest.mark.parametrize("count", [60, 400])
    def test_the_limit_is_that_of_a_median_by_student(self, count: int) -> None:
        """scipy.stats.t at half of what the readings are worth; √(π/2), the efficiency of a median."""
        shares = np.random.default_rng(count).normal(size=count)
        found = typical_difference(shares, 1)
        spread = scipy.stats.median_abs_deviation(shares, scale="normal")
        quantile = scipy.stats.t.isf(RATE / 2, (found.effective - 1) / 2)
        assert found.least == pytest.approx(quantile * np.sqrt(np.pi / 2) * spread / np.sqrt(found.effective), rel=0.01)

    def test_differences_of_white_noise_are_worth_two_thirds(self) -> None:
        """1 + 2 Σ r² with r = -1/2 at the next reading (Bartlett 1946): 1.5; fresh ones count in full."""
        fresh = np.random.default_rng(1).normal(size=50_000)
        assert _variance_inflation(np.diff(fresh)) == pytest.approx(1.5, abs=0.05)
        assert _variance_inflation(fresh) == pytest.approx(1.0, abs=0.05)

    def test_a_line_as_scipy_has_it(self) -> None:
        """scipy.stats.linregress on the same readings, none far out, no memory: factor, offset, standard error."""
        random = np.random.default_rng(2)
        x = random.uniform(20, 100, 3000)
        y = 3 + 1.1 * x + np.clip(random.normal(size=3000), -2.5, 2.5)
        wanted = scipy.stats.linregress(x, y)
        offset, factor, error = fit_line(x, y)
        assert (offset, factor) == pytest.approx((wanted.intercept, wanted.slope), rel=1e-3)
        assert error == pytest.approx(wanted.stderr, rel=0.2)


@given(factor=st.floats(0.5, 2.0), offset=st.floats(-5, 5))
def test_a_line_is_found_whatever_lies_beside_it(factor: float, offset: float) -> None:
    """One reading in ten far off does not move it."""
    x = np.linspace(10, 100, 300)
    y = offset + factor * x
    y[::10] += 500
    found_offset, found_factor, _ = fit_line(x, y)
    assert found_factor == pytest.approx(factor, rel=0.05, abs=0.05)
    assert found_offset == pytest.approx(offset, abs=5)
