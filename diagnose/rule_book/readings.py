"""Temporary: replaced by the reading of limits."""

from __future__ import annotations

from diagnose.errors import UnitError
from diagnose.rule_book.types import Quantity
from diagnose.units import read_measurement, to_si


def read_reading(text: str, quantity: Quantity) -> float:
    """Return a reading in SI units."""
    measured = read_measurement(text)
    if measured is None:
        raise UnitError(f"`{text}` is not a figure that can be read in one way only; for example 12.5 {quantity.unit}")
    value = to_si(measured.number, measured.unit or quantity.unit, quantity.unit)
    if not quantity.reads_plausible(value):
        raise UnitError(f"`{text}` is beyond anything plausible; look again")
    return value
