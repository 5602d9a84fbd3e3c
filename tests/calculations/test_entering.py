"""Values as people write them: units, decimal commas, lists, uncertainties; nothing is guessed."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations.entering import DIVISORS, Spread, enter, example, said_of
from diagnose.errors import DiagnoseError, UnitError
from diagnose.terms import TERMS, Term

FLOW, BORE, TEMPERATURE = TERMS["flow"], TERMS["bore"], TERMS["temperature"]
FIGURES = Term(id="some-flows", title="flows", unit="m3/h", list_of_figures=True)
WORD = Term(id="some-word", title="kind of supply", choices=("a.c.", "d.c."))
BYTES = Term(id="some-bytes", title="bytes", text=True)

READ = [
    (FLOW, "36 m3/h", 0.01),
    (FLOW, "36m³/h", 0.01),
    (FLOW, "10 l/s", 0.01),
    (FLOW, "-3,6 m3/h", -0.001),
    (FLOW, "1 250,5 m3/h", 1250.5 / 3600),
    (FLOW, "100 gpm", 100 * 3.785411784e-3 / 60),  # US gallon: 231 cubic inches exactly
    (BORE, "4 in", 0.1016),
    (TEMPERATURE, "20 degC", 293.15),
    (WORD, "D.C.", "d.c."),
    (WORD, "dc", "d.c."),
    (BYTES, "01 03 00", "01 03 00"),
    (FIGURES, "5; 10; 20 m3/h", (5 / 3600, 10 / 3600, 20 / 3600)),
    (FIGURES, "5 10 20 m3/h", (5 / 3600, 10 / 3600, 20 / 3600)),
    (FIGURES, "1,5 m3/h; 500 l/h", (1.5 / 3600, 0.5 / 3600)),
]


@pytest.mark.parametrize(("term", "text", "value"), READ, ids=[f"{term.id}: {text}" for term, text, _ in READ])
def test_what_people_write_is_read_in_si_units(term: Term, text: str, value: object) -> None:
    """Figures with their unit, words in any case, texts as they stand, lists with one unit at the end."""
    read = enter(term, text)
    assert read == (pytest.approx(value) if not isinstance(value, str) else value)


@pytest.mark.parametrize(
    ("term", "text", "value", "said"),
    [
        ("bus-baud-rate", "9600", 9600.0, ""),
        ("bus-baud-rate", "19200 Bd", 19200.0, ""),
        ("bore", "DN100", 0.1, "a nominal size"),
        ("bore", "dn 80", 0.08, "a nominal size"),
        ("bore", "100 mm", 0.1, ""),
        ("flow", "50 gal/h", 50 * 231 * 0.0254**3 / 3600, "US gallons"),
        ("flow", "50 ± 1 gal/h", None, "US gallons"),
        ("flow", "50 imp gal/h", 50 * 4.54609e-3 / 3600, ""),
        ("wire-address", "0x64", 100.0, ""),
    ],
)
def test_a_unit_that_goes_without_saying_is_supplied_and_said_where_it_need_not_be(
    term: str, text: str, value: float | None, said: str
) -> None:
    """A baud rate needs no unit, a nominal size is no exact bore, a gallon without a country is American."""
    read = enter(TERMS[term], text)
    assert value is None or read == pytest.approx(value)
    told = said_of(TERMS[term], text)
    assert said in told
    assert bool(said) == bool(told)


REFUSED = [
    (FLOW, "37.5", "`37.5` has no unit; write for example 37.5 m3/h"),
    (FLOW, "10 mA", "`mA` does not measure the same thing as `m3/h`"),
    (FLOW, "1,250 m3/h", "did you mean `1250 m3/h` or `1.250 m3/h`?"),
    (FLOW, "nan m3/h", "is not a number, or is ambiguous"),
    (FLOW, "inf", "is not a number, or is ambiguous"),
    (FLOW, "1e999 m3/h", "is not a number, or is ambiguous"),
    (FLOW, "", "no value is given"),
    (FLOW, "10 flurbs", "`flurbs` is not a known unit"),
    (FLOW, "10 ± 1", "`10` has no unit"),
    (FLOW, "10 m3/h ± 1 mA", "`mA` does not measure the same thing as `m3/h`"),
    (FLOW, "10 m3/h ± 1e308 m3/h", "beyond anything plausible"),
    (FLOW, "10 m3/h ± -1 m3/h", "an uncertainty cannot be negative"),
    (BORE, "0 mm", "inner diameter of the meter must be greater than 0 mm; it is 0 mm"),
    (BORE, "-5 cm", "must be greater than 0 mm; it is -50 mm"),
    (WORD, "a.x.", "did you mean `a.c.`?"),
    (FLOW, "1.2.3 m3/h", "is not a number, or is ambiguous"),
    (
        FLOW,
        "100-240 m3/h",
        "`100-240 m3/h` is a range, and one figure is wanted; did you mean `100 m3/h` or `240 m3/h`?",
    ),
    (FLOW, "100-240", "did you mean `100` or `240`?"),
    (FLOW, "100 m3/h to 240 m3/h", "did you mean `100 m3/h` or `240 m3/h`?"),
    (FIGURES, "5; 10; 20", "has no unit"),
    (FIGURES, "5; ten; 20 m3/h", "`ten` is not a number"),
]


@pytest.mark.parametrize(("term", "text", "told"), REFUSED, ids=[f"{term.id}: {text}" for term, text, _ in REFUSED])
def test_what_cannot_be_meant_is_refused_by_name(term: Term, text: str, told: str) -> None:
    """The message names the option, says what is wrong, and how it is written."""
    with pytest.raises(DiagnoseError) as caught:
        enter(term, text)
    assert str(caught.value).startswith(f"--{term.id}")
    assert told in str(caught.value)


UNCERTAIN = [
    ("36 ± 3.6 m3/h", 0.001),
    ("(36 +/- 3.6) m3/h", 0.001),
    ("36 m3/h ± 1 l/s", 0.001),
    ("36 m3/h ± 10 %", 0.001),
    ("36 m3/h +- 3,6 m3/h", 0.001),
]


@pytest.mark.parametrize(("text", "spread"), UNCERTAIN)
@pytest.mark.parametrize("kind", DIVISORS)
def test_what_stands_behind_plus_minus_is_turned_into_a_standard_uncertainty(
    text: str, spread: float, kind: Spread
) -> None:
    """Expanded is halved (k = 2), limits are divided by the square root of three (JCGM 100:2008, 4.3.7)."""
    value = enter(FLOW, text, kind)
    assert value.nominal_value == pytest.approx(0.01)
    assert value.std_dev == pytest.approx(spread / {"standard": 1, "expanded": 2, "limits": math.sqrt(3)}[kind])


def test_a_spread_of_temperature_has_no_zero_of_its_own() -> None:
    """Half a degree Celsius is half a kelvin, not 273.65."""
    assert enter(TEMPERATURE, "20 ± 0.5 degC").std_dev == pytest.approx(0.5)


@given(st.floats(min_value=-1e6, max_value=1e6))
def test_a_figure_written_out_is_read_back(figure: float) -> None:
    """What is shown can be typed again."""
    assert enter(FLOW, f"{figure:.6f} m3/h") == pytest.approx(figure / 3600, abs=1e-9)


@pytest.mark.parametrize(
    "term", [each for each in TERMS.values() if each.example or each.choices], ids=lambda term: term.id
)
def test_the_example_of_every_term_can_be_read(term: Term) -> None:
    """The help never shows an example that the program refuses."""
    text = term.choices[0] if term.choices else example(term)
    value = enter(term, text)
    assert value == text if term.choices else value not in (None, "", ())


@pytest.mark.parametrize(
    ("term", "text", "value"),
    [
        ("bore", "1/2in", 0.0127),
        ("bore", '1 1/2"', 0.0381),
        ("bore", "DN 100 mm", 0.1),
        ("bus-baud-rate", "9.6k", 9600.0),
        ("pulse-value", "100 p/m3", 0.01),
        ("pulse-value", "1 pulse/l", 0.001),
        ("k-factor", "10 l", 100.0),
        ("conductor-area", "AWG 18", 0.8230e-6),
    ],
)
def test_what_people_write_in_place_of_the_usual(term: str, text: str, value: float) -> None:
    """Fractions of inches, nominal sizes, thousands, pulses to a volume, wire sizes."""
    assert enter(TERMS[term], text) == pytest.approx(value, rel=1e-3)


def test_a_point_between_thousands_is_asked_or_said() -> None:
    """Three zeros behind a point are asked; other three digits are read as decimals, and that is said."""
    with pytest.raises(UnitError, match=r"`1000 m3/h` or `1\.0 m3/h`"):
        enter(TERMS["flow"], "1.000m3/h")
    assert "decimal point" in said_of(TERMS["flow"], "1.250 m3/h")
    assert said_of(TERMS["flow"], "1.25 m3/h") == said_of(TERMS["flow"], "0.250 m3/h") == ""
