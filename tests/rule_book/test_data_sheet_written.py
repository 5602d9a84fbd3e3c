"""A value of a data sheet is written so that it is read again, and two data sheets are held side by side."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.rule_book.data_sheet import read_value
from diagnose.rule_book.data_sheet_written import as_written, differences, is_alike
from diagnose.rule_book.quantities import AND_MORE, DataSheet, Limit, Quantity
from tests.engines import real_engine

BOOK = real_engine().rule_book
FIGURES = [each for each in BOOK.data_sheet_fields().values() if not each.choices and not each.text]


@pytest.mark.parametrize("quantity", FIGURES, ids=lambda each: each.id)
@given(share=st.floats(0.001, 0.999), beyond=st.sampled_from(["", "above", "below"]))
def test_a_figure_comes_back(quantity: Quantity, share: float, beyond: str) -> None:
    """Anywhere in its plausible range, alone or as a limit."""
    low, high = quantity.plausible or (0.0, 1000.0)
    figure = low + share * (high - low)
    value = Limit(figure, beyond) if beyond else figure  # type: ignore[arg-type]
    written = as_written(quantity, value)
    assert isinstance(written, str)
    assert is_alike(read_value(quantity, written), value)


def test_words_come_back() -> None:
    """One, or several; where there may be more of them nothing is written, for others would take it for all."""
    assert as_written(BOOK.quantities["build"], "remote") == "remote"
    assert as_written(BOOK.quantities["signal-duty"], ("control", "dosing")) == ["control", "dosing"]
    assert as_written(BOOK.quantities["signal-duty"], ("control", AND_MORE)) is None


def test_what_differs_is_told_with_both_values() -> None:
    """What one of them does not say is no difference, nor the order of words or the last digit of a conversion."""
    kept: DataSheet = {"bore": 0.1, "build": "remote", "signal-duty": ("control", "dosing")}
    given_now: DataSheet = {"bore": 0.15, "build": "remote", "signal-duty": ("dosing", "control"), "power": 60.0}
    title = BOOK.quantities["bore"].title
    assert list(differences(BOOK, kept, given_now)) == [f"{title}: 100 mm, here 150 mm"]
    assert list(differences(BOOK, kept, {"bore": 0.1 + 1e-13})) == []
