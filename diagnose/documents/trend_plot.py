"""A trend document as a picture file: readings over time with the signs marked.

matplotlib is an extra of its own (``pip install 'diagnose[plots]'``) and loaded only here.
"""

from __future__ import annotations

from itertools import cycle
from pathlib import Path
from typing import Any

from diagnose.documents.plotting import new_figure, save_figure
from diagnose.documents.trend_types import SignDocument, SpanDocument, TrendDocument

_COLOURS = ("#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9", "#f0e442")
_UNITS = ((86400.0, "days"), (3600.0, "hours"), (60.0, "minutes"), (1.0, "seconds"))


def save_plot(document: TrendDocument, path: Path) -> None:
    """Draw a log with its signs into a PNG, SVG or PDF file.

    Raises WrongUse for another kind of file, BadInput without matplotlib or when the file cannot be written.
    """
    figure = new_figure(path, (10, 5.0))
    log, picture = document.log, document.picture
    figure.suptitle(f"{log.file}: {log.readings:,} readings, {log.from_} to {log.to}", fontsize="medium")
    axes = figure.subplots()
    size, word = next((each for each in _UNITS if picture.end - picture.start >= 2 * each[0]), _UNITS[-1])
    _readings(axes, picture, size)
    colours = cycle(_COLOURS)
    for each in document.signs:
        if each.present and each.marks:
            _marks(axes, each, picture.start, size, next(colours))
    axes.set_xlabel(f"{word} from {log.from_}")
    axes.set_ylabel(f"reading [{log.unit}]")
    figure.legend(loc="outside lower center", ncols=3, fontsize="small", frameon=False)
    save_figure(figure, path)


def _readings(axes: Any, picture: SpanDocument, size: float) -> None:
    count = len(picture.low)
    span = (picture.end - picture.start) / size
    drawn = [
        ((place + 0.5) / count * span, low, middle, high)
        for place, (low, middle, high) in enumerate(zip(picture.low, picture.middle, picture.high, strict=True))
        if low is not None
    ]
    times, lows, middles, highs = zip(*drawn, strict=True)
    axes.fill_between(times, lows, highs, color="#0072b2", alpha=0.3, linewidth=0, label="lowest to highest")
    axes.plot(times, middles, color="#0072b2", linewidth=0.8, label="readings")


def _marks(axes: Any, sign: SignDocument, start: float, size: float, colour: str) -> None:
    least = (axes.get_xlim()[1] - axes.get_xlim()[0]) / 400
    for number, mark in enumerate(sign.marks):
        at = (mark.start - start) / size
        end = at + max(mark.seconds / size, least)
        axes.axvspan(at, end, color=colour, alpha=0.35, linewidth=0, label=sign.title if not number else None)
