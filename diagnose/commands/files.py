"""Files that are named on the command line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from diagnose.rule_book.book import RuleBook
    from diagnose.rule_book.quantities import DataSheet


def read_sheet(path: Path | None, rule_book: RuleBook) -> DataSheet:
    """Return the data sheet in a file; nothing is known without one.

    Raises ProblemsFound with all that is wrong with it, BadInput when it cannot be read.
    """
    if path is None:
        return {}
    from diagnose.rule_book.data_sheet import read_data_sheet  # reads YAML, which takes a while to load

    return read_data_sheet(path, rule_book)
