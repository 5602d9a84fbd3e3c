"""Steps: silent on clean logs as often as it says; a change of level is found, timed and sized; nothing else is."""

from __future__ import annotations

import numpy as np
import pytest
import ruptures
import scipy.stats
import statsmodels.api
from hypothesis import given
from hypothesis import strategies as st

from diagnose.tables.arrays import Array
from diagnose.trends.series import RATE, SeriesView, series
from diagnose.trends.steps import MIDDLING, SHORT, contrasts, steps, widths
from tests.benchmarks.false_alarms import seen
from tests.trends.logs import CLEAN, DAY, ar1

CLEAN_LOGS = 60


def log(values: Array, step: float = 10.0, running: Array | None = None) -> SeriesView:
    """Return readings as detectors look at them."""
    return SeriesView(data=series(np.arange(len(values)) * step, values, step), running=running)


def stepped(count: int, memory: float, size: float, seed: int) -> SeriesView:
    """Return readings around 80 with noise of 0.8 whose level steps by ``size`` of these after three fifths."""
    values = 80 + 0.8 * ar1(np.random.default_rng((seed, count)), count, memory)
    values[count * 3 // 5 :] += 0.8 * size
    return log(values)


def chance(alarms: int, tested: int) -> bool:
    """Tell whether so many alarms are no more than the stated rate makes once in ten thousand such tests."""
    return alarms <= scipy.stats.binom.ppf(0.9999, max(tested, 1), RATE)


@pytest.mark.parametrize("kind", CLEAN)
def test_clean_logs_raise_no_more_alarms_than_stated(kind: str) -> None:
    """Sixty logs of each kind."""
    signs = [steps(seen(CLEAN[kind](np.random.default_rng((50, number))))) for number in range(CLEAN_LOGS)]
    assert chance(sum(sign.present for sign in signs), sum(not sign.untested for sign in signs))


@pytest.mark.parametrize("count", [SHORT - 300, SHORT + 500, MIDDLING // 2, MIDDLING + 1000])
@pytest.mark.parametrize("memory", [0.0, 0.95])
def test_logs_of_every_length_raise_no_more_alarms_than_stated(count: int, memory: float) -> None:
    """On both sides of the lengths at which the way of testing changes."""
    signs = [steps(stepped(count, memory, 0.0, seed)) for seed in range(25)]
    assert chance(sum(sign.present for sign in signs), len(signs))


def test_slow_wandering_of_a_long_log_is_no_step() -> None:
    """A flow that wanders with a memory of hundreds of readings passes for a step of the whole log, were it sudden."""
    randoms = [np.random.default_rng((51, number)) for number in range(30)]
    signs = [steps(log(80 + 0.8 * ar1(random, 4000, 0.5) + 0.8 * ar1(random, 4000, 0.998))) for random in randoms]
    assert chance(sum(sign.present for sign in signs), len(signs))


@pytest.mark.parametrize(
    ("count", "memory", "size", "least"),
    [
        (300, 0.0, 2.5, 18),
        (300, 0.6, 4.0, 18),
        (1000, 0.6, 2.5, 16),
        (3000, 0.6, 2.5, 18),
        (3000, 0.9, 4.0, 17),
        (10_000, 0.9, 2.5, 17),
        (20_000, 0.6, 2.5, 18),
    ],
)
def test_a_step_is_found_with_its_size_and_time(count: int, memory: float, size: float, least: int) -> None:
    """In nearly all of twenty logs; as a rule within a quarter of its size and a few readings of its place."""
    found = [sign for sign in (steps(stepped(count, memory, size, seed)) for seed in range(20)) if sign.present]
    assert len(found) >= least
    largest = [max(sign.marks, key=lambda mark: abs(mark.size)) for sign in found]
    assert np.median([mark.size for mark in largest]) == pytest.approx(0.8 * size, rel=0.25)
    assert np.median([abs(mark.end / 10 - count * 3 // 5) for mark in largest]) <= 3


def test_each_of_several_steps_is_told() -> None:
    """Up, down and down again, in order of time; the count is that of the marks."""
    values = 80 + 0.5 * np.random.default_rng(52).normal(size=4000)
    for place, size in ((800, 4.0), (1900, -6.0), (3100, -3.0)):
        values[place:] += size
    found = steps(log(values))
    assert [round(mark.end / 10) for mark in found.marks] == pytest.approx([800, 1900, 3100], abs=2)
    assert [mark.size for mark in found.marks] == pytest.approx([4.0, -6.0, -3.0], abs=0.3)
    assert found.parameters["count"] == 3
    assert found.parameters["largest"] == pytest.approx(-6.0, abs=0.3)


@pytest.mark.parametrize("count", [500, 3000, 20_000])
def test_a_large_step_is_told_once(count: int) -> None:
    """However far it stands out at every width."""
    counts = [steps(stepped(count, 0.6, 12.0, seed)).parameters["count"] for seed in range(20)]
    assert np.mean(counts) <= 1.1


@pytest.mark.parametrize("length", [1, 2, 3])
def test_a_drop_out_is_no_step(length: int) -> None:
    """It is a sign of its own."""
    for seed in range(10):
        values = stepped(1000, 0.6, 0.0, seed).data.values.copy()
        values[400 : 400 + length] = 0.0
        assert not steps(log(values)).present


def test_what_happens_in_a_gap_is_nobodys_step() -> None:
    """Nine hours without readings, another level behind them: a long log tells no step there."""
    times = np.arange(20_000) * 10.0
    times[9000:] += 9 * 3600
    values = 80 + 0.5 * np.random.default_rng(53).normal(size=20_000)
    values[9000:] += 5.0
    assert not steps(SeriesView(data=series(times, values, 10.0))).present
    assert steps(log(values)).present


def test_stops_of_a_pump_are_no_steps_whether_told_or_not() -> None:
    """The same readings, with and without the state of the pump beside them; a flow that never comes back steps."""
    running = np.ones(2000)
    running[600:900] = 0
    values = 80 * running + 0.5 * np.random.default_rng(54).normal(size=2000)
    assert not steps(log(values)).present
    assert not steps(log(values, running=running)).present
    assert steps(log(values[:900])).present


def test_a_ramp_is_no_step() -> None:
    """A level that rises evenly over the whole log has no place where it steps."""
    random = np.random.default_rng(55)
    signs = [steps(log(80 + 0.5 * random.normal(size=900) + np.linspace(0, 10, 900))) for _ in range(20)]
    assert chance(sum(sign.present for sign in signs), len(signs))


@given(factor=st.floats(1e-3, 1e3), turned=st.booleans())
def test_unit_and_direction_do_not_matter(factor: float, turned: bool) -> None:
    """The same log in another unit, or upside down, has the same steps at the same strength."""
    own = stepped(400, 0.0, 3.0, 7).data.values
    plain, other = steps(log(own)), steps(log(own * (-factor if turned else factor)))
    assert [mark.end for mark in other.marks] == [mark.end for mark in plain.marks]
    assert other.value == pytest.approx(plain.value, rel=1e-6)


def test_contrasts_are_differences_of_means() -> None:
    """Means of four readings before and after each place, worked by hand; a slope alone leaves nothing."""
    values = np.array([1.0, 2.0, 3.0, 4.0, 11.0, 12.0, 13.0, 14.0, 15.0])
    assert contrasts(values, 4, sloped=False) == pytest.approx([10.0, 8.5])
    assert contrasts(np.arange(40.0), 8, sloped=True) == pytest.approx(np.zeros(25))


def test_windows_grow_with_the_log() -> None:
    """Each fits into the log at least twenty-four times."""
    assert widths(95) == []
    assert widths(96) == [4]
    assert widths(3000) == [4, 8, 16, 32, 64]


class TestOutside:
    """Published data and another program."""

    def test_the_nile_whatever_its_direction(self) -> None:
        """statsmodels.datasets.nile (Cobb 1978): one step, index 28 is the first low year, 1899; backwards index 72."""
        data = statsmodels.api.datasets.nile.load_pandas().data
        volume = data["volume"].to_numpy(float)
        year = 365.25 * DAY
        forwards, backwards = steps(log(volume, year)), steps(log(volume[::-1].copy(), year))
        assert [round(1871 + mark.end / year) for mark in forwards.marks] == [1899]
        assert [round(mark.end / year) for mark in backwards.marks] == [100 - 28]
        assert forwards.marks[0].size == pytest.approx(849.972 - 1097.75, abs=60)

    def test_breaks_of_generated_signals_as_ruptures_has_them(self) -> None:
        """ruptures.pw_constant(200, 1, 2, noise_std=1, seed=1): true breaks 66, 132; its own Dynp (l2) 65, 132."""
        signal, true = ruptures.pw_constant(n_samples=200, n_features=1, n_bkps=2, noise_std=1, seed=1)
        dynamic = ruptures.Dynp(model="l2", jump=1).fit(signal).predict(n_bkps=2)
        assert (true[:2], dynamic[:2]) == ([66, 132], [65, 132])
        found = [mark.end for mark in steps(log(signal[:, 0], 1.0)).marks]
        assert found == pytest.approx(dynamic[:2], abs=2)
