"""A trend document as a picture file: readings over time with the signs marked, and the day of the plant beside them.

matplotlib is an extra of its own (``pip install 'diagnose[plots]'``) and loaded only here.
"""

from __future__ import annotations

from itertools import cycle
from pathlib import Path
from typing import Any

from diagnose.documents.plotting import new_figure, save_figure
from diagnose.documents.trend_types import ProfileDocument, SignDocument, SpanDocument, TrendDocument

_BLUE = "#0072b2"
_COLOURS = ("#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9", "#f0e442")
SHORT = 0.004
"""Share of the axis below which a mark is a point with a tick above the readings, and not a stretch."""


def save_plot(document: TrendDocument, path: Path) -> None:
    """Draw a log with its signs into a PNG, SVG or PDF file.

    Raises WrongUse for another kind of file, BadInput without matplotlib or when the file cannot be written.
    """
    log, picture, profile = document.log, document.picture, document.profile
    marked = [each for each in document.signs if each.present and each.marks]
    figure = new_figure(path, (11 if profile else 9, 4.2 + 0.28 * len(marked)))
    figure.suptitle(f"{log.file}: {log.readings:,} readings, {log.from_} to {log.to}", fontsize="medium")
    grid = figure.add_gridspec(2, 2 if profile else 1, height_ratios=(4, max(0.2, 0.28 * len(marked))),
                               width_ratios=(3, 1) if profile else (1,))  # fmt: skip
    axes = figure.add_subplot(grid[0, 0])
    rows = figure.add_subplot(grid[1, 0], sharex=axes)
    _readings(axes, picture)
    _ticks(axes, rows, picture)
    axes.set_ylabel(f"reading [{log.unit}]")
    _signs(axes, rows, marked, picture)
    if profile:
        _profile(figure.add_subplot(grid[0, 1]), profile, log.unit)
    save_figure(figure, path)


def _readings(axes: Any, picture: SpanDocument) -> None:
    count, span = len(picture.low), picture.end - picture.start
    nothing = float("nan")
    # Where there are no readings the line is broken.
    lows, middles, highs = (
        [nothing if value is None else value for value in column]
        for column in (picture.low, picture.middle, picture.high)
    )
    times = [picture.start + (place + 0.5) / count * span for place in range(count)]
    axes.fill_between(times, lows, highs, color=_BLUE, alpha=0.3, linewidth=0)
    # A band that is one stretch wide has no area: without its line a short drop or spike would not be seen.
    axes.vlines(times, lows, highs, color=_BLUE, linewidth=0.8)
    axes.plot(times, middles, color=_BLUE, linewidth=0.8, label="readings")
    if picture.second is not None:
        second = [nothing if value is None else value for value in picture.second]
        axes.plot(times, second, color="#555555", linewidth=0.8, linestyle="--", label="second meter")
        axes.legend(fontsize="x-small", frameon=False, loc="upper right")
    axes.set_xlim(picture.start - 0.01 * span, picture.end + 0.01 * span)


def _ticks(axes: Any, rows: Any, picture: SpanDocument) -> None:
    rows.set_xticks([each.at for each in picture.ticks], [each.label for each in picture.ticks])
    axes.tick_params(axis="x", labelbottom=False)
    axes.grid(axis="x", alpha=0.3, linewidth=0.5)


def _signs(axes: Any, rows: Any, marked: list[SignDocument], picture: SpanDocument) -> None:
    """Mark each sign in the readings, and once more in a row of its own below them, where none covers another."""
    span = (picture.end - picture.start) or 1.0
    for number, (sign, colour) in enumerate(zip(marked, cycle(_COLOURS), strict=False)):
        for mark in sign.marks:
            width = max(mark.seconds, SHORT * span)
            start = mark.start + mark.seconds / 2 - width / 2
            whole = mark.seconds > 0.9 * span
            if not whole:
                axes.axvspan(start, start + width, color=colour, alpha=0.25, linewidth=0)
            rows.broken_barh([(start, width)], (number - 0.35, 0.7), color=colour)
    rows.set_ylim(max(len(marked), 1) - 0.5, -0.5)
    rows.set_yticks(range(len(marked)), [each.title for each in marked], fontsize="small")
    rows.spines[["top", "right", "left"]].set_visible(False)


def _profile(axes: Any, profile: ProfileDocument, unit: str) -> None:
    hours = [hour + 0.5 for hour in range(24)]
    nothing = float("nan")
    low, middle, high = (
        [nothing if value is None else value for value in column]
        for column in (profile.low, profile.middle, profile.high)
    )
    axes.fill_between(hours, low, high, color=_BLUE, alpha=0.2, linewidth=0, label="eight days in ten")
    axes.plot(hours, middle, color=_BLUE, label="middle" if profile.changed is None else "before")
    if profile.changed is not None:
        after = [nothing if value is None else value for value in profile.changed]
        axes.plot(hours, after, color=_COLOURS[0], linestyle="--", label=f"from {profile.since} on")
    axes.set_xticks([0, 6, 12, 18, 24])
    axes.set_xlabel("hour of the day")
    axes.set_title(f"the day [{unit}], {profile.days} days", fontsize="small")
    axes.set_ylim(bottom=min(0.0, axes.get_ylim()[0]))
    axes.legend(fontsize="x-small", frameon=False, loc="upper center", bbox_to_anchor=(0.5, -0.16))
