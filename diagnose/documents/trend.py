"""A log's analysis as a document for other programs, ``"format": "trend/1"``; texts and pictures are made from it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from diagnose.analyses.parameters import Array
from diagnose.analyses.trend import SignResult, Trend, observations
from diagnose.analyses.trend_series import RATE, Mark
from diagnose.rule_book.types import RuleBook

FORMAT = "trend/1"

Document = dict[str, Any]

BINS = 1200
"""Stretches into which a log is drawn together for a picture: lowest, middle and highest reading of each."""

MOST_MARKS = 50


def trend_document(trend: Trend, rule_book: RuleBook) -> Document:
    """Return everything that a log says; times as people read them and in seconds, sizes in the log's unit."""
    return {
        "format": FORMAT,
        "log": _log(trend),
        "statistics": _statistics(trend),
        "false_alarm_rate": RATE,
        "mechanisms": [_mechanism(each) for each in trend.present],
        "signs": [_sign(each, trend) for each in trend.signs],
        "findings": [
            {
                "id": each.finding,
                "title": rule_book.findings[each.finding].title,
                "present": each.present,
                "because": each.quote,
            }
            for each in observations(trend, rule_book)
        ],
        "warnings": list(trend.warnings),
        "picture": _picture(trend),
    }


def _log(trend: Trend) -> Document:
    log, times = trend.log, trend.seen.data.times
    beside = {"loop current": trend.seen.current, "pump": trend.seen.running, "second meter": trend.seen.second}
    return {
        "file": log.file,
        "unit": log.unit,
        "readings": len(times),
        "missing": int(np.count_nonzero(~np.isfinite(log.flow))),
        "from": log.clock.shown(float(times[0])),
        "to": log.clock.shown(float(times[-1])),
        "usual_step_seconds": log.clock.step,
        "gaps": log.clock.gaps,
        "longest_gap_seconds": log.clock.longest_gap,
        "beside": [name for name, column in beside.items() if column is not None],
    }


def _statistics(trend: Trend) -> Document:
    values = trend.seen.data.values
    low, quarter, middle, three, high = np.quantile(values, [0.0, 0.25, 0.5, 0.75, 1.0])
    return {
        "mean": float(values.mean()),
        "standard_deviation": float(values.std(ddof=1)),
        "least": float(low),
        "lower_quartile": float(quarter),
        "median": float(middle),
        "upper_quartile": float(three),
        "greatest": float(high),
        "noise": trend.seen.data.noise.sd,
        "resolution": trend.seen.data.noise.resolution,
    }


def _mechanism(each: SignResult) -> Document:
    parameters = {name: _plain(value) for name, value in each.sign.parameters.items()}
    return {
        "id": each.known.id,
        "title": each.known.title,
        "probability": round(each.probability, 6),
        "parameters": parameters,
    }


def _plain(value: float | str) -> float | str | None:
    return value if isinstance(value, str) or math.isfinite(value) else None


def _sign(each: SignResult, trend: Trend) -> Document:
    sign = each.sign
    told = _mechanism(each)
    return told | {
        "present": sign.present,
        "statistic": sign.statistic,
        "value": _plain(sign.value),
        "limit": _plain(sign.limit),
        "because": sign.because,
        "untested": sign.untested,
        "means": each.known.means,
        "unit": sign.unit or trend.log.unit,
        "marks": [_mark(mark, trend) for mark in sign.marks[:MOST_MARKS]],
        "marks_in_all": len(sign.marks),
    }


def _mark(mark: Mark, trend: Trend) -> Document:
    shown = trend.log.clock.shown
    return {
        "from": shown(mark.start),
        "to": shown(mark.end),
        "start": mark.start,
        "seconds": mark.end - mark.start,
        "size": _plain(mark.size),
    }


def _picture(trend: Trend) -> Document:
    """Return lowest, middle and highest reading of even stretches of time; stretches without readings have none."""
    data = trend.seen.data
    span = float(data.times[-1] - data.times[0]) or 1.0
    count = min(BINS, len(data.times))
    places = np.minimum(((data.times - data.times[0]) / span * count).astype(np.intp), count - 1)
    starts = np.flatnonzero(np.diff(places, prepend=-1))
    filled = places[starts]
    return {
        "start": float(data.times[0]),
        "end": float(data.times[-1]),
        "low": _spread(np.minimum.reduceat(data.values, starts), filled, count),
        "middle": _spread(np.add.reduceat(data.values, starts) / np.diff([*starts, len(places)]), filled, count),
        "high": _spread(np.maximum.reduceat(data.values, starts), filled, count),
    }


def _spread(values: Array, filled: Any, count: int) -> list[float | None]:
    found: list[float | None] = [None] * count
    for place, value in zip(filled.tolist(), values.tolist(), strict=True):
        found[place] = value
    return found
