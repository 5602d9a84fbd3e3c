"""Pairs of readings in sentences are compared as a table would be."""

from __future__ import annotations

import pytest

from diagnose.language.prose_pairs import pairs_in_prose
from diagnose.observations import Compared
from diagnose.reading import read_report
from tests.engines import real_engine

ENGINE = real_engine()


@pytest.mark.parametrize(
    ("text", "first", "second", "pairs"),
    [
        (
            "Display 10, SCADA 13; display 40, SCADA 43; 80 and 83",
            "displayed-flow",
            "receiver-flow",
            ((10, 13), (40, 43), (80, 83)),
        ),
        (
            "At display 45 m3/h PLC says 31, at 90 it says 63.",
            "displayed-flow",
            "receiver-flow",
            ((45, 31), (90, 63)),
        ),
        (
            "the screen said 12 when the tank gave 10, 36 for 30 and 60 for 50",
            "receiver-flow",
            "reference-flow",
            ((12, 10), (36, 30), (60, 50)),
        ),
        (
            "meter showed 20.0 when the screen had 25, and 60.1 when the screen had 65",
            "displayed-flow",
            "receiver-flow",
            ((20, 25), (60.1, 65)),
        ),
        (
            "SCADA 13 while display 10. Then display 40, SCADA 43",
            "receiver-flow",
            "displayed-flow",
            ((13, 10), (43, 40)),
        ),
        (
            "Here: tank vs display: 10 vs 10.4, 20 vs 20.8 and 40.0 vs 41,5 m3/h. Please help.",
            "reference-flow",
            "displayed-flow",
            ((10, 10.4), (20, 20.8), (40, 41.5)),
        ),
        ("display / SCADA (m3/h): 10/10.4, 20/20.8", "displayed-flow", "receiver-flow", ((10, 10.4), (20, 20.8))),
        ("tank -> display = 10 -> 10.4; 20 -> 20.8", "reference-flow", "displayed-flow", ((10, 10.4), (20, 20.8))),
    ],
)
def test_pairs_are_found(text: str, first: str, second: str, pairs: tuple[tuple[float, float], ...]) -> None:
    """Named once, and then in the same order; named the other way round, they are turned."""
    found = pairs_in_prose(text, ENGINE.lexicon)
    assert found is not None
    assert (found.first, found.second, found.pairs) == (first, second, pairs)


@pytest.mark.parametrize(
    "text",
    [
        "meter shows 40 but tank test gives 50",
        "display 10, SCADA 12 mA, display 20, SCADA 16 mA",
        "Meter totals 412 m3, counter 4120 since 10:30 on 12.3.",
        "FT-10 and FT-20, display 5",
        "If display 10, SCADA 13; display 40, SCADA 43",
        "Display 10, SCADA should be 10; display 40, SCADA 40",
        "Is it display 10, SCADA 13; display 40, SCADA 43?",
        "display 10 m3/h, SCADA 13 l/s; display 20 m3/h, SCADA 26 l/s",
        "We have 3 meters and 2 tanks, display 5, 2011 and 2012",
    ],
)
def test_what_is_no_series_of_readings_is_none(text: str) -> None:
    """One pair alone, other units, codes, counts, years."""
    assert pairs_in_prose(text, ENGINE.lexicon) is None


def test_they_are_compared_like_a_table() -> None:
    """A constant difference between display and control system, from a sentence and from a table."""
    prose = read_report(ENGINE, "Display 10, SCADA 13; display 40, SCADA 43; 80 and 83 m3/h", {})
    table = read_report(ENGINE, "display [m3/h]\tcontrol system [m3/h]\n10\t13\n40\t43\n80\t83", {})
    assert [each.about for each in prose.analyses] == ["3 pairs of readings, the pairs in the report"]
    assert prose.analyses[0].says == table.analyses[0].says
    compared = [each for each in prose.analyses[0].observations if isinstance(each, Compared)]
    assert [each.with_what for each in compared] == ["control-system"]


def test_digits_are_kept_as_written() -> None:
    """They tell how finely was read."""
    found = pairs_in_prose("Display 10,0, SCADA 13; display 40,50, SCADA 43", ENGINE.lexicon)
    assert found is not None
    assert found.written == (("10.0", "13"), ("40.50", "43"))


@pytest.mark.parametrize(
    ("text", "present"),
    [
        ("tank says 50, meter says 40", {"disagrees-with-reference", "reads-low"}),
        ("display reads 10 versus 10.4 at the tank", {"disagrees-with-reference", "reads-low"}),
        ("reference 10 meter 10.59, reference 20 meter 21.2", {"disagrees-with-reference", "reads-high"}),
        ("reference / meter: 10 10.59; 20 21.2", {"disagrees-with-reference", "reads-high"}),
        ("tank 10.0 meter 10.9, tank 20.0 meter 18.0", {"disagrees-with-reference"}),
    ],
)
def test_which_is_the_larger_is_understood(text: str, present: set[str]) -> None:
    """A complaint by itself: nothing is left over, and nothing has to be asked again."""
    found = read_report(ENGINE, text, {}).understanding
    assert {each.finding for each in found.understood if each.present} == present
    assert not found.not_understood
    assert not found.doubts


@pytest.mark.parametrize(
    "text", ["reads different from the tank: 10 10.59; 20 21.2", "10 versus 10.4", "10 vs 10.59, 20 vs 21.2 m3/h"]
)
def test_pairs_without_names_are_asked(text: str) -> None:
    """None of their figures is taken as the reading of anything."""
    found = read_report(ENGINE, text, {})
    assert any("which is the reference in `10" in each for each in found.understanding.doubts)
    assert not any(each.quantity for each in found.understanding.understood)
    assert found.topic.about == "a flow meter"


def test_a_unit_that_nobody_told_is_said() -> None:
    """Pairs without a unit are not quietly cubic metres."""
    found = read_report(ENGINE, "display 10, SCADA 13; display 40, SCADA 43", {})
    assert "taken to be in m3/h" in found.analyses[0].warnings[0]
