"""Counters that passed their end between two readings: 99990 at the start, 00012 at the stop."""

from __future__ import annotations

import re

from diagnose.place import visible
from diagnose.tables.figures_in_table import FigureInTable
from diagnose.tables.headings import ColumnHeading
from diagnose.tables.written_figures import written

FEWEST_DIGITS = 3
"""Digits of a counter: what has fewer is no counter that somebody reads for a test."""

NEAR_THE_END = 0.1
"""Share of a counter that is left at the start, and gone again at the stop, where its size is plain: estimate."""


def size_of_counter(before: FigureInTable, after: FigureInTable, heading: ColumnHeading) -> float | None:
    """Return what a counter counts until it begins anew, in the unit of its figures, where two readings tell.

    It stood near its end and stands near zero; and it is a counter: zeros stand before its figure, or its heading says
    so. A tank that was emptied reads alike, but it is no counter.
    """
    digits = len(_whole(before))
    if before.value is None or after.value is None or digits < FEWEST_DIGITS or len(_whole(after)) > digits:
        return None
    is_counter = heading.side == "indicated" or bool(heading.means & {"counter", "total"})
    if not is_counter and not (len(_whole(after)) == digits and _whole(after).startswith("0")):
        return None
    size = 10.0**digits * heading.factor
    if before.value < (1 - NEAR_THE_END) * size or not 0 <= after.value <= NEAR_THE_END * size:
        return None
    return size


def said_of_roll_over(before: FigureInTable, after: FigureInTable, size: float) -> str:
    """Return what is to be said of a counter that was taken to have begun anew."""
    return (
        f"`{visible(before.cell.text)}` to `{visible(after.cell.text)}`: the counter is taken to have begun anew after "
        f"{size:,.0f}".replace(",", " ")
    )


def _whole(figure: FigureInTable) -> str:
    """Return the digits before the decimal mark, leading zeros as well."""
    parts = written(figure.cell.text)
    text = re.sub(r"[ '’\u00a0\u202f]", "", parts.figure) if parts else ""
    match = re.match(r"\d+", text)
    return match[0] if match else ""
