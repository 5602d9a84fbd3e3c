"""A row of a table of worked values: a calculation, what goes in (SI), what must come out, and who says so."""

from __future__ import annotations

from collections.abc import Iterable
from types import ModuleType
from typing import Any, NamedTuple

import pytest

from diagnose.calculations.calculation import AnyCalculation, calculations_in
from diagnose.errors import OutOfRange


class Row(NamedTuple):
    """``within`` is relative for figures; words must be the same."""

    calculation: AnyCalculation
    inputs: tuple[Any, ...]
    expected: float | str
    source: str
    within: float = 1e-9

    def __str__(self) -> str:
        """Return a readable id."""
        return f"{self.calculation.name}{self.inputs}"

    def holds(self) -> None:
        """Assert that the calculation gives what the source says."""
        result = self.calculation(*self.inputs)
        if isinstance(self.expected, str):
            assert result == self.expected, self.source
        else:
            assert result == pytest.approx(self.expected, rel=self.within, abs=1e-15), self.source


class Refusal(NamedTuple):
    """Inputs for which a calculation must say in words that it cannot be, and part of those words."""

    calculation: AnyCalculation
    inputs: tuple[Any, ...]
    words: str

    def __str__(self) -> str:
        """Return a readable id."""
        return f"{self.calculation.name}{self.inputs}"

    def holds(self) -> None:
        """Assert that the calculation refuses, saying why."""
        with pytest.raises(OutOfRange) as raised:
            self.calculation(*self.inputs)
        assert self.words in str(raised.value)


def without_row(module: ModuleType, rows: Iterable[Row | Refusal], tables: Iterable[str] = ()) -> set[str]:
    """Return the calculations of a module that no row tests; ``tables`` are tested in another way."""
    return {each.name for each in calculations_in([module])} - {row.calculation.name for row in rows} - set(tables)
