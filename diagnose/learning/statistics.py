"""How a fleet does, and how our own words did: counted on closed cases."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from statistics import median

import msgspec

from diagnose.learning.beta import Interval
from diagnose.learning.calibration import Calibration, calibration, share_interval
from diagnose.learning.checks_made import CheckMade, checks_made
from diagnose.learning.closed_cases import ClosedCase, as_it_was
from diagnose.learning.counted_once import counted_once
from diagnose.reasoning.engine import Engine

MOST_WALKED = 300
"""So many cases, the latest, are worked out again for what checks brought and how our probabilities did."""

NAMED_FROM = 0.01
"""Probability from which a cause counts as forecast."""


class Ranked(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """A cause or an area: how many cases, their share, the share of all down to here, and the usual minutes."""

    id: str
    title: str
    cases: int
    share: float
    interval: Interval
    down_to_here: float
    minutes: float | None = None


class Repeat(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """A cause that was found on one meter more than once, and on which days."""

    meter: str
    cause: str
    title: str
    days: tuple[str, ...]


class ComingBack(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """How often two cases of one meter had the same cause, beside two of different meters.

    ``times`` is the ratio of both shares, to be held against the figure ``believed`` by the rule book.
    """

    pairs: int
    same: int
    by_chance: float
    times: float
    interval: Interval
    believed: float


class Proportion(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """How many of how many, and between what the share lies with 95 %."""

    hits: int
    of: int
    share: float
    interval: Interval


class Minutes(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """Minutes on site, where they were told: of how many cases, the middle one, and those of nine in ten at most."""

    cases: int
    middle: float
    nine_in_ten: float


class Statistics(
    msgspec.Struct,
    frozen=True,
    kw_only=True,
    rename="kebab",
    forbid_unknown_fields=True,
    tag_field="format",
    tag="statistics/1",
):
    """Closed cases, counted.

    ``first_time_right``: of those with a remedy tried, how many were cured by the first one. ``walked`` are the latest
    cases that were worked out again for ``checks`` and ``calibration``.
    """

    title: str
    cases: int
    found: int
    in_vain: int
    not_listed: int
    first_day: str
    last_day: str
    copies: int
    left_out: tuple[str, ...]
    causes: tuple[Ranked, ...]
    areas: tuple[Ranked, ...]
    repeats: tuple[Repeat, ...]
    coming_back: ComingBack | None
    minutes: Minutes | None
    first_time_right: Proportion | None
    walked: int
    checks: tuple[CheckMade, ...]
    calibration: tuple[Calibration, ...]


def statistics(engine: Engine, cases: Iterable[ClosedCase], left_out: Sequence[str] = ()) -> Statistics:
    """Return what is counted on closed cases, each once."""
    book = engine.rule_book
    counted = counted_once(cases)
    every = counted.cases
    found = [each for each in every if each.outcome == "found"]
    areas = {name: cause.area for name, cause in book.causes.items()}
    days = [each.closed_on.isoformat() for each in every if each.closed_on != date.min]
    walked = [each for each in found if each.before_the_cure][-MOST_WALKED:]
    return Statistics(
        title=book.settings.title,
        cases=len(every),
        found=len(found),
        in_vain=sum(each.outcome == "not found" for each in every),
        not_listed=sum(each.outcome == "not listed" for each in every),
        first_day=min(days, default=""),
        last_day=max(days, default=""),
        copies=len(counted.copies) + sum(map(len, counted.contradictory)),
        left_out=tuple(left_out),
        causes=_ranked(((each.cause, book.causes[each.cause].title) for each in found), found),
        areas=_ranked(((areas[each.cause], book.areas[areas[each.cause]].title) for each in found), found),
        repeats=tuple(_repeats(engine, found)),
        coming_back=_coming_back(found, book.settings.comes_back.times),
        minutes=_minutes(every),
        first_time_right=_first_time_right(every),
        walked=len(walked),
        checks=checks_made(engine, walked),
        calibration=_calibration(engine, walked),
    )


def _ranked(named: Iterable[tuple[str, str]], cases: Sequence[ClosedCase]) -> tuple[Ranked, ...]:
    groups: defaultdict[tuple[str, str], list[ClosedCase]] = defaultdict(list)
    for key, case in zip(named, cases, strict=True):
        groups[key].append(case)
    rows, before = [], 0
    for (id, title), some in sorted(groups.items(), key=lambda each: (-len(each[1]), each[0])):
        before += len(some)
        told = [each.minutes for each in some if each.minutes is not None]
        rows.append(
            Ranked(
                id=id,
                title=title,
                cases=len(some),
                share=len(some) / len(cases),
                interval=share_interval(len(some), len(cases)),
                down_to_here=before / len(cases),
                minutes=median(told) if told else None,
            )
        )
    return tuple(rows)


def _repeats(engine: Engine, found: Sequence[ClosedCase]) -> Iterator[Repeat]:
    """Yield what came back, most often first."""
    same: defaultdict[tuple[str, str], list[ClosedCase]] = defaultdict(list)
    for case in found:
        if case.meter:
            same[case.of_meter, case.cause].append(case)
    for (_, cause), some in sorted(same.items(), key=lambda each: (-len(each[1]), each[0])):
        if len(some) > 1:
            days = tuple(sorted(case.closed_on.isoformat() for case in some))
            title = engine.rule_book.causes[cause].title
            yield Repeat(meter=some[-1].meter, cause=cause, title=title, days=days)


def _coming_back(found: Sequence[ClosedCase], believed: float) -> ComingBack | None:
    """Return how often causes came back, where there are pairs of cases to tell from."""
    named = [each for each in found if each.meter]
    meters: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for case in named:
        meters[case.of_meter][case.cause] += 1
    everywhere = Counter(each.cause for each in named)
    pairs = sum(_pairs(each.total()) for each in meters.values())
    same = sum(_pairs(count) for each in meters.values() for count in each.values())
    others = _pairs(len(named)) - pairs
    alike = sum(map(_pairs, everywhere.values())) - same
    if not pairs or not alike:
        return None
    chance = alike / others
    low, high = share_interval(same, pairs)
    return ComingBack(
        pairs=pairs,
        same=same,
        by_chance=pairs * chance,
        times=same / pairs / chance,
        interval=Interval(low / chance, high / chance),
        believed=believed,
    )


def _pairs(many: int) -> int:
    return many * (many - 1) // 2


def _minutes(cases: Sequence[ClosedCase]) -> Minutes | None:
    told = sorted(each.minutes for each in cases if each.minutes is not None)
    if not told:
        return None
    return Minutes(cases=len(told), middle=median(told), nine_in_ten=told[-(-9 * len(told) // 10) - 1])


def _first_time_right(cases: Sequence[ClosedCase]) -> Proportion | None:
    tried = [each.remedies for each in cases if each.remedies]
    hits = sum(each[0].verdict == "cured" and len(each) == 1 for each in tried)
    if not tried:
        return None
    return Proportion(hits=hits, of=len(tried), share=hits / len(tried), interval=share_interval(hits, len(tried)))


def _calibration(engine: Engine, cases: Sequence[ClosedCase]) -> tuple[Calibration, ...]:
    """Return how probable causes came true, as they were before anything was put right; by the rule book of today."""
    every: list[tuple[float, bool]] = []
    first: list[tuple[float, bool]] = []
    for case in cases:
        held = as_it_was(engine, case)
        named = dict(zip(held.network.causes, held.result.probabilities.tolist(), strict=True))
        every += ((share, name == case.cause) for name, share in named.items() if share >= NAMED_FROM)
        leading = held.order[0]
        first.append((named[leading], leading == case.cause))
    return (
        calibration("the cause that came first", first),
        calibration(f"every cause of {NAMED_FROM:.0%} or more", every),
    )
