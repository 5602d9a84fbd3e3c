"""Drift: silent on clean logs as often as it says; a slow change is found and sized; a day or a step is none."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.stats
import statsmodels.api
from hypothesis import given
from hypothesis import strategies as st

from diagnose.tables.arrays import Array
from diagnose.trends.drift import (
    FEWEST,
    drift,
    is_step,
    mann_kendall,
    residuals_on,
    theil_sen,
    variance_inflation,
)
from diagnose.trends.second import second_meter
from diagnose.trends.series import RATE, SeriesView, series
from tests.benchmarks.false_alarms import seen
from tests.trends.logs import CLEAN, DAY, ar1

CLEAN_LOGS = 60


def log(times: Array, values: Array, second: Array | None = None, running: Array | None = None) -> SeriesView:
    """Return readings as detectors look at them."""
    step = float(np.median(np.diff(times)))
    return SeriesView(data=series(times, values, step), second=second, running=running)


def days(count: int, change: float, seed: int, memory: float = 0.6) -> SeriesView:
    """Return some days of readings every quarter of an hour with a daily cycle, whose level changes by a share."""
    random = np.random.default_rng((seed, count))
    times = np.arange(count * 96) * 900.0
    cycle = 1 + 0.1 * np.sin(2 * np.pi * times / DAY)
    noise = 1 + 0.01 * ar1(random, len(times), memory)
    return log(times, 80 * cycle * noise * (1 + change * times / times[-1]))


def beside(seed: int, factor: float, creep: float = 0.0, hours: float = 12.0) -> SeriesView:
    """Return half a day with a daily cycle from somewhere in it, and a second meter that is right."""
    random = np.random.default_rng(seed)
    times = np.arange(int(hours * 60)) * 60.0
    true = 80 * (1 + 0.2 * np.sin(2 * np.pi * (times + random.uniform(0, DAY)) / DAY))
    own = true * factor + creep * times / times[-1] + 0.4 * random.normal(size=len(times))
    return log(times, own, true + 0.4 * random.normal(size=len(times)))


def chance(alarms: int, tested: int) -> bool:
    """Tell whether so many alarms are no more than the stated rate makes once in ten thousand such tests."""
    return alarms <= scipy.stats.binom.ppf(0.9999, max(tested, 1), RATE)


@pytest.mark.parametrize("kind", CLEAN)
def test_clean_logs_raise_no_more_alarms_than_stated(kind: str) -> None:
    """Sixty logs of each kind."""
    signs = [drift(seen(CLEAN[kind](np.random.default_rng((40, number))))) for number in range(CLEAN_LOGS)]
    assert chance(sum(sign.present for sign in signs), sum(not sign.untested for sign in signs))


@pytest.mark.parametrize("count", [10, 14, 60])
@pytest.mark.parametrize("memory", [0.0, 0.95])
def test_days_without_change_raise_no_more_alarms_than_stated(count: int, memory: float) -> None:
    """However many days, with and without memory; all of them are tested."""
    signs = [drift(days(count, 0.0, seed, memory)) for seed in range(40)]
    assert not any(sign.untested for sign in signs)
    assert chance(sum(sign.present for sign in signs), len(signs))


@pytest.mark.parametrize(("count", "change", "least"), [(14, 0.12, 32), (30, 0.25, 34), (90, 0.7, 34), (60, -0.4, 38)])
def test_a_creeping_level_is_found(count: int, change: float, least: int) -> None:
    """Of forty logs, nearly all; the typical size is as it was planted, within a tenth."""
    found = [sign for sign in (drift(days(count, change, seed)) for seed in range(40)) if sign.present]
    assert len(found) >= least
    assert np.median([sign.parameters["change"] for sign in found]) == pytest.approx(80 * change, rel=0.1)


def test_what_a_season_does_is_none() -> None:
    """A level that creeps by less than half a per cent a day is told only beside a second meter."""
    assert not any(drift(days(60, change, 1)).present for change in (-0.2, -0.03, 0.03, 0.25))


def test_the_interval_of_its_size_holds_the_truth() -> None:
    """Stated for 95 %: of forty logs at least the 33 that chance leaves once in ten thousand.

    The change is told from the middle of the first day to that of the last.
    """
    found = [drift(days(60, 0.4, seed)).parameters for seed in range(40)]
    true = 32.0 * 59 / 59.99
    held = sum(float(each["change_at_lowest"]) <= true <= float(each["change_at_highest"]) for each in found)
    assert held >= scipy.stats.binom.ppf(1e-4, 40, 0.95)


def test_size_a_day_and_place_are_told() -> None:
    """Sixty days, forty per cent of eighty: 32 over the log, 0.53 a day, from the first day to the last."""
    sign = drift(days(60, 0.4, 1))
    assert sign.parameters["change_per_day"] == pytest.approx(32 / 60, rel=0.05)
    assert sign.parameters["change_percent"] == pytest.approx(100 * 32 / 96, rel=0.05)
    assert sign.parameters["means"] == 60
    assert (sign.marks[0].start, sign.marks[0].end) == pytest.approx((DAY / 2, 59.5 * DAY), abs=DAY / 2)
    assert sign.value > sign.limit
    assert "a day" in sign.because


class TestSecondMeter:
    """Held against a second meter, hours are enough, and the flow is taken out."""

    @pytest.mark.parametrize("factor", [0.8, 0.99, 1.0, 1.01, 1.2])
    def test_a_factor_between_both_is_no_drift_while_the_flow_changes(self, factor: float) -> None:
        """From night to noon the difference grows with the flow."""
        assert chance(sum(drift(beside(seed, factor)).present for seed in range(40)), 40)

    def test_a_flow_that_wanders_is_no_drift(self) -> None:
        """A random walk that both meters see, one of them one per cent higher."""
        alarms = 0
        for seed in range(40):
            random = np.random.default_rng(seed)
            flow = 80 + np.cumsum(0.3 * random.normal(size=2000))
            own, other = flow * 1.01 + 0.2 * random.normal(size=2000), flow + 0.2 * random.normal(size=2000)
            alarms += drift(log(np.arange(2000) * 10.0, own, other)).present
        assert chance(alarms, 40)

    def test_an_amount_between_both_is_no_drift_while_the_flow_rises(self) -> None:
        """Two units more at every flow: only a line through the flow takes that out."""
        alarms = 0
        for seed in range(40):
            random = np.random.default_rng(seed)
            flow = np.linspace(60, 100, 2000) + 3 * ar1(random, 2000, 0.99)
            own, other = flow + 2 + 0.3 * random.normal(size=2000), flow + 0.3 * random.normal(size=2000)
            alarms += drift(log(np.arange(2000) * 10.0, own, other)).present
        assert chance(alarms, 40)

    @pytest.mark.parametrize("every", [60.0, 600.0, 3600.0])
    @pytest.mark.parametrize(("over", "change"), [(7, -0.06), (14, -0.2)])
    def test_a_factor_that_creeps_is_found_through_the_cycle_of_the_day(
        self, over: int, change: float, every: float
    ) -> None:
        """It is told as a drift, sized, and as a difference: half of it typically, all of it at the end."""
        random = np.random.default_rng(over)
        times = np.arange(0.0, over * DAY, every)
        true = 60 + 20 * np.sin(2 * np.pi * times / DAY) + 5 * np.sin(4 * np.pi * times / DAY)
        own = true * (1 + change * times / times[-1]) + 0.1 * random.normal(size=len(times))
        found = drift(log(times, own, true))
        assert found.present
        assert found.parameters["change_percent"] == pytest.approx(100 * change, rel=0.25)
        second = second_meter(log(times, own, true))
        assert second.present
        if "difference_percent_at_the_end" in second.parameters:
            assert second.parameters["difference_percent_at_the_end"] == pytest.approx(100 * change, rel=0.15)

    def test_a_rise_as_small_as_the_noise_is_no_drift(self) -> None:
        """A line through the flow then tells of the noise and leaves some of the rise: only the ratio takes it out."""
        alarms = 0
        for seed in range(40):
            random = np.random.default_rng(seed)
            flow = np.linspace(79.7, 80.3, 4000)
            own, other = flow + random.normal(size=4000), flow + random.normal(size=4000)
            alarms += drift(log(np.arange(4000) * 10.0, own, other)).present
        assert chance(alarms, 40)

    @pytest.mark.parametrize("memory", [0.5, 0.95])
    def test_memory_of_the_meter_is_no_drift(self, memory: float) -> None:
        """The noise of the readings keeps a share of the reading before."""
        alarms = 0
        for seed in range(60):
            random = np.random.default_rng(seed)
            own = 80 + 0.5 * ar1(random, 2000, memory)
            alarms += drift(log(np.arange(2000) * 10.0, own, 80 + 0.1 * random.normal(size=2000))).present
        assert chance(alarms, 60)

    def test_a_meter_that_creeps_is_found_within_a_day(self) -> None:
        """One of eighty in a day, while the flow goes through its cycle."""
        found = [drift(beside(seed, 1.0, creep=1.0, hours=24.0)) for seed in range(20)]
        assert sum(sign.present for sign in found) >= 18
        sizes = [sign.parameters["change"] for sign in found if sign.present]
        assert np.median(sizes) == pytest.approx(1.0, rel=0.2)

    def test_a_pump_that_stops_is_no_drift(self) -> None:
        """At standstill a factor is nothing; what is read there does not count."""
        random = np.random.default_rng(4)
        times = np.arange(2000) * 10.0
        running = (times < 12_000).astype(float)
        own, other = (80 * running * factor + 0.2 * random.normal(size=2000) for factor in (1.01, 1.0))
        sign = drift(log(times, own, other, running))
        assert not sign.present
        assert not sign.untested


class TestNone:
    """What is no drift."""

    def test_a_daily_cycle(self) -> None:
        """Ten days and a half: the half day is left out, its median is not that of a day."""
        whole = days(11, 0.0, 3)
        times, values = whole.data.times, whole.data.values
        assert not drift(log(times[:-48], values[:-48])).present
        rising = values * (1 + 0.1 * times / times[-1])
        assert drift(log(times[:-48], rising[:-48])).parameters["means"] == 10

    @pytest.mark.parametrize("at", [5, 10, 15])
    def test_a_step(self, at: int) -> None:
        """One step explains the days better than a line, wherever it is."""
        clean = days(20, 0.0, 5)
        stepped = clean.data.values + 5.0 * (clean.data.times > at * DAY)
        assert not drift(log(clean.data.times, stepped)).present

    def test_a_short_log_without_a_second_meter_cannot_tell(self) -> None:
        """A rise over six days may be the plant's; the reason is told."""
        sign = drift(days(FEWEST - 1, 0.1, 1))
        assert not sign.present
        assert "day" in sign.untested

    def test_pump_hours(self) -> None:
        """A pump that runs longer every day, at the same restless flow: the median of all readings would rise.

        Its stops are seen in the flow, told or not.
        """
        times = np.arange(20 * 96) * 900.0
        running = (times % DAY < DAY * (0.55 + 0.02 * (times // DAY))).astype(float)
        flow = running * (80 + 5 * np.random.default_rng(1).normal(size=len(times)))
        sign = drift(log(times, flow, running=running))
        assert not sign.present
        assert not sign.untested
        assert not drift(log(times, flow)).present


class TestOutside:
    """Published values and other people's programs."""

    def test_the_variance_of_ten(self) -> None:
        """n (n-1) (2n+5) / 18 is 125 for ten: S = 45 is 44/√125 (Kendall 1975)."""
        assert mann_kendall(np.arange(10.0), np.arange(10.0)) == pytest.approx(44 / math.sqrt(125))

    def test_one_reading_far_out_moves_no_slope(self) -> None:
        """1, 2, 3, 4, 50 over 0 to 4: slope 1, tau 1 (scipy.stats.theilslopes, kendalltau)."""
        x, y = np.arange(5.0), np.array([1.0, 2.0, 3.0, 4.0, 50.0])
        assert theil_sen(x, y)[0] == scipy.stats.theilslopes(y, x)[0] == 1.0
        assert scipy.stats.kendalltau(x, y).statistic == pytest.approx(1.0)
        assert mann_kendall(x, y) == pytest.approx(9 / math.sqrt(5 * 4 * 15 / 18))

    def test_memory_widens_the_variance_of_means(self) -> None:
        """(1 + r)/(1 - r): nine for 0.8, and one for white noise, whose memory by chance is not counted."""
        found = [
            [variance_inflation(ar1(np.random.default_rng(seed), 400, memory)) for seed in range(30)]
            for memory in (0.0, 0.8)
        ]
        assert [np.median(each) for each in found] == pytest.approx([1.0, 9.0], rel=0.2)
        assert np.mean(np.array(found[0]) == 1.0) > 0.7

    @given(st.lists(st.integers(-50, 50), min_size=5, max_size=30))
    def test_slope_and_order_as_scipy_has_them(self, values: list[int]) -> None:
        """Theil-Sen slope; S from Kendall's tau b, whose denominator counts ties."""
        y, x = np.array(values, float), np.arange(float(len(values)))
        assert theil_sen(x, y)[0] == pytest.approx(scipy.stats.theilslopes(y, x)[0], abs=1e-12)
        if np.ptp(y) == 0:
            assert mann_kendall(x, y) == 0.0
            return
        count, ties = len(y), np.unique(y, return_counts=True)[1]
        pairs = count * (count - 1) / 2
        s = scipy.stats.kendalltau(x, y).statistic * math.sqrt(pairs * (pairs - np.sum(ties * (ties - 1)) / 2))
        variance = (count * (count - 1) * (2 * count + 5) - np.sum(ties * (ties - 1) * (2 * ties + 5))) / 18
        wanted = 0.0 if round(s) == 0 else (s - math.copysign(1, s)) / math.sqrt(variance)
        assert mann_kendall(x, y) == pytest.approx(wanted, abs=1e-9)

    def test_the_interval_of_a_slope_as_scipy_has_it(self) -> None:
        """Sen's interval of 95 % on white noise, where no memory widens it; one place of rank apart at most."""
        random = np.random.default_rng(12)
        x, y = np.arange(40.0), random.normal(size=40) + 0.1 * np.arange(40)
        slope, low, high = theil_sen(x, y)
        theirs = scipy.stats.theilslopes(y, x, 0.95)
        assert slope == pytest.approx(theirs[0])
        assert (low, high) == pytest.approx((theirs[2], theirs[3]), abs=2e-3)

    def test_the_step_of_the_nile_is_no_drift(self) -> None:
        """A hundred years with one drop in 1899 (statsmodels.datasets.nile; Cobb 1978): a step explains them better."""
        data = statsmodels.api.datasets.nile.load_pandas().data
        years = data["year"].to_numpy(float)
        assert is_step(years, data["volume"].to_numpy(float))
        assert not drift(log(years * 365.25 * DAY, data["volume"].to_numpy(float))).present


@given(st.floats(-3, 3), st.floats(-100, 100))
def test_what_is_left_without_the_flow_knows_nothing_of_it(factor: float, offset: float) -> None:
    """Whatever the line between both."""
    random = np.random.default_rng(0)
    flow, rest = random.normal(size=50), random.normal(size=50)
    left = residuals_on(flow, offset + factor * flow + rest)
    assert left == pytest.approx(residuals_on(flow, rest), abs=1e-9)
    assert float(left @ flow) == pytest.approx(0.0, abs=1e-9)
