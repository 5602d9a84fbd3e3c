"""Rule books drawn at random, and the small ones of the tests with an edit: whatever is called fine can be used.

``python -m tests.drawn --examples 2000`` draws as many as wanted; these here are few, and the same ones at the gate.
"""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tests.drawn.books import draw_book, rule_books
from tests.drawn.judging import wrong_with_reading, wrong_with_use
from tests.drawn.mutations import draw_mutated, mutated_books
from tests.drawn.pen import Pen
from tests.drawn.writing import write_book

FEW = settings(
    max_examples=6,
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)


def wrong_with(files: dict[str, Any], folder: Path, seed: int) -> tuple[bool, list[str]]:
    """Return whether a rule book is called fine, and all that is wrong with how it is read and used."""
    rules = write_book(folder / "rules", files, random.Random(seed).randrange)
    book, failures = wrong_with_reading(rules)
    found = [*failures, *(wrong_with_use(book, folder, seed) if book is not None else ())]
    return book is not None, [str(each) for each in found]


@FEW
@given(rule_books(), st.integers(0, 10**6))
def test_a_drawn_rule_book(tmp_path_factory: pytest.TempPathFactory, files: dict[str, Any], seed: int) -> None:
    """It is refused with every problem at its place; or else every command copes with it."""
    _, found = wrong_with(files, tmp_path_factory.mktemp("drawn"), seed)
    assert found == [], files


@FEW
@given(mutated_books(), st.integers(0, 10**6))
def test_a_small_rule_book_with_an_edit(
    tmp_path_factory: pytest.TempPathFactory, files: dict[str, Any], seed: int
) -> None:
    """Whatever an author changes, leaves out, doubles or renames: either it is told, or it does no harm."""
    _, found = wrong_with(files, tmp_path_factory.mktemp("edited"), seed)
    assert found == [], files


@pytest.mark.parametrize(("draw", "least"), [(draw_book, 0.3), (draw_mutated, 0.1)], ids=["drawn", "edited"])
def test_enough_of_them_are_called_fine(draw: Any, least: float, tmp_path: Path) -> None:
    """Else nothing would be used, and the tests above would say nothing."""
    fine = 0
    for seed in range(40):
        files = draw(Pen(random.Random(seed)))
        book, failures = wrong_with_reading(write_book(tmp_path / str(seed), files), both_parsers=seed % 8 == 0)
        assert failures == []
        fine += book is not None
    assert fine / 40 >= least
