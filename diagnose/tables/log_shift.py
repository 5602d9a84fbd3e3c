"""Two logs whose clocks differ: the shift at which what happens in one is best found in the other.

What is compared are changes of the flow, for levels follow the day and agree at many shifts; and of several days what
is more or less than the change usual at that time of day, for other people's mornings are alike. Changes over one
reading and over several are tried, since noise of a meter hides the short ones.
"""

from __future__ import annotations

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.tables.log_aligned import at_times

FARTHEST = 14 * 3600.0
"""Seconds by which clocks are looked for to differ: time zones differ by up to 14 h."""

LEAST = 120.0
"""Seconds below which clocks do not differ: liquid and damping take as long (estimate)."""

LEAST_STEPS = 2.5
"""Usual steps of the log below which they do not differ either."""

MOST_PLACES = 1 << 16
OVER = (1, 4, 16)
"""Steps over which changes are taken."""

DAY, DAYS = 86400.0, 4
"""Days from which what is usual at a time of day is known well enough to be taken out."""

FEWEST = 60
"""Fewest changes that are compared."""

SURE = 8.0
"""Correlation times the root of the independent changes from which the best shift is no chance (estimate; among
thousands of shifts chance reaches five)."""

ALIKE = 0.4
"""Least correlation at the best shift (estimate)."""

BETTER = 1.3
"""Factor by which the best shift must agree better than no shift (estimate)."""

AS_GOOD = 0.9
"""Share of the best agreement from which a smaller shift is taken instead: a rhythm agrees at each of its periods."""


def clock_difference(times: Array, step: float, values: Array, other_times: Array, others: Array) -> float:
    """Return by how many seconds the other log's clock is ahead, 0 where no other shift agrees clearly better.

    >>> random = np.random.default_rng(0)
    >>> flow, times = np.cumsum(random.normal(size=600)), np.arange(600) * 300.0
    >>> clock_difference(times, 300.0, flow, times + 3600, flow), clock_difference(times, 300.0, flow, times, flow)
    (3600.0, 0.0)
    """
    first, last = max(times[0], other_times[0] - FARTHEST), min(times[-1], other_times[-1] + FARTHEST)
    width = max(step, (last - first) / MOST_PLACES)
    if not last > first or not width > 0:
        return 0.0
    grid = np.arange(first, last, width)
    one, other = (at_times(grid, width, *each) for each in ((times, values), (other_times, others)))
    reach = min(int(FARTHEST / width), len(grid) // 2)
    tried = [(_changes(one, over, width), _changes(other, over, width), over) for over in OVER]
    agreement, sure = max((_agreement(a, b, reach, over) for a, b, over in tried), key=_surely)
    place = int(np.argmax(np.where(sure >= SURE, agreement, 0.0)))
    shift = _nearest(agreement, sure, place, reach)
    usual = float(agreement[max(0, reach - 1) : reach + 2].max(initial=0.0))
    there = sure[reach + shift] >= SURE and agreement[reach + shift] >= max(ALIKE, BETTER * usual)
    return shift * width if there and abs(shift) * width >= max(LEAST, LEAST_STEPS * width) else 0.0


def _surely(found: tuple[Array, Array]) -> float:
    return float(found[1].max(initial=0.0))


def _nearest(agreement: Array, sure: Array, place: int, reach: int) -> int:
    """Return the smallest shift at a peak that agrees about as well as the best one."""
    peaks = (agreement >= np.roll(agreement, 1)) & (agreement >= np.roll(agreement, -1)) & (sure >= SURE)
    good = np.flatnonzero(peaks & (agreement >= AS_GOOD * agreement[place]))
    return int(min(good, key=lambda each: abs(each - reach)) if len(good) else place) - reach


def _changes(values: Array, over: int, width: float) -> Array:
    """Return the mean of some readings less that of as many before, limited so that no single one decides; 0: none."""
    there = np.isfinite(values)
    sums = np.concatenate(([0.0], np.cumsum(np.where(there, values, 0.0))))
    counts = np.concatenate(([0], np.cumsum(there)))
    found = np.zeros(len(values))
    if len(values) <= 2 * over:
        return found
    means = (sums[over:] - sums[:-over]) / over
    whole = counts[over:] - counts[:-over] == over
    change = np.where(whole[over:] & whole[:-over], means[over:] - means[:-over], 0.0)
    moving = np.abs(change[change != 0])
    most = 6 * float(np.median(moving)) if len(moving) else 0.0
    found[over : over + len(change)] = np.clip(change, -most, most)
    return _unusual(found, width)


def _unusual(changes: Array, width: float) -> Array:
    """Return changes less the mean of those at the same time of day, where there are several days."""
    if len(changes) * width < DAYS * DAY:
        return changes
    slot = (np.arange(len(changes)) * width % DAY // width).astype(np.intp)
    moves = changes != 0
    counts = np.maximum(np.bincount(slot[moves], minlength=slot.max() + 1), 1)
    usual = np.bincount(slot[moves], changes[moves], minlength=slot.max() + 1) / counts
    return np.where(moves, changes - usual[slot], 0.0)


def _agreement(one: Array, other: Array, reach: int, over: int) -> tuple[Array, Array]:
    """Return the correlation of the changes at each shift, and how far beyond chance it is."""
    size = 1 << (len(one) + reach).bit_length()
    products, ones, others, counts = (
        _lagged(a, b, size, reach)
        for a, b in (
            (one, other),
            (one**2, (other != 0).astype(float)),
            ((one != 0).astype(float), other**2),
            ((one != 0).astype(float), (other != 0).astype(float)),
        )
    )
    enough = counts >= FEWEST
    with np.errstate(invalid="ignore", divide="ignore"):
        found = np.where(enough, products / np.sqrt(np.maximum(ones * others, 1e-300)), 0.0)
    return found, found * np.sqrt(np.maximum(counts, 0.0) / over)


def _lagged(one: Array, other: Array, size: int, reach: int) -> Array:
    """Return the sums of products with the other moved to the left by ``-reach`` to ``reach`` places."""
    spectrum = np.conj(np.fft.rfft(one, size)) * np.fft.rfft(other, size)
    every = np.fft.irfft(spectrum, size)
    return np.concatenate((every[size - reach :], every[: reach + 1])) if reach else every[:1]
