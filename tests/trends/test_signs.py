"""Each detector: silent on clean logs as often as it says, and it sees what it looks for, where it is and how big."""

from __future__ import annotations

import math

import numpy as np
import pytest
import ruptures
import scipy.signal
import scipy.stats
import statsmodels.api
from hypothesis import given
from hypothesis import strategies as st
from river.datasets import WaterFlow

from diagnose.rule_book.analysis_names import DETECTORS as NAMES
from diagnose.tables.arrays import Array
from diagnose.trends.drift import mann_kendall, theil_sen
from diagnose.trends.second import line_through_thirds
from diagnose.trends.series import (
    MAD_TO_SD,
    RATE,
    Detection,
    SeriesView,
    limit,
    noise_of,
    resolution_of,
    series,
    von_neumann,
)
from diagnose.trends.trend import DETECTORS
from tests.benchmarks.false_alarms import PLANTED, false_alarms, seen
from tests.trends.logs import CLEAN, DAY

CLEAN_LOGS = 20
ROOMY = ("fault-current", "saturated", "zero-while-flowing")
"""What is counted against a limit in readings, and may just reach it."""

SEEN_RIGHTLY = (("quantised", "quantised"), ("spikes", "heavy tails"))
"""Clean logs in which a sign is seen rightly: written in coarse steps, or with single readings far away."""


def look(name: str, times: Array, values: Array, step: float) -> Detection:
    """Return what one detector sees in bare readings."""
    return DETECTORS[name](SeriesView(data=series(times, values, step)))


def planted(name: str, seed: int = 7) -> Detection:
    """Return what a detector sees in a log with its fault."""
    return DETECTORS[name](seen(PLANTED[name](np.random.default_rng(seed))))


@pytest.mark.parametrize("kind", CLEAN)
def test_clean_logs_raise_no_more_alarms_than_stated(kind: str) -> None:
    """Of some clean logs as many alarms as one in a hundred makes by chance once in ten thousand such tests."""
    for name, (alarms, looked) in false_alarms(kind, CLEAN_LOGS).items():
        if (name, kind) not in SEEN_RIGHTLY:
            assert alarms <= scipy.stats.binom.ppf(0.9999, max(looked, 1), RATE), name


@pytest.mark.parametrize("name", DETECTORS)
def test_a_planted_fault_is_seen_beyond_its_limit(name: str) -> None:
    """Each detector sees what it looks for; of small steps (two and a half standard deviations) half."""
    found = [planted(name, seed) for seed in range(6)]
    series_view = [sign for sign in found if sign.present]
    assert len(series_view) >= {"steps": 1, "drift": 4}.get(name, 6)
    assert all(sign.value > sign.limit * (1 - 1e-9) for sign in series_view if name not in ROOMY)
    assert all(sign.because and sign.statistic for sign in series_view)


@pytest.mark.parametrize(
    ("name", "parameter", "value", "within"),
    [
        ("fault-current", "level", 3.55, 0.001),
        ("zero-at-standstill", "zero", 1.0, 0.1),
        ("swings", "period_seconds", 130.0, 1.0),
        ("swings", "amplitude", 0.6, 0.1),
        ("noise", "ratio", 4.7, 0.4),
        ("second-meter", "factor", 1.04, 0.002),
        ("second-meter", "difference_percent", 4.0, 0.2),
        ("quantised", "step", 3.0, 0.001),
        ("no-current", "level", 0.0, 0.001),
        ("negative", "share", 1.0, 0.001),
        ("total-back", "count", 1.0, 0.0),
        ("profile", "shift_hours", 3.0, 0.0),
        ("steady-but-real", "level", 24.2, 0.1),
        ("clipped", "value", 81.0, 0.001),
        ("reverse-at-stop", "deepest", -12.0, 1.0),
        ("zero-while-flowing", "readings", 60.0, 0.0),
        ("drop-outs", "count", 2.0, 0.0),
        ("spikes", "count", 2.0, 0.0),
    ],
)
def test_its_size_is_told(name: str, parameter: str, value: float, within: float) -> None:
    """As it was planted."""
    assert planted(name).parameters[parameter] == pytest.approx(value, abs=within)


@pytest.mark.parametrize(
    ("name", "start", "seconds"),
    [
        ("stuck", 10_000.0, 590.0),
        ("fault-current", 15_000.0, 90.0),
        ("zero-while-flowing", 12_000.0, 590.0),
        ("spikes", 4_000.0, 0.0),
        ("drop-outs", 4_000.0, 10.0),
        ("reverse-at-stop", 7_000.0, 190.0),
        ("steady-but-real", 10_000.0, 990.0),
    ],
)
def test_its_place_is_told(name: str, start: float, seconds: float) -> None:
    """From when and for how long, within a few readings."""
    mark = planted(name).marks[0]
    assert mark.start == pytest.approx(start, abs=30)
    assert mark.end - mark.start == pytest.approx(seconds, abs=60)


class TestOutside:
    """Published data and other people's programs."""

    def test_the_step_of_the_nile(self) -> None:
        """One step, before 1899 (statsmodels.datasets.nile; Cobb 1978): index 28 is the first low year."""
        data = statsmodels.api.datasets.nile.load_pandas().data
        year = 365.25 * DAY
        found = look("steps", data["year"].to_numpy(float) * year, data["volume"].to_numpy(float), year)
        assert [round(mark.end / year) for mark in found.marks] == [1899]
        assert found.marks[0].size == pytest.approx(849.972 - 1097.75, abs=60)

    def test_the_breaks_of_a_generated_signal(self) -> None:
        """ruptures.pw_constant, seed 1: true breaks at 66 and 132; its own dynamic programme finds 65 and 132."""
        signal, breaks = ruptures.pw_constant(n_samples=200, n_features=1, n_bkps=2, noise_std=1, seed=1)
        found = look("steps", np.arange(200.0), signal[:, 0], 1.0)
        places = [mark.end for mark in found.marks]
        assert len(places) == 2
        assert np.abs(np.array(places) - breaks[:2]).max() <= 2

    def test_low_segments_and_a_peak_of_a_water_main(self) -> None:
        """river.datasets.WaterFlow: its docstring tells of three low segments (real, not stuck) and one peak.

        Each low segment ends within a day: no level of days changes, and no step is told.
        """
        rows = [(x["Time"].timestamp(), y) for x, y in WaterFlow()]
        times, flow = (np.array(column) for column in zip(*rows, strict=True))
        assert not look("stuck", times, flow, 3600.0).present
        assert look("steady-but-real", times, flow, 3600.0).present
        assert times[329] in [mark.start for mark in look("spikes", times, flow, 3600.0).marks]
        steps = look("steps", times, flow, 3600.0)
        assert not steps.present

    @given(st.lists(st.integers(-50, 50), min_size=5, max_size=30))
    def test_slope_and_order_as_scipy_has_them(self, values: list[int]) -> None:
        """Theil-Sen slope; the sign and size of Kendall's statistic by its tau (without ties)."""
        y = np.array(values, float) + np.arange(len(values)) * 1e-6
        x = np.arange(float(len(y)))
        assert theil_sen(x, y)[0] == pytest.approx(scipy.stats.theilslopes(y, x)[0])
        tau = scipy.stats.kendalltau(x, y).statistic
        pairs = len(y) * (len(y) - 1) / 2
        s = tau * pairs
        variance = len(y) * (len(y) - 1) * (2 * len(y) + 5) / 18
        wanted = 0.0 if round(s) == 0 else (s - math.copysign(1, s)) / math.sqrt(variance)
        assert mann_kendall(x, y) == pytest.approx(wanted, abs=1e-9)

    def test_the_variance_of_ten(self) -> None:
        """n (n-1) (2n+5) / 18 is 125 for ten: S = 45 is 44/√125 (Kendall 1975)."""
        assert mann_kendall(np.arange(10.0), np.arange(10.0)) == pytest.approx(44 / math.sqrt(125))

    def test_the_period_as_lomb_and_scargle_have_it(self) -> None:
        """scipy.signal.lombscargle has its highest power at the same period, a thousandth apart at most."""
        log = seen(PLANTED["swings"](np.random.default_rng(3)))
        period = float(DETECTORS["swings"](log).parameters["period_seconds"])
        trial = np.linspace(0.9 * period, 1.1 * period, 2001)
        values = log.data.values - log.data.values.mean()
        power = scipy.signal.lombscargle(log.data.times, values, 2 * np.pi / trial)
        assert trial[np.argmax(power)] == pytest.approx(period, rel=5e-3)

    def test_published_constants(self) -> None:
        """1/Φ⁻¹(0.75); von Neumann's ratio of 1 to 5 and of a zigzag (facts: 0.4 and 3.3333)."""
        assert pytest.approx(1 / scipy.stats.norm.ppf(0.75)) == MAD_TO_SD
        assert von_neumann(np.arange(1.0, 6.0)) == pytest.approx(0.4)
        assert von_neumann(np.array([1.0, -1.0] * 3)) == pytest.approx(10 / 3)

    @pytest.mark.parametrize("tests", [1, 20, 1000, 1e6])
    def test_limits_as_scipy_has_them(self, tests: float) -> None:
        """The normal quantile that one of so many tests passes in one of a hundred clean logs, either way."""
        assert limit(tests) == pytest.approx(scipy.stats.norm.isf(RATE / (2 * tests)), rel=1e-6)


def test_detectors_are_those_that_a_rule_book_may_name() -> None:
    """No more, no fewer, in the same order."""
    assert tuple(DETECTORS) == NAMES


def test_sizes_of_a_current_are_in_milliamps() -> None:
    """Whatever unit the readings have."""
    assert planted("fault-current").unit == "mA"
    assert planted("stuck").unit == ""


def test_a_fault_current_lasts_four_seconds() -> None:
    """NAMUR NE 43: what is shorter is none, however often the logger writes."""
    for readings, present in ((3, False), (4, True)):
        current = np.full(60, 12.0)
        current[20 : 20 + readings] = 3.5
        log = SeriesView(data=series(np.arange(60.0), np.full(60, 50.0), 1.0), current=current)
        assert DETECTORS["fault-current"](log).present == present


class TestReal:
    """What looks like a fault and is none."""

    def test_a_drop_out_and_a_frozen_stretch_are_no_steps(self) -> None:
        """They are signs of their own; what comes before and after them is the same level."""
        for name in ("stuck", "drop-outs", "spikes"):
            assert not DETECTORS["steps"](seen(PLANTED[name](np.random.default_rng(7)))).present

    def test_a_pump_that_mostly_stands_makes_no_second_meter_disagree(self) -> None:
        """Only what is read while it runs is held against each other."""
        log = PLANTED["reverse-at-stop"](np.random.default_rng(3))
        assert log.running is not None
        assert log.second is not None
        random = np.random.default_rng(8)
        for column in (log.flow, log.second):
            column[800:] = 0.2 * random.normal(size=len(column) - 800)
        log.running[800:] = 0
        assert not DETECTORS["second-meter"](seen(log)).present

    def test_a_run_while_the_pump_stands_is_not_stuck(self) -> None:
        """A cut-off shows zero, all night long."""
        log = PLANTED["reverse-at-stop"](np.random.default_rng(1))
        assert log.running is not None
        log.flow[log.running == 0] = 0.0
        assert not DETECTORS["stuck"](seen(log)).present

    def test_a_run_that_the_second_meter_shows_too_is_not_stuck(self) -> None:
        """Where the second meter goes on, it is."""
        random = np.random.default_rng(2)
        log = PLANTED["zero-at-standstill"](random)
        assert log.second is not None
        log.flow[1200:1300] = log.flow[1200]
        assert DETECTORS["stuck"](seen(log)).present
        log.second[1200:1300] = log.second[1200] + 0.05 * random.normal(size=100)
        assert not DETECTORS["stuck"](seen(log)).present

    def test_stops_of_the_pump_are_no_steps(self) -> None:
        """The level while it runs stays the same."""
        log = seen(PLANTED["noise"](np.random.default_rng(5)))
        assert not DETECTORS["steps"](log).present

    def test_a_spike_is_no_step(self) -> None:
        """Two drop-outs and two spikes leave the level where it was."""
        for name in ("drop-outs", "spikes"):
            assert not DETECTORS["steps"](seen(PLANTED[name](np.random.default_rng(1)))).present

    def test_a_wrong_zero_is_no_flow_backwards(self) -> None:
        """What stays below nothing all the time at standstill is a zero."""
        log = PLANTED["zero-at-standstill"](np.random.default_rng(4))
        assert log.running is not None
        log.flow[log.running == 0] -= 5.0
        assert DETECTORS["zero-at-standstill"](seen(log)).present
        assert not DETECTORS["reverse-at-stop"](seen(log)).present

    def test_a_plants_day_is_no_swing_and_no_drift(self) -> None:
        """A month with a daily cycle, and nothing else."""
        times = np.arange(30 * 288) * 300.0
        flow = 80 + 10 * np.sin(2 * np.pi * times / DAY) + np.random.default_rng(6).normal(size=len(times))
        assert not look("swings", times, flow, 300.0).present
        assert not look("drift", times, flow, 300.0).present

    def test_one_step_is_no_drift(self) -> None:
        """A step explains the days better."""
        times = np.arange(20 * 96) * 900.0
        flow = 80 + np.random.default_rng(8).normal(size=len(times)) + 5.0 * (times > 11 * DAY)
        assert look("steps", times, flow, 900.0).present
        assert not look("drift", times, flow, 900.0).present


class TestLittle:
    """Logs that give nothing to test are told so; no log is too short or too odd."""

    @pytest.mark.parametrize("count", [3, 4, 10, 21, 30, 70])
    @pytest.mark.parametrize("shape", ["constant", "rising", "noise"])
    def test_short_logs_end_in_no_error(self, count: int, shape: str) -> None:
        """Every detector says something: seen, not seen, or why it cannot tell."""
        values = {"constant": np.full(count, 7.0), "rising": np.arange(float(count))}.get(
            shape, np.random.default_rng(count).normal(size=count)
        )
        for detector in DETECTORS.values():
            sign = detector(SeriesView(data=series(np.arange(float(count)), values, 1.0)))
            assert not (sign.present and sign.untested)

    @pytest.mark.parametrize("beside", ["second", "running"])
    def test_a_constant_reading_is_stuck_if_what_is_beside_it_moves(self, beside: str) -> None:
        """Without that, nothing tells it from a flow that does not change."""
        data = series(np.arange(600.0), np.full(600, 42.1), 1.0)
        moving = {"second": 42 + 10 * np.sin(np.arange(600) / 50), "running": (np.arange(600) < 400).astype(float)}
        assert DETECTORS["stuck"](SeriesView(data=data)).untested
        assert DETECTORS["stuck"](SeriesView(data=data, second=np.full(600, 42.1))).untested
        found = DETECTORS["stuck"](SeriesView(data=data, **{beside: moving[beside]}))
        assert found.present
        assert found.marks[0].size == 42.1

    def test_nothing_beside_the_readings_is_told(self) -> None:
        """Pump, current and second meter are asked for by those that need them."""
        bare = SeriesView(data=series(np.arange(500.0), np.random.default_rng(0).normal(10, 1, 500), 1.0))
        needs = {name: DETECTORS[name](bare).untested for name in DETECTORS}
        assert "pump" in needs["zero-at-standstill"]
        assert "loop current" in needs["fault-current"]
        assert "second meter" in needs["noise"]
        assert "second meter" in needs["second-meter"]


@given(factor=st.floats(0.5, 2.0), offset=st.floats(-5, 5))
def test_a_line_is_found_whatever_lies_beside_it(factor: float, offset: float) -> None:
    """One reading in ten far off does not move it."""
    x = np.linspace(10, 100, 300)
    y = offset + factor * x
    y[::10] += 500
    found_offset, found_factor = line_through_thirds(x, y)
    assert found_factor == pytest.approx(factor, rel=0.05, abs=0.05)
    assert found_offset == pytest.approx(offset, abs=5)


def test_resolution_and_noise_are_told_apart() -> None:
    """Noise of 0.2 written in steps of 0.5 has both again, within a few per cent."""
    values = np.round((50 + 0.2 * np.random.default_rng(9).normal(size=20_000)) / 0.5) * 0.5
    found = noise_of(values, np.zeros(len(values), bool))
    assert resolution_of(values) == pytest.approx(0.5)
    assert found.sd == pytest.approx(0.2, rel=0.35)


@given(st.lists(st.sampled_from([0.0, 1.0, 1.5, -2.0, 1e6, 4.0, 20.5, 21.0]), min_size=3, max_size=120), st.booleans())
def test_no_log_is_too_odd(values: list[float], beside: bool) -> None:
    """Whatever the readings and what stands beside them, each detector ends in a sign with figures."""
    flow = np.array(values)
    log = SeriesView(
        data=series(np.arange(float(len(flow))), flow, 1.0),
        current=flow if beside else None,
        running=(np.roll(flow, 1) > 1).astype(float) if beside else None,
        second=np.roll(flow, 2) if beside else None,
        upper=4.0 if beside else None,
    )
    for name, detector in DETECTORS.items():
        sign = detector(log)
        assert isinstance(sign.present, bool), name
        assert not math.isnan(sign.value), name
        assert not (sign.present and sign.untested), name
