"""Spikes and drop-outs: silent on clean logs as often as stated; single readings far off are found, timed and sized."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st
from river.datasets import WaterFlow

from diagnose.tables.arrays import Array
from diagnose.trends.series import MAD_TO_SD, RATE, SeriesView, scale, series
from diagnose.trends.spikes import SIDE, deviations, drop_outs, side_medians, spikes, without_spikes
from tests.benchmarks.false_alarms import seen
from tests.trends.logs import CLEAN, ar1

CLEAN_LOGS = 60


def log(values: Array, step: float = 10.0) -> SeriesView:
    """Return readings as detectors look at them."""
    return SeriesView(data=series(np.arange(len(values)) * step, values, step))


def steady(seed: int, count: int = 1000, memory: float = 0.6) -> Array:
    """Return readings around 80 with noise of 0.8."""
    return np.asarray(80 + 0.8 * ar1(np.random.default_rng((seed, count)), count, memory))


def chance(alarms: int, tested: int) -> bool:
    """Tell whether so many alarms are no more than the stated rate makes once in ten thousand such tests."""
    return alarms <= scipy.stats.binom.ppf(0.9999, max(tested, 1), RATE)


@pytest.mark.parametrize("detector", [spikes, drop_outs])
@pytest.mark.parametrize("kind", sorted(CLEAN.keys() - {"heavy tails"}))
def test_clean_logs_raise_no_more_alarms_than_stated(kind: str, detector: object) -> None:
    """Sixty logs of each kind; stops of the pump and the daily cycle among them.

    Heavy tails are not: their single readings far away are spikes, whoever makes them.
    """
    assert callable(detector)
    signs = [detector(seen(CLEAN[kind](np.random.default_rng((60, number))))) for number in range(CLEAN_LOGS)]
    assert chance(sum(sign.present for sign in signs), sum(not sign.untested for sign in signs))


@pytest.mark.parametrize("memory", [0.0, 0.6, 0.95])
def test_a_spike_is_found_with_its_size_and_time(memory: float) -> None:
    """Ten standard deviations, upwards and downwards: nearly all of sixty, to within three of them, and no others."""
    marks = []
    for seed in range(30):
        values = steady(seed, memory=memory)
        values[400] += 8.0
        values[700] -= 8.0
        marks += list(spikes(log(values)).marks)
    assert {mark.start for mark in marks} == {4000.0, 7000.0}
    assert len(marks) >= 56
    assert [abs(mark.size) for mark in marks] == pytest.approx([8.0] * len(marks), abs=2.4)
    assert all((mark.size > 0) == (mark.start == 4000.0) for mark in marks)


@pytest.mark.parametrize("length", [1, 2, 3])
def test_a_drop_out_is_found_with_its_length(length: int) -> None:
    """Up to three readings at zero, in all of twenty logs; it is a drop-out and no spike."""
    for seed in range(20):
        values = steady(seed)
        values[500 : 500 + length] = 0.0
        found = drop_outs(log(values))
        assert not spikes(log(values)).present
        assert [(mark.start, mark.end) for mark in found.marks] == [(5000.0, 5000.0 + 10 * (length - 1))]
        assert found.parameters["longest_seconds"] == 10 * length
        assert found.marks[0].size == pytest.approx(-80, abs=4)


@pytest.mark.parametrize("length", range(4, SIDE + 1))
def test_a_longer_drop_out_is_told_whole_where_it_is_found(length: int) -> None:
    """Only its middle stands out from both sides, and it raises the scale it is judged by; many are found."""
    found = []
    for place in range(400, 500, 5):
        values = steady(place)
        values[place : place + length] = 0.0
        found += [(place, mark) for mark in drop_outs(log(values)).marks]
    assert len(found) >= 5
    assert all((mark.start, mark.end) == (10 * place, 10 * (place + length - 1)) for place, mark in found)


def test_a_spike_beside_a_drop_out_is_told_apart() -> None:
    """One look at the log, two signs."""
    values = steady(1)
    values[300], values[600] = 0.0, 120.0
    assert [mark.start for mark in drop_outs(log(values)).marks] == [3000.0]
    assert [mark.start for mark in spikes(log(values)).marks] == [6000.0]


@pytest.mark.parametrize("length", [SIDE + 1, 50])
def test_what_lasts_is_no_spike(length: int) -> None:
    """A stop, or another level for a while, is something else."""
    values = steady(2)
    values[400 : 400 + length] = 0.0
    assert not spikes(log(values)).present
    assert not drop_outs(log(values)).present


def test_the_edge_of_a_step_is_no_spike() -> None:
    """In thirty logs whose level steps by ten standard deviations."""
    signs = [spikes(log(steady(seed) + 8.0 * (np.arange(1000) >= 500))) for seed in range(30)]
    assert chance(sum(sign.present for sign in signs), len(signs))


def test_other_logs_do_not_take_the_answer_of_the_last_one() -> None:
    """What one look found is kept for its own log only."""
    spiked = steady(3)
    spiked[500] += 20
    first, second = log(spiked), log(steady(3))
    assert [spikes(first).present, spikes(second).present, spikes(first).present] == [True, False, True]


def test_a_log_without_its_spikes_has_the_level_around_them() -> None:
    """All other readings stay as they are."""
    values = steady(4)
    values[500] += 20
    cleaned = without_spikes(log(values).data).values
    assert np.flatnonzero(cleaned != values).tolist() == [500]
    assert cleaned[500] == pytest.approx(80, abs=3)
    values[600:603] = 0.0
    cleaned = without_spikes(log(values).data).values
    assert np.flatnonzero(cleaned != values).tolist() == [500, 600, 601, 602]
    assert cleaned[600:603] == pytest.approx(np.full(3, 80.0), abs=4)


@given(st.lists(st.floats(-100, 100), min_size=SIDE, max_size=40))
def test_medians_of_sides_as_numpy_has_them(values: list[float]) -> None:
    """For every place that has so many readings from it on."""
    column = np.array(values)
    wanted = [np.median(column[place : place + SIDE]) for place in range(len(column) - SIDE + 1)]
    assert side_medians(column).tolist() == wanted


class TestOutside:
    """Published figures and data."""

    def test_the_constant_of_hampels_identifier(self) -> None:
        """1/Φ⁻¹(0.75) = 1.482602 (Hampel 1974): median absolute deviation to standard deviation of normal noise."""
        assert pytest.approx(1.482602, abs=5e-7) == MAD_TO_SD
        assert pytest.approx(1 / scipy.stats.norm.ppf(0.75), rel=1e-12) == MAD_TO_SD
        values = np.random.default_rng(61).normal(5, 2, 1001)
        assert scale(values) == pytest.approx(scipy.stats.median_abs_deviation(values, scale="normal"))

    def test_no_reading_is_further_off_than_hampel_has_it(self) -> None:
        """Distance from both sides at once is never above that from their mean, by which limits are reckoned."""
        data = log(steady(5)).data
        distance, _, level = deviations(data)
        assert np.all(np.abs(distance) <= np.abs(data.values - level) + 1e-12)

    def test_the_peak_of_a_water_main(self) -> None:
        """river.datasets.WaterFlow: its docstring tells of one small peak; it is row 329, 2022-04-03 06:00."""
        rows = [(x["Time"].timestamp(), y) for x, y in WaterFlow()]
        times, flow = (np.array(column) for column in zip(*rows, strict=True))
        upwards = [mark for mark in spikes(SeriesView(data=series(times, flow, 3600.0))).marks if mark.size > 0]
        assert times[329] in [mark.start for mark in upwards]
        assert max(upwards, key=lambda mark: mark.size).start == times[329]
