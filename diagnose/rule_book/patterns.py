"""What rows of readings can show: mechanisms in comparisons, signs in logs."""

from __future__ import annotations

from typing import Literal

from diagnose.entry import Entry

ComparedAt = Literal["reference", "control-system", "counter"]
"""What a meter is compared with: a reference against its display, or its display against what a receiver shows."""


class Mechanism(Entry, frozen=True, kw_only=True):
    """One way in which pairs of readings come to differ: a physical model, and what is known of it in the trade.

    ``model`` names the curve (:mod:`diagnose.comparison.mechanisms`). ``weight`` is its share among all mechanisms
    before any reading; only ratios matter. ``look`` tells it from others with the same curve, ``remedy`` puts it right at
    its source. ``shows`` are findings that are present where it is at work, by what the meter is compared with.
    """

    title: str
    model: str
    weight: float
    look: str
    remedy: str
    shows: dict[ComparedAt, tuple[str, ...]] = {}


class Sign(Entry, frozen=True, kw_only=True):
    """Something that a log can show: the detector that looks for it, and what it says of the meter.

    ``detector`` names it (:mod:`diagnose.trends.trend`). ``shows`` are findings that are present when it is seen,
    ``denies`` those that are absent when it was looked for with enough readings and not seen. ``means`` says in words
    what people should take from it.
    """

    title: str
    detector: str
    means: str
    shows: tuple[str, ...] = ()
    denies: tuple[str, ...] = ()
