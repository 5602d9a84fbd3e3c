"""Tables of what was tried and what came of it."""

from __future__ import annotations

from collections.abc import Sequence

Row = Sequence[object]


def table(title: str, head: Sequence[str], rows: Sequence[Row]) -> str:
    """Return a table as text; figures stand to the right.

    >>> print(table("Kills", ["what", "count"], [["kills", 12], ["lost", 0]]))
    Kills
      what   count
      -----  -----
      kills     12
      lost       0
    """
    cells = [[f"{cell:,}" if isinstance(cell, int) else str(cell) for cell in row] for row in rows]
    widths = [max(len(row[at]) for row in [list(head), *cells]) for at in range(len(head))]
    right = [all(isinstance(row[at], int) for row in rows) for at in range(len(head))]

    def line(row: Sequence[str]) -> str:
        placed = (
            cell.rjust(width) if figure else cell.ljust(width)
            for cell, width, figure in zip(row, widths, right, strict=True)
        )
        return f"  {'  '.join(placed)}".rstrip()

    return "\n".join([title, line(list(head)), line(["-" * width for width in widths]), *map(line, cells)])
