"""Whatever people hand over, four times as much of it takes about four times the work."""

from __future__ import annotations

import re

import pytest

from diagnose.tables.pasted import tables_in
from tests.growth.families import over
from tests.growth.measuring import Growth, growth_of, seconds_of
from tests.growth.readers import small_engine, tables

TABLES = tables(small_engine())
FAMILIES = [(kind, name) for kind, table in TABLES.items() for name in table.families]


@pytest.mark.parametrize(("kind", "name"), FAMILIES, ids=[f"{kind}: {name}" for kind, name in FAMILIES])
def test_work_grows_no_faster_than_what_is_read(kind: str, name: str) -> None:
    """Calls of functions are counted; what a regular expression does within itself shows in the time only."""
    table = TABLES[kind]
    grown = growth_of(table.reads, table.families[name], table.longest)
    assert grown.is_linear, grown


def _every_pair(text: str) -> None:
    letters = text[:400]
    for one in letters:
        for other in letters:
            ord(one + other[:0])


def _hidden_square(text: str) -> None:
    re.sub(r"a*b", "", text)


class TestTheMeasure:
    """A measure that finds nothing wrong with anything would be of no use."""

    def test_a_loop_in_a_loop_is_found(self) -> None:
        """The calls give it away."""
        assert growth_of(_every_pair, lambda size: "a" * (size // 10), 1_000).calls > 10

    def test_a_square_within_a_regular_expression_is_found(self) -> None:
        """It makes no call more, and takes its time."""
        grown = growth_of(_hidden_square, over("a"), 100_000)
        assert grown.calls < 2
        assert grown.time > 10
        assert not grown.is_linear

    def test_one_look_at_each_letter_is_linear(self) -> None:
        """And passes."""
        grown = growth_of(lambda text: [ord(each) for each in text], over("a"), 1_000_000)
        assert grown.is_linear
        assert grown.calls == pytest.approx(4, rel=0.01)

    def test_what_makes_a_growth_too_much(self) -> None:
        """Either is enough."""
        assert Growth(1, 6, 8).is_linear
        assert not Growth(1, 6.1, 4).is_linear
        assert not Growth(1, 4, 8.1).is_linear


def test_thousands_of_small_tables() -> None:
    """They are taken out of a report one after the other, whatever becomes of them then; no call more gave it away."""
    table = "ref;meter\n1;2\n2;3\n3;4\n\nx\n"
    part, whole = (min(seconds_of(tables_in, table * times) for _ in range(3)) for times in (250, 2_000))
    assert whole < 20 * part, "eight times the tables; the square would be 64 times the work"
