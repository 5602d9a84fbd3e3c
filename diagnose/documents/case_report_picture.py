"""How the ranking of a case moved, as lines to draw: told apart by dash, mark and letter, for paper without colour."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

from diagnose.documents.blocks import percent
from diagnose.documents.case_report_types import RankingDocument

WIDTH, HEIGHT = 640, 260
LEFT, RIGHT, TOP, BOTTOM = 52, 30, 24, 40
"""Room around the lines, in which the axes are labelled."""

DASHES = ("none", "9 4", "2 4", "12 4 2 4", "5 5")
MARKS = ("circle", "square", "triangle", "open circle", "open square")
LETTERS = "ABCDE"

APART = 15
"""Letters at the ends of lines stand at least so far apart."""

MOST_TICKS = 12


class LinePoint(NamedTuple):
    """A point of a line, and its three corners where it is drawn as a triangle."""

    x: float
    y: float

    @property
    def triangle(self) -> str:
        """Return the corners of a triangle around the point."""
        return f"{self.x - 5:.1f},{self.y + 4:.1f} {self.x + 5:.1f},{self.y + 4:.1f} {self.x:.1f},{self.y - 5:.1f}"


class CauseLine(NamedTuple):
    """One cause: its letter, how its line and its points look, and where its letter stands."""

    letter: str
    title: str
    dash: str
    mark: str
    points: tuple[LinePoint, ...]
    letter_y: float
    first: str
    last: str
    highest: str

    @property
    def path(self) -> str:
        """Return the points of the line as SVG has them."""
        return " ".join(f"{each.x:.1f},{each.y:.1f}" for each in self.points)


class Picture(NamedTuple):
    """The picture: lines, ticks below (where, and the number of the entry) and beside, and what it shows in words.

    ``cures`` are where something was mended.
    """

    lines: tuple[CauseLine, ...]
    cures: tuple[float, ...]
    below: tuple[tuple[float, str], ...]
    beside: tuple[tuple[float, str], ...]
    text: str
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    bottom: int = HEIGHT - BOTTOM


def ranking_picture(ranking: RankingDocument) -> Picture | None:
    """Return the picture of a ranking, None where nothing moved because there was but one moment."""
    count = len(ranking.after)
    if count < 2 or not ranking.causes:
        return None
    across = [LEFT + (WIDTH - LEFT - RIGHT) * number / (count - 1) for number in range(count)]
    step = -(-count // MOST_TICKS)
    ends = _spread([_height(each.probabilities[-1]) for each in ranking.causes])
    lines = tuple(
        CauseLine(
            letter=LETTERS[number],
            title=cause.title,
            dash=DASHES[number],
            mark=MARKS[number],
            points=tuple(LinePoint(x, _height(share)) for x, share in zip(across, cause.probabilities, strict=True)),
            letter_y=ends[number],
            first=percent(cause.probabilities[0]),
            last=percent(cause.probabilities[-1]),
            highest=percent(max(cause.probabilities)),
        )
        for number, cause in enumerate(ranking.causes)
    )
    return Picture(
        lines=lines,
        cures=tuple((across[number - 1] + across[number]) / 2 for number in ranking.anew if number),
        below=tuple((x, str(after)) for x, after in list(zip(across, ranking.after, strict=True))[::step]),
        beside=tuple((_height(share / 100), f"{share} %") for share in (0, 25, 50, 75, 100)),
        text=_in_words(lines, count),
    )


def _height(share: float) -> float:
    return round(HEIGHT - BOTTOM - share * (HEIGHT - BOTTOM - TOP), 1)


def _spread(heights: list[float]) -> list[float]:
    """Return heights moved apart upwards, from the lowest, so that what stands there can be read.

    >>> _spread([220.0, 218.0, 40.0])
    [220.0, 205.0, 40.0]
    """
    order = sorted(range(len(heights)), key=lambda number: -heights[number])
    moved = dict.fromkeys(order, 0.0)
    for number in order:
        moved[number] = heights[number]
    for lower, upper in pairwise(order):
        moved[upper] = min(moved[upper], moved[lower] - APART)
    return [moved[number] for number in range(len(heights))]


def _in_words(lines: tuple[CauseLine, ...], count: int) -> str:
    told = "; ".join(f"{each.letter}, {each.title}, from {each.first} to {each.last}" for each in lines)
    return f"Probability of the leading causes at {count} moments: {told}."
