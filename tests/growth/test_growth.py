"""Whatever people hand over, four times as much of it takes about four times the work."""

from __future__ import annotations

import pytest

from tests.growth.families import over
from tests.growth.measuring import Growth, growth_of
from tests.growth.readers import small_engine, tables

TABLES = tables(small_engine())
FAMILIES = [(kind, name) for kind, table in TABLES.items() for name in table.families]


@pytest.mark.parametrize(("kind", "name"), FAMILIES, ids=[f"{kind}: {name}" for kind, name in FAMILIES])
def test_work_grows_no_faster_than_what_is_read(kind: str, name: str) -> None:
    """Calls of functions are counted; what a regular expression does within itself is timed by the benchmark."""
    table = TABLES[kind]
    grown = growth_of(table.reads, table.families[name], table.longest)
    assert grown.is_linear, grown


def _every_pair(text: str) -> None:
    letters = text[:400]
    for one in letters:
        for other in letters:
            ord(one + other[:0])


class TestTheMeasure:
    """A measure that finds nothing wrong with anything would be of no use."""

    def test_a_loop_in_a_loop_is_found(self) -> None:
        """The calls give it away."""
        assert growth_of(_every_pair, lambda size: "a" * (size // 10), 1_000).calls > 10

    def test_one_look_at_each_letter_is_linear(self) -> None:
        """And passes."""
        grown = growth_of(lambda text: [ord(each) for each in text], over("a"), 1_000_000)
        assert grown.is_linear
        assert grown.calls == pytest.approx(4, rel=0.01)

    def test_what_makes_a_growth_too_much(self) -> None:
        """Linear is 4, the square 16."""
        assert Growth(1, 6).is_linear
        assert not Growth(1, 6.1).is_linear
