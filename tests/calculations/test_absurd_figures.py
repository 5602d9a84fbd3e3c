"""Whatever figures are given, a calculation answers with finite ones or says in words why it cannot."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.calculations import CALCULATIONS
from diagnose.calculations.calculation import Table
from diagnose.calculations.entering import enter
from diagnose.errors import DiagnoseError
from diagnose.terms import TERMS, Term

ABSURD = st.sampled_from([0.0, 1e-308, 5e-324, 1e-31, 1e-12, 1.0, 1e12, 1e31, 1e308, math.inf, -math.inf, math.nan])


def values(term: Term) -> st.SearchStrategy[Any]:
    """Draw anything for a term: words for words, figures of all sizes for figures."""
    if term.choices:
        return st.sampled_from(term.choices)
    if term.text:
        return st.text(max_size=40)
    figure = st.one_of(ABSURD, ABSURD.map(lambda value: -value), st.floats(allow_nan=True, allow_infinity=True))
    return st.lists(figure, max_size=4).map(tuple) if term.list_of_figures else figure


@pytest.mark.parametrize("name", sorted(CALCULATIONS))
@given(data=st.data())
@settings(max_examples=40, deadline=None)
def test_results_are_finite_or_refused(name: str, data: st.DataObject) -> None:
    """No infinity, no NaN, no traceback."""
    calculation = CALCULATIONS[name]
    given_values = {each: data.draw(values(TERMS[each]), label=each) for each in calculation.inputs}
    try:
        result = calculation.work_out(given_values)
    except DiagnoseError:
        return
    cells = [cell for row in result.rows for cell in row] if isinstance(result, Table) else [result]
    assert all(math.isfinite(cell) for cell in cells if isinstance(cell, int | float)), cells


@pytest.mark.parametrize(
    "text", ["1e31 m3/s", "-1e31 m3/s", "1e-31 m3/s", "1e400 m3/h", "inf m3/h", "nan m3/h", "−1e35 m3/h"]
)
def test_what_nobody_can_have_meant_is_refused_where_it_is_entered(text: str) -> None:
    """With the name of the figure."""
    with pytest.raises(DiagnoseError, match=r"--flow"):
        enter(TERMS["flow"], text)
