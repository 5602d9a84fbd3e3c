"""Figures that are kept with a case, as a picture for paper without colour: pairs of readings, or a log."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from itertools import islice
from math import ceil, floor, isfinite, log10
from typing import NamedTuple

WIDTH, HEIGHT = 640, 240
LEFT, RIGHT, TOP, BOTTOM = 70, 20, 14, 46
"""Room around the picture, in which the axes are labelled."""

MOST_POINTS = 1_000
"""So many figures are drawn; a table of more is not ours."""

MARKS = ("circle", "open square", "triangle")
"""How the readings of each comparison look."""

TICKS = 5

Point = tuple[float, float]


class Picture(NamedTuple):
    """A picture: points or lines, what stands below and beside it, and what each mark means.

    ``sides`` are the two that are compared. ``points`` have a place and the name of their mark; ``band`` and ``line``
    are places as SVG has them. ``zero`` is the height at which nothing differs.
    """

    across: str
    up: str
    below: tuple[tuple[float, str], ...]
    beside: tuple[tuple[float, str], ...]
    sides: tuple[str, str] = ("", "")
    points: tuple[tuple[float, float, str], ...] = ()
    marks: tuple[tuple[str, str], ...] = ()
    band: str = ""
    line: str = ""
    zero: float | None = None
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    bottom: int = HEIGHT - BOTTOM


def figures_picture(kind: str, data: bytes) -> Picture | None:
    """Return the picture of figures, None where they cannot be drawn: another program may have written them.

    >>> figures_picture("pairs", b"compared,reference [l/s],meter [l/s]\\n,10,11\\n,20,21.5\\n").up
    'meter − reference [l/s]'
    """
    try:
        head, *rows = islice(csv.reader(io.StringIO(data.decode())), MOST_POINTS + 1)
        picture = _pairs(head, rows) if kind == "pairs" else _log(head, rows)
    except (ValueError, csv.Error):  # no table, no figures, or not as many as there are headings
        return None
    return picture


def _pairs(head: Sequence[str], rows: Sequence[Sequence[str]]) -> Picture:
    """Draw by how much each reading differs, over the reference."""
    pairs = [(name, _figure(reference), _figure(indicated)) for name, reference, indicated in rows]
    drawn = [(name, reference, indicated - reference) for name, reference, indicated in pairs]
    names = list(dict.fromkeys(name for name, *_ in drawn))[: len(MARKS)]
    x, y = _Axis([each[1] for each in drawn], LEFT, WIDTH - RIGHT), _height([0.0, *(each[2] for each in drawn)])
    (one, unit), (other, _) = (each.rstrip("]").split(" [") for each in head[1:])
    return Picture(
        across=head[1],
        up=f"{other} − {one} [{unit}]",
        below=x.ticks(),
        beside=y.ticks(),
        sides=(one, other),
        points=tuple((x.at(at), y.at(by), MARKS[names.index(name)]) for name, at, by in drawn if name in names),
        marks=tuple((MARKS[number], name) for number, name in enumerate(names) if name),
        zero=y.at(0.0),
    )


def _log(head: Sequence[str], rows: Sequence[Sequence[str]]) -> Picture:
    """Draw the mean of each stretch as a line, within what lies between its lowest and its highest reading."""
    figures = [tuple(map(_figure, row[1:])) for row in rows]
    seconds, lows, means, highs = (list(column) for column in zip(*figures, strict=True))
    x, y = _Axis(seconds, LEFT, WIDTH - RIGHT, exact=True), _height([*lows, *highs])
    upper = [(x.at(time), y.at(value)) for time, value in zip(seconds, highs, strict=True)]
    lower = [(x.at(time), y.at(value)) for time, value in zip(seconds, lows, strict=True)]
    shown = [rows[round(number * (len(rows) - 1) / 2)] for number in range(3)] if len(rows) > 2 else rows[:1]
    return Picture(
        across="time, as the log has it",
        up=f"reading {head[3].partition(' ')[2]}",
        below=tuple((x.at(_figure(each[1])), each[0]) for each in shown),
        beside=y.ticks(),
        band=_places([*upper, *reversed(lower)]),
        line=_places([(x.at(time), y.at(value)) for time, value in zip(seconds, means, strict=True)]),
    )


def _figure(text: str) -> float:
    value = float(text)
    if not isfinite(value):
        raise ValueError(text)
    return value


def _places(points: Sequence[Point]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def _height(values: Sequence[float]) -> _Axis:
    return _Axis(values, HEIGHT - BOTTOM, TOP)


class _Axis:
    """From figures to places on the paper."""

    def __init__(self, values: Sequence[float], start: float, end: float, exact: bool = False) -> None:
        low, high = min(values), max(values)
        room = 0.0 if exact else 0.05 * (high - low) or max(abs(high), 1.0) * 0.05
        self.low, self.high = low - room, high + room
        self.start, self.end = start, end

    def at(self, value: float) -> float:
        """Return where a figure stands."""
        share = (value - self.low) / ((self.high - self.low) or 1.0)
        return round(self.start + share * (self.end - self.start), 1)

    def ticks(self) -> tuple[tuple[float, str], ...]:
        """Return round figures with their places."""
        span = (self.high - self.low) or 1.0
        power = 10.0 ** floor(log10(span / TICKS))
        step = next(each * power for each in (1, 2, 5, 10) if each * power >= span / TICKS)
        first = ceil(self.low / step)
        values = [number * step for number in range(first, first + 2 * TICKS + 2)]
        return tuple((self.at(each), f"{each:.6g}") for each in values if self.low <= each <= self.high)
