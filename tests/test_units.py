"""Figures and units as people of the trade write them."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import UnitError
from diagnose.unit_conversions import CONVERSIONS
from diagnose.unit_spellings import in_use
from diagnose.units import (
    UnitInfo,
    WrittenFigure,
    could_be,
    is_unit,
    read_measurement,
    read_number,
    refuse_unclear,
    show,
    spelling,
    taken_as,
    to_si,
    unit_info,
    worked_out,
)
from tests.conversions import SPELT

AS_WRITTEN = [
    # written, unit wanted, figure in that unit
    ("0,0036 A", "mA", 3.6),
    ("3.6mA", "mA", 3.6),
    ("3.6 milliamps", "mA", 3.6),
    ("20 MA", "mA", 20.0),
    ("3600 µA", "mA", 3.6),
    ("3600 μA", "mA", 3.6),
    ("117 V AC", "V", 117.0),
    ("117 VAC", "V", 117.0),
    ("117 V a.c.", "V", 117.0),
    ("24 Vdc", "V", 24.0),
    ("24 volts DC", "V", 24.0),
    ("0.024 kV", "V", 24.0),
    ("38 m3/h", "m3/h", 38.0),
    ("38 m³/h", "m3/h", 38.0),
    ("38 m^3/h", "m3/h", 38.0),
    ("38 cubic metres per hour", "m3/h", 38.0),
    ("−2,5 m³/h", "m3/h", -2.5),
    ("1 250,5 m3/h", "m3/h", 1250.5),
    ("1'250.5 m3/h", "m3/h", 1250.5),
    ("1,250.5 m3/h", "m3/h", 1250.5),
    ("10 l/s", "m3/h", 36.0),
    ("10 L/s", "m3/h", 36.0),
    ("600 lpm", "m3/h", 36.0),
    ("20 °C", "degC", 20.0),
    ("20 C", "degC", 20.0),
    ("68 °F", "degC", 20.0),
    ("0.2 Mohm", "kohm", 200.0),
    ("0.2 MΩ", "kohm", 200.0),
    ("200 kΩ", "kohm", 200.0),
    ("200000 ohms", "kohm", 200.0),
    ("5 µS/cm", "uS/cm", 5.0),
    ("0.5 mS/cm", "uS/cm", 500.0),
    ("4 inch", "mm", 101.6),
    ('4"', "mm", 101.6),
    ("50 %", "%", 50.0),
    ("20 VA", "W", 20.0),
    ("9600 baud", "bit/s", 9600.0),
]


@pytest.mark.parametrize(("written", "unit", "figure"), AS_WRITTEN, ids=[row[0] for row in AS_WRITTEN])
def test_a_figure_means_what_the_trade_means(written: str, unit: str, figure: float) -> None:
    """Each spelling is the same figure in the unit that the trade reads."""
    measured = read_measurement(written)
    assert measured is not None
    expected = unit_info(unit)
    assert (to_si(*measured, unit) - expected.offset) / expected.factor == pytest.approx(figure, rel=1e-9)


# Exact definitions: inch 25.4 mm, US gallon 231 cubic inches, imperial gallon 4.54609 L (NIST Handbook 44,
# Appendix C; UK Weights and Measures Act 1985).
FLOWS = [
    ("L/s", 3.6),
    ("L/min", 0.06),
    ("m3/day", 1 / 24),
    ("ML/day", 1000 / 24),
    ("gpm", 0.22712470704),
    ("US gpm", 0.22712470704),
    ("USgpm", 0.22712470704),
    ("US gal/min", 0.22712470704),
    ("igpm", 0.2727654),
    ("imp gpm", 0.2727654),
    ("imperial gpm", 0.2727654),
    ("imp gal/min", 0.2727654),
    ("MGD", 3785.411784 / 24),
    ("US MGD", 3785.411784 / 24),
    ("imp MGD", 4546.09 / 24),
    ("cfs", 101.9406477312),
    ("ft3/s", 101.9406477312),
]


@pytest.mark.parametrize(("unit", "cubic_metres_per_hour"), FLOWS, ids=[unit for unit, _ in FLOWS])
def test_units_of_flow_by_definition(unit: str, cubic_metres_per_hour: float) -> None:
    """Every unit of flow has its exact factor."""
    assert unit_info(unit).factor * 3600 == pytest.approx(cubic_metres_per_hour, rel=1e-9)


def test_gallons_of_two_countries() -> None:
    """US gallons taken for imperial ones: the true flow is 0.832674 of what is claimed."""
    assert unit_info("gpm").factor / unit_info("igpm").factor == pytest.approx(0.832674, abs=5e-7)


NUMBERS = [
    ("0,0036", 0.0036),
    ("0,125", 0.125),
    ("-0,125", -0.125),
    ("1,250", None),
    ("12,500", None),
    ("1,25", 1.25),
    ("1.250", 1.25),
    ("1.250,5", 1250.5),
    ("1,250,000", 1250000.0),
    ("1.250.000", 1250000.0),
    ("1 250 000", 1250000.0),
    ("1e3", 1000.0),
    ("1E-3", 0.001),
    ("+5", 5.0),
    ("–5", -5.0),
    ("1e999", None),
    ("", None),
    ("five", None),
    ("5-6", None),
    ("1,,2", None),
    ("0x10", None),
    ("nan", None),
    ("inf", None),
]


@pytest.mark.parametrize(("written", "number"), NUMBERS, ids=[repr(written) for written, _ in NUMBERS])
def test_a_number_is_read_in_one_way_or_not_at_all(written: str, number: float | None) -> None:
    """A comma before three digits could be either, so it is asked about rather than guessed."""
    assert read_number(written) == number


DIMENSIONS = [("V", "mA"), ("m3", "m3/h"), ("m/s", "m3/h"), ("ohm", "uS/cm"), ("bar", "%"), ("", "mA"), ("mA", "")]


@pytest.mark.parametrize(("unit", "wanted"), DIMENSIONS)
def test_another_dimension_is_refused(unit: str, wanted: str) -> None:
    """Volt is no milliampere, and a volume no flow."""
    with pytest.raises(UnitError, match="does not measure the same thing as"):
        to_si(1.0, unit, wanted)


NO_UNITS = [
    "furlongz",
    "9**9**9**9",
    "m**99999999",
    "9^9^9^9",
    "9⁹⁹⁹⁹⁹⁹⁹⁹⁹",
    "(9)**(9)**(9)",
    "__import__('os')",
    "m" * 100_000,
    "V;A",
    "\x1b[31mV",
    "[red]V",
    "V\\A",
]


@pytest.mark.parametrize("text", NO_UNITS, ids=[text[:20] for text in NO_UNITS])
def test_what_is_no_unit_is_refused_at_once(text: str) -> None:
    """Whatever stands behind a figure, nothing is evaluated and nothing hangs."""
    with pytest.raises(UnitError, match="is not a known unit"):
        unit_info(text)


@pytest.mark.parametrize("unit", ["mA", "V AC", "m³/h", "MΩ", "gpm", "%", "degC"])
def test_units_of_the_trade_are_known_without_loading_anything(unit: str) -> None:
    """The spellings of the trade are recognised by a table."""
    assert is_unit(unit)


@pytest.mark.parametrize("word", ["", "pump", "days", "the", "display"])
def test_words_are_no_units(word: str) -> None:
    """A word behind a number is a word."""
    assert not is_unit(word)


_FIGURES = st.floats(-1e9, 1e9).map(lambda figure: float(f"{figure:.6g}"))
_UNITS = st.sampled_from(["mA", "V", "m3/h", "gpm", "ohm", "Mohm", "uS/cm", "mm", "Hz", "%", "m/s", "L/s", "degC"])


@given(_FIGURES, _UNITS)
def test_to_si_and_back(figure: float, unit: str) -> None:
    """A figure shown in its unit is the figure that came in, to the digits that are shown."""
    info = unit_info(unit)
    shown = show(to_si(figure, unit, unit), unit, info.factor, info.offset, digits=9)
    measured = read_measurement(shown)
    assert measured is not None
    assert measured.unit == unit
    assert measured.number == pytest.approx(figure, rel=1e-6, abs=1e-6)


@given(_FIGURES, st.sampled_from([",", "."]))
def test_decimal_comma_and_point_are_one(figure: float, mark: str) -> None:
    """Two decimals behind either mark are the same number."""
    written = f"{figure:.2f}"
    assert read_number(written.replace(".", mark)) == float(written)


@given(st.integers(-(10**12), 10**12), st.sampled_from([" ", "'", "\u00a0", "\u202f"]))
def test_thousands_may_be_set_off(number: int, mark: str) -> None:
    """Blanks and apostrophes between thousands do not count."""
    assert read_measurement(f"{number:,}".replace(",", mark) + " V") == WrittenFigure(float(number), "V")


@given(st.text(max_size=30))
def test_no_text_makes_reading_fail(text: str) -> None:
    """Any text is a measurement or none."""
    measured = read_measurement(text)
    assert measured is None or math.isfinite(measured.number)


@given(st.text("mkMGuµ²³/^*·-.0123456789()VAWhsΩ°%e ", max_size=12))
def test_any_unit_is_known_or_refused(text: str) -> None:
    """Nothing but UnitError comes out of an unknown unit, however it is made up."""
    with suppress(UnitError):
        assert math.isfinite(unit_info(text).factor)


def test_alternating_and_direct_current_are_left_off() -> None:
    """The kind of voltage is no part of the unit."""
    assert {spelling(text) for text in ("V AC", "VAC", "V dc", "V d.c.", "volts DC", "V rms")} == {"volt"}


@pytest.mark.parametrize("spelt", sorted(SPELT))
def test_a_usual_unit_is_converted_as_pint_does(spelt: str) -> None:
    """Its conversion stands in the table, and pint works out the same."""
    assert worked_out(spelt) == UnitInfo(*CONVERSIONS[spelt])


def test_the_table_holds_no_unit_that_nobody_writes() -> None:
    """Every unit of it has a spelling."""
    assert CONVERSIONS.keys() == SPELT


# NIST SP 811 (2008), Appendix B, from memory of its table; exact definitions: foot 0.3048 m, US gallon 231 cubic
# inches, imperial gallon 4.54609 L, acre-foot 43560 cubic feet; 0 degF = 255.372 K (SP 811, B.8).
AS_DEFINED = [
    ("1 m3 / h", "m3/s", 1 / 3600, "hour 3600 s"),
    (".5 m3/h", "m3/h", 0.5, "a zero left out"),
    ("-.5 m3/h", "m3/h", -0.5, "a zero left out"),
    ("1 ft3/min", "m3/s", 4.719474e-4, "SP 811: cubic foot per minute"),
    ("1 cfm", "m3/s", 4.719474e-4, "SP 811: cubic foot per minute"),
    ("1 ft³/s", "m3/s", 2.831685e-2, "SP 811: cubic foot per second"),
    ("1 gph", "m3/s", 1.0515033e-6, "231 cubic inches an hour"),
    ("1 US gal/h", "m3/s", 1.0515033e-6, "231 cubic inches an hour"),
    ("1 imp gal/h", "m3/s", 1.2628028e-6, "4.54609 L an hour"),
    ("1 igph", "m3/s", 1.2628028e-6, "4.54609 L an hour"),
    ("1 gpd", "m3/s", 4.381264e-8, "SP 811: gallon (US) per day"),
    ("1 gpm", "m3/s", 6.309020e-5, "SP 811: gallon (US) per minute"),
    ("1 dm3", "m3", 1e-3, "decimetre 0.1 m"),
    ("1 dm³/s", "m3/s", 1e-3, "decimetre 0.1 m"),
    ("1 acre-ft", "m3", 1233.48184, "43560 cubic feet of 0.3048 m; SP 811 has 1233.489 by the survey foot"),
    ("1 acre-ft/day", "m3/s", 1.4276410e-2, "43560 cubic feet a day"),
    ("1 gal/pulse", "m3", 3.785412e-3, "SP 811: gallon (US)"),
    ("1 imp gal/pulse", "m3", 4.54609e-3, "SP 811: gallon (Canadian and UK)"),
    ("1 l/imp", "m3", 1e-3, "a litre an impulse"),
    ("1 p/m3", "1/m3", 1.0, "a pulse a cubic metre"),
    ("1 pulse/gal", "1/m3", 264.17205, "the inverse of a US gallon"),
    ("1 bbl", "m3", 0.1589873, "SP 811: barrel of 42 gallons"),
    ("1 bbl/d", "m3/s", 1.840131e-6, "SP 811: barrel of 42 gallons, over 86400 s"),
    ("1 t", "kg", 1000.0, "SP 811: tonne"),
    ("1 short ton", "kg", 907.18474, "SP 811: short ton of 2000 lb"),
    ("1 long ton", "kg", 1016.047, "SP 811: long ton of 2240 lb"),
    ("230 V~", "V", 230.0, "IEC 60417-5032, from memory: the sign for a.c."),
    ("68 F", "degC", 20.0, "SP 811: (68 - 32)/1.8"),
    ("-40 °F", "degC", -40.0, "SP 811: both scales meet"),
    ("1 ML", "m3", 1000.0, "SI: mega is a million"),
    ("1 mL", "m3", 1e-6, "SI: milli is a thousandth"),
    ("1 ML/d", "m3/s", 0.011574074, "a million litres in 86400 s"),
    ("80 mOhm", "ohm", 0.08, "SI: milli"),
    ("80 mΩ", "ohm", 0.08, "SI: milli"),
    ("80 MOhm", "ohm", 8e7, "SI: mega"),
    ("80 Mohm", "ohm", 8e7, "SI: mega"),
    ("80 milliohms", "ohm", 0.08, "SI: milli"),
    ("1 MPa", "bar", 10.0, "SI: mega"),
    ("1 mPa", "bar", 1e-8, "SI: milli"),
    ("2 S", "mS", 2000.0, "siemens, where no time is meant"),
    ("2 S", "s", 2.0, "seconds, where no conductance is meant"),
    ("3 d", "h", 72.0, "days, where no number of diameters is meant"),
]


@pytest.mark.parametrize(("written", "unit", "figure", "source"), AS_DEFINED, ids=[row[0] for row in AS_DEFINED])
def test_a_unit_is_what_it_is_defined_as(written: str, unit: str, figure: float, source: str) -> None:
    """The unit is that of its definition, to all the digits that are published."""
    measured = read_measurement(written)
    assert measured is not None, source
    wanted = unit_info(unit)
    assert (to_si(*measured, unit) - wanted.offset) / wanted.factor == pytest.approx(figure, rel=2e-7), source


@pytest.mark.parametrize(
    ("typed", "choices"),
    [
        ("80 mohm", "`80 milliohm` or `80 Mohm`"),
        ("5 ml/d", "`5 mL/d` or `5 ML/d`"),
        ("2 tons", "`2 t` or `2 short ton` or `2 long ton`"),
        ("1,250 m3/h", "`1250 m3/h` or `1.250 m3/h`"),
        ("-1,250", "`-1250` or `-1.250`"),
    ],
)
def test_what_may_be_two_things_is_refused_with_both(typed: str, choices: str) -> None:
    """Whoever typed it says which."""
    with pytest.raises(UnitError, match=r"did you mean") as caught:
        refuse_unclear(typed)
    assert choices in str(caught.value)


def test_a_small_m_is_asked_about_where_megohms_are_usual() -> None:
    """Insulation is given in megohms: who writes 20 mOhm of it may mean either; of an earth lead it is what it says."""
    with pytest.raises(UnitError, match="did you mean `20 milliohm` or `20 Mohm`"):
        refuse_unclear("20 mOhm", "Mohm")
    refuse_unclear("20 milliohm", "Mohm")
    refuse_unclear("20 Mohm", "Mohm")
    refuse_unclear("20 mOhm", "ohm")


@pytest.mark.parametrize("typed", ["80 mOhm", "80 Mohm", "1,25 m3/h", "0,125 m3/h", "1250 m3/h", "1,250.5 m3/h", "x"])
def test_what_is_clear_is_not_refused(typed: str) -> None:
    """Nobody is asked what can be read in one way only."""
    number, _, unit = typed.partition(" ")
    assert could_be(number, unit) == ()
    refuse_unclear(typed)


def test_every_choice_is_itself_clear() -> None:
    """What is offered can be typed, and the two differ."""
    for choices in in_use().unclear.values():
        assert len({unit_info(each) for each in choices}) == len(choices)
        for each in choices:
            refuse_unclear(f"1 {each}")


def test_a_gallon_of_no_country_is_said_to_be_american() -> None:
    """It is taken for one of 231 cubic inches, and said so; one that names its country needs no word."""
    for unit in in_use().taken_as:
        assert "US gallons" in taken_as(f"5 {unit}"), unit
    assert {taken_as(f"5 {unit}") for unit in ("US gal/h", "imp gal/h", "igpm", "usgpm", "l/h")} == {""}


def test_nothing_that_somebody_planted_in_a_cache_is_unpickled(tmp_path: Path) -> None:
    """A pickle beside the unit registry's own, in every place where it would look for one, is never run."""
    ran = tmp_path / "ran"
    program = (
        "import pathlib, pickle, platformdirs, sys\n"
        "class Planted:\n"
        f"    def __reduce__(self): return (pathlib.Path.touch, (pathlib.Path({str(ran)!r}),))\n"
        "folder = platformdirs.user_cache_path('pint', appauthor=False)\n"
        "from diagnose.units import to_si\n"
        "to_si(1.0, 'furlong', 'm')\n"
        "for path in [each for each in folder.rglob('*') if each.is_file()]:\n"
        "    path.write_bytes(pickle.dumps(Planted()))\n"
    )
    again = "from diagnose.units import to_si\nprint(to_si(1.0, 'furlong', 'm'))\n"
    room = {**os.environ, "XDG_CACHE_HOME": str(tmp_path / "cache"), "HOME": str(tmp_path)}
    subprocess.run([sys.executable, "-c", program], env=room, check=True)
    printed = subprocess.run([sys.executable, "-c", again], env=room, check=True, capture_output=True, text=True)
    assert float(printed.stdout) == pytest.approx(201.168, rel=1e-5)
    assert not ran.exists()
    assert not list((tmp_path / "cache").rglob("*.pickle"))
