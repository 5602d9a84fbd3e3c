"""How the work of reading grows with what is read: by calls that were counted, and by time within one run."""

from __future__ import annotations

import gc
import sys
from contextlib import suppress
from time import process_time
from types import FrameType
from typing import NamedTuple

from diagnose.errors import DiagnoseError
from tests.growth.families import Family
from tests.growth.readers import Reader

TIMES = 4
"""A text is compared with one of so many times its size."""

SMALLEST = 700
"""Characters: less is one sentence, in which every word is looked at beside every other."""

LONG_ENOUGH = 0.002
"""Seconds: what is over sooner cannot be timed."""

TRIES = 4
MOST_CALLS, MOST_TIME = 6.0, 8.0
"""Linear is 4, the square 16: calls are the same in each run, and time is not."""


class Growth(NamedTuple):
    """By how much calls and time grow from ``size`` to four times that; time is 0 where it is too short to tell."""

    size: int
    calls: float
    time: float

    @property
    def is_linear(self) -> bool:
        """Whether it grows no faster than what is read, but for the first steps and for chance."""
        return self.calls <= MOST_CALLS and self.time <= MOST_TIME


def growth_of(reads: Reader, family: Family, longest: int) -> Growth:
    """Return the growth at the smallest size that takes long enough to be timed, or at the largest that is read."""
    size = SMALLEST
    seconds_of(reads, family(size))  # what is worked out once, and kept
    while seconds_of(reads, family(size)) < LONG_ENOUGH and 2 * TIMES * size <= longest:
        size *= 2
    part, whole = family(size), family(TIMES * size)
    time = _growth_of_time(reads, part, whole)  # before calls are counted: some are made once for each word
    return Growth(size, calls_of(reads, whole) / max(1, calls_of(reads, part)), time)


def _growth_of_time(reads: Reader, part: str, whole: str) -> float:
    """Return the growth of the shortest times; more are taken only while it seems too much."""
    short, full = seconds_of(reads, part), seconds_of(reads, whole)
    for _ in range(TRIES):
        if full < TIMES * LONG_ENOUGH:
            return 0.0
        if full <= MOST_TIME * short:
            break
        short, full = min(short, seconds_of(reads, part)), min(full, seconds_of(reads, whole))
    return full / short


def seconds_of(reads: Reader, text: str) -> float:
    """Return how long reading takes of this process's own time."""
    gc.disable()
    try:
        start = process_time()
        read(reads, text)
        return process_time() - start
    finally:
        gc.enable()


def calls_of(reads: Reader, text: str) -> int:
    """Return how many calls reading takes: the same on a slow machine as on a fast one."""
    count = 0

    def counting(frame: FrameType, event: str, argument: object) -> None:
        nonlocal count
        count += 1

    before = sys.getprofile()
    sys.setprofile(counting)
    try:
        read(reads, text)
    finally:
        sys.setprofile(before)
    return count


def read(reads: Reader, text: str) -> None:
    """Read a text; to refuse it is as good as to read it, and what is said then counts, too."""
    with suppress(DiagnoseError):
        reads(text)
