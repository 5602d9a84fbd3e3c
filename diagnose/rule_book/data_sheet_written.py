"""Fields of a data sheet as they are written in its file, and how two data sheets differ."""

from __future__ import annotations

from collections.abc import Iterator
from math import isclose

from diagnose.errors import UnitError
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.data_sheet import read_value
from diagnose.rule_book.quantities import AND_MORE, DataSheet, Limit, Quantity, Value

DIGITS = 10
"""Figures as they were given: what an SI value loses on the way back stands behind that many digits."""


def as_written(quantity: Quantity, value: Value) -> str | list[str] | None:
    """Return what a data sheet says for a value (SI) to be read from it; None where nothing in writing gives it back.

    >>> as_written(Quantity(id="bore", title="bore", unit="mm", si_factor=0.001), 0.1)
    '100 mm'
    >>> as_written(Quantity(id="duty", title="duty", choices=("trip", "none"), several=True), ("trip", AND_MORE))
    """
    if isinstance(value, tuple):
        return list(value) if AND_MORE not in value else None
    if isinstance(value, str):
        return value
    bound, mark = (value.bound, ">" if value.direction == "above" else "<") if isinstance(value, Limit) else (value, "")
    figure = f"{(bound - quantity.si_offset) / quantity.si_factor:.{DIGITS}g}"
    written = f"{mark}{figure} {quantity.unit}".strip()
    try:
        read = read_value(quantity, written)
    except UnitError:
        return None
    return written if is_alike(read, value) else None


def is_alike(one: Value, other: Value) -> bool:
    """Tell whether two values are the same, but for what is lost in conversion of units; order of words is nothing.

    >>> is_alike(0.1, 0.1 + 1e-12), is_alike(("a", "b"), ("b", "a")), is_alike("a", 0.1)
    (True, True, False)
    """
    if isinstance(one, Limit) and isinstance(other, Limit):
        return one.direction == other.direction and is_alike(one.bound, other.bound)
    if isinstance(one, tuple) and isinstance(other, tuple):
        return sorted(one) == sorted(other)
    if isinstance(one, float) and isinstance(other, float):
        return isclose(one, other, rel_tol=1e-6, abs_tol=1e-12)
    return one == other


def differences(rule_book: RuleBook, kept: DataSheet, given: DataSheet) -> Iterator[str]:
    """Yield in words each field of which two data sheets say different things: ``bore: 100 mm, here 150 mm``."""
    for name, value in given.items():
        if name in kept and not is_alike(kept[name], value):
            quantity = rule_book.quantities[name]
            yield f"{quantity.title}: {quantity.shown(kept[name])}, here {quantity.shown(value)}"
