# ruff: noqa: D103 - the names of tests are sentences
"""What a figure belongs to: taken only for a quantity whose name, subject or label it has, never for the nearest."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from diagnose.language.results import Statement
from tests.engines import real_engine
from tests.language.test_tickets import understood

ROWS: list[dict[str, Any]] = yaml.safe_load(Path(__file__).with_name("figures_owned.yaml").read_text(encoding="utf-8"))


def _figures(said: tuple[Statement, ...]) -> dict[str, str]:
    """Return what was taken as figures, as people read them; words that choose one of several are none."""
    quantities = real_engine().rule_book.quantities
    return {
        each.quantity: quantities[each.quantity].shown(each.value)
        for each in said
        if each.quantity and each.value is not None and not isinstance(each.value, str)
    }


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["text"][:60])
def test_a_figure_is_taken_for_what_it_belongs_to_and_nothing_else(row: dict[str, Any]) -> None:
    said = understood(row["text"]).understood
    findings = {f"{'+' if each.present else '-'}{each.finding}" for each in said if each.finding}
    assert _figures(said) == row["figures"]
    assert set(row.get("reads", ())) <= findings
    assert not findings & set(row.get("never", ()))
