"""Earthing that the liquid needs."""

from __future__ import annotations

import pytest

from diagnose.calculations.mounting import needed_earthing
from diagnose.errors import OutOfRange
from diagnose.terms import TERMS


@pytest.mark.parametrize(
    ("pipe", "earthing"),
    [("bare metal", "flanges bonded"), ("plastic or lined", "rings or earthing electrode")],
)
def test_earthing_by_kind_of_pipe(pipe: str, earthing: str) -> None:
    """Metal touches the liquid itself, a lining does not (common practice)."""
    assert needed_earthing(pipe) == earthing


def test_a_pipe_of_no_known_kind_is_refused() -> None:
    """Wood is neither."""
    with pytest.raises(OutOfRange):
        needed_earthing("wood")


def test_the_words_of_the_calculation_are_those_of_the_vocabulary() -> None:
    """Each kind of pipe has its earthing, and each earthing is one that a meter can have."""
    known = TERMS["pipe"].words_with["needed-earthing"]
    assert set(TERMS["pipe"].choices) == set(known)
    assert set(TERMS["needed-earthing"].choices) == set(known.values()) <= set(TERMS["earthing"].choices)
