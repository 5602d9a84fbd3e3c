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
from diagnose.tables.log_clock import count_of, duration
from diagnose.tables.log_reading import Log
from diagnose.trends.drift import drift
from diagnose.trends.loop import coded_readings, fault_current, no_current, saturated
from diagnose.trends.night_flow import night_flow
from diagnose.trends.profile import profile
from diagnose.trends.quiet import quantised, steady_but_real
from diagnose.trends.second import noise, second_meter
from diagnose.trends.series import RATE, Detection, Flags, SeriesView, kept_of, series
from diagnose.trends.spikes import drop_outs, spikes
from diagnose.trends.steps import steps
from diagnose.trends.stood import stands_once
from diagnose.trends.stops import negative, reverse_at_stop, zero_at_standstill, zero_while_flowing
from diagnose.trends.stuck import clipped, stuck
from diagnose.trends.swings import swings
from diagnose.trends.totals import total_back, total_stands
from diagnose.units import unit_info

DETECTORS: Mapping[str, Callable[[SeriesView], Detection]] = {
    "fault-current": fault_current,
    "no-current": no_current,
    "stuck": stuck,
    "zero-while-flowing": zero_while_flowing,
    "negative": negative,
    "total-back": total_back,
    "total-stands": total_stands,
    "stands-once": stands_once,
    "saturated": saturated,
    "drop-outs": drop_outs,
    "clipped": clipped,
    "second-meter": second_meter,
    "zero-at-standstill": zero_at_standstill,
    "noise": noise,
    "spikes": spikes,
    "swings": swings,
    "reverse-at-stop": reverse_at_stop,
    "night-flow": night_flow,
    "profile": profile,
    "steps": steps,
    "drift": drift,
    "quantised": quantised,
    "steady-but-real": steady_but_real,
}
"""Detectors by their name in the rule book, most serious first, which is the order in which signs are listed."""

OF_THE_LOOP: Mapping[str, Callable[[SeriesView], Detection]] = {
    name: DETECTORS[name] for name in ("fault-current", "no-current", "saturated")
}
"""Detectors that look at all readings; the others at those only that are a flow."""

OF_RAW_READINGS = ("stuck", "clipped", "quantised", "steady-but-real")
"""Detectors of single figures that come again; in a flow worked out from a total they come from the total's steps."""

FEWEST = 3
"""Fewest readings that can be analysed."""

PRIOR = 0.2
"""Prior probability of a given sign in a log that people look at (estimate)."""

DENIED = 0.05
"""Probability that a sign is there all the same up to which its findings are denied (estimate)."""

ALL_EQUAL = (
    "such a log alone cannot show whether it is stuck or nothing changes; add a second meter, the loop current or the "
    "state of the pump to the log"
)

FROM_TOTAL = "the flow is worked out from a total, whose steps repeat by themselves"

CODED = "{} left out: no flow, but what a receiver shows of a current at its fault level, or of none"
WHICH_CODE = " (--urv, or a column of the loop current, tells which)"

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
    coded: int = 0
    """Readings left out because they are no flow but what a receiver makes of a fault current or of none."""

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
        coded = CODED.format(count_of(self.coded, "reading"))
        if self.seen.current is None and self.seen.upper is None:
            coded += WHICH_CODE
        noted = (*self.log.warnings, coded) if self.coded else self.log.warnings
        if np.ptp(values) > 0:
            return noted
        return (*noted, f"all {len(values)} readings are {values[0]:g} {self.log.unit}: {ALL_EQUAL}")


def analyse(log: Log, known: Mapping[str, Sign], upper: float | None = None) -> Trend:
    """Analyse a log; ``known`` are the signs of a rule book, ``upper`` is the URV in the unit of the log.

    Raises BadInput for a log with fewer than three readings.
    """
    whole = series_view(log, upper)
    coded = coded_readings(whole)
    found = detections(whole, coded)
    signs = [_sign_result(each, found[each.detector]) for each in known.values()]
    seen = kept_of(whole, ~coded) if _enough(coded) else whole
    return Trend(log, seen, tuple(sorted(signs, key=_order)), int(np.count_nonzero(coded)))


def _enough(coded: Flags) -> bool:
    return int(np.count_nonzero(~coded)) >= FEWEST


def detections(whole: SeriesView, coded: Flags | None = None) -> dict[str, Detection]:
    """Return what every detector finds; what a fault current looks like as a flow only those of the loop see."""
    coded = coded_readings(whole) if coded is None else coded
    flows = kept_of(whole, ~coded) if _enough(coded) else whole
    raw = OF_RAW_READINGS if whole.total is not None and whole.total.unit else ()
    return {
        name: Detection(id=name, untested=FROM_TOTAL) if name in raw else each(whole if name in OF_THE_LOOP else flows)
        for name, each in DETECTORS.items()
    }


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
        total=log.total,
    )


def _order(each: SignResult) -> tuple[float, int, str]:
    """Return the sort key of a sign: most probable first, then most serious."""
    return (-round(each.probability, 2), tuple(DETECTORS).index(each.known.detector), each.known.id)


def _sign_result(known: Sign, sign: Detection) -> SignResult:
    return SignResult(known, sign, probability(sign, known.sensitivity))


def probability(sign: Detection, sensitivity: float) -> float:
    """Return the posterior probability of a sign, by Bayes' rule from false-alarm rate and sensitivity.

    The probability of a false alarm falls with the statistic like the tail of a normal distribution.

    >>> round(probability(Detection(id="a", present=True, value=5.0, limit=5.0), 0.9), 2)
    0.96
    >>> probability(Detection(id="a", untested="-"), 0.9)
    0.2
    """
    if sign.untested:
        return PRIOR
    if not sign.present and not sign.excludes:
        return PRIOR
    if not sign.present:
        missed = PRIOR * (1 - sensitivity)
        return missed / (missed + (1 - PRIOR) * (1 - RATE))
    by_chance = RATE ** (min(max(sign.strength, 1.0), MOST_STRENGTH) ** 2)
    there = PRIOR * sensitivity
    return float(there / (there + (1 - PRIOR) * by_chance))


def observations(trend: Trend, rule_book: RuleBook) -> tuple[FindingSeen, ...]:
    """Return the findings that follow, each with the figures as its quote; a sign that shows one outweighs a denial.

    A sign that was not seen denies its findings only if the log would have shown it and its detector hardly misses
    any; one that was seen once does not show what happens now and then.
    """
    about = in_figures(trend)
    found: dict[str, FindingSeen] = {}
    for each in trend.present:
        for name in each.known.shows if len(each.sign.marks) >= each.known.now_and_then else ():
            quote = f"{about}: {each.known.title}{_where(trend, each.sign)}; {each.sign.because}"
            found.setdefault(name, FindingSeen(finding=name, present=True, quote=quote))
    for each in trend.absent:
        for name in each.known.denies if each.sign.excludes and each.probability <= DENIED else ():
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
