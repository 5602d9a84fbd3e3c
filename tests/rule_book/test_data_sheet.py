"""A data sheet is read in SI units, or refused with every place."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from diagnose.errors import ProblemsFound
from diagnose.rule_book.data_sheet import read_data_sheet
from diagnose.rule_book.load import load_folder
from diagnose.rule_book.quantities import DataSheet, Limit, Quantity
from tests.rule_book.lamps import MINIMAL

BOOK = load_folder(MINIMAL)


def read(tmp_path: Path, text: str) -> DataSheet:
    """Return what a data sheet says."""
    path = tmp_path / "lamp.yaml"
    path.write_text(text, encoding="utf-8")
    return read_data_sheet(path, BOOK)


def test_figures_come_in_si_units_and_words_as_they_are(tmp_path: Path) -> None:
    """Title, note and `invented` are for people; all else is a field."""
    sheet = read(
        tmp_path,
        "title: Lamp 1\ninvented: true\nnote: none\n"
        "nominal-voltage: 0,23 kV\npower: 60 W\nplace: inside\nfed-by: mains\n",
    )
    assert sheet == {"nominal-voltage": 230.0, "power": 60.0, "place": "inside", "fed-by": ("mains",)}


def test_a_limit_may_stand_where_a_figure_may(tmp_path: Path) -> None:
    """With its unit, as any figure."""
    assert read(tmp_path, "nominal-voltage: <50 V\n") == {"nominal-voltage": Limit(50.0, "below")}


def test_a_field_left_blank_is_not_known(tmp_path: Path) -> None:
    """A form may be handed in half filled."""
    assert read(tmp_path, "nominal-voltage:\npower: ~\nplace: inside\n") == {"place": "inside"}


WRONG = [
    ("nominal-voltge: 230 V", "1:1: error[unknown-field]", "did you mean `nominal-voltage`?"),
    ("voltage: 230 V", "1:1: error[unknown-field]", "a data sheet has no field `voltage`"),
    ("nominal-voltage: 230", "1:18: error[bad-value]", "`230` has no unit"),
    ("nominal-voltage: <230", "1:18: error[bad-value]", "`<230` has no unit"),
    ("nominal-voltage: <400 kV", "1:18: error[bad-value]", "beyond anything plausible"),
    ("nominal-voltage: 230 W", "1:18: error[bad-value]", "`W` does not measure the same thing as `V`"),
    ("nominal-voltage: 230 voltz", "1:18: error[bad-value]", "`voltz` is not a known unit"),
    ("nominal-voltage: 1,250 mV", "1:18: error[bad-value]", "did you mean `1250 mV` or `1.250 mV`?"),
    ("nominal-voltage: 400 kV", "1:18: error[bad-value]", "beyond anything plausible"),
    ("nominal-voltage: plenty", "1:18: error[bad-value]", "`plenty` is not a figure"),
    ("nominal-voltage: [1 V, 2 V]", "1:18: error[bad-value]", "is not a figure"),
    ("nominal-voltage: 1e999 V", "1:18: error[bad-value]", "is not a figure"),
    ("place: attic", "1:8: error[bad-value]", "`place` is never `attic`"),
    ("place: [inside, outside]", "1:8: error[bad-value]", "`place` has one value, got 2"),
    ("fed-by: [mains, sun]", "1:9: error[bad-value]", "`fed-by` is never `sun`"),
    ("- place", "1:1: error[wrong-type]", "a data sheet is a mapping"),
]


@pytest.mark.parametrize(("text", "place", "told"), WRONG, ids=[text for text, _, _ in WRONG])
def test_what_cannot_be_meant_is_told_with_its_place(tmp_path: Path, text: str, place: str, told: str) -> None:
    """File, line and column, what is wrong, and what is usual."""
    with pytest.raises(ProblemsFound) as raised:
        read(tmp_path, text)
    (problem,) = raised.value.problems
    assert f"lamp.yaml:{place}" in problem.in_one_line()
    assert told in problem.in_one_line()


def test_every_problem_of_a_data_sheet_is_told(tmp_path: Path) -> None:
    """Three wrong fields are three problems."""
    with pytest.raises(ProblemsFound) as raised:
        read(tmp_path, "nominal-voltage: 230\nplace: attic\ncolour: red\n")
    assert [problem.place.line for problem in raised.value.problems] == [1, 2, 3]


def test_fields_come_in_the_order_of_the_rule_book() -> None:
    """Those that the settings put in order first, then the others as they stand; the same in every process."""
    names = ["width", "age", "colour", "place", "build", "depth"]
    quantities = {name: Quantity(id=name, title=name, where_to_find="plate") for name in names}
    settings = msgspec.structs.replace(BOOK.settings, data_sheet={"What it is": ("place", "age")})
    rule_book = msgspec.structs.replace(BOOK, quantities=quantities, settings=settings)
    assert list(rule_book.data_sheet_fields()) == ["place", "age", "width", "colour", "build", "depth"]


def test_a_data_sheet_that_is_not_there(tmp_path: Path) -> None:
    """A missing file is told with its name."""
    with pytest.raises(ProblemsFound, match=r"cannot-read.*\n.*nowhere.yaml"):
        read_data_sheet(tmp_path / "nowhere.yaml", BOOK)
