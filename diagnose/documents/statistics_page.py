"""Statistics as one page of HTML: tables and pictures, no outside resource; whatever comes from cases is escaped."""

from __future__ import annotations

from datetime import datetime
from typing import NamedTuple

from diagnose.documents.statistics_text import parts_in_words
from diagnose.learning.calibration import Calibration
from diagnose.learning.statistics import Ranked, Statistics

MOST_BARS = 15
"""So many bars; the table below them has all."""

WIDTH, ROW, LABEL, LONGEST, LANE = 720, 22, 330, 170, 590
"""Of the Pareto picture: its width, a row, where bars begin, the longest bar, where the lane of the sum begins."""

SIDE, EDGE = 300, 46


class Bar(NamedTuple):
    """A bar of the Pareto picture: where it stands, how long it is, and how far right the dot of the sum lies."""

    y: float
    width: float
    label: str
    told: str
    dot: float


class PicturePoint(NamedTuple):
    """A point of the reliability picture: where it stands, with its limits, and how large it is."""

    x: float
    y: float
    low: float
    high: float
    size: float
    told: str


def statistics_page(told: Statistics, at: datetime) -> str:
    """Return the page."""
    from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

    environment = Environment(
        loader=PackageLoader("diagnose.documents"),
        autoescape=select_autoescape(["html"]),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters |= {"percent": lambda share: f"{100 * share:.0f} %", "two": lambda value: f"{value:.2f}"}
    return environment.get_template("statistics.html").render(
        told=told,
        made=at.strftime("%Y-%m-%d %H:%M %Z").strip(),
        pareto=[("Causes", told.causes, _bars(told.causes)), ("Areas", told.areas, _bars(told.areas))],
        pictures=[(each, _points(each), parts_in_words(each)) for each in told.calibration if each.forecasts],
        ticks=_ticks(),
        size={"width": WIDTH, "row": ROW, "label": LABEL, "lane": LANE, "side": SIDE, "edge": EDGE},
    )


def _bars(rows: tuple[Ranked, ...]) -> list[Bar]:
    most = max((each.share for each in rows), default=1.0)
    return [
        Bar(
            y=number * ROW,
            width=max(1.0, LONGEST * each.share / most),
            label=each.title if len(each.title) <= 46 else f"{each.title[:45]}…",
            told=f"{each.cases} ({100 * each.share:.0f} %)",
            dot=LANE + (WIDTH - 10 - LANE) * each.down_to_here,
        )
        for number, each in enumerate(rows[:MOST_BARS])
    ]


def _points(told: Calibration) -> list[PicturePoint]:
    most = max(each.forecasts for each in told.bins)
    return [
        PicturePoint(
            x=EDGE + SIDE * each.mean,
            y=_up(each.share),
            low=_up(each.interval.low),
            high=_up(each.interval.high),
            size=3 + 5 * (each.forecasts / most) ** 0.5,
            told=f"said {100 * each.mean:.0f} %, came true in {each.true} of {each.forecasts}",
        )
        for each in told.bins
    ]


def _up(share: float) -> float:
    return 10 + SIDE * (1 - share)


def _ticks() -> list[tuple[str, float, float]]:
    """Return the marks of both axes: what stands there, how far right, and how far down."""
    return [(f"{each} %", EDGE + SIDE * each / 100, _up(each / 100)) for each in range(0, 101, 20)]
