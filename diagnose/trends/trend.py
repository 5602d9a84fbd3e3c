"""Trend analysis of a log: the signs that were detected, those that were not, and the findings that follow."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from diagnose.errors import BadInput
from diagnose.observations import FindingSeen
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.patterns import Sign
from diagnose.tables.arrays import Array
from diagnose.tables.log_clock import duration
from diagnose.tables.log_reading import Log
from diagnose.trends.drift import drift
from diagnose.trends.loop import fault_current, saturated
from diagnose.trends.quiet import quantised, steady_but_real
from diagnose.trends.second import noise, second_meter
from diagnose.trends.series import RATE, Detection, SeriesView, series
from diagnose.trends.spikes import drop_outs, spikes
from diagnose.trends.steps import steps
from diagnose.trends.stops import reverse_at_stop, zero_at_standstill, zero_while_flowing
from diagnose.trends.stuck import clipped, stuck
from diagnose.trends.swings import swings
from diagnose.units import unit_info

DETECTORS: Mapping[str, Callable[[SeriesView], Detection]] = {
    "fault-current": fault_current,
    "stuck": stuck,
    "zero-while-flowing": zero_while_flowing,
    "saturated": saturated,
    "drop-outs": drop_outs,
    "clipped": clipped,
    "second-meter": second_meter,
    "zero-at-standstill": zero_at_standstill,
    "noise": noise,
    "spikes": spikes,
    "swings": swings,
    "reverse-at-stop": reverse_at_stop,
    "steps": steps,
    "drift": drift,
    "quantised": quantised,
    "steady-but-real": steady_but_real,
}
"""Detectors by their name in the rule book, most serious first, which is the order in which signs are listed."""

FEWEST = 3
"""Fewest readings that can be analysed."""

PRIOR = 0.2
"""Prior probability of a given sign in a log that people look at (estimate)."""

SENSITIVITY = 0.9
"""Sensitivity of a detector (see the benchmark of false alarms)."""

ALL_EQUAL = (
    "such a log alone cannot show whether it is stuck or nothing changes; add a second meter, the loop current or the "
    "state of the pump to the log"
)

MOST_STRENGTH = 2.0
"""Ratio of statistic to limit beyond which the probability no longer rises."""


@dataclass(frozen=True, slots=True)
class SignResult:
    """A sign of the rule book, the result of its detector, and its posterior probability."""

    known: Sign
    sign: Detection
    probability: float


@dataclass(frozen=True, slots=True)
class Trend:
    """The analysis of a log: its signs, most probable first."""

    log: Log
    seen: SeriesView
    signs: tuple[SignResult, ...]

    @property
    def present(self) -> tuple[SignResult, ...]:
        """The signs that were detected."""
        return tuple(each for each in self.signs if each.sign.present)

    @property
    def absent(self) -> tuple[SignResult, ...]:
        """The signs that were tested and not detected."""
        return tuple(each for each in self.signs if not each.sign.present and not each.sign.untested)

    @property
    def untested(self) -> tuple[SignResult, ...]:
        """The signs that the log does not allow to test."""
        return tuple(each for each in self.signs if each.sign.untested)

    @property
    def warnings(self) -> tuple[str, ...]:
        """What was corrected when the log was read, and what it cannot show in principle."""
        values = self.seen.data.values
        if np.ptp(values) > 0:
            return self.log.warnings
        return (*self.log.warnings, f"all {len(values)} readings are {values[0]:g} {self.log.unit}: {ALL_EQUAL}")


def analyse(log: Log, known: Mapping[str, Sign], upper: float | None = None) -> Trend:
    """Analyse a log; ``known`` are the signs of a rule book, ``upper`` is the URV in the unit of the log.

    Raises BadInput for a log with fewer than three readings.
    """
    seen = series_view(log, upper)
    signs = [_sign_result(each, DETECTORS[each.detector](seen)) for each in known.values()]
    return Trend(log, seen, tuple(sorted(signs, key=_order)))


def series_view(log: Log, upper: float | None) -> SeriesView:
    """Return the readings of a log and its other channels, without missing readings."""
    there = np.isfinite(log.flow) & np.isfinite(log.times)
    count = int(np.count_nonzero(there))
    if count < FEWEST:
        readings = "one reading" if count == 1 else f"{count} readings"
        raise BadInput(f"{log.file} has {readings}; a trend needs at least {FEWEST}")

    def beside(column: Array | None) -> Array | None:
        if column is None or not np.isfinite(column[there]).any():
            return None
        return column[there]

    own, milliamps = unit_info(log.unit), unit_info("mA")
    is_current = own.dimension == milliamps.dimension
    return SeriesView(
        data=series(log.times[there], log.flow[there], log.clock.step),
        current=log.flow[there] * (own.factor / milliamps.factor) if is_current else beside(log.current),
        running=beside(log.running),
        second=beside(log.second),
        upper=upper,
    )


def _order(each: SignResult) -> tuple[float, int, str]:
    """Return the sort key of a sign: most probable first, then most serious."""
    return (-round(each.probability, 2), tuple(DETECTORS).index(each.known.detector), each.known.id)


def _sign_result(known: Sign, sign: Detection) -> SignResult:
    return SignResult(known, sign, probability(sign))


def probability(sign: Detection) -> float:
    """Return the posterior probability of a sign, by Bayes' rule from false-alarm rate and sensitivity.

    The probability of a false alarm falls with the statistic like the tail of a normal distribution.

    >>> round(probability(Detection(id="a", present=True, value=5.0, limit=5.0)), 2)
    0.96
    >>> probability(Detection(id="a", untested="-"))
    0.2
    """
    if sign.untested:
        return PRIOR
    if not sign.present:
        missed = PRIOR * (1 - SENSITIVITY)
        return missed / (missed + (1 - PRIOR) * (1 - RATE))
    by_chance = RATE ** (min(max(sign.strength, 1.0), MOST_STRENGTH) ** 2)
    there = PRIOR * SENSITIVITY
    return float(there / (there + (1 - PRIOR) * by_chance))


def observations(trend: Trend, rule_book: RuleBook) -> tuple[FindingSeen, ...]:
    """Return the findings that follow, each with the figures as its quote; a sign that shows one outweighs a denial."""
    about = in_figures(trend)
    found: dict[str, FindingSeen] = {}
    for each in trend.present:
        for name in each.known.shows:
            quote = f"{about}: {each.known.title}{_where(trend, each.sign)}; {each.sign.because}"
            found.setdefault(name, FindingSeen(finding=name, present=True, quote=quote))
    for each in trend.absent:
        for name in each.known.denies:
            quote = f"{about}: not {each.known.title}"
            found.setdefault(name, FindingSeen(finding=name, present=False, quote=quote))
    return tuple(each for name, each in found.items() if name in rule_book.findings)


def _where(trend: Trend, sign: Detection) -> str:
    """Describe the longest mark of a sign: " 2026-03-03 12:30 for 2.92 h (44.62 m3/h)"."""
    if not sign.marks:
        return ""
    mark = max(sign.marks, key=lambda each: (each.end - each.start, abs(each.size)))
    lasting = f" for {duration(mark.end - mark.start)}" if mark.end > mark.start else ""
    size = f" ({mark.size:.4g} {sign.unit or trend.log.unit})" if np.isfinite(mark.size) else ""
    return f" {trend.log.clock.shown(mark.start)}{lasting}{size}"


def in_figures(trend: Trend) -> str:
    """Describe a log in a few words: "log of 864 readings, 2026-03-02 00:00 to 2026-03-04 23:55"."""
    times, clock = trend.seen.data.times, trend.log.clock
    return f"log of {len(times)} readings, {clock.shown(float(times[0]))} to {clock.shown(float(times[-1]))}"


def in_short(trend: Trend) -> tuple[str, ...]:
    """Summarise the signs, one sentence each, with time and size of the longest mark."""
    sentences = [in_figures(trend)]
    for each in trend.present:
        sentences.append(f"{each.known.title}{_where(trend, each.sign)}: {each.sign.because}")
    if not trend.present:
        sentences.append("no sign was detected")
    return (*sentences, *trend.warnings[len(trend.log.warnings) :])
