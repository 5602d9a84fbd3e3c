"""What somebody says of a table beside the table itself, and what is asked where a table alone does not tell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from diagnose.errors import BadInput
from diagnose.tables.figures_in_table import Decimal
from diagnose.tables.heading_words import HeadingWords

if TYPE_CHECKING:  # a report seldom has a table
    from diagnose.calculations.entering import Spread

HOW_TO_NAME = "name them `reference` and `indicated`, or give --reference NAME --indicated NAME (or their numbers)"


class SidesUnknown(BadInput):
    """Two columns may be compared, and nothing says which of them is the reference."""

    def __init__(self, message: str, are_flows: bool) -> None:
        super().__init__(message)
        self.are_flows = are_flows


@dataclass(frozen=True, slots=True, kw_only=True)
class TableOptions:
    """Options for a table: columns by name or number, unit, decimal mark, kind of ±, range and liquid (SI).

    With ``may_guess`` the first of two columns that nobody named is taken as the reference, and a warning says so.
    """

    reference: str = ""
    indicated: str = ""
    unit: str = ""
    decimal: Decimal | None = None
    spread: Spread | None = None
    against_display: bool = False
    lower: float = 0.0
    upper: float | None = None
    density: float | None = None
    temperature: float | None = None
    words: HeadingWords | None = None
    may_guess: bool = True
