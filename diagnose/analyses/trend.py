"""A log as an experienced person would read it: what shows in it, what was looked for in vain, what follows."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from diagnose.analyses.amounts import Array
from diagnose.analyses.log_clock import duration
from diagnose.analyses.log_reading import Log
from diagnose.analyses.trend_drift import drift
from diagnose.analyses.trend_loop import fault_current, saturated
from diagnose.analyses.trend_quiet import quantised, steady_but_real
from diagnose.analyses.trend_second import noise, second_meter
from diagnose.analyses.trend_series import RATE, Seen, Sign, series
from diagnose.analyses.trend_spikes import drop_outs, spikes
from diagnose.analyses.trend_steps import steps
from diagnose.analyses.trend_stops import reverse_at_stop, zero_at_standstill, zero_while_flowing
from diagnose.analyses.trend_stuck import clipped, stuck
from diagnose.analyses.trend_swings import swings
from diagnose.errors import BadInput
from diagnose.observations import FindingSeen
from diagnose.rule_book.types import RuleBook
from diagnose.rule_book.types import Sign as Known
from diagnose.units import unit_info

DETECTORS: Mapping[str, Callable[[Seen], Sign]] = {
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
"""Name by which a rule book calls a detector → detector; gravest first, the order in which signs are told."""

FEWEST = 3
"""Readings of which anything can be said."""

BEFOREHAND = 0.2
"""Share of the logs that people look at which show a given sign (estimate)."""

FOUND = 0.9
"""Share of the signs that are there which a detector finds (see the benchmark of false alarms)."""

ALL_EQUAL = (
    "whether it is stuck or nothing changes, such a log alone cannot tell; put a second meter, the loop current or the "
    "state of the pump beside it"
)

MOST_SURE = 2.0
"""Times its limit beyond which a statistic makes nobody surer."""


@dataclass(frozen=True, slots=True)
class Read:
    """A sign of the rule book, what its detector saw, and how probable it is that it is there."""

    known: Known
    sign: Sign
    probability: float


@dataclass(frozen=True, slots=True)
class Trend:
    """All that a log says: its signs, the most probable first."""

    log: Log
    seen: Seen
    signs: tuple[Read, ...]

    @property
    def present(self) -> tuple[Read, ...]:
        """Return the signs that were seen."""
        return tuple(each for each in self.signs if each.sign.present)

    @property
    def absent(self) -> tuple[Read, ...]:
        """Return the signs that were looked for and not seen."""
        return tuple(each for each in self.signs if not each.sign.present and not each.sign.untested)

    @property
    def untested(self) -> tuple[Read, ...]:
        """Return the signs for which the log gives nothing to test."""
        return tuple(each for each in self.signs if each.sign.untested)

    @property
    def warnings(self) -> tuple[str, ...]:
        """Return what was done to the log when it was read, and what it cannot tell however long it is."""
        values = self.seen.data.values
        if np.ptp(values) > 0:
            return self.log.warnings
        return (*self.log.warnings, f"all {len(values)} readings are {values[0]:g} {self.log.unit}: {ALL_EQUAL}")


def analyse(log: Log, known: Mapping[str, Known], upper: float | None = None) -> Trend:
    """Return what a log says; ``known`` are the signs of a rule book, ``upper`` is URV in the log's unit.

    Raises BadInput for a log with fewer than three readings.
    """
    seen = seen_in(log, upper)
    signs = [_read(each, DETECTORS[each.detector](seen)) for each in known.values()]
    return Trend(log, seen, tuple(sorted(signs, key=_order)))


def seen_in(log: Log, upper: float | None) -> Seen:
    """Return the readings of a log without those that are missing, and what stands beside each of them."""
    there = np.isfinite(log.flow) & np.isfinite(log.times)
    count = int(np.count_nonzero(there))
    if count < FEWEST:
        readings = "one reading" if count == 1 else f"{count} readings"
        raise BadInput(f"{log.file} has {readings}; a trend needs {FEWEST} at least")

    def beside(column: Array | None) -> Array | None:
        if column is None or not np.isfinite(column[there]).any():
            return None
        return column[there]

    own, milliamps = unit_info(log.unit), unit_info("mA")
    is_current = own.dimension == milliamps.dimension
    return Seen(
        data=series(log.times[there], log.flow[there], log.clock.step),
        current=log.flow[there] * (own.factor / milliamps.factor) if is_current else beside(log.current),
        running=beside(log.running),
        second=beside(log.second),
        upper=upper,
    )


def _order(each: Read) -> tuple[float, int, str]:
    """Return what signs are sorted by: the most probable first, of equal ones the gravest."""
    return (-round(each.probability, 2), tuple(DETECTORS).index(each.known.detector), each.known.id)


def _read(known: Known, sign: Sign) -> Read:
    return Read(known, sign, probability(sign))


def probability(sign: Sign) -> float:
    """Return how probable it is that a sign is there, by Bayes' rule from false-alarm rate and share found.

    The chance of a false alarm falls with the statistic as the tail of a normal one does.

    >>> round(probability(Sign(id="a", present=True, value=5.0, limit=5.0)), 2), probability(Sign(id="a", untested="-"))
    (0.96, 0.2)
    """
    if sign.untested:
        return BEFOREHAND
    if not sign.present:
        missed = BEFOREHAND * (1 - FOUND)
        return missed / (missed + (1 - BEFOREHAND) * (1 - RATE))
    by_chance = RATE ** (min(max(sign.strength, 1.0), MOST_SURE) ** 2)
    there = BEFOREHAND * FOUND
    return float(there / (there + (1 - BEFOREHAND) * by_chance))


def observations(trend: Trend, rule_book: RuleBook) -> tuple[FindingSeen, ...]:
    """Return the findings that follow, each with the figures as its words; what one sign shows no other denies."""
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


def _where(trend: Trend, sign: Sign) -> str:
    """Return the longest place of a sign, or its only one: " 2026-03-03 12:30 for 2.92 h (44.62 m3/h)"."""
    if not sign.marks:
        return ""
    mark = max(sign.marks, key=lambda each: (each.end - each.start, abs(each.size)))
    lasting = f" for {duration(mark.end - mark.start)}" if mark.end > mark.start else ""
    size = f" ({mark.size:.4g} {sign.unit or trend.log.unit})" if np.isfinite(mark.size) else ""
    return f" {trend.log.clock.shown(mark.start)}{lasting}{size}"


def in_figures(trend: Trend) -> str:
    """Return in a few words what log it is: "log of 864 readings, 2026-03-02 00:00 to 2026-03-04 23:55"."""
    times, clock = trend.seen.data.times, trend.log.clock
    return f"log of {len(times)} readings, {clock.shown(float(times[0]))} to {clock.shown(float(times[-1]))}"


def in_short(trend: Trend) -> tuple[str, ...]:
    """Return what was seen, a sentence each, with the time and size of its longest place."""
    said = [in_figures(trend)]
    for each in trend.present:
        said.append(f"{each.known.title}{_where(trend, each.sign)}: {each.sign.because}")
    if not trend.present:
        said.append("nothing that was looked for shows")
    return (*said, *trend.warnings[len(trend.log.warnings) :])
