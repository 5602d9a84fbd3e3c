"""Tables and typed pairs as people send them: read as meant, or refused with the reason."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.comparison.fit import fit_pairs
from diagnose.errors import BadInput, DiagnoseError, ProblemsFound, UnitError
from diagnose.place import Place, Problem
from diagnose.tables.readings import Readings, with_uncertainty
from diagnose.tables.table_options import TableOptions
from diagnose.tables.table_readings import readings_from_table
from diagnose.tables.table_text import read_table
from diagnose.tables.typed_pairs import readings_from_pairs
from tests.comparison.comparisons import HOUR

HEAD = "reference [m3/h];indicated [m3/h]\n"


def read(text: str | bytes, **asked: object) -> Readings:
    """Return the readings of a table."""
    return readings_from_table(read_table(text, "a.csv"), TableOptions(**asked))  # type: ignore[arg-type]


def in_hours(flows: tuple[float, ...]) -> list[float]:
    """Return flows in m³/h."""
    return [each / HOUR for each in flows]


TABLES = {
    "semicolons and decimal commas": "reference [m3/h];indicated [m3/h]\n1000,5;1010\n2000;2020,5",
    "commas and decimal points": "ref (m3/h),ind (m3/h)\n1000.5,1010\n2000,2020.5",
    "tabs": "Reference m3/h\tMeter m3/h\n1000.5\t1010\n2000\t2020.5",
    "bars": "| reference [m3/h] | meter [m3/h] |\n| --- | --- |\n| 1000.5 | 1010 |\n| 2000 | 2020.5 |",
    "wide spaces": "reference [m3/h]   meter [m3/h]\n1000.5   1010\n2000     2020.5",
    "thousands with points": "reference [m3/h];indicated [m3/h]\n1.000,5;1.010\n2.000;2.020,5",
    "thousands with commas": "reference [m3/h];indicated [m3/h]\n1,000.5;1,010\n2,000;2,020.5",
    "thousands with spaces": "reference [m3/h];indicated [m3/h]\n1 000,5;1 010\n2 000;2 020,5",
    "thousands with apostrophes": "reference [m3/h];indicated [m3/h]\n1'000.5;1'010\n2'000;2'020.5",
    "other order": "indicated [m3/h];reference [m3/h]\n1010;1000.5\n2020.5;2000",
    "comment and byte-order mark": "\ufeff# tank\n\nreference [m3/h];meter [m3/h]\n1000.5;1010\n2000;2020.5",
    "units behind figures": "reference;indicated\n1000.5 m3/h;1010 m3/h\n2000 m3/h;2020.5 m3/h",
    "two units": "reference [m3/h];indicated [l/s]\n1000.5;280.5555556\n2000;561.25",
    "quotes": '"reference [m3/h]";"indicated [m3/h]"\n"1000,5";"1010"\n"2000";"2020,5"',
}


@pytest.mark.parametrize("text", TABLES.values(), ids=TABLES.keys())
def test_tables_are_read_as_meant(text: str) -> None:
    """Every way of writing the same two pairs gives the same two pairs."""
    found = read(text)
    assert in_hours(found.reference) == pytest.approx([1000.5, 2000])
    assert in_hours(found.indicated) == pytest.approx([1010, 2020.5])


REFUSED = {
    "empty file": ("", BadInput, "is empty"),
    "only blank lines": ("\n \n", BadInput, "is empty"),
    "only a heading": (HEAD, BadInput, "no readings"),
    "binary": (bytes(range(256)) * 4, BadInput, "is not text"),
    "one million letters in a line": (HEAD + "1" * 1_000_000 + ";5", BadInput, "line 2 has 1000002 characters"),
    "no unit": ("reference;indicated\n10;10,5", UnitError, "unit of the reference readings is missing"),
    "no unit of one side": (
        "reference [m3/h];indicated\n10;10,5",
        UnitError,
        "unit of the indicated readings is missing",
    ),
    "unit nobody knows": ("reference [m3/fortnite];indicated [m3/h]\n10;10", ProblemsFound, "is not a known unit"),
    "several units": (HEAD + "10 l/s;10\n20;20", UnitError, "several units"),
    "no flow": ("reference [bar];indicated [m3/h]\n10;10", UnitError, "is not a flow"),
    "volume and flow": ("reference [m3];indicated [m3/h]\n10;10", UnitError, "add a column `duration [min]`"),
    "mass without density": ("scale [kg];meter [m3]\n10;10", UnitError, "--density"),
    "text in a figure": (HEAD + "10;10,5\n50;ca. 51", ProblemsFound, "`ca. 51` is not a number"),
    "thousands or decimals": (HEAD + "1.000;1.010\n2.000;2.020", BadInput, "give --decimal comma or --decimal point"),
    "both kinds of decimals": (HEAD + "10,5;10\n20.5;20", ProblemsFound, "decimal mark"),
    "uneven lines": (HEAD + "10;10\n20;20;20\n30;30", ProblemsFound, "cells"),
    "nothing but gaps": (HEAD + "10;nan\n;20", BadInput, "no line has both readings"),
    "three nameless columns": ("1;2;3\n4;5;6", BadInput, "the 3 columns have no headings"),
    "one column": ("reference [m3/h]\n10\n20", BadInput, "columns"),
    "two references": ("tank [m3/h];reference [m3/h];meter [m3/h]\n1;2;3", BadInput, "more than one"),
    "milliamperes without a range": ("reference [m3/h];indicated [mA]\n10;5,6", UnitError, "--urv"),
    "a flow beyond every river": (HEAD + "10;1e300\n20;20", BadInput, "too large to be a flow"),
}


@pytest.mark.parametrize(("text", "kind", "words"), REFUSED.values(), ids=REFUSED.keys())
def test_what_cannot_be_read_is_refused_with_the_reason(text: str | bytes, kind: type, words: str) -> None:
    """The message says what is wrong; nothing is guessed."""
    with pytest.raises(kind) as error:
        read(text)
    assert words in str(error.value)
    assert len(str(error.value)) < 1000


def test_gaps_are_left_out_and_told() -> None:
    """A line with a missing reading does not count, and its number is told."""
    found = read(HEAD + "10,0;10,1\n20,0;nan\n30,0;30,2\n-;5\n40,0;40,1")
    assert in_hours(found.reference) == pytest.approx([10, 30, 40])
    assert found.warnings == ("left out because a reading is missing: line 3, 5",)


def test_columns_are_taken_by_name_or_number() -> None:
    """Whoever names the columns has the last word."""
    text = "a [m3/h];b [m3/h];c [m3/h]\n1;2;3\n4;5;6"
    assert in_hours(read(text, reference="c", indicated="1").reference) == pytest.approx([3, 6])
    assert in_hours(read(text, reference="c", indicated="1").indicated) == pytest.approx([1, 4])
    with pytest.raises(BadInput, match="the same column"):
        read(text, reference="c", indicated="3")
    with pytest.raises(BadInput, match="not the name of exactly one column"):
        read(text, reference="x", indicated="b")


def test_without_heading_the_order_is_told() -> None:
    """Two nameless columns are taken in their usual order, and that is said."""
    found = read("10;10,5\n20;20,5", unit="m3/h")
    assert in_hours(found.indicated) == pytest.approx([10.5, 20.5])
    assert "first column is taken as the reference" in found.warnings[0]


def test_columns_not_used_are_told() -> None:
    """Nothing is passed over in silence."""
    found = read("time;reference [m3/h];meter [m3/h]\n08:00;10,0;10,5\n09:00;20,0;20,5")
    assert found.warnings == ("columns not used: time",)


def test_a_unit_that_contradicts_is_refused() -> None:
    """--unit says what no heading says; it never overrules one."""
    with pytest.raises(UnitError, match="--unit says l/s"):
        read(HEAD + "10;10", unit="l/s")


def test_current_and_per_cent_are_flows_of_the_range() -> None:
    """12 mA and 50 % are the middle of 0 to 100 m³/h (fact sheet 3.4)."""
    for column, figure in (("mA", "12"), ("%", "50")):
        found = read(f"reference [m3/h];indicated [{column}]\n50;{figure}\n0;4", upper=100 * HOUR)
        assert in_hours(found.indicated)[0] == pytest.approx(50)


def test_uncertainties_become_standard_ones() -> None:
    """Expanded ones are halved, limits divided by the root of three, shares taken of the reading."""
    expanded = read("reference [m3/h];meter [m3/h];U ref (m3/h, k=2)\n10;10;0.2\n20;20;0.4")
    assert in_hours(expanded.u_reference) == pytest.approx([0.1, 0.2])
    limits = read("reference [m3/h];meter [m3/h];u meter [%]\n10;10;1\n20;20;1", spread="limits")
    assert in_hours(limits.u_indicated) == pytest.approx([0.1 / 3**0.5, 0.2 / 3**0.5])


@pytest.mark.parametrize("figures", [("0", "0.1"), ("", "0.1"), ("-1", "0.1"), ("1e-200", "0.1"), ("1e200", "0.1")])
def test_uncertainties_that_are_none_are_left_out_and_told(figures: tuple[str, str]) -> None:
    """Zero, missing, negative or absurd ones do not weigh, and it is said."""
    first, second = figures
    found = read(f"reference [m3/h];meter [m3/h];u meter [m3/h]\n10;10.0;{first}\n20;20;{second}")
    assert not found.known
    assert "uncertainties are ignored" in found.warnings[0]


def test_one_uncertainty_for_all_pairs() -> None:
    """Said beside the table: a share of each reading, or a flow."""
    found = with_uncertainty(read(HEAD + "10;10\n20;20"), "0.5 %", "0.2 m3/h", "expanded")
    assert in_hours(found.u_reference) == pytest.approx([0.025, 0.05])
    assert in_hours(found.u_indicated) == pytest.approx([0.1, 0.1])
    for wrong in ("0 %", "-1 %", "0.3", "much"):
        with pytest.raises(UnitError, match="not an uncertainty"):
            with_uncertainty(found, wrong, "", "standard")


@pytest.mark.parametrize("beside", [True, False])
def test_a_share_of_readings_that_are_all_zero_is_no_certainty(beside: bool) -> None:
    """One per cent of a meter that shows nothing at any flow: weights would be infinite."""
    if beside:
        found = with_uncertainty(read(HEAD + "10;0\n50;0\n100;0"), "1 %", "1 %", "standard")
    else:
        found = read("reference [m3/h];meter [m3/h];u meter [%]\n10;0;1\n50;0;1\n100;0;1")
    assert all(0 < each < 1e-4 * max(found.reference) for each in found.u_indicated)
    assert fit_pairs(found.reference, found.indicated, found.u_reference, found.u_indicated) is not None


def test_counters_that_began_elsewhere_are_compared_by_what_they_added() -> None:
    """Times beside two totals: each line minus the one before, though no heading says total; and it is said."""
    lines = "01.03.2026 08:00;1000;50\n01.03.2026 09:00;1060;110\n01.03.2026 10:00;1119,5;170"
    found = read("Time;Meter m3;Tank m3\n" + lines)
    assert in_hours(found.indicated) == pytest.approx([60, 59.5])
    assert in_hours(found.reference) == pytest.approx([60, 60])
    assert any("run on" in each for each in found.warnings)
    of_runs = read("Time;Meter m3;Tank m3\n" + "08:00;50;51\n09:00;60;61\n10:00;70;71")
    assert of_runs.kind == "volume"
    assert of_runs.indicated == (50, 60, 70)


TYPED = [
    ("2.7777778 l/s 10; 10 l/s 36 m3/h", [10, 36], [10, 36]),
    ("10 m3/h 2.7777778 l/s; 36 m3/h 10 l/s", [10, 36], [10, 36]),
    ("10 m3/h 10.4 m3/h; 36 m3/h 36.4 m3/h", [10, 36], [10.4, 36.4]),
    ("5 5.31; 10 10.42 m3/h", [5, 10], [5.31, 10.42]),
    ("5/5.31; 10/10.42 m3/h", [5, 10], [5.31, 10.42]),
    ("5:5.31\n10:10.42 m3/h", [5, 10], [5.31, 10.42]),
    ("5,0 5,31; 10,0 10,42 m3/h", [5, 10], [5.31, 10.42]),
    ("-5 -5.31; 0 0.2 m3/h", [-5, 0], [-5.31, 0.2]),
]


@pytest.mark.parametrize(("text", "reference", "indicated"), TYPED)
def test_typed_pairs(text: str, reference: list[float], indicated: list[float]) -> None:
    """Pairs are typed one after the other, the unit behind them."""
    found = readings_from_pairs(text, TableOptions())
    assert in_hours(found.reference) == pytest.approx(reference)
    assert in_hours(found.indicated) == pytest.approx(indicated)


@pytest.mark.parametrize("text", ["", ";", "5", "5 5 5 m3/h", "five six m3/h", "5 5.31", "5 5.31 parsec", "\x00"])
def test_typed_nonsense_is_refused(text: str) -> None:
    """One figure, three, words, or no unit."""
    with pytest.raises(DiagnoseError):
        readings_from_pairs(text, TableOptions())


@settings(max_examples=150)
@given(st.one_of(st.text(max_size=60), st.binary(max_size=60)), st.text(max_size=30))
def test_any_input_is_read_or_refused_in_words(table: str | bytes, typed: str) -> None:
    """Whatever is sent: readings, or an error that is the input's."""
    head = HEAD.encode() if isinstance(table, bytes) else HEAD
    for given_ in (table, head + table):  # type: ignore[operator]
        try:
            found = read(given_)
        except DiagnoseError:
            continue
        assert len(found.reference) == len(found.indicated) > 0
    with suppress(DiagnoseError):
        assert readings_from_pairs(typed, TableOptions(unit="m3/h")).reference


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.floats(-9999, 9999), st.floats(-9999, 9999)), min_size=1, max_size=5),
    st.sampled_from([";", "\t", "|"]),
    st.sampled_from(["point", "comma"]),
)
def test_what_is_written_comes_back(pairs: list[tuple[float, float]], mark: str, decimal: str) -> None:
    """Any figures, set off and with decimals of any kind."""
    lines = [f"reference [m3/h]{mark}indicated [m3/h]", *(f"{a:.4f}{mark}{b:.4f}" for a, b in pairs)]
    text = "\n".join(lines)
    found = read(text if decimal == "point" else text.replace(".", ","))
    assert in_hours(found.reference) == pytest.approx([a for a, _ in pairs], abs=1e-4)
    assert in_hours(found.indicated) == pytest.approx([b for _, b in pairs], abs=1e-4)


def test_of_too_many_problems_the_first_are_told() -> None:
    """With how many there are more: nobody reads thousands at once."""
    with pytest.raises(ProblemsFound) as caught:
        read("reference [m3/h];indicated [m3/h]\n" + "1;x\n" * 150)
    assert len(caught.value.problems) == 150
    assert str(caught.value).count("is not a number") == 100
    assert str(caught.value).endswith("… and 50 more problems")


def test_of_a_very_long_line_the_part_around_the_place_is_shown() -> None:
    """The mark stays below what it points at."""
    line = "word " * 600 + "bad" + " word" * 600
    problem = Problem(
        Place("a.csv", 2, line.index("bad") + 1, 3), "not-a-number", "`bad` is not a number", "", "", line
    )
    shown, marked = (each.partition("| ")[2] for each in problem.in_full().splitlines()[3:5])
    assert len(shown) == 400
    assert shown[marked.index("^") : marked.rindex("^") + 1] == "bad"


@pytest.mark.parametrize("count", [24, 400])
def test_a_large_table_has_the_outliers_that_a_small_one_has(count: int) -> None:
    """One reading far off is found however many there are, and nothing else with it."""
    lines = [f"{10 + number % 7}.{number % 10};{10 + number % 7}.{(number * 7) % 10}" for number in range(count)]
    lines[5] = "12.0;19.0"
    readings = read("reference [m3/h];indicated [m3/h]\n" + "\n".join(lines))
    found = fit_pairs(readings.reference, readings.indicated)
    assert found is not None
    assert [each.point for each in found.outliers] == [5]
