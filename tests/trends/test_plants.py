"""Invented plants: nothing is held against a healthy one, and a fault is seen; a small part of the benchmark."""

from __future__ import annotations

import numpy as np
import pytest

from tests.benchmarks.false_alarms import SEED, faulty, healthy, seen
from tests.trends.faults import FAULTS
from tests.trends.plants import HEALTHY, RIGHTLY, end_of_range, fault_shown_as_flow

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
    from diagnose.trends.second import second_meter

    found = second_meter(seen(FAULTS["second steps away"].planted(np.random.default_rng(SEED), 0.06)))
    assert found.present
    assert "later part" in found.because
    assert abs(float(found.parameters["difference_percent_in_the_later_part"])) == pytest.approx(6, abs=1)


def test_the_end_of_the_range_is_not_frozen() -> None:
    """A peak beyond the range stays at one value, and comes again."""
    from diagnose.trends.stuck import stuck

    assert not any(stuck(seen(end_of_range(np.random.default_rng(seed)))).present for seed in range(5))


def test_a_fault_current_is_no_flow() -> None:
    """Its readings are kept from the detectors of flow, with or without a column of the current."""
    from diagnose.trends.loop import coded_readings

    for seed in range(8):
        view = seen(fault_shown_as_flow(np.random.default_rng(seed)))
        coded = coded_readings(view)
        assert coded.any()
        assert view.data.values[~coded].min() > 0
