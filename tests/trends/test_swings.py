"""Swings: silent on clean logs as often as it says; a rhythm is found, its period and size told, holes or not."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.integrate
import scipy.signal
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.tables.arrays import Array
from diagnose.trends.series import RATE, Detection, Flags, SeriesView, series
from diagnose.trends.swings import LONGEST, Spectrum, _background, _ratio_limit, swings
from tests.benchmarks.false_alarms import seen
from tests.trends.logs import CLEAN, DAY, ar1

CLEAN_LOGS = 60


def look(times: Array, values: Array, step: float = 10.0, running: Array | None = None) -> Detection:
    """Return what is seen in bare readings."""
    return swings(SeriesView(data=series(times, values, step), running=running))


def noise(seed: int, count: int = 3000, memory: float = 0.6) -> tuple[Array, Array]:
    """Return times every ten seconds, and a level of 80 with noise of 0.8."""
    return np.arange(count) * 10.0, 80 + 0.8 * ar1(np.random.default_rng((seed, count)), count, memory)


def swing(times: Array, period: float, size: float, seed: int = 0) -> Array:
    """Return a swing that begins somewhere."""
    return size * np.sin(2 * np.pi * times / period + seed)


def chance(alarms: int, tested: int) -> bool:
    """Tell whether so many alarms are no more than the stated rate makes once in ten thousand such tests."""
    return alarms <= scipy.stats.binom.ppf(0.9999, max(tested, 1), RATE)


@pytest.mark.parametrize("kind", CLEAN)
def test_clean_logs_raise_no_more_alarms_than_stated(kind: str) -> None:
    """Sixty logs of each kind."""
    signs = [swings(seen(CLEAN[kind](np.random.default_rng((50, number))))) for number in range(CLEAN_LOGS)]
    assert chance(sum(sign.present for sign in signs), sum(not sign.untested for sign in signs))


@pytest.mark.parametrize("memory", [0.0, 0.95, 0.99, 1.0])
def test_memory_is_no_rhythm(memory: float) -> None:
    """From white noise to a random walk, the power falls with frequency; nothing stands out."""
    alarms = 0
    for seed in range(40):
        times, values = noise(seed, memory=min(memory, 0.99))
        alarms += look(times, np.cumsum(values - 80) if memory == 1.0 else values).present
    assert chance(alarms, 40)


@pytest.mark.parametrize("walks", [False, True])
def test_short_logs_raise_no_more_alarms_than_stated(walks: bool) -> None:
    """Where few neighbours tell of the background, white noise and random walks of three hundred readings."""
    alarms = 0
    for seed in range(400):
        values = np.random.default_rng((seed, 300)).normal(size=300)
        alarms += look(np.arange(300.0), np.cumsum(values) if walks else values, 1.0).present
    assert chance(alarms, 400)


class TestFound:
    """A planted rhythm."""

    @pytest.mark.parametrize(("size", "least"), [(0.3, 26), (0.6, 30)])
    def test_small_swings_are_found(self, size: float, least: int) -> None:
        """Of thirty logs; three eighths of the noise's standard deviation are enough."""
        found = 0
        for seed in range(30):
            times, values = noise(seed)
            found += look(times, values + swing(times, 130, size, seed)).present
        assert found >= least

    @pytest.mark.parametrize("cycles", [7.5, 10.5, 41.3, 300.7, 1200.2])
    def test_period_and_size_are_told(self, cycles: float) -> None:
        """Within one in a hundred of the period, one in ten of the size, however few or many swings."""
        times, values = noise(7, memory=0.3)
        period = 30_000 / cycles
        sign = look(times, values + swing(times, period, 2.0))
        assert sign.parameters["period_seconds"] == pytest.approx(period, rel=0.01)
        assert sign.parameters["amplitude"] == pytest.approx(2.0, rel=0.1)
        assert sign.value > sign.limit

    def test_its_share_of_the_unrest_is_told(self) -> None:
        """A swing of amplitude 1 in noise of variance 0.64: half of one in 1.14."""
        times, values = noise(3, memory=0.0)
        assert look(times, values + swing(times, 130, 1.0)).parameters["share_of_variance"] == pytest.approx(
            0.5 / 1.14, abs=0.05
        )

    def test_a_log_of_several_stretches(self) -> None:
        """Ten seconds longer than three stretches; the phase slips now and then, as that of a pump does."""
        count = 3 * LONGEST + 10
        times, values = noise(4, count)
        slipped = np.random.default_rng(4).integers(0, 6, 4)[np.arange(count) // LONGEST]
        sign = look(times, values + 0.6 * np.sin(2 * np.pi * times / 130 + slipped))
        assert sign.parameters["period_seconds"] == pytest.approx(130, rel=1e-3)
        assert sign.parameters["amplitude"] == pytest.approx(0.6, abs=0.1)

    def test_the_fastest_may_be_another(self) -> None:
        """A swing every 11 s read every 10 s shows as one every 110 s; every 21 s it is near what readings can show."""
        times, values = noise(5)
        folded = look(times, values + swing(times, 11, 1.0))
        assert folded.parameters["period_seconds"] == pytest.approx(110, rel=1e-2)
        assert "a faster swing may be behind it" in look(times, values + swing(times, 21, 1.0)).because
        assert "faster" not in look(times, values + swing(times, 130, 1.0)).because


class TestHoles:
    """Readings at uneven times."""

    @staticmethod
    def keep(times: Array, which: str) -> Flags:
        """Return which readings are there."""
        random = np.random.default_rng(9)
        place = np.arange(len(times)) / len(times)
        return {
            "thirty in a hundred missing": random.random(len(times)) > 0.3,
            "a gap of two fifths": (place < 0.3) | (place > 0.7),
            "five of every thirty missing": np.arange(len(times)) % 30 >= 5,
        }[which]

    WHICH = ("thirty in a hundred missing", "a gap of two fifths", "five of every thirty missing")

    @pytest.mark.parametrize("which", WHICH)
    def test_a_swing_is_found(self, which: str) -> None:
        """With period and size."""
        times, values = noise(2)
        kept = self.keep(times, which)
        sign = look(times[kept], (values + swing(times, 130, 1.0))[kept])
        assert sign.parameters["period_seconds"] == pytest.approx(130, rel=5e-3)
        assert sign.parameters["amplitude"] == pytest.approx(1.0, abs=0.2)

    @pytest.mark.parametrize("which", WHICH)
    @pytest.mark.parametrize("memory", [0.0, 0.99])
    def test_holes_make_none(self, which: str, memory: float) -> None:
        """Neither in white noise nor in slow changes."""
        alarms = 0
        for seed in range(30):
            times, values = noise(seed, memory=memory)
            kept = self.keep(times, which)
            alarms += look(times[kept], values[kept]).present
        assert chance(alarms, 30)

    @pytest.mark.parametrize(("days", "missing"), [(3, 10), (10, 10), (10, 20)])
    def test_holes_in_a_rhythm_make_none_of_a_daily_cycle(self, days: int, missing: int) -> None:
        """A logger that is busy for some minutes of every hour, and a plant with its day."""
        alarms = 0
        for seed in range(10):
            random = np.random.default_rng(seed)
            times = np.arange(days * 1440) * 60.0
            flow = 80 + swing(times, DAY, 16.0, seed) + 0.4 * random.normal(size=len(times))
            kept = times % 3600 >= missing * 60
            alarms += look(times[kept], flow[kept], 60.0).present
        assert chance(alarms, 10)

    def test_readings_that_come_when_they_will(self) -> None:
        """Up to four tenths of a step early or late."""
        times, values = noise(6)
        times = times + np.random.default_rng(6).uniform(-4, 4, len(times))
        sign = look(times, values + swing(times, 130, 0.8))
        assert sign.parameters["period_seconds"] == pytest.approx(130, rel=2e-3)

    def test_a_hole_of_years_takes_no_memory(self) -> None:
        """Three thousand readings a second, ten years, and three thousand again: what is there is looked at."""
        times, values = noise(8, LONGEST * 2)
        times = np.where(np.arange(len(times)) < LONGEST, times, times + 3e8)
        assert not look(times, values).present

    def test_a_pump_that_is_told_to_stand_makes_none(self) -> None:
        """A pit pump runs five minutes of fifteen; the flow is steady while it runs; told, or seen in the flow."""
        random = np.random.default_rng(1)
        times = np.arange(4000) * 10.0
        running = (times % 900 < 300).astype(float)
        flow = 80 * running + 0.5 * random.normal(size=4000)
        assert not look(times, flow).present
        assert not look(times, flow, running=running).present


class TestDay:
    """The plant's day is told, and is no sign."""

    @pytest.mark.parametrize(("count", "step"), [(2880, 60.0), (8640, 60.0), (3000, 900.0), (30_000, 300.0)])
    @pytest.mark.parametrize("square", [False, True])
    def test_a_daily_cycle_is_none(self, count: int, step: float, square: bool) -> None:
        """Smooth, or switched twice a day with all that comes of it."""
        alarms = 0
        for seed in range(10):
            random = np.random.default_rng(seed)
            times = np.arange(count) * step
            cycle = np.sin(2 * np.pi * (times + random.uniform(0, DAY)) / DAY)
            flow = 80 * (1 + 0.2 * (np.sign(cycle - 0.5) if square else cycle) + 0.01 * random.normal(size=count))
            sign = look(times, flow, step)
            alarms += sign.present
            assert float(sign.parameters["amplitude_of_the_day"]) > 12
        assert chance(alarms, 10)

    def test_its_size_is_told(self) -> None:
        """Eight up and down; without a day there is none to tell."""
        times = np.arange(3000) * 300.0
        flat = 80 + np.random.default_rng(1).normal(size=3000)
        assert look(times, flat + swing(times, DAY, 8.0), 300.0).parameters["amplitude_of_the_day"] == pytest.approx(
            8.0, abs=0.1
        )
        assert not look(times, flat, 300.0).parameters

    def test_a_swing_within_a_day_is_found(self) -> None:
        """Every fifty minutes, a tenth of the day's."""
        times = np.arange(3000) * 300.0
        flow = 80 + swing(times, DAY, 8.0) + swing(times, 3000, 0.8) + np.random.default_rng(2).normal(size=3000)
        sign = look(times, flow, 300.0)
        assert sign.parameters["period_seconds"] == pytest.approx(3000, rel=2e-3)


class TestOutside:
    """Other people's programs."""

    @pytest.mark.parametrize("missing", [0.0, 0.3])
    def test_the_period_as_lomb_and_scargle_have_it(self, missing: float) -> None:
        """scipy.signal.lombscargle has its highest power at the same period, within a thousandth, holes or not."""
        times, values = noise(3)
        kept = np.random.default_rng(3).random(len(times)) >= missing
        times, values = times[kept], (values + swing(times, 130, 1.0))[kept]
        trial = np.linspace(125, 135, 2001)
        power = scipy.signal.lombscargle(times, values - values.mean(), 2 * np.pi / trial)
        assert look(times, values).parameters["period_seconds"] == pytest.approx(trial[np.argmax(power)], rel=1e-3)

    @pytest.mark.parametrize("spectra", [1, 7])
    def test_an_uncertain_background_raises_the_limit_as_scipy_has_it(self, spectra: int) -> None:
        """Chance of a false alarm, with the background spread log-normally by three tenths: that stated."""
        ratio = _ratio_limit(1000, spectra, 0.3)

        def tail(apart: float) -> float:
            passed = scipy.stats.chi2.sf(2 * spectra * ratio * np.exp(0.3 * apart), 2 * spectra)
            return float(passed * scipy.stats.norm.pdf(apart))

        assert scipy.integrate.quad(tail, -9, 9, limit=200)[0] == pytest.approx(RATE / 1000, rel=0.02)

    @pytest.mark.parametrize("power", [0.0, -1.0, -2.0])
    def test_the_background_follows_a_power_law(self, power: float) -> None:
        """Exactly, down to six swings in a log; it is a mean, the median of exponentials over ln 2."""
        line = np.maximum(np.arange(2000.0), 1) ** power
        found = _background(Spectrum(line, 1, 4000))[0]
        assert found[6:] * np.log(2) == pytest.approx(line[6:], rel=1e-6)

    @pytest.mark.parametrize("spectra", [1, 2, 7, 30])
    def test_the_limit_as_scipy_has_it(self, spectra: int) -> None:
        """With a background known for sure: chi-squared with two degrees of freedom a spectrum."""
        wanted = scipy.stats.chi2.isf(RATE / 1000, 2 * spectra) / (2 * spectra)
        assert _ratio_limit(1000, spectra, 0.0) == pytest.approx(wanted, rel=1e-6)


@settings(max_examples=20)
@given(st.floats(0.1, 100.0), st.floats(-1e3, 1e3))
def test_units_and_offsets_change_nothing(factor: float, offset: float) -> None:
    """Period and statistic stay, the size goes along."""
    times, values = noise(11, 600)
    values = values + swing(times, 130, 1.0)
    one, other = look(times, values), look(times, offset + factor * values)
    assert other.value == pytest.approx(one.value, rel=1e-6)
    assert other.parameters["amplitude"] == pytest.approx(factor * float(one.parameters["amplitude"]), rel=1e-6)


@pytest.mark.parametrize(("count", "why"), [(10, "needs"), (63, "needs"), (200, "equal")])
def test_what_gives_nothing_to_test_is_told(count: int, why: str) -> None:
    """Too few readings, or all the same."""
    times, values = noise(1, count)
    assert why in look(times, np.full(count, 7.0) if why == "equal" else values).untested


@pytest.mark.parametrize(("cycle", "on"), [(6300.0, 0.5), (21600.0, 0.3)])
def test_batches_in_a_rhythm_are_the_plants_own(cycle: float, on: float) -> None:
    """A tank that is filled every so often does not swing: it starts and stops."""
    times = np.arange(3000) * 300.0
    flow = np.where((times % cycle) < on * cycle, 90.0, 0.0)
    values = flow + np.where(flow > 0, 0.5, 0.0) * ar1(np.random.default_rng(3), 3000, 0.6)
    assert not look(times, values, 300.0).present
