"""How often a cause comes on one meter: by its data sheet where that says so, else averaged over all meters."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.reasoning.frequencies import frequency_on
from diagnose.rule_book.faults import FrequencyWhere
from diagnose.rule_book.quantities import AND_MORE, DataSheet, Quantity
from tests.reasoning.books import book, cause, finding, real_rule_book

FED = Quantity(
    id="fed-by",
    title="supply",
    choices=("mains", "battery", "sun"),
    shares={"mains": 0.9, "battery": 0.08, "sun": 0.02},
)
PLACE = Quantity(id="place", title="place", choices=("pit", "hall"), shares={"pit": 0.2})
OUTPUT = Quantity(id="output", title="outputs", choices=("loop", "bus"), several=True, shares={"loop": 0.8, "bus": 0.5})
UNSHARED = Quantity(id="colour", title="colour", choices=("red", "blue"))


def row(frequency: float, **where: str | tuple[str, ...]) -> FrequencyWhere:
    """Return what somebody writes under `frequency-where`."""
    words = {name.replace("_", "-"): (each,) if isinstance(each, str) else each for name, each in where.items()}
    return FrequencyWhere(where=words, frequency=frequency)


FLAT = cause("flat", {"f": 0.5}, frequency=0.1, frequency_where=(row(8.0, fed_by="battery"), row(2.0, fed_by="sun")))
WET = cause(
    "wet",
    {"f": 0.5},
    frequency=1.0,
    frequency_where=(row(8.0, place="pit", output="bus"), row(3.0, place="pit")),
    applies={"output": ("bus",)},
)
RED = cause("red", {"f": 0.5}, frequency=2.0, applies={"colour": ("red",)})
BOOK = book(finding("f"), FED, PLACE, OUTPUT, UNSHARED, FLAT, WET, RED)


@pytest.mark.parametrize(
    ("name", "sheet", "wanted"),
    [
        ("flat", {"fed-by": "mains"}, 0.1),
        ("flat", {"fed-by": "battery"}, 8.0),
        ("flat", {"fed-by": "sun"}, 2.0),
        ("flat", {}, 0.9 * 0.1 + 0.08 * 8.0 + 0.02 * 2.0),
        ("wet", {"output": ("bus",), "place": "pit"}, 8.0),
        ("wet", {"output": ("bus",), "place": "hall"}, 1.0),
        ("wet", {"output": ("loop",), "place": "pit"}, 0.0),
        ("wet", {"output": ("loop", AND_MORE), "place": "pit"}, 0.5 * 8.0),
        ("wet", {"place": "pit"}, 0.5 * 8.0),
        ("wet", {}, 0.5 * (0.2 * 8.0 + 0.8 * 1.0)),
        ("red", {}, 2.0),
        ("red", {"colour": "blue"}, 0.0),
    ],
)
def test_the_first_row_that_holds_counts_and_what_nobody_told_is_averaged(
    name: str, sheet: DataSheet, wanted: float
) -> None:
    """Worked out by hand from the shares above; where a field has no shares, a cause that it limits may still be."""
    assert frequency_on(BOOK, BOOK.causes[name], sheet) == pytest.approx(wanted)


@given(st.sampled_from(["mains", "battery", "sun"]), st.sampled_from(["pit", "hall"]), st.booleans())
def test_what_a_field_tells_is_weighed_as_its_shares_say(fed: str, place: str, bus: bool) -> None:
    """The mean over all that a field may hold is what counts where nobody told it (law of total expectation)."""
    rest: DataSheet = {"place": place, "output": ("bus",) if bus else ("loop",)}
    mean = sum(share * frequency_on(BOOK, FLAT, {**rest, "fed-by": word}) for word, share in FED.shares.items())
    assert frequency_on(BOOK, FLAT, rest) == pytest.approx(mean)
    assert frequency_on(BOOK, FLAT, {**rest, "fed-by": fed}) in (0.1, 8.0, 2.0)


def test_nothing_of_the_real_rule_book_comes_never_or_always() -> None:
    """Without a data sheet every cause has a share, and no field's shares add up to more than all meters."""
    rule_book = real_rule_book()
    assert all(frequency_on(rule_book, each, {}) > 0 for each in rule_book.causes.values())
    for quantity in rule_book.quantities.values():
        if quantity.shares and not quantity.several:
            assert sum(quantity.shares.values()) <= 1 + 1e-9, quantity.id
