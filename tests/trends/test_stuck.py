"""Stuck and clipped: silent on clean logs as often as they say; runs of equal readings found, timed and sized."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st
from river.datasets import WaterFlow

from diagnose.tables.arrays import Array
from diagnose.trends.series import RATE, SeriesView, series, von_neumann
from diagnose.trends.stuck import _decades, clipped, run_limit, runs, stands_still, stuck
from tests.benchmarks.false_alarms import seen
from tests.trends.logs import CLEAN, ar1

CLEAN_LOGS = 60


def log(values: Array, step: float = 10.0, **beside: Array) -> SeriesView:
    """Return readings as detectors look at them."""
    return SeriesView(data=series(np.arange(len(values)) * step, values, step), **beside)  # type: ignore[arg-type]


def written(seed: int, resolution: float, count: int = 2000, memory: float = 0.6) -> Array:
    """Return readings around 80 with noise of 0.8, written in steps of ``resolution`` (0: as they are)."""
    values = 80 + 0.8 * ar1(np.random.default_rng((seed, count)), count, memory)
    return np.asarray(np.round(values / resolution) * resolution if resolution else values)


def chance(alarms: int, tested: int) -> bool:
    """Tell whether so many alarms are no more than the stated rate makes once in ten thousand such tests."""
    return alarms <= scipy.stats.binom.ppf(0.9999, max(tested, 1), RATE)


@pytest.mark.parametrize("detector", [stuck, clipped])
@pytest.mark.parametrize("kind", CLEAN)
def test_clean_logs_raise_no_more_alarms_than_stated(kind: str, detector: object) -> None:
    """Sixty logs of each kind; coarsely written ones among them."""
    assert callable(detector)
    signs = [detector(seen(CLEAN[kind](np.random.default_rng((70, number))))) for number in range(CLEAN_LOGS)]
    assert chance(sum(sign.present for sign in signs), sum(not sign.untested for sign in signs))


@pytest.mark.parametrize("resolution", [0.4, 0.8, 1.6])
def test_coarse_readings_repeat_and_are_not_stuck(resolution: float) -> None:
    """Half to two standard deviations a step, with memory of 0.9: long runs, and all by chance."""
    signs = [stuck(log(written(seed, resolution, memory=0.9))) for seed in range(40)]
    assert chance(sum(sign.present for sign in signs), len(signs))


@pytest.mark.parametrize(("resolution", "readings"), [(0.0, 12), (0.1, 20), (0.8, 60)])
def test_a_frozen_stretch_is_found_with_its_value_and_time(resolution: float, readings: int) -> None:
    """In all of twenty logs; the coarser they are written, the longer it must be."""
    for seed in range(20):
        values = written(seed, resolution)
        values[900 : 900 + readings] = values[900]
        found = stuck(log(values))
        longest = max(found.marks, key=lambda mark: mark.end - mark.start)
        assert longest.start == pytest.approx(9000, abs=60)
        assert longest.end - longest.start == pytest.approx(10 * (readings - 1), abs=60)
        assert longest.size == found.parameters["value"] == values[900]


def test_runs_do_not_reach_over_gaps() -> None:
    """Equal readings before and after a gap may be anything in it."""
    times = np.array([0.0, 1.0, 2.0, 100.0, 101.0])
    starts, ends = runs(series(times, np.full(5, 7.0), 1.0))
    assert (starts.tolist(), ends.tolist()) == ([0, 3], [3, 5])


def test_readings_that_are_stuck_are_told_one_by_one() -> None:
    """For detectors that leave them out."""
    values = written(1, 0.0)
    values[900:960] = values[900]
    assert np.flatnonzero(stands_still(log(values))).tolist() == list(range(900, 960))


def test_a_second_meter_that_goes_on_makes_a_run_stuck() -> None:
    """One that stays where it is as well makes it real."""
    flow = written(2, 0.0)
    second = flow + 0.05 * np.random.default_rng(71).normal(size=len(flow))
    flow[900:960] = flow[900]
    assert stuck(log(flow, second=second)).present
    second[900:960] = flow[900] + 0.05 * np.random.default_rng(72).normal(size=60)
    assert not stuck(log(flow, second=second)).present


@pytest.mark.parametrize("quantile", [0.9, 0.98])
@pytest.mark.parametrize("upper", [True, False])
def test_a_cut_is_found_with_its_value_and_share(quantile: float, upper: bool) -> None:
    """Above or below, at a tenth or a fiftieth of the readings, in all of twenty logs."""
    for seed in range(20):
        values = written(seed, 0.0)
        end = float(np.quantile(values, quantile if upper else 1 - quantile))
        found = clipped(log(np.minimum(values, end) if upper else np.maximum(values, end)))
        assert found.present
        assert found.parameters["value"] == end
        assert found.parameters["share"] == pytest.approx(1 - quantile, abs=0.01)


def test_a_low_flow_cut_off_is_no_clipping() -> None:
    """Readings pile up at zero: that is what it is for."""
    values = np.maximum(2 * ar1(np.random.default_rng(73), 2000, 0.6), 0.0)
    assert not clipped(log(values)).present
    assert clipped(log(values + 5)).parameters["value"] == 5.0


@given(st.lists(st.integers(0, 2), min_size=1, max_size=60))
def test_runs_part_the_log(values: list[int]) -> None:
    """Each reading belongs to one run of equal ones, and neighbours differ."""
    column = np.array(values, float)
    starts, ends = runs(series(np.arange(float(len(column))), column, 1.0))
    assert np.concatenate([column[a:b] for a, b in zip(starts, ends, strict=True)]).tolist() == column.tolist()
    assert all(len(set(column[a:b])) == 1 for a, b in zip(starts, ends, strict=True))
    assert np.all(np.diff(column[starts]) != 0)


class TestOutside:
    """Published figures and data."""

    def test_von_neumanns_ratio(self) -> None:
        """Mean squared difference of neighbours over the variance (von Neumann 1941); 2 of white noise."""
        assert von_neumann(np.array([1.0, 2.0, 3.0, 4.0, 5.0])) == pytest.approx(0.4)
        assert von_neumann(np.array([1.0, -1.0] * 3)) == pytest.approx(3.3333, abs=5e-5)
        assert von_neumann(np.random.default_rng(74).normal(size=40_000)) == pytest.approx(2, abs=0.03)

    @pytest.mark.parametrize("chance_of_one", [0.2, 0.5, 0.8])
    def test_the_longest_run_is_passed_no_more_often_than_stated(self, chance_of_one: float) -> None:
        """Runs of repeats drawn by their probability: the limit is passed in one of a hundred logs at most."""
        random = np.random.default_rng(75)
        most, passed = run_limit(chance_of_one, 1000), 0
        for repeats in random.random((2000, 1000)) < chance_of_one:
            edges = np.flatnonzero(np.diff(np.concatenate(([0], repeats.astype(int), [0]))))
            passed += int((edges[1::2] - edges[::2]).max(initial=0) + 1 > most)
        assert passed <= scipy.stats.binom.ppf(0.9999, 2000, RATE)

    @pytest.mark.parametrize(("repeats", "chances", "one"), [(5, 20, 0.1), (30, 100, 0.2), (400, 1000, 0.35)])
    def test_the_bound_for_repeats_is_one(self, repeats: int, chances: int, one: float) -> None:
        """Never more improbable than scipy.stats.binom has it (Chernoff 1952), and within two decades of it."""
        exact = -math.log10(scipy.stats.binom.sf(repeats - 1, chances, one))
        assert exact - 2 <= _decades(repeats, chances, one) <= exact

    def test_low_stretches_of_a_water_main_are_real(self) -> None:
        """river.datasets.WaterFlow: its docstring tells of three low segments; 24.24 to 24.28, and not stuck."""
        rows = [(x["Time"].timestamp(), y) for x, y in WaterFlow()]
        times, flow = (np.array(column) for column in zip(*rows, strict=True))
        water = SeriesView(data=series(times, flow, 3600.0))
        assert not stuck(water).present
        low = np.concatenate([np.arange(94, 109), np.arange(212, 221), np.arange(873, 886)])
        assert np.all(flow[low] < 60)
        assert not stands_still(water)[low].any()
