"""Cells of a CSV file that a spreadsheet takes as text or figures, never as a formula, and that come back as they were.

A text that begins with what starts a formula gets an apostrophe before it, and so does one that begins with that.
"""

from __future__ import annotations

_STARTS = ("=", "+", "-", "@", "\t", "\r", "'")


def written(value: object) -> str:
    """Return a value as a cell.

    >>> written("=1+1"), written(None), written(True), written(0.25), written("a;b")
    ("'=1+1", '', 'yes', '0.25', 'a;b')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, str):
        return "" if value is None else str(value)
    return f"'{value}" if value.startswith(_STARTS) else value


def read(cell: str) -> str:
    """Return the text of a cell.

    >>> read("'=1+1"), read("it's"), read("'tis")
    ('=1+1', "it's", "'tis")
    """
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_STARTS) else cell
