"""Arithmetic that belongs to no subject."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations.general import ratio
from diagnose.errors import OutOfRange


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e6))
def test_a_ratio_times_the_whole_is_the_part(part: float, whole: float) -> None:
    """Whatever the unit, as long as both have the same."""
    assert ratio(part, whole) * whole == pytest.approx(part)


def test_a_ratio_to_nothing_is_refused() -> None:
    """A display of zero makes no ratio."""
    with pytest.raises(OutOfRange, match="not zero"):
        ratio(1.0, 0.0)


def test_a_word_is_no_figure() -> None:
    """What a rule book feeds in by mistake is refused, not multiplied."""
    with pytest.raises(OutOfRange, match="must be a figure; it is `much`"):
        ratio("much", 4.0)  # type: ignore[arg-type]


def test_a_figure_is_no_text() -> None:
    """A list of addresses is not a number."""
    from diagnose.calculations.bus_addresses import address_plan

    with pytest.raises(OutOfRange, match=r"must be a text; it is `4\.0`"):
        address_plan(4.0)  # type: ignore[arg-type]


def test_figures_beyond_arithmetic_are_refused_in_words() -> None:
    """No traceback for a bore of nearly nothing."""
    from diagnose.calculations.flow import velocity

    with pytest.raises(OutOfRange, match="too large or too small"):
        velocity(1.0, 1e-200)
