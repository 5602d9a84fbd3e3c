"""Invented plants: nothing is held against a healthy one, and a fault is seen; a small part of the benchmark."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from msgspec.structs import replace as replace_struct

from diagnose.rule_book.cache import load_rule_book
from diagnose.shipped import shipped_folder
from diagnose.tables.arrays import Array
from diagnose.tables.log_clock import Clock
from diagnose.tables.log_reading import Log
from diagnose.trends.loop import coded_readings, no_current, range_told
from diagnose.trends.second import second_meter
from diagnose.trends.series import Detection
from diagnose.trends.spikes import drop_outs, spikes
from diagnose.trends.steps import steps
from diagnose.trends.stood import stands_once
from diagnose.trends.stops import reverse_at_stop
from diagnose.trends.stuck import stuck
from diagnose.trends.totals import total_stands
from diagnose.trends.trend import DENIED, SignResult, Trend, observations, probability
from tests.benchmarks.false_alarms import SEED, faulty, healthy, seen
from tests.trends.faults import FAULTS, loop_open, zero_for_hours
from tests.trends.logs import DAY, InventedLog
from tests.trends.plants import (
    HEALTHY,
    RIGHTLY,
    district,
    end_of_range,
    fault_shown_as_flow,
    one_week,
    read_late,
    storm_inflow,
    tidal,
)

LOGS = 4


@pytest.mark.parametrize("plant", HEALTHY)
def test_nothing_is_held_against_a_healthy_plant(plant: str) -> None:
    """Of a few logs none shows a sign that a person would not see in its picture."""
    assert [name for name in healthy(plant, LOGS) if (plant, name) not in RIGHTLY] == []


@pytest.mark.parametrize("fault", FAULTS)
def test_a_large_fault_is_seen_and_none_is_denied(fault: str) -> None:
    """The last size is the largest; a small one may be missed, but is never taken to be absent."""
    sizes = FAULTS[fault].sizes
    assert faulty(fault, sizes[-1], LOGS).seen >= LOGS - 1
    assert all(faulty(fault, size, 2).denied == 0 for size in sizes)


def test_a_second_meter_that_steps_away_by_six_per_cent_is_told_from_when() -> None:
    """It was denied: the median of the whole log agrees."""
    found = second_meter(seen(FAULTS["second steps away"].planted(np.random.default_rng(SEED), 0.06)))
    assert found.present
    assert "later part" in found.because
    assert abs(float(found.parameters["difference_percent_in_the_later_part"])) == pytest.approx(6, abs=1)


def test_the_end_of_the_range_is_not_frozen() -> None:
    """A peak beyond the range stays at one value, and comes again."""
    assert not any(stuck(seen(end_of_range(np.random.default_rng(seed)))).present for seed in range(5))


def test_a_fault_current_is_no_flow() -> None:
    """Its readings are kept from the detectors of flow, with or without a column of the current."""
    for seed in range(8):
        view = seen(fault_shown_as_flow(np.random.default_rng(seed)))
        coded = coded_readings(view)
        assert coded.any()
        assert view.data.values[~coded].min() > 0


def test_a_loop_without_current_is_told_by_a_quarter_of_the_range() -> None:
    """Neither the current nor URV is in the log: the level below zero tells both."""
    for seed in range(6):
        log = loop_open(np.random.default_rng(seed), 20)
        found = no_current(seen(log))
        assert found.present
        assert len(found.marks) == 1
        assert range_told(seen(log)) == pytest.approx(-4 * log.flow.min())
        assert "a quarter of the range" in found.because


@pytest.mark.parametrize("plant", [fault_shown_as_flow, tidal, district])
def test_other_levels_below_zero_are_not_taken_for_no_current(plant: type) -> None:
    """A fault current, which is a fortieth of the range below zero; a flow that turns; none at all."""
    views = [seen(replace(plant(np.random.default_rng(seed)), current=None, upper=None)) for seed in range(6)]
    assert not any(no_current(each).present for each in views)


def test_a_total_read_late_is_no_fault_of_the_meter() -> None:
    """It stands and catches up what was due: no spike, no drop-out, and nothing was missed."""
    for seed in range(8):
        view = seen(read_late(np.random.default_rng(seed)))
        assert view.total is not None
        assert view.total.delays > 0
        assert not any(each(view).present for each in (spikes, drop_outs, total_stands))


def test_a_storm_sets_neither_spikes_nor_drop_outs() -> None:
    """Its crest has its like beside it; dry weather between two bursts is not zero."""
    views = [seen(storm_inflow(np.random.default_rng(seed))) for seed in range(12)]
    assert not any(each(view).present for each in (spikes, drop_outs) for view in views)


def test_a_flow_that_creeps_through_zero_does_not_run_back_after_a_stop() -> None:
    """Nothing has stopped."""
    assert not any(reverse_at_stop(seen(tidal(np.random.default_rng(seed)))).present for seed in range(6))


def test_twenty_hours_at_zero_are_told_with_their_place() -> None:
    """In a plant that never stands."""
    log = zero_for_hours(np.random.default_rng(4), 20.0)
    mark = stands_once(seen(log)).marks[0]
    assert mark.start == float(log.times[np.argmax(log.flow == 0)])
    assert mark.end - mark.start == pytest.approx(20 * 3600, abs=1200)


@pytest.mark.parametrize("size", [0.3, 1.0])
def test_hour_and_size_of_a_step_of_days_are_told(size: float) -> None:
    """It happens at any hour; the day in which it does is between both levels."""
    for seed in range(8):
        random = np.random.default_rng(seed)
        log = district(random, days=21)
        place = int(len(log.times) * random.uniform(0.4, 0.6))
        before = float(log.flow[:place].mean())
        log.flow[place:] *= 1 + size
        found = steps(seen(log))
        assert found.present
        mark = found.marks[0]
        assert (mark.start + mark.end) / 2 == pytest.approx(log.times[place], abs=2 * 3600)
        assert mark.size / before == pytest.approx(size, abs=0.1)


def test_a_week_shows_a_doubled_flow() -> None:
    """From which hour on, although one of seven days is both."""
    told = 0
    for seed in range(8):
        random = np.random.default_rng(seed)
        log = one_week(random)
        place = int(len(log.times) * random.uniform(0.45, 0.55))
        log.flow[place:] *= 2
        found = steps(seen(log))
        told += found.present and abs(found.marks[0].end - log.times[place]) < DAY / 8
    assert told >= 6


def test_single_places_do_not_show_what_happens_now_and_then() -> None:
    """One peak in a water main is seen, and is no finding of spikes; two are."""
    rule_book = load_rule_book(shipped_folder("rules"))
    known = rule_book.signs["spikes"]
    assert known.now_and_then == 2
    for count in (1, 2):
        log = district(np.random.default_rng(1))
        log.flow[[500, 900][:count]] *= 5
        sign = spikes(seen(log))
        assert len(sign.marks) == count
        found = observations(_trend(log.times, log.flow, SignResult(known, sign, 0.99)), rule_book)
        assert [each.finding for each in found] == (["reading-drops-out"] if count == 2 else [])


def test_a_detector_that_misses_many_denies_nothing() -> None:
    """What is left after an unseen sign hangs on its own sensitivity."""
    rule_book = load_rule_book(shipped_folder("rules"))
    known = rule_book.signs["swings"]
    unseen = Detection(id="swings", value=0.5, limit=1.0, excludes=True)
    times = np.arange(50.0)
    for sensitivity, denied in ((0.98, True), (0.5, False)):
        sign = SignResult(replace_struct(known, sensitivity=sensitivity), unseen, probability(unseen, sensitivity))
        assert (sign.probability <= DENIED) == denied
        found = observations(_trend(times, times, sign), rule_book)
        assert [(each.finding, each.present) for each in found] == ([("reading-swings", False)] if denied else [])


def _trend(times: Array, flow: Array, sign: SignResult) -> Trend:
    """Return a trend that has this one sign."""
    view = seen(InventedLog(times, flow))
    clock = Clock("elapsed", 0.0, view.data.step, 0, 0.0, 0.0)
    return Trend(Log("log.csv", "m3/h", times, flow, None, None, None, clock, {}, ()), view, (sign,))
