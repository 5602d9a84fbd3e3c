"""How the work of reading grows with what is read: by calls that were counted, and for the benchmark by time."""

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

ENOUGH_CALLS = 2_000
"""What makes fewer is too short to show how it grows."""

MOST_CALLS = 6.0
"""Linear is 4, the square 16."""


class Growth(NamedTuple):
    """By how much the calls grow from ``size`` to four times that."""

    size: int
    calls: float

    @property
    def is_linear(self) -> bool:
        """Whether they grow no faster than what is read, but for the first steps."""
        return self.calls <= MOST_CALLS


def growth_of(reads: Reader, family: Family, longest: int) -> Growth:
    """Return the growth at the smallest size that makes enough calls, or at the largest that is read."""
    size = SMALLEST
    read(reads, family(size))  # what is worked out once, and kept
    while calls_of(reads, family(size)) < ENOUGH_CALLS and 2 * TIMES * size <= longest:
        size *= 2
    part, whole = family(size), family(TIMES * size)
    read(reads, whole)  # some calls are made once for each word
    return Growth(size, calls_of(reads, whole) / max(1, calls_of(reads, part)))


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
