"""The forms in which people write comparisons: totals, weighings, as found and as left, tags, pairs with marks.

All figures are invented.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import BadInput, DiagnoseError, ProblemsFound, UnitError
from diagnose.rule_book.patterns import Heading
from diagnose.tables.heading_words import HeadingWords
from diagnose.tables.readings import Readings
from diagnose.tables.table_options import SidesUnknown, TableOptions
from diagnose.tables.table_readings import comparisons_in
from diagnose.tables.table_text import read_table
from diagnose.tables.typed_pairs import readings_from_pairs
from diagnose.units import unit_info
from tests.comparison.comparisons import HOUR
from tests.tables.test_readings import in_hours, read

TEN_AND_TWENTY = {
    "start and stop beside a tank": (
        "start tank [m3];stop tank [m3];start meter [m3];stop meter [m3];start time;stop time\n"
        "0;10,0;100,0;110,4;08:00;09:00\n10,0;30,0;110,4;131,2;09:30;10:30"
    ),
    "names above, start and stop below, units last": (
        "Tank;;Meter;;Time;\nstart;stop;start;stop;start;stop\nm3;m3;m3;m3;;\n"
        "0;10,0;100,0;110,4;08:00;09:00\n10,0;30,0;110,4;131,2;09:30;10:30"
    ),
    "lines of start and stop": (
        "what;tank [m3];meter [m3];time\nstart;0;100,0;08:00\nstop;10,0;110,4;09:00\n"
        "start;10,0;110,4;09:30\nstop;30,0;131,2;10:30"
    ),
    "totals that run on": (
        "time;tank total [m3];meter total [m3]\n08:00;0,0;100,0\n09:00;10,0;110,4\n10:00;30,0;131,2"
    ),
    "over midnight, in German": (
        "Start Zeit;Stopp Zeit;Behälter Anfang [m³];Behälter Ende [m³];Zähler Anfang [m³];Zähler Ende [m³]\n"
        "01.03.2026 23:30;02.03.2026 00:30;0;10,0;100,0;110,4\n02.03.2026 09:30;02.03.2026 10:30;0;20,0;110,4;131,2"
    ),
    "over midnight without dates": (
        "start time,stop time,tank [m3],meter [m3]\n23:30,00:30,10.0,10.4\n11:15 pm,12:15 am,20.0,20.8"
    ),
    "before and after of a second counter": (
        "second counter before [m3];second counter after [m3];counter before [m3];counter after [m3];Dauer [min]\n"
        "5,0;15,0;100,0;110,4;60\n15,0;35,0;110,4;131,2;60"
    ),
    "a bucket beside a flow": "bucket [l];time [s];meter [m3/h]\n25,00;9,00;10,4\n25,00;4,50;20,8",
    "emptied tank": (
        "tank start [m3];tank stop [m3];meter start [m3];meter stop [m3];duration [h]\n"
        "30,0;20,0;100,0;110,4;1,0\n20,0;0,0;110,4;131,2;1,0"
    ),
    "weighed at a density": (
        "tare [kg];gross [kg];meter start [m3];meter stop [m3];density [kg/m3];duration [h:mm]\n"
        "5000;15000;100,00;110,40;1001,05;1:00\n5000;25000;110,40;131,20;1001,05;1:00"
    ),
    "tags beside a reference": "FT-101 [m3/h];reference [m3/h]\n10,4;10,0\n20,8;20,0",
    "units in a line of their own": "Reference\tMeter\n[l/s]\t[m3/h]\n2,77778\t10,4\n5,55556\t20,8",
    "set-point and deviation beside": (
        "Datum;Uhrzeit;Sollwert [m³/h];Anzeige [m³/h];Abweichung [%]\n"
        "1.3.2026;08:00;10,0;10,4;4,0\n1.3.2026;09:00;20,0;20,8;4,0"
    ),
    "lines above and below": (
        "Verification of FT-101 on 1 March 2026\n\n"
        "Reference [m3/h];Meter [m3/h]\n10,0;10,4\n20,0;20,8\n\nby the late shift"
    ),
    "rows with numbers": "Nr;Behälter [m3/h];Vor-Ort [m3/h]\n#1;10,0;10,4\n#2;20,0;20,8",
    "slashes": "reference / meter [m3/h]\n10/10.4\n20/20.8",
    "vs, the meter first": "meter vs tank (m3/h)\n10.4 vs 10.0\n20.8 vs 20.0",
    "arrows, no heading": "10 -> 10.4\n20 -> 20.8 m3/h",
}


@pytest.mark.parametrize("text", TEN_AND_TWENTY.values(), ids=TEN_AND_TWENTY.keys())
def test_forms_are_read_as_meant(text: str) -> None:
    """However it is written: 10 and 20 m³/h, of which the meter makes 10.4 and 20.8."""
    found = read(text)
    assert found.kind == "flow"
    assert in_hours(found.reference) == pytest.approx([10, 20], rel=1e-5)
    assert in_hours(found.indicated) == pytest.approx([10.4, 20.8], rel=1e-5)


TYPED = [
    "10 vs 10.4; 20 vs 20.8 m3/h",
    "10 m3/h / 10.4 m3/h; 20 m3/h/20.8 m3/h",
    "10 → 10.4; 20 -> 20.8 m3/h",
    "10,0 10,4; 20,0 20,8 m³/h",
    "reference 10 meter 10.4; reference 20 meter 20.8 m3/h",
    "display 10.4 tank 10; display 20.8 tank 20 m3/h",
    "10 ±0.1 10.4; 20 ±0.1 (k=2) 20.8 m3/h",
    "10/10.4, 20/20.8 m3/h",
    "10/10.4,20/20.8 m3/h",
    "10 10.4, 20 20.8 m3/h",
    "10 versus 10.4; 20 versus 20.8 m3/h",
    "10 vs 10.4 and 20 vs 20.8 m3/h",
    "reference 10 meter 10.4, reference 20 meter 20.8 m3/h",
    "meter 10.4 and tank 10, meter 20.8 and tank 20 m3/h",
    "meter / tank: 10.4/10, 20.8/20 m3/h",
    "tank vs meter: 10 10.4; 20 20.8 m3/h",
]


@pytest.mark.parametrize("text", TYPED)
def test_typed_forms(text: str) -> None:
    """The same at a prompt."""
    found = readings_from_pairs(text, TableOptions())
    assert in_hours(found.reference) == pytest.approx([10, 20])
    assert in_hours(found.indicated) == pytest.approx([10.4, 20.8])


def test_volumes_without_times_stay_volumes() -> None:
    """No flow is invented; in their unit they are shown, and it is said what they cannot tell."""
    found = read("start tank [l];stop tank [l];start meter [l];stop meter [l]\n0;1000;50;1090\n0;2000;1090;3170")
    assert (found.kind, found.unit) == ("volume", "l")
    assert found.reference == pytest.approx([1, 2])
    assert found.indicated == pytest.approx([1.04, 2.08])
    assert "volumes without times" in found.warnings[-1]


def test_water_is_weighed_at_its_temperature() -> None:
    """1000 kg of water at 20 °C are 1.0028514 m³ (ISO 4185, as in the calculations)."""
    found = read("weighbridge [kg];meter [m3];temperature [degC]\n1000;1,00;20,0\n2000;2,00;20,0")
    assert found.reference == pytest.approx([1.0028514, 2.0057028], rel=1e-6)
    assert read("scale [kg];meter [m3]\n1000;1,00", temperature=293.15).reference == pytest.approx([1.0028514])


@pytest.mark.parametrize(
    "text",
    [
        "reference [m3/h];as found [m3/h];as left [m3/h]\n10,0;10,4;10,1\n20,0;20,8;20,1",
        "Referenz [m³/h];vorgefunden [m³/h];nach Justage [m³/h]\n10,0;10,4;10,1\n20,0;20,8;20,1",
        "reference [m3/h];meter before [m3/h];meter after [m3/h]\n10,0;10,4;10,1\n20,0;20,8;20,1",
        "ref as found (m3/h),meter as found (m3/h),ref as left (m3/h),meter as left (m3/h)\n"
        "10.0,10.4,10.0,10.1\n20.0,20.8,20.0,20.1",
        "state;reference [m3/h];meter [m3/h]\n"
        "as found;10,0;10,4\nas found;20,0;20,8\nas left;10,0;10,1\nas left;20,0;20,1",
        "reference [m3/h];meter [m3/h]\nas found\n10,0;10,4\n20,0;20,8\nas left\n10,0;10,1\n20,0;20,1",
        "as found\nreference [m3/h]  meter [m3/h]\n10.0  10.4\n20.0  20.8\nas left\nreference [m3/h]  meter [m3/h]\n"
        "10.0  10.1\n20.0  20.1",
    ],
)
def test_as_found_and_as_left_are_kept_apart(text: str) -> None:
    """Two comparisons of one table, each with its name."""
    found, left = comparisons_in(read_table(text, "a.csv"))
    assert (found.name, left.name) == ("as found", "as left")
    assert in_hours(found.reference) == in_hours(left.reference) == pytest.approx([10, 20])
    assert in_hours(found.indicated) == pytest.approx([10.4, 20.8])
    assert in_hours(left.indicated) == pytest.approx([10.1, 20.1])
    with pytest.raises(BadInput, match="as found and as left"):
        read(text)


TAGS = "time;FT-101 [m3/h];FIQ 2003A [m3/h]\n08:00;10;10,4\n09:00;20;20,8"


def test_which_of_two_flows_is_the_reference_is_said_or_asked() -> None:
    """Never guessed in silence; whoever names one has the last word."""
    found = read(TAGS)
    assert in_hours(found.reference) == pytest.approx([10, 20])
    assert "neither heading says which is the reference" in found.warnings[0]
    assert '--reference "FIQ 2003A [m3/h]"' in found.warnings[0]
    with pytest.raises(SidesUnknown, match="neither `FT-101"):
        read(TAGS, may_guess=False)
    turned = read(TAGS, reference="FIQ 2003A", may_guess=False)
    assert in_hours(turned.reference) == pytest.approx([10.4, 20.8])


def test_figures_keep_their_resolution() -> None:
    """As written, each by itself, in SI; differences have that of both ends."""
    found = read("reference [l/s];meter [m3/h]\n10,40;37,5\n20,5;74")
    assert found.resolution_reference == pytest.approx([1e-5, 1e-4])
    assert in_hours(found.resolution_indicated) == pytest.approx([0.1, 1])
    totals = read(TEN_AND_TWENTY["totals that run on"])
    assert in_hours(totals.resolution_indicated) == pytest.approx([0.1 * 2**0.5] * 2)
    current = read("reference [m3/h];loop [mA]\n50,0;12,00\n100,0;20,00", upper=100 * HOUR)
    assert in_hours(current.resolution_indicated) == pytest.approx([0.0625] * 2)
    assert found.only([1]).resolution_indicated == found.resolution_indicated[1:]


def test_rounded_figures_beside_fine_ones_are_told() -> None:
    """Whoever dropped a zero learns that it counts."""
    found = read("reference [m3/h];meter [m3/h]\n10;10,4\n20;20,8")
    assert found.warnings == (
        "the reference readings count as they are written (`10`); write the last digit that was read, a zero as well",
    )


UNCERTAIN = {
    "expanded, told": ("10,0 ±0,1 (k=2)", 0.05, 2.0, False),
    "three sigma": ("10,0 ±0,3 m3/h (k = 3)", 0.1, 3.0, False),
    "large U": ("10,0 (U = 0,1 m3/h, k = 2)", 0.05, 2.0, False),
    "small u": ("10,0 u=0,05", 0.05, 1.0, False),
    "standard, in words": ("10,0 ±0,05 (standard)", 0.05, 1.0, False),
    "brackets": ("(10,0 ± 0,1) m3/h", 0.05, 2.0, True),
    "nothing told": ("10,0 +/- 0,1", 0.05, 2.0, True),
    "per cent": ("10,0 m3/h ± 1 %", 0.05, 2.0, True),
}


@pytest.mark.parametrize(("cell", "standard", "coverage", "is_told"), UNCERTAIN.values(), ids=UNCERTAIN.keys())
def test_uncertainties_beside_figures(cell: str, standard: float, coverage: float, is_told: bool) -> None:
    """Standard or expanded as it is said; expanded where nothing is said, and that is told."""
    found = read(f"reference [m3/h];meter [m3/h]\n{cell};10,4\n{cell};10,5")
    assert in_hours(found.u_reference) == pytest.approx([standard] * 2)
    assert (found.coverage_reference, found.coverage_indicated) == (coverage, None)
    assert any("taken as expanded (k = 2)" in each for each in found.warnings) is is_told


UNCERTAIN_COLUMNS = {
    "behind the unit": ("reference [m3/h] ±1 %", 0.05, 2.0, True),
    "in brackets": ("reference m3/h (+/- 0,1 m3/h)", 0.05, 2.0, True),
    "beside the unit": ("reference [m3/h ± 0.1]", 0.05, 2.0, True),
    "standard": ("reference [m3/h] ±0.05 (k=1)", 0.05, 1.0, False),
}


@pytest.mark.parametrize(
    ("heading", "standard", "coverage", "is_told"), UNCERTAIN_COLUMNS.values(), ids=UNCERTAIN_COLUMNS.keys()
)
def test_an_uncertainty_in_a_heading_is_that_of_every_reading(
    heading: str, standard: float, coverage: float, is_told: bool
) -> None:
    """It was left out without a word."""
    found = read(f"{heading};meter [m3/h]\n10,0;10,4\n10,0;10,5")
    assert in_hours(found.u_reference) == pytest.approx([standard] * 2)
    assert (found.coverage_reference, found.coverage_indicated) == (coverage, None)
    assert any("taken as expanded (k = 2)" in each for each in found.warnings) is is_told


def test_nameless_uncertainties_belong_to_the_reading_before_them() -> None:
    """A column headed ± is of what stands on its left."""
    found = read("reference [m3/h];±;meter [m3/h];±\n10,0;0,1;10,4;0,4\n20,0;0,1;20,8;0,4", spread="standard")
    assert in_hours(found.u_reference) == pytest.approx([0.1, 0.1])
    assert in_hours(found.u_indicated) == pytest.approx([0.4, 0.4])


REFUSED = {
    "a counter that rolled over, where its size is not plain": (
        "tank start [m3];tank stop [m3];meter start [m3];meter stop [m3]\n0;10,0;100,0;110,4\n0;20,0;799990,4;11,2",
        ProblemsFound,
        "a.csv:3:17",
        "rolled over",
    ),
    "a start without a stop": (
        "tank start [m3];meter start [m3];meter stop [m3]\n30;100,0;110,4",
        BadInput,
        "`tank start [m3]`",
        "no stop",
    ),
    "no time": (
        "tank [m3];meter [m3];start time;stop time\n10;10,4;08:00;soon",
        ProblemsFound,
        "a.csv:2:15",
        "no time",
    ),
    "day or month": (
        "start time;stop time;tank [m3];meter [m3]\n01/02/2026 08:00;02/02/2026 08:00;10;10",
        ProblemsFound,
        "which is the day and which the month",
        "2026-03-01",
    ),
    "no length of time": (
        "tank [m3];meter [m3];duration [min]\n10;10,4;0",
        ProblemsFound,
        "this run took no time",
        "a.csv:2:9",
    ),
    "a volume in no time": (
        "tank [m3];meter [m3];duration [s]\n1000;1000;0,00001",
        BadInput,
        "reference readings",
        "too large to be a flow",
    ),
    "a volume and a flow": ("tank [m3];meter [m3/h]\n10;10,4", UnitError, "`tank [m3]` is a volume", "duration"),
    "mass": ("weighbridge [kg];meter [m3]\n10;10,4", UnitError, "temperature [degC]", "--density"),
    "a unit behind a figure": (
        "reference [m3/h];meter [m3/h]\n10;10,4x",
        ProblemsFound,
        "a.csv:2:4",
        "`x` behind the figure is no unit",
    ),
    "display and control system": (
        "display [m3/h];SCADA [m3/h]\n10,0;10,4",
        BadInput,
        "more than one",
        "--against display",
    ),
}


@pytest.mark.parametrize(("text", "kind", "words", "more"), REFUSED.values(), ids=REFUSED.keys())
def test_what_is_wrong_is_told_at_its_place(text: str, kind: type, words: str, more: str) -> None:
    """Where, what, and what to write."""
    with pytest.raises(kind) as error:
        read(text)
    assert words in str(error.value)
    assert more in str(error.value)


def test_headings_in_a_language_of_ones_own() -> None:
    """An entry in the rule book is enough."""
    own = (
        Heading(id="dutch-reference", title="reference", means=("reference",), words=("referentie", "weegbrug")),
        Heading(id="dutch-meter", title="meter", means=("indicated",), words=("*meter",)),
    )
    text = "watermeter [m3/h];referentie [m3/h]\n10,4;10,0\n20,8;20,0"
    found = read(text, words=HeadingWords(own), may_guess=False)
    assert in_hours(found.reference) == pytest.approx([10, 20])
    assert not found.warnings


@dataclass(frozen=True)
class Drawn:
    """A table that somebody may write, and the pairs in it [m³/s or m³]."""

    text: str
    pairs: list[tuple[float, float]]


_HEADS = [("reference", "meter"), ("Tank", "MID"), ("Referenz", "Zähler"), ("clamp-on", "Mag meter"), ("Soll", "Ist")]
_FLOWS = ["m3/h", "l/s", "m³/h", "gpm", "l/min"]
_MARKS = [(";", "comma"), (";", "point"), ("\t", "comma"), ("\t", "point"), (",", "point"), ("|", "comma")]
_MARKS += [("  ", "point"), ("  ", "comma")]


@st.composite
def tables(draw: st.DrawFn) -> Drawn:
    """Draw a table: delimiter, decimals, language, units and where they stand, order and number of columns."""
    mark, decimal = draw(st.sampled_from(_MARKS))
    heads = draw(st.sampled_from(_HEADS))
    units = draw(st.tuples(st.sampled_from(_FLOWS), st.sampled_from(_FLOWS)))
    where = draw(st.sampled_from(["heading", "line", "figure"]))
    turned, timed = draw(st.booleans()), draw(st.booleans())
    figures = draw(st.lists(st.tuples(st.integers(0, 9_999_999), st.integers(1, 9_999_999)), min_size=1, max_size=6))
    rows = [[f"{each / 100:.2f}" for each in row] for row in figures]
    if where == "figure":
        rows = [[f"{figure} {unit}" for figure, unit in zip(row, units, strict=True)] for row in rows]
    head = [f"{name} [{unit}]" if where == "heading" else name for name, unit in zip(heads, units, strict=True)]
    lines = [head, *([list(units)] if where == "line" else []), *rows]
    if turned:
        lines = [line[::-1] for line in lines]
    if timed:
        times = ["time", *([""] if where == "line" else []), *(f"{8 + at:02}:00" for at in range(len(rows)))]
        empty = "-" if mark == "  " else ""
        lines = [[time or empty, *line] for time, line in zip(times, lines, strict=True)]
    text = "\n".join(mark.join(line) for line in lines)
    text = text.replace(".", ",") if decimal == "comma" else text
    of = [unit_info(unit).factor for unit in units]
    return Drawn(text, [(a / 100 * of[0], b / 100 * of[1]) for a, b in figures])


@settings(max_examples=300)
@given(tables())
def test_any_form_of_a_table_is_read_back(table: Drawn) -> None:
    """Delimiter x decimals x language x units x order of columns: the same pairs, and their resolution."""
    found = read(table.text, may_guess=False)
    assert found.reference == pytest.approx([one for one, _ in table.pairs], rel=1e-9, abs=1e-14)
    assert found.indicated == pytest.approx([other for _, other in table.pairs], rel=1e-9, abs=1e-14)


@settings(max_examples=150)
@given(
    st.lists(st.tuples(st.integers(1, 9_999), st.integers(1, 9_999), st.integers(1, 1_000)), min_size=1, max_size=5),
    st.integers(0, 10**7),
    st.sampled_from([";", "\t"]),
    st.sampled_from([("start tank", "stop tank", "start MID", "stop MID"), ("Tank vor", "Tank nach", "vor", "nach")]),
    st.sampled_from(["duration [min]", "Dauer [min]", ""]),
    st.permutations(range(5)),
)
def test_any_totals_are_read_back(
    runs: list[tuple[int, int, int]], counted: int, mark: str, heads: tuple[str, ...], timed: str, order: list[int]
) -> None:
    """Start and stop of any counters, in any order of columns, with a duration or without."""
    rows = []
    tank, meter = 0, counted
    for one, other, minutes in runs:
        rows.append([tank, tank + one, meter, meter + other, minutes])
        tank, meter = tank + one, meter + other
    names = [*(f"{head} [m3]" for head in heads), timed]
    text = [[f"{each / 100:.2f}".replace(".", ",") for each in row[:4]] + [str(row[4])] for row in rows]
    kept = [at for at in order if timed or at < 4]
    table = "\n".join(mark.join(line[at] for at in kept) for line in [names, *text])
    found = read(table, may_guess=False)
    assert found.kind == ("flow" if timed else "volume")
    of = [60.0 * minutes if timed else 1.0 for _, _, minutes in runs]
    assert found.reference == pytest.approx([a / 100 / t for (a, _, _), t in zip(runs, of, strict=True)], rel=1e-6)
    assert found.indicated == pytest.approx([b / 100 / t for (_, b, _), t in zip(runs, of, strict=True)], rel=1e-6)


_PIECES = [
    *(
        "reference",
        "meter",
        "start",
        "stop",
        "as left",
        "as found",
        "total",
        "date",
        "time",
        "duration",
        "±",
        "U=",
        "k=2",
    ),
    *("[m3]", "[kg]", "m3/h", "°C", "08:00", "1.3.2026", "10,4", "10.4", "-3"),
    *("(", ")", "/", "vs", "->", ";", "\t", "\n", "\n", " ", "  "),
]


@settings(max_examples=300)
@given(st.lists(st.sampled_from(_PIECES), max_size=60).map("".join))
def test_any_pieces_are_read_or_refused_in_words(text: str) -> None:
    """Whatever stands in a table: readings, or an error that is the table's."""
    try:
        found: tuple[Readings, ...] = comparisons_in(read_table(text, "a.csv"), TableOptions(unit="m3/h"))
    except DiagnoseError:
        return
    for each in found:
        assert len(each.reference) == len(each.indicated) == len(each.resolution_reference) > 0
