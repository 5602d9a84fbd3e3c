"""Mounting of a meter: earthing of the liquid."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.terms import TERMS


@calculation(
    gives="needed-earthing",
    formula="bare metal: flanges bonded to the meter; plastic or lined: a ring at each side or an earthing electrode",
    source="common practice",
)
def needed_earthing(pipe: str) -> str:
    """Return the earthing that ties the potential of the liquid to the meter for a kind of ``pipe``.

    A bare metal pipe touches the liquid itself, one of plastic or with a lining does not. Raises OutOfRange for a pipe
    that is none of the words. Source: common practice.

    >>> needed_earthing("plastic or lined")
    'rings or earthing electrode'
    """
    return TERMS["pipe"].word_with("needed-earthing", pipe)
