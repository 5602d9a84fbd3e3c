"""Whether our own probabilities came true: the Brier score, and its parts by Murphy (1973).

Forecasts are put into bins; each stands for the mean of its own. With n forecasts in a bin, their mean f, the share o
of them that came true, and the share O of all: reliability is the mean of (f - o)², less is better; resolution the
mean of (o - O)², more is better; uncertainty O (1 - O), which no forecast can help. The Brier score of the binned
forecasts is reliability - resolution + uncertainty; what binning takes away is told as what is left.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

import msgspec

from diagnose.learning.beta import Interval, credible

BINS = 10


class Bin(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """Forecasts between two probabilities (the upper one included): how many, their mean, how many came true."""

    low: float
    high: float
    forecasts: int
    true: int
    mean: float
    share: float
    interval: Interval


class Calibration(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """How forecasts of one kind came true."""

    about: str
    forecasts: int
    true: int
    brier: float
    reliability: float
    resolution: float
    uncertainty: float
    left: float
    bins: tuple[Bin, ...]


def share_interval(hits: int, of: int) -> Interval:
    """Return between what a share lies of which so many were counted, on Jeffreys' prior."""
    return credible(hits + 0.5, of - hits + 0.5)


def calibration(about: str, forecasts: Sequence[tuple[float, bool]]) -> Calibration:
    """Return how forecasts came true, each a probability with what came.

    >>> told = calibration("rain", [(0.8, True), (0.8, True), (0.8, False), (0.2, False), (0.2, False), (0.2, True)])
    >>> round(told.brier, 4), round(told.reliability, 4), round(told.resolution, 4), told.uncertainty
    (0.24, 0.0178, 0.0278, 0.25)
    """
    many, hits = len(forecasts), sum(true for _, true in forecasts)
    overall = hits / many if many else 0.0
    bins = tuple(_bins(forecasts))
    brier = sum((probability - true) ** 2 for probability, true in forecasts) / many if many else 0.0
    reliability = sum(each.forecasts * (each.mean - each.share) ** 2 for each in bins) / many if many else 0.0
    resolution = sum(each.forecasts * (each.share - overall) ** 2 for each in bins) / many if many else 0.0
    uncertainty = overall * (1 - overall)
    return Calibration(
        about=about,
        forecasts=many,
        true=hits,
        brier=brier,
        reliability=reliability,
        resolution=resolution,
        uncertainty=uncertainty,
        left=brier - (reliability - resolution + uncertainty),
        bins=bins,
    )


def _bins(forecasts: Sequence[tuple[float, bool]]) -> list[Bin]:
    by_number: dict[int, list[tuple[float, bool]]] = {}
    for each in forecasts:
        by_number.setdefault(max(1, ceil(each[0] * BINS - 1e-9)), []).append(each)
    return [
        Bin(
            low=(number - 1) / BINS,
            high=number / BINS,
            forecasts=len(some),
            true=sum(true for _, true in some),
            mean=sum(probability for probability, _ in some) / len(some),
            share=sum(true for _, true in some) / len(some),
            interval=share_interval(sum(true for _, true in some), len(some)),
        )
        for number, some in sorted(by_number.items())
    ]
