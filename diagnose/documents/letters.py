"""A sheet on which curves are drawn with letters: one value to the right, the other upwards."""

from __future__ import annotations

import math
from collections.abc import Iterable

from rich.console import Console

ROWS = 13
LABEL = 8
"""Letters of the label at the left of each row."""


def shows(console: Console, letters: str) -> bool:
    """Tell whether a terminal can show these letters."""
    try:
        letters.encode(console.encoding or "utf-8")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


class Sheet:
    """Letters on a grid, labelled at the ends of both axes and at zero."""

    def __init__(self, across: tuple[float, float], upwards: tuple[float, float], columns: int) -> None:
        self.across, self.upwards, self.columns = across, upwards, columns
        self.cells = [[" "] * columns for _ in range(ROWS)]

    @property
    def zero(self) -> int | None:
        """Return the row of zero, None where that is not on the sheet."""
        return self.row(0.0)

    def rows(self) -> list[str]:
        """Return the rows with their labels."""
        low, high = self.upwards
        found = []
        for number, row in enumerate(self.cells):
            value = high + (low - high) * number / (ROWS - 1)
            label = "0" if number == self.zero else f"{value:.3g}" if number in (0, ROWS - 1) else ""
            found.append(f"{label:>{LABEL}} |{''.join(row)}")
        return found

    def lines(self) -> list[str]:
        """Return the rows, and the ends of the axis below them."""
        first, last = (f"{each:.4g}" for each in self.across)
        return [*self.rows(), f"{'':{LABEL}}  {first}{last:>{self.columns - len(first)}}"]

    def draw(self, points: Iterable[tuple[float, float]], mark: str) -> None:
        """Put a mark at every point that lies on the sheet."""
        for right, up in points:
            row, column = self.row(up), self.column(right)
            if row is not None and 0 <= column < self.columns:
                self.cells[row][column] = mark

    def bar(self, column: int, low: float, high: float, mark: str) -> None:
        """Fill a column from one value to another."""
        top, bottom = self.row(high), self.row(low)
        if top is not None and bottom is not None:
            for row in range(top, bottom + 1):
                self.cells[row][column] = mark

    def rule(self, value: float, mark: str) -> None:
        """Draw a horizontal line."""
        row = self.row(value)
        if row is not None:
            self.cells[row] = [mark] * self.columns

    def row(self, value: float) -> int | None:
        """Return the row of a value, None where it is not on the sheet."""
        low, high = self.upwards
        row = (high - value) / (high - low) * (ROWS - 1)
        return round(row) if math.isfinite(row) and -0.5 <= row < ROWS - 0.5 else None

    def column(self, value: float) -> int:
        """Return the column of a value."""
        first, last = self.across
        return round((value - first) / (last - first) * (self.columns - 1))
