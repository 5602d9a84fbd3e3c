"""States: zero at standstill, flow back after stops, ends of the range, fault level, coarse steps, level but real."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import scipy.stats
from river.datasets import WaterFlow

from diagnose.tables.arrays import Array
from diagnose.trends.loop import AT_END, END_OF_RANGE, FAULT_HIGH, FAULT_LOW, fault_current, saturated
from diagnose.trends.quiet import COARSE, quantised, steady_but_real
from diagnose.trends.series import RATE, SeriesView, series
from diagnose.trends.stops import LEAST_BACK, LEAST_ZERO, SETTLING, reverse_at_stop, zero_at_standstill
from diagnose.trends.trend import DETECTORS
from tests.benchmarks.false_alarms import seen
from tests.trends.logs import CLEAN, InventedLog, ar1

CLEAN_LOGS = 60
STATES = ("zero-at-standstill", "reverse-at-stop", "saturated", "fault-current", "steady-but-real", "quantised")
STOPS = ((700, 1000), (1900, 2200))


def log(values: Array, step: float = 10.0, current: Array | None = None, upper: float | None = None) -> SeriesView:
    """Return readings as detectors look at them."""
    return SeriesView(data=series(np.arange(len(values)) * step, values, step), current=current, upper=upper)


def pumped(seed: int, zero: float = 0.0) -> InventedLog:
    """Return a flow of 80 with two stops and noise of 0.2, all of it off by ``zero``."""
    random = np.random.default_rng((80, seed))
    running = np.ones(3000)
    for start, end in STOPS:
        running[start:end] = 0
    flow = 80 * running * (1 + 0.01 * ar1(random, 3000, 0.6)) + 0.2 * random.normal(size=3000)
    return InventedLog(np.arange(3000) * 10.0, flow + zero, running=running)


def loop(plateau: float, readings: int, step: float = 10.0) -> SeriesView:
    """Return a current around 12 mA that stays somewhere for some readings, from the hundredth on."""
    current = 12 + 0.05 * np.random.default_rng(81).normal(size=400)
    current[100 : 100 + readings] = plateau
    return log(6.25 * (current - 4), step, current)


def chance(alarms: int, tested: int) -> bool:
    """Tell whether so many alarms are no more than the stated rate makes once in ten thousand such tests."""
    return alarms <= scipy.stats.binom.ppf(0.9999, max(tested, 1), RATE)


@pytest.mark.parametrize("name", STATES)
@pytest.mark.parametrize("kind", CLEAN)
def test_clean_logs_raise_no_more_alarms_than_stated(kind: str, name: str) -> None:
    """Sixty logs of each kind; of coarse ones `quantised` may tell those only that are written in coarse steps."""
    logs = [seen(CLEAN[kind](np.random.default_rng((82, number)))) for number in range(CLEAN_LOGS)]
    signs = [DETECTORS[name](each) for each in logs]
    if (name, kind) == ("quantised", "quantised"):
        coarse = [each.data.noise.resolution > COARSE * each.data.noise.sd for each in logs]
        assert [sign.present for sign in signs] == coarse
    else:
        assert chance(sum(sign.present for sign in signs), sum(not sign.untested for sign in signs))


class TestZeroAtStandstill:
    """What the meter shows while the pump stands."""

    @pytest.mark.parametrize("zero", [1.0, -1.0, 5.0])
    def test_it_is_told_with_its_size_and_when(self, zero: float) -> None:
        """In all of twenty logs, and as a share of what flows; stops are marked once the liquid has settled."""
        for seed in range(20):
            found = zero_at_standstill(seen(pumped(seed, zero)))
            assert found.parameters["zero"] == pytest.approx(zero, abs=0.05)
            assert found.parameters["share_of_usual_flow"] == pytest.approx(abs(zero) / (80 + zero), rel=0.06)
            assert [(mark.start, mark.end) for mark in found.marks] == [
                (10.0 * start + SETTLING, 10.0 * (end - 1)) for start, end in STOPS
            ]

    def test_one_that_does_not_matter_is_none_however_sure_it_is(self) -> None:
        """Half of what matters, with a standard error a tenth of that."""
        assert not zero_at_standstill(seen(pumped(1, LEAST_ZERO * 80 / 2))).present

    def test_one_that_noise_explains_is_none_however_large_it_is(self) -> None:
        """Twenty readings at standstill with noise of half the flow: their median is often far off, by chance alone."""
        alarms = 0
        for seed in range(60):
            random = np.random.default_rng((83, seed))
            running = np.repeat([1.0, 0.0, 1.0], [200, 32, 200])
            flow = 80 * running + 40 * random.normal(size=len(running))
            alarms += zero_at_standstill(seen(InventedLog(np.arange(432) * 10.0, flow, running=running))).present
        assert chance(alarms, 60)

    @pytest.mark.parametrize("readings", [24, 40, 120])
    @pytest.mark.parametrize("memory", [0.0, 0.8, 0.95])
    def test_short_stops_with_memory_raise_no_more_alarms_than_stated(self, readings: int, memory: float) -> None:
        """Few readings with much memory wander off together, and tell neither their spread nor their memory well."""
        alarms = 0
        for seed in range(60):
            random = np.random.default_rng((89, seed))
            running = np.repeat([1.0, 0.0, 1.0], [200, readings, 200])
            flow = 80 * running + 1.5 * ar1(random, len(running), memory)
            times = np.arange(len(running)) * 10.0
            alarms += zero_at_standstill(seen(InventedLog(times, flow, running=running))).present
        assert chance(alarms, 60)

    def test_liquid_that_runs_down_is_no_zero(self) -> None:
        """What is read before it has settled does not count."""
        invented = pumped(2)
        for start, _ in STOPS:
            invented.flow[start : start + 12] += 60 * np.exp(-np.arange(12) / 3)
        assert not zero_at_standstill(seen(invented)).present

    def test_without_a_long_stop_nothing_is_told(self) -> None:
        """Nor without the state of the pump."""
        short = pumped(3)
        assert short.running is not None
        short.running[:] = 1
        short.running[700:715] = 0
        assert "never off for long" in zero_at_standstill(seen(short)).untested
        assert "no pump state" in zero_at_standstill(seen(replace(short, running=None))).untested


class TestReverseAtStop:
    """Liquid that runs back after a stop."""

    @pytest.mark.parametrize(("depth", "readings"), [(4.0, 6), (10.0, 4), (10.0, 30)])
    def test_it_is_told_with_depth_and_duration(self, depth: float, readings: int) -> None:
        """In all of twenty logs; after both stops."""
        for seed in range(20):
            invented = pumped(seed)
            for start, _ in STOPS:
                invented.flow[start : start + readings] -= depth
            found = reverse_at_stop(seen(invented))
            assert found.parameters["count"] == 2
            assert found.parameters["deepest"] == pytest.approx(-depth, abs=0.9)
            assert found.parameters["longest_seconds"] == 10.0 * (readings - 1)
            assert [mark.start for mark in found.marks] == [7000.0, 19_000.0]

    def test_a_disturbance_of_two_readings_is_none(self) -> None:
        """Nor is what does not matter, for however long."""
        invented = pumped(4)
        invented.flow[700:702] -= 10
        invented.flow[1900:2200] -= 0.5 * LEAST_BACK * 80
        assert not reverse_at_stop(seen(invented)).present

    def test_negative_flow_while_the_pump_runs_is_something_else(self) -> None:
        """Without the state of the pump it counts: nobody can tell."""
        invented = pumped(5)
        invented.flow[1200:1220] = -10
        assert not reverse_at_stop(seen(invented)).present
        assert reverse_at_stop(seen(replace(invented, running=None))).present


class TestLoopCurrent:
    """Held against NAMUR NE 43: 3.6 and 21 mA mean a fault, 20.5 mA is the end of the range, a fault lasts 4 s."""

    def test_levels_are_those_of_namur_ne_43(self) -> None:
        """NAMUR NE 43 (2003), signal level for the failure information of digital transmitters."""
        assert (FAULT_LOW, END_OF_RANGE, FAULT_HIGH) == (3.6, 20.5, 21.0)

    @pytest.mark.parametrize("level", [3.6, 3.5, 0.6, 21.0, 22.5])
    def test_a_fault_current_is_told_with_level_and_time(self, level: float) -> None:
        """From when to when, and for how long."""
        found = fault_current(loop(level, 5))
        assert (found.parameters["level"], found.parameters["count"]) == (level, 1)
        assert found.parameters["longest_seconds"] == 50
        assert [(mark.start, mark.end, mark.size) for mark in found.marks] == [(1000.0, 1040.0, level)]

    def test_the_level_is_that_of_the_longest(self) -> None:
        """Low once and high once: nobody saw the current half-way between."""
        found = fault_current(loop(22.0, 5))
        assert found.parameters["level"] == 22.0
        both = loop(22.0, 5)
        assert both.current is not None
        both.current[200:205] = 3.5
        assert fault_current(both).parameters["level"] in (22.0, 3.5)

    @pytest.mark.parametrize("level", [3.61, 3.8, 4.0, 20.5, 20.99])
    def test_what_lies_inside_is_no_fault(self, level: float) -> None:
        """However long it stays there."""
        assert not fault_current(loop(level, 50)).present

    @pytest.mark.parametrize(("readings", "step", "present"), [(1, 60.0, False), (2, 60.0, True), (3, 1.0, False)])
    def test_a_fault_lasts_two_readings_and_four_seconds(self, readings: int, step: float, present: bool) -> None:
        """What is shorter may be a start or a disturbance."""
        assert fault_current(loop(3.5, readings, step)).present == present

    @pytest.mark.parametrize(("level", "present"), [(20.5, True), (20.8, True), (20.4, False), (21.5, False)])
    def test_the_end_of_the_range_is_told(self, level: float, present: bool) -> None:
        """Beyond 21 mA it is a fault instead."""
        assert saturated(loop(level, 20)).present == present

    @pytest.mark.parametrize(("readings", "present"), [(AT_END - 1, False), (AT_END, True)])
    def test_a_passing_peak_is_no_saturation(self, readings: int, present: bool) -> None:
        """Three readings in a row are."""
        assert saturated(loop(20.5, readings)).present == present

    def test_without_a_current_the_flow_is_held_against_urv(self) -> None:
        """Time and level; without URV nothing is told."""
        flow = 80 + ar1(np.random.default_rng(84), 1000, 0.6)
        flow[300:340] = 100.0
        found = saturated(log(flow, upper=100.0))
        assert (found.marks[0].start, found.parameters["longest_seconds"]) == (3000.0, 400.0)
        assert not saturated(log(flow, upper=101.0)).present
        assert "URV" in saturated(log(flow)).untested


class TestQuantised:
    """The step in which readings are written, beside their noise."""

    @pytest.mark.parametrize("ratio", [0.3, 1.0, 1.2])
    def test_fine_steps_are_none(self, ratio: float) -> None:
        """In all of twenty logs."""
        flow = (80 + 0.8 * np.random.default_rng((85, each)).normal(size=3000) for each in range(20))
        assert not any(quantised(log(np.round(each / (0.8 * ratio)) * 0.8 * ratio)).present for each in flow)

    @pytest.mark.parametrize("ratio", [2.0, 3.0])
    def test_coarse_steps_are_told_with_their_size(self, ratio: float) -> None:
        """In all of twenty logs; the noise, of which little is left, within a third."""
        step = 0.8 * ratio
        for seed in range(20):
            flow = 80 + 0.8 * np.random.default_rng((86, seed)).normal(size=3000)
            found = quantised(log(np.round(flow / step) * step))
            assert found.present
            assert found.parameters["step"] == pytest.approx(step)
            assert found.parameters["noise"] == pytest.approx(0.8, rel=0.34)


class TestSteadyButReal:
    """Level stretches that look stuck and live in their last digits."""

    def test_a_calm_stretch_is_told_with_level_and_time(self) -> None:
        """In all of twenty logs, and `stuck` sees nothing there."""
        for seed in range(20):
            random = np.random.default_rng((87, seed))
            flow = 80 + 0.8 * ar1(random, 2000, 0.6)
            flow[900:1000] = 24.2 + 0.01 * random.normal(size=100)
            found = steady_but_real(log(flow))
            assert not DETECTORS["stuck"](log(flow)).present
            assert found.parameters["level"] == pytest.approx(24.2, abs=0.01)
            assert [(mark.start, mark.end) for mark in found.marks] == [
                (pytest.approx(9000, abs=20), pytest.approx(9990, abs=20))
            ]

    def test_a_dead_stretch_that_the_second_meter_shows_too_is_real(self) -> None:
        """One that goes on makes it stuck."""
        random = np.random.default_rng(90)
        flow = 80 + 0.8 * ar1(random, 2000, 0.6)
        second = flow + 0.05 * random.normal(size=2000)
        flow[900:1000] = flow[900]
        data = series(np.arange(2000) * 10.0, flow, 10.0)
        assert not steady_but_real(SeriesView(data=data, second=second)).present
        second[900:1000] = flow[900] + 0.05 * random.normal(size=100)
        found = steady_but_real(SeriesView(data=data, second=second))
        assert (found.marks[0].start, found.marks[0].end) == (pytest.approx(9000, abs=10), pytest.approx(9990, abs=10))
        assert "second meter" in found.because

    def test_a_dead_stretch_is_not_real(self) -> None:
        """Equal readings are `stuck`, one of the two only."""
        flow = 80 + 0.8 * ar1(np.random.default_rng(88), 2000, 0.6)
        flow[900:1000] = 24.2
        assert not steady_but_real(log(flow)).present
        assert DETECTORS["stuck"](log(flow)).present

    def test_the_low_segments_of_a_water_main(self) -> None:
        """river.datasets.WaterFlow: low rows 94-108, 212-220, 873-885; two have ten readings or more."""
        rows = [(x["Time"].timestamp(), y) for x, y in WaterFlow()]
        times, flow = (np.array(column) for column in zip(*rows, strict=True))
        found = steady_but_real(SeriesView(data=series(times, flow, 3600.0)))
        places = [(np.searchsorted(times, mark.start), np.searchsorted(times, mark.end)) for mark in found.marks]
        assert [mark.size for mark in found.marks] == pytest.approx([24.26, 24.26], abs=0.02)
        assert [94 <= start < end <= 108 for start, end in places[:1]] == [True]
        assert [873 <= start < end <= 885 for start, end in places[1:]] == [True]
