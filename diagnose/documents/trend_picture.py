"""A log drawn with letters: readings over time, and beneath them where each sign was seen."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from diagnose.documents.letters import LABEL, Sheet, shows
from diagnose.documents.trend_types import ProfileDocument, SignDocument, SpanDocument, TrendDocument

WIDE = 2
"""Letters for each hour of the day."""

COLUMNS = 69
"""Letters of the picture; with the labels it fills 80 columns."""

BARS, PLAIN_BARS = ("█", "▬"), ("#", "=")
"""Readings, and where a sign was seen; the second for terminals that cannot show the first."""

MARGIN = 0.04


def print_picture(console: Console, document: TrendDocument) -> None:
    """Print readings over time with the signs that were seen; nothing when all readings are at one time."""
    picture = document.picture
    if picture.start == picture.end:
        return
    reading, seen = BARS if shows(console, "".join(BARS)) else PLAIN_BARS
    console.print()
    console.print(Text(f"Readings [{document.log.unit}]", "head"))
    for line in _readings(picture, reading).rows():
        console.print(Text(line.rstrip()))
    console.print(Text(f"{'':{LABEL}}  {_axis(picture)}", "quiet"))
    for each in document.signs:
        if each.present and each.marks:
            _print_marks(console, each, picture, seen)
    if document.profile is not None:
        _print_profile(console, document.profile, document.log.unit, reading, seen)


def _axis(picture: SpanDocument) -> str:
    """Return the labels of the axis of time, each beginning below its place."""
    row = [" "] * COLUMNS
    free = 0
    for tick in picture.ticks:
        column = int((tick.at - picture.start) / (picture.end - picture.start) * (COLUMNS - 1))
        column = min(column, COLUMNS - len(tick.label))
        if column >= free:
            row[column : column + len(tick.label)] = tick.label
            free = column + len(tick.label) + 1
    return "".join(row).rstrip()


def _print_profile(console: Console, profile: ProfileDocument, unit: str, reading: str, other: str) -> None:
    """Print the usual day: for each hour the span of eight days in ten, or the middles before and after a change."""
    lines = (profile.low, profile.high) if profile.changed is None else (profile.middle, profile.changed)
    both = [each for line in lines for each in line if each is not None]
    if not both or min(both) == max(both):
        return
    low, high = min(0.0, *both), max(0.0, *both)
    beyond = MARGIN * (high - low)
    sheet = Sheet((0.0, 24.0), (low - beyond, high + beyond), 24 * WIDE)
    for column in range(24 * WIDE):
        first, second = (line[column // WIDE] for line in lines)
        if profile.changed is None and first is not None and second is not None:
            sheet.bar(column, first, second, reading)
        elif profile.changed is not None:
            for value, mark in ((first, reading), (second, other)):
                if value is not None:
                    sheet.bar(column, value, value, mark)
    console.print()
    days = f"{profile.days} days" if profile.changed is None else f"{reading} before, {other} from {profile.since} on"
    console.print(Text(f"The day by its hours [{unit}], {days}", "head"))
    for line in sheet.rows():
        console.print(Text(line.rstrip()))
    hours = "".join(f"{hour:<{6 * WIDE}}" for hour in ("0:00", "6:00", "12:00", "18:00")).rstrip()
    console.print(Text(f"{'':{LABEL}}  {hours}", "quiet"))


def _readings(picture: SpanDocument, mark: str) -> Sheet:
    lows = [each for each in picture.low if each is not None]
    highs = [each for each in picture.high if each is not None]
    low, high = min(lows), max(highs)
    low, high = (min(low, 0.0), max(high, 0.0)) if 0.0 < low < 0.5 * high or low < 0.0 else (low, high)
    beyond = MARGIN * (high - low) or max(abs(high), 1.0) * MARGIN
    sheet = Sheet((picture.start, picture.end), (low - beyond, high + beyond), COLUMNS)
    for column in range(COLUMNS):
        least, most = _within(picture.low, column), _within(picture.high, column)
        if least and most:
            sheet.bar(column, min(least), max(most), mark)
    return sheet


def _within(values: Sequence[float | None], column: int) -> list[float]:
    """Return the values of the stretches that fall into a column; of few stretches, the nearest one."""
    start, end = column * len(values) // COLUMNS, (column + 1) * len(values) // COLUMNS
    return [each for each in values[start : max(end, start + 1)] if each is not None]


def _print_marks(console: Console, sign: SignDocument, picture: SpanDocument, mark: str) -> None:
    span = picture.end - picture.start
    row = [" "] * COLUMNS
    for each in sign.marks:
        start = (each.start - picture.start) / span
        end = start + each.seconds / span
        for column in range(int(start * (COLUMNS - 1)), int(end * (COLUMNS - 1)) + 1):
            row[min(max(column, 0), COLUMNS - 1)] = mark
    console.print(Text(f"{'':{LABEL}}  {''.join(row).rstrip()}"))
    more = f" (the {len(sign.marks)} largest of {sign.marks_in_all})" if sign.marks_in_all > len(sign.marks) else ""
    console.print(Text(f"{'':{LABEL}}  {sign.title}{more}", "quiet"))
