"""Times of miniature fuses against the gates of IEC 60127-2, as the fact sheet gives them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import fuses
from diagnose.calculations.fuses import GATES, fuse_test_currents, fuse_time
from tests.calculations.worked import Refusal, without_row

FACTS = {  # facts 5.3, 5.4, 5.5 (IEC 60127-2 sheets 2, 3, 5): times rated → at least, at most
    ("F", "L"): [("60 min", "no limit"), ("", "30 min"), ("50 ms", "2 s"), ("10 ms", "300 ms"), ("", "20 ms")],
    ("T", "L"): [("60 min", "no limit"), ("", "2 min"), ("600 ms", "10 s"), ("150 ms", "3 s"), ("20 ms", "300 ms")],
    ("T", "H"): [("60 min", "no limit"), ("", "30 min"), ("750 ms", "80 s"), ("95 ms", "5 s"), ("10 ms", "150 ms")],
}
KINDS = st.sampled_from(sorted(GATES))
RATINGS = st.sampled_from([0.125, 0.2, 0.5, 1.0, 3.15, 6.3])


@pytest.mark.parametrize(("kind", "times"), FACTS.items(), ids=["".join(kind) for kind in FACTS])
def test_the_gates_are_those_of_the_standard_sheet(kind: tuple[str, str], times: list[tuple[str, str]]) -> None:
    """Facts 5.3 to 5.5, gate by gate."""
    table = fuse_test_currents(0.5, *kind)
    assert [row[0] for row in table.rows] == [1.5, 2.1, 2.75, 4.0, 10.0]
    assert [row[2:] for row in table.rows] == times


def test_test_currents_are_multiples_of_the_rating() -> None:
    """Facts 5.6: T 500 mA is tested at 0.75, 1.05, 1.375, 2 and 5 A."""
    assert [row[1] for row in fuse_test_currents(0.5, "T").rows] == pytest.approx([0.75, 1.05, 1.375, 2.0, 5.0])


def test_the_widest_gates_count_where_the_breaking_capacity_is_not_known() -> None:
    """T L has 0.15 to 3 s at four times its rating, T H 0.095 to 5 s: either may be fitted."""
    assert fuse_test_currents(0.5, "T").rows[3][2:] == ("95 ms", "5 s")
    assert fuse_test_currents(0.5, "F") == fuse_test_currents(0.5, "F", "L")


@pytest.mark.parametrize(
    ("kind", "current", "verdict"),
    [
        (("T", "L"), 0.3, "carries it indefinitely"),
        (("T", "L"), 0.5, "carries it indefinitely"),
        (("T", "L"), 0.75, "carries it for 60 min or longer"),
        (("T", "L"), 0.9, "carries it for 600 ms or longer"),
        (("T", "L"), 1.05, "blows within 2 min, not before 600 ms"),
        (("T", "L"), 1.375, "blows within 10 s, not before 600 ms"),
        (("T", "L"), 1.7, "blows within 10 s, not before 150 ms"),
        (("T", "L"), 2.0, "blows within 3 s, not before 150 ms"),
        (("T", "L"), 5.0, "blows within 300 ms, not before 20 ms"),
        (("T", "L"), 50.0, "blows within 300 ms"),
        (("F", "L"), 5.0, "blows within 20 ms"),
        (("F", "L"), 3.0, "blows within 300 ms"),
        (("T", "H"), 1.375, "blows within 80 s, not before 750 ms"),
    ],
)
def test_a_current_is_held_between_the_gates_on_either_side(
    kind: tuple[str, str], current: float, verdict: str
) -> None:
    """Facts 5.3 to 5.5; between two gates nothing but order is known: more current is never slower."""
    assert fuse_time(0.5, kind[0], current, kind[1]).remark == verdict


REFUSED = [
    Refusal(fuse_test_currents, (0.5, "F", "H"), "F fuses with letter H are not known"),
    Refusal(fuse_test_currents, (0.1, "T"), "from 125 mA to 6.3 A; it is 0.1 A"),
    Refusal(fuse_test_currents, (10.0, "T"), "from 125 mA to 6.3 A; it is 10 A"),
    Refusal(fuse_test_currents, (0.5, "M"), "one of: F, T"),
    Refusal(fuse_time, (0.5, "T", 2.0, "E"), "T fuses with letter E are not known"),
    Refusal(fuse_time, (0.5, "T", 0.0), "greater than 0 A"),
]


@pytest.mark.parametrize("row", REFUSED, ids=str)
def test_what_cannot_be_is_refused_in_words(row: Refusal) -> None:
    """No time comes out for a fuse whose times are not known."""
    row.holds()


def test_every_calculation_is_refused_something() -> None:
    """Both tables are tested above by themselves."""
    assert without_row(fuses, REFUSED) == set()


@given(KINDS, st.floats(0.1, 20.0), st.floats(1.0, 5.0))
def test_more_current_never_takes_longer(kind: tuple[str, str], times: float, factor: float) -> None:
    """Both ends of the band fall with the current, and the shortest time is never above the longest."""
    shortest, longest = fuses._band(times, GATES[kind])
    sooner, at_latest = fuses._band(times * factor, GATES[kind])
    assert sooner <= shortest <= longest
    assert at_latest <= longest


@given(KINDS, RATINGS, st.sampled_from([1.5, 2.1, 2.75, 4.0, 10.0]))
def test_at_a_test_current_the_band_is_within_its_gate(kind: tuple[str, str], rating: float, gate: float) -> None:
    """What is worked out for a current agrees with the table of test currents, whatever the rating."""
    letter = kind[1]
    row = next(row for row in fuse_test_currents(rating, kind[0], letter).rows if row[0] == gate)
    (_, _, at_least, at_most), *_ = fuse_time(rating, kind[0], gate * rating, letter).rows
    assert at_most == row[3]
    assert row[2] in ("", at_least)
