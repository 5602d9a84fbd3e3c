"""Spellings of units in a rule book: its own are laid over the shipped ones, and come with it from the cache."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from diagnose.errors import UnitError
from diagnose.rule_book.cache import load_rule_book
from diagnose.tables.table_units import multiplied, table_unit
from diagnose.unit_spellings import in_use, shipped_spellings, tables_of, use
from diagnose.units import could_be, is_unit, taken_as, unit_info
from tests.rule_book.lamps import lamp_book, put

OWN = """
source: estimate
entries:
  - id: lamp-units
    title: what people write on lamps
    with-rates: true
    spellings: {bucketful: dekaliter, cbm: foot**3}
    unclear: {bktf: [bucketful, cbm]}
    taken-as: the bucket of the house
"""


@pytest.fixture(autouse=True)
def the_shipped_ones_afterwards() -> Iterator[None]:
    """Whatever a test loads, the next one reads units as the shipped rule book does."""
    yield
    use(shipped_spellings())


def test_a_rule_book_without_units_has_the_shipped_ones(tmp_path: Path) -> None:
    """All of them, and nothing else."""
    assert load_rule_book(lamp_book(tmp_path)).units == dict(shipped_spellings())
    assert in_use() == tables_of(shipped_spellings().values())


def test_spellings_of_its_own_are_laid_over_the_shipped_ones(tmp_path: Path) -> None:
    """A new one is read, also by time; one that the shipped ones have as well means what it means here."""
    with pytest.raises(UnitError):
        unit_info("bucketful/h")
    rules = lamp_book(tmp_path)
    put(rules, "units/more.yaml", OWN.replace("    unclear: {bktf: [bucketful, cbm]}\n", ""))
    load_rule_book(rules)
    assert unit_info("Bucketful/h").factor == pytest.approx(0.01 / 3600)
    assert unit_info("cbm").factor == pytest.approx(0.3048**3)
    assert is_unit("bucketful")
    assert taken_as("3 bucketful").endswith("the bucket of the house")
    assert unit_info("m3/h").factor == pytest.approx(1 / 3600)


def test_they_come_from_the_cache_as_well(tmp_path: Path) -> None:
    """The second start knows them without reading YAML; another rule book forgets them."""
    rules = lamp_book(tmp_path)
    put(rules, "units/more.yaml", OWN.replace("bktf", "bucketful"))
    load_rule_book(rules)
    use(shipped_spellings())
    assert could_be("3", "bucketful") == ()
    load_rule_book(rules)
    assert could_be("3", "bucketful") == ("3 bucketful", "3 cbm")
    load_rule_book(lamp_book(tmp_path / "another"))
    assert not is_unit("bucketful")


def test_quantities_are_decoded_by_them(tmp_path: Path) -> None:
    """A quantity may be in a unit that only this rule book spells."""
    rules = lamp_book(tmp_path)
    put(rules, "units/more.yaml", OWN.replace("    unclear: {bktf: [bucketful, cbm]}\n", ""))
    quantity = (
        "id: oil\ntitle: oil in the lamp\nunit: bucketful\nplausible: [0 bucketful, 3 bucketful]\nsource: estimate\n"
    )
    put(rules, "quantities/oil.yaml", quantity)
    book = load_rule_book(rules)
    assert book.quantities["oil"].plausible == pytest.approx((0.0, 0.03))


def test_what_only_tables_have_is_read_there_and_nowhere_else(tmp_path: Path) -> None:
    """Above a column, or there in brackets alone; a multiple says by what the figures below it are multiplied."""
    rules = lamp_book(tmp_path)
    own = (
        "{id: in-tables, title: in tables, only-in: table, with-rates: true, spellings: {wk: kilogram}}",
        "{id: in-brackets, title: in brackets, only-in: brackets, spellings: {oil: liter}}",
        "{id: many, title: many, multiples: {drum: 200 l}}",
    )
    put(rules, "units/more.yaml", "source: estimate\nentries:\n" + "".join(f"  - {each}\n" for each in own))
    load_rule_book(rules)
    assert (table_unit("wk"), table_unit("WK/h"), is_unit("wk")) == ("kilogram", "kilogram/hour", False)
    assert (table_unit("oil"), table_unit("oil", set_off=True), is_unit("oil")) == ("", "liter", False)
    assert multiplied("Tank [drum]") == ("Tank [l]", 200.0)
    use(shipped_spellings())
    assert (table_unit("wk"), multiplied("Tank [drum]")[1]) == ("", 1.0)
