"""From a log's analysis to its typed document; texts and pictures are made from that."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from diagnose.documents.trend_axis import ticks
from diagnose.documents.trend_types import (
    LogDocument,
    MarkDocument,
    ProfileDocument,
    SignDocument,
    SpanDocument,
    StatisticsDocument,
    TickDocument,
    TrendDocument,
    TrendMechanism,
)
from diagnose.documents.typed import FindingDocument
from diagnose.rule_book.book import RuleBook
from diagnose.tables.arrays import Array
from diagnose.trends.days import HOUR, days_of
from diagnose.trends.series import RATE, Mark
from diagnose.trends.stretches import stretches
from diagnose.trends.trend import SignResult, Trend, observations

BINS = 1200
"""Stretches into which a log is condensed for a picture: lowest, middle and highest reading of each."""

MOST_MARKS = 50

OF_DAYS = ("profile", "night-flow", "steps")
"""Detectors that tell from which day on the day is another one."""


def trend_document(trend: Trend, rule_book: RuleBook) -> TrendDocument:
    """Return everything that a log says; times as people read them and in seconds, sizes in the log's unit."""
    return TrendDocument(
        log=_log(trend),
        statistics=_statistics(trend),
        false_alarm_rate=RATE,
        mechanisms=tuple(_mechanism(each) for each in trend.present),
        signs=tuple(_sign(each, trend) for each in trend.signs),
        findings=tuple(
            FindingDocument(
                id=each.finding,
                title=rule_book.findings[each.finding].title,
                present=each.present,
                because=each.quote,
            )
            for each in observations(trend, rule_book)
        ),
        warnings=tuple(trend.warnings),
        picture=_picture(trend),
        profile=_profile(trend),
    )


def _log(trend: Trend) -> LogDocument:
    log, times = trend.log, trend.seen.data.times
    beside = {"loop current": trend.seen.current, "pump": trend.seen.running, "second meter": trend.seen.second}
    return LogDocument(
        file=log.file,
        unit=log.unit,
        readings=len(times),
        missing=int(np.count_nonzero(~np.isfinite(log.flow))),
        from_=log.clock.shown(float(times[0])),
        to=log.clock.shown(float(times[-1])),
        usual_step_seconds=log.clock.step,
        gaps=log.clock.gaps,
        longest_gap_seconds=log.clock.longest_gap,
        beside=tuple(name for name, column in beside.items() if column is not None),
    )


def _statistics(trend: Trend) -> StatisticsDocument:
    values = trend.seen.data.values
    low, quarter, middle, three, high = np.quantile(values, [0.0, 0.25, 0.5, 0.75, 1.0])
    return StatisticsDocument(
        mean=float(values.mean()),
        standard_deviation=float(values.std(ddof=1)),
        least=float(low),
        lower_quartile=float(quarter),
        median=float(middle),
        upper_quartile=float(three),
        greatest=float(high),
        noise=trend.seen.data.noise.sd,
        resolution=trend.seen.data.noise.resolution,
    )


def _mechanism(each: SignResult) -> TrendMechanism:
    parameters = {
        name: value if isinstance(value, str) else _finite(value) for name, value in each.sign.parameters.items()
    }
    return TrendMechanism(
        id=each.known.id,
        title=each.known.title,
        probability=round(each.probability, 6),
        parameters=parameters,
    )


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _sign(each: SignResult, trend: Trend) -> SignDocument:
    sign, told = each.sign, _mechanism(each)
    return SignDocument(
        id=told.id,
        title=told.title,
        probability=told.probability,
        parameters=told.parameters,
        present=sign.present,
        statistic=sign.statistic,
        value=_finite(sign.value),
        limit=_finite(sign.limit),
        because=sign.because,
        untested=sign.untested,
        excluded=sign.excludes and not sign.present,
        means=each.known.means,
        unit=sign.unit or trend.log.unit,
        marks=tuple(_mark(mark, trend) for mark in sign.marks[:MOST_MARKS]),
        marks_in_all=len(sign.marks),
    )


def _mark(mark: Mark, trend: Trend) -> MarkDocument:
    shown = trend.log.clock.shown
    return MarkDocument(
        from_=shown(mark.start),
        to=shown(mark.end),
        start=mark.start,
        seconds=mark.end - mark.start,
        size=_finite(mark.size),
    )


def _picture(trend: Trend) -> SpanDocument:
    """Return lowest, middle and highest reading of even stretches of time; stretches without readings have none."""
    data = trend.seen.data
    found = stretches(data, BINS)
    return SpanDocument(
        start=float(data.times[0]),
        end=float(data.times[-1]),
        low=_spread(found.low, found.filled, found.many),
        middle=_spread(found.middle, found.filled, found.many),
        high=_spread(found.high, found.filled, found.many),
        second=None if trend.seen.second is None else _means(trend.seen.second, found.places, found.many),
        ticks=tuple(
            TickDocument(at=at, label=label)
            for at, label in ticks(float(data.times[0]), float(data.times[-1]), trend.log.clock)
        ),
    )


def _means(column: Array, places: Any, count: int) -> tuple[float | None, ...]:
    """Return the mean of a column in each stretch, None where it has none."""
    there = np.isfinite(column)
    filled = np.bincount(places[there], minlength=count)
    sums = np.bincount(places[there], column[there], minlength=count)
    return tuple(
        float(total) / each if each else None for total, each in zip(sums.tolist(), filled.tolist(), strict=True)
    )


def _profile(trend: Trend) -> ProfileDocument | None:
    """Return the day of the plant, None if the log has no days to compare."""
    days = None if trend.log.clock.kind == "elapsed" else days_of(trend.seen.data)
    if days is None:
        return None
    shift = round(trend.log.clock.offset / HOUR)
    hours = np.roll(days.hours, shift, axis=1)
    since = _changed_since(trend)
    before = np.ones(len(hours), bool) if since is None else days.starts < since
    quantiles = [_hourly(np.nanquantile, hours[before], each) for each in (0.1, 0.5, 0.9)]
    return ProfileDocument(
        days=len(hours),
        low=quantiles[0],
        middle=quantiles[1],
        high=quantiles[2],
        since=None if since is None else trend.log.clock.shown(since),
        changed=None if since is None else _hourly(np.nanquantile, hours[~before], 0.5),
    )


def _changed_since(trend: Trend) -> float | None:
    """Return the first day of another day, by the sign that tells of it."""
    for name in OF_DAYS:
        for each in trend.present:
            if each.known.detector == name and each.sign.marks and "days" in each.sign.parameters:
                mark = each.sign.marks[0]
                return mark.end if name == "steps" else mark.start
    return None


def _hourly(quantile: Any, hours: Array, share: float) -> tuple[float | None, ...]:
    known = np.isfinite(hours).any(axis=0)
    found = np.full(hours.shape[1], np.nan)
    if known.any():
        found[known] = quantile(hours[:, known], share, axis=0)
    return tuple(_finite(each) for each in found.tolist())


def _spread(values: Array, filled: Any, count: int) -> tuple[float | None, ...]:
    found: list[float | None] = [None] * count
    for place, value in zip(filled.tolist(), values.tolist(), strict=True):
        found[place] = value
    return tuple(found)
