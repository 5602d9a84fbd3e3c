"""Indicated flow as a function of the true flow under each mechanism, vectorised over flows and parameters.

``r`` is a row of reference flows; parameters are columns, so that every function returns one row for each set of
parameters. ``range_`` is (LRV, URV). ``calculations`` has the same formulas for single values, with their sources;
tests compare the two.
"""

from __future__ import annotations

import numpy as np

from diagnose.tables.arrays import Array

Range = tuple[Array | float, Array | float]
"""LRV and URV, as numbers or as columns."""

LIVE_ZERO_SHARE = 0.25
"""4 mA over the 16 mA of the span."""


def proportional(r: Array, factor: Array | float) -> Array:
    """Return the indication of a meter that is off by a factor: f r."""
    return np.asarray(factor * r, np.float64)


def shifted(r: Array, shift: Array | float) -> Array:
    """Return the indication of a meter that is off by the same flow everywhere: r + z."""
    return np.asarray(r + shift, np.float64)


def line(r: Array, shift: Array, factor: Array) -> Array:
    """Return the indication of a meter with a zero error and a factor: z + f r."""
    return np.asarray(shift + factor * r, np.float64)


def gas_factor(void: Array) -> Array:
    """Return 1/(1 - α) for a volume fraction α of gas."""
    return np.asarray(1 / (1 - void), np.float64)


def wet_share(depth: Array) -> Array:
    """Return the wet share of a round pipe's area at depth h/D: (φ - sin φ cos φ)/π with cos φ = 1 - 2 h/D."""
    cosine = np.clip(1 - 2 * depth, -1.0, 1.0)
    angle = np.arccos(cosine)
    return np.asarray((angle - np.sin(angle) * cosine) / np.pi, np.float64)


def filling(r: Array, depth_at_rest: Array, filled_from: Array) -> Array:
    """Return the indication of a meter whose pipe is full only from ``filled_from`` upwards.

    The depth rises linearly from ``depth_at_rest`` (h/D, held back by a lip or weir downstream) to full.
    """
    depth = depth_at_rest + (1 - depth_at_rest) * np.clip(np.abs(r) / filled_from, 0.0, 1.0)
    return np.asarray(r / wet_share(depth), np.float64)


def _depth_of_share() -> tuple[Array, Array]:
    """Return shares of the full flow that run off by a slope, rising, and depths h/D (Manning, round pipe)."""
    depth = np.linspace(0.01, 0.93, 185)
    area = wet_share(depth)
    wetted = np.arccos(1 - 2 * depth) / np.pi
    return np.asarray(area * (area / wetted) ** (2 / 3), np.float64), depth


_SHARES, _DEPTHS = _depth_of_share()


def gravity_depth(r: Array, full_at: Array) -> Array:
    """Return the depth h/D at which a round pipe runs by its slope alone, full from ``full_at`` upwards.

    By Manning's formula Q ~ A (A/P)^(2/3), P the wetted perimeter; above a depth of 0.93 it would carry more than full,
    so that it fills there.

    >>> gravity_depth(np.array([50.0, 120.0]), np.array(100.0)).round(2).tolist()
    [0.5, 1.0]
    """
    share = np.abs(r) / full_at
    return np.where(share >= 1.0, 1.0, np.interp(share, _SHARES, _DEPTHS))


def gravity_line(r: Array, full_at: Array, dry_below: Array) -> Array:
    """Return what is shown in a gravity line that is not always full: r over the wet share of the area.

    Below the depth ``dry_below`` (h/D) the electrodes are in air and nothing is shown.
    """
    depth = gravity_depth(r, full_at)
    return np.where(depth < dry_below, 0.0, r / wet_share(depth))


def deposit_factor(clear: Array, conductivity_ratio: Array | float) -> Array:
    """Return 2/((1 + b²) + s(1 - b²)) for clear diameter ratio b and conductivity ratio s of deposit to liquid."""
    return np.asarray(2 / ((1 + clear**2) + conductivity_ratio * (1 - clear**2)), np.float64)


def _on_range(r: Array, range_: Range) -> Array:
    low, high = range_
    return np.asarray((r - low) / (high - low), np.float64)


def _off_range(x: Array, range_: Range) -> Array:
    low, high = range_
    return np.asarray(low + x * (high - low), np.float64)


def sender_live_receiver_dead(r: Array, range_: Range) -> Array:
    """Return what a receiver set to 0–20 mA shows for a 4–20 mA signal: x' = 0.2 + 0.8 x."""
    return _off_range(0.2 + 0.8 * _on_range(r, range_), range_)


def sender_dead_receiver_live(r: Array, range_: Range) -> Array:
    """Return what a receiver set to 4–20 mA shows for a 0–20 mA signal: x' = 1.25 x - 0.25."""
    return _off_range(1.25 * _on_range(r, range_) - 0.25, range_)


def root(r: Array, range_: Range) -> Array:
    """Return what a receiver shows that takes the square root of a linear signal: x' = √x."""
    return _off_range(np.sqrt(np.maximum(_on_range(r, range_), 0.0)), range_)


def root_live_receiver_dead(r: Array, range_: Range) -> Array:
    """Return what a receiver shows that is set to 0–20 mA and takes the square root of 4–20 mA: x' = √(0.2 + 0.8 x)."""
    return root(sender_live_receiver_dead(r, range_), range_)


def square(r: Array, range_: Range) -> Array:
    """Return what is shown for a squared signal without square-root extraction: x' = x²."""
    return _off_range(np.maximum(_on_range(r, range_), 0.0) ** 2, range_)


def part_of_current(r: Array, part: Array | float, range_: Range) -> Array:
    """Return what a receiver shows that gets only ``part`` of the current: x' = ((4 + 16 x) part - 4)/16."""
    return _off_range(part * (_on_range(r, range_) + LIVE_ZERO_SHARE) - LIVE_ZERO_SHARE, range_)


def other_lower_end(r: Array, steepness: Array, range_: Range) -> Array:
    """Return what is shown if sender and receiver have the same URV but different LRVs: Q' = URV + m (Q - URV)."""
    _, high = range_
    return np.asarray(high + steepness * (r - high), np.float64)


def limited(r: Array, most: Array) -> Array:
    """Return what is shown if something saturates at ``most``: min(r, c)."""
    return np.minimum(r, most)


def wrapped(r: Array, largest: Array, jumps_by: Array) -> Array:
    """Return what a whole number shows that jumps by so many times its ``largest`` value once it would exceed that.

    By 1 it starts again from zero (a number without sign), by 2 it goes to minus the largest (one with a sign).

    >>> wrapped(np.array([30.0, 40.0]), np.array(32.0), np.array(2.0)).tolist()
    [30.0, -24.0]
    >>> wrapped(np.array([30.0, 70.0]), np.array(32.0), np.array(1.0)).tolist()
    [30.0, 6.0]
    """
    step = jumps_by * largest
    return r - step * np.floor((r + step - largest) / step)


def cut_off(r: Array, least: Array, shift: Array | float = 0.0) -> Array:
    """Return what is shown with a low-flow cut-off (after a zero error): 0 below ``least``."""
    shown = r + shift
    return np.where(np.abs(shown) < least, 0.0, shown)


def gas_growing(r: Array, share_at_top: Array, top: float) -> Array:
    """Return the indication with a volume fraction of gas that rises with the flow, ``share_at_top`` at the largest."""
    share = np.clip(share_at_top * np.abs(r) / top, 0.0, 0.9)
    return np.asarray(r * gas_factor(share), np.float64)


def lagging(r: Array, half_width: Array) -> Array:
    """Return what lags behind: low by ``half_width`` where the flow rose to this reading, high where it fell.

    The rows are in the order in which they were read; the first counts as reached like the second.
    """
    change = np.sign(np.diff(r, prepend=r[..., :1]))
    if change.shape[-1] > 1:
        change[..., 0] = change[..., 1]
    return np.asarray(r - half_width * change, np.float64)


def losing_more_above(r: Array, most: Array, lost: Array) -> Array:
    """Return what a counter shows that loses a share ``lost`` of all pulses that come beyond the flow ``most``."""
    return np.asarray(r - lost * np.maximum(r - most, 0.0), np.float64)


def dead_after_each(r: Array, busy_at_top: Array, top: float) -> Array:
    """Return what a counter shows that takes no pulse for a while after each: r/(1 + b r/top).

    ``busy_at_top`` is pulse frequency times dead time, n τ, at the largest flow (n/(1 + n τ), no pulse in the dead time
    makes it longer).

    >>> dead_after_each(np.array([50.0, 100.0]), np.array(0.25), 100.0).round(2).tolist()
    [44.44, 80.0]
    """
    return np.asarray(r / (1 + busy_at_top * np.abs(r) / top), np.float64)


def losing_above(r: Array, most: Array, lost: Array) -> Array:
    """Return what a counter shows that loses a share ``lost`` of the pulses above the flow ``most``."""
    return np.where(r > most, r * (1 - lost), r)
