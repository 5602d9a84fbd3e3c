"""The figures behind an analysis as CSV, to be kept with a case: pairs of readings, or a log in few stretches."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from diagnose.rule_book.patterns import ComparedAt
from diagnose.units import unit_info

if TYPE_CHECKING:  # pairs that somebody typed need no log
    from diagnose.tables.readings import Readings
    from diagnose.trends.trend import Trend

MOST_SAID = 3
"""So much of what an analysis says stands beside its figures."""

STRETCHES = 600
"""Of a log at most so many even stretches of time are kept."""


_SIDES: dict[ComparedAt, tuple[str, str]] = {
    "reference": ("reference", "meter"),
    "control-system": ("display", "control system"),
    "counter": ("display", "counter"),
}
"""What stands on either side of a comparison, as headings of its figures."""


def figures_of_pairs(found: Sequence[Readings], compared: ComparedAt) -> str:
    """Return pairs of readings, those of each comparison below one another.

    >>> from diagnose.tables.readings import Readings
    >>> readings = Readings(reference=(0.01,), indicated=(0.011,), unit="l/s")
    >>> print(figures_of_pairs([readings], "reference"), end="")
    compared,reference [l/s],meter [l/s]
    ,10,11
    """
    unit = found[0].unit
    factor = unit_info(unit).factor
    pairs = ((each.name, pair) for each in found for pair in zip(each.reference, each.indicated, strict=True))
    rows = ((name, *(_figure(value / factor) for value in pair)) for name, pair in pairs)
    return _csv((("compared", *(f"{side} [{unit}]" for side in _SIDES[compared])), *rows))


def figures_of_log(trend: Trend) -> str:
    """Return lowest, mean and highest reading of each stretch of a log that has any, at the time it begins."""
    from diagnose.trends.stretches import stretches

    data, unit, shown = trend.seen.data, trend.log.unit, trend.log.clock.shown
    found = stretches(data, STRETCHES)
    start, end = float(data.times[0]), float(data.times[-1])
    times = [start + place * (end - start) / found.many for place in found.filled.tolist()]
    columns = (found.low.tolist(), found.middle.tolist(), found.high.tolist())
    rows = (
        (shown(time), f"{time - start:.0f}", *map(_figure, figures))
        for time, *figures in zip(times, *columns, strict=True)
    )
    heads = [f"{name} [{unit}]" for name in ("lowest", "mean", "highest")]
    return _csv((("time", "seconds", *heads), *rows))


def in_words(about: str, says: Sequence[str]) -> str:
    """Return what stands beside figures, for those who do not see their picture.

    >>> in_words("3 pairs", ["agrees", "zero 0.1 m3/h"])
    '3 pairs: agrees; zero 0.1 m3/h'
    """
    return f"{about}: {'; '.join(says[:MOST_SAID])}"


def _figure(value: float) -> str:
    return f"{value:.6g}"


def _csv(rows: Iterable[Sequence[str]]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()
