"""Times of what is compared, taken in turn so that a busy machine slows all of them alike."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from statistics import median
from time import perf_counter


def seconds(work: Callable[[], object]) -> float:
    """Return how long something takes."""
    start = perf_counter()
    work()
    return perf_counter() - start


def medians(works: Sequence[Callable[[], object]], runs: int) -> list[float]:
    """Return the median seconds of each, run in turn ``runs`` times after one round that does not count."""
    for work in works:
        work()
    rounds = [[seconds(work) for work in works] for _ in range(runs)]
    return [median(times) for times in zip(*rounds, strict=True)]
