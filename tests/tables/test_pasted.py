"""Tables of readings inside a report are found by their heading; everything else stays text."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.tables.pasted import PLACE, tables_in

TABLES = [
    ("ref [m3/h]  meter [m3/h]\n10  12.1\n50  52.2", "reference"),
    ("tank m3/h\tmagmeter m3/h\n10,0\t11,0\n20,0\t22,1", "reference"),
    ("Reference flow   Indicated flow\n10 l/s  12 l/s\n20 l/s  25 l/s", "reference"),
    ("reference;indicated\n10;12\n20;24", "reference"),
    ("reference m3/h,meter m3/h\n10,10.1\n20,19.9\n30,30.1", "reference"),
    ("| display m3/h | plc m3/h |\n|---|---|\n| 10 | 20 |\n| 50 | 60 |", "control-system"),
    ("display m3/h, pulse counter m3/h\n10, 10\n50, 42", "counter"),
    ("Referenz [m³/h];Zähler [m³/h]\n10,0;10,4\n20,0;20,8", "reference"),
    ("Reference  Meter\nm3/h  m3/h\n10.0  10.4\n20.0  20.8", "reference"),
    ("Tank;;Meter;\nstart;stop;start;stop\nm3;m3;m3;m3\n0;10,0;100,0;110,4\n0;20,0;110,4;131,2", "reference"),
    ("what;tank [m3];meter [m3]\nstart;0;100,0\nstop;10,0;110,4", "reference"),
    ("tank / meter [m3/h]\n10/10.4\n20/20.8", "reference"),
    ("tank vs meter (m3/h)\n10 vs 10.4\n20 vs 20.8", "reference"),
    ("ref [m3/h]  meter [m3/h]\n10.0 ±0.1 (k=2)  10.4 ± 0.2\n20.0 ±0.1 (k=2)  20.8 ± 0.2", "reference"),
    ("as found\nref [m3/h]  meter [m3/h]\n10  10.4\n20  20.8\nas left\n10  10.1\n20  20.1", "reference"),
    ("state;ref [m3/h];meter [m3/h]\nas found;10;10,4\nas left;10;10,1", "reference"),
    ("FT-101 [m3/h]  FT-102 [m3/h]\n10.0  10.4\n20.0  20.8", "reference"),
]

NO_TABLES = [
    "it reads 12 13\n14 15",
    "flow 38 m3/h\nref 40\n12 13\n14 15",
    "reference  meter\n10  12",
    "meter  display\n10  12\n20  25",
    "time;FT-101;FT-102;FT-103\n08:00;1;2;3\n09:00;2;3;4",
    "settings\n10 -> 12\n20 -> 25",
    "1 fuse checked\n2 cover closed",
    "rooms m3\n10/12 m3\n11/13 m3",
    "the reference and the meter\ndo not agree",
    "",
]


@pytest.mark.parametrize(("table", "compared"), TABLES)
def test_a_table_with_both_sides_in_its_heading_is_taken_out(table: str, compared: str) -> None:
    """Whatever sets its cells off, it is taken whole, and what stands around it stays."""
    rest, found = tables_in(f"It is wrong.\n\n{table}\nPlease help.")
    assert [each.compared for each in found] == [compared]
    assert rest.split() == ["It", "is", "wrong.", PLACE, "Please", "help."]


def test_a_table_in_a_quoted_mail_is_found() -> None:
    """Marks of quoting are no part of it."""
    _, found = tables_in("> > ref m3/h  meter m3/h\n> > 10  12.1\n> > 50  52.2\n")
    assert found[0].text.splitlines()[1] == "10  12.1"


def test_pairs_that_nobody_named_are_asked_about() -> None:
    """Which of them is the reference nobody can know; a flow it is."""
    rest, found = tables_in("We compared:\n10/10.4\n20/20.8 m3/h\nPlease help.")
    assert rest.split() == ["We", "compared:", PLACE, "Please", "help."]
    assert found[0].asked.startswith("which is the reference in `10/10.4`")


@pytest.mark.parametrize("text", NO_TABLES)
def test_anything_else_stays_text(text: str) -> None:
    """No heading with both sides, or one line of figures alone: nothing is taken out, nothing changed."""
    assert tables_in(text) == (text, ())


@given(st.text(alphabet="ab1 2,.;|\t\n>-=[]m3/hrefmetr", max_size=200))
def test_no_text_is_too_odd(text: str) -> None:
    """Whatever is pasted, what is taken out and what stays are lines of it."""
    rest, found = tables_in(text)
    assert found or rest == text
    assert len(rest) <= len(text)
