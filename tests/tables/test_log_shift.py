"""Two logs with clocks that differ: found, told and put right; healthy pairs are left as they are."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from diagnose.tables.log_pair import beside
from diagnose.tables.log_reading import Log, read_log
from diagnose.tables.log_shift import clock_difference
from diagnose.trends.second import second_meter
from diagnose.trends.trend import series_view
from tests.trends.logs import InventedLog
from tests.trends.plants import batches, district, on_off_station, regular_station, two_damped, two_meters, weekends


def step_of(log: InventedLog) -> float:
    """Return the usual step of a log."""
    return float(np.median(np.diff(log.times)))


@pytest.mark.parametrize("plant", [two_meters, two_damped])
@pytest.mark.parametrize("late", [-7200.0, 0.0, 3600.0])
def test_a_clock_that_differs_is_found(plant: type, late: float) -> None:
    """By how much, and none where there is none; damping of a meter is no clock."""
    for seed in range(5):
        log: InventedLog = plant(np.random.default_rng(seed))
        assert log.second is not None
        assert clock_difference(log.times, step_of(log), log.flow, log.times + late, log.second) == late


@pytest.mark.parametrize("plant", [regular_station, on_off_station, batches, weekends])
def test_a_rhythm_agrees_at_its_periods_and_is_no_clock(plant: type) -> None:
    """The smallest shift that agrees is taken."""
    for seed in range(4):
        random = np.random.default_rng(seed)
        log: InventedLog = plant(random)
        second = log.flow * (1 + 0.01 * random.normal(size=len(log.flow)))
        assert clock_difference(log.times, step_of(log), log.flow, log.times + 20, second) == 0.0


def test_two_plants_are_not_brought_together() -> None:
    """Two districts get up at different hours; that is no clock."""
    for seed in range(30):
        one, other = (district(np.random.default_rng(each)) for each in (seed, seed + 100))
        assert clock_difference(one.times, 600.0, one.flow, other.times, other.flow) == 0.0


def _log(tmp_path: Path, name: str, times: np.ndarray, flow: np.ndarray) -> Log:
    stamps = np.datetime_as_string(times.astype("datetime64[s]"), unit="s")
    lines = [f"{stamp};{value:.3f}" for stamp, value in zip(stamps.tolist(), flow.tolist(), strict=True)]
    (tmp_path / name).write_text("time;flow [m3/h]\n" + "\n".join(lines) + "\n", encoding="utf-8")
    return read_log(tmp_path / name)


def test_a_clock_an_hour_late_is_told_and_put_right(tmp_path: Path) -> None:
    """Two good meters differed by what an hour does to the flow."""
    log = two_meters(np.random.default_rng(3))
    assert log.second is not None
    other = _log(tmp_path, "outlet.csv", log.times + 3600, log.second)
    both = beside(_log(tmp_path, "inlet.csv", log.times, log.flow), other)
    told = " ".join(both.warnings)
    assert "the clocks differ by about 1 h: outlet.csv agrees best when it is moved back" in told
    assert not second_meter(series_view(both, None)).present
    again = beside(replace(both, second=None), replace(other, times=other.times - 3600))
    assert "clocks differ" not in " ".join(again.warnings[len(both.warnings) :])
