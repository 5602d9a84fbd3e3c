"""What technicians type as a reading, spelling by spelling: it is read, or refused in words that help."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import UnitError
from diagnose.rule_book.data_sheet import read_value
from diagnose.rule_book.quantities import Limit, Quantity, Reading
from diagnose.rule_book.readings import read_reading

COIL = Quantity(id="coil", title="resistance of the coil circuit", unit="ohm", plausible=(0.0, 1e9))
INSULATION = Quantity(id="insulation", title="insulation", unit="Mohm", si_factor=1e6, plausible=(0.0, 1e12))
VOLTAGE = Quantity(id="voltage", title="supply voltage", unit="V", plausible=(-60.0, 60.0))
CURRENT = Quantity(id="current", title="loop current", unit="mA", si_factor=0.001, plausible=(-0.03, 0.06))
FLOW = Quantity(id="flow", title="flow", unit="m3/h", si_factor=1 / 3600, plausible=(-30.0, 30.0))
VOLUME = Quantity(id="volume", title="volume", unit="l", si_factor=0.001, plausible=(0.0, 100.0))
COUNT = Quantity(id="count", title="terminations", plausible=(0.0, 10.0))
NO_RANGE = Quantity(id="lead", title="resistance of the lead", unit="ohm")
PLACE = Quantity(id="place", title="where it sits", choices=("inside", "outside"))
QUANTITIES = (COIL, INSULATION, VOLTAGE, CURRENT, FLOW, VOLUME, COUNT, NO_RANGE, PLACE)

OVER = Limit(1e9, "above")


def above(bound: float) -> Limit:
    """Return the limit above a bound."""
    return Limit(bound, "above")


def below(bound: float) -> Limit:
    """Return the limit below a bound."""
    return Limit(bound, "below")


READ: list[tuple[Quantity, str, Reading, str]] = [
    # over range, as instruments show it and as people say it
    (COIL, "OL", OVER, "over range"),
    (COIL, "ol", OVER, "over range"),
    (COIL, "O.L", OVER, "over range"),
    (COIL, "O.L.", OVER, "over range"),
    (COIL, "0L", OVER, "over range"),
    (COIL, "0.L", OVER, "over range"),
    (COIL, " O / L ", OVER, "over range"),
    (COIL, "OFL", OVER, "over range"),
    (COIL, "OL MΩ", OVER, "over range"),
    (COIL, "reads OL", OVER, "over range"),
    (COIL, "> OL", OVER, "over range"),
    (COIL, "overload", OVER, "over range"),
    (COIL, "overrange", OVER, "over range"),
    (COIL, "Over-Range!", OVER, "over range"),
    (COIL, "open", OVER, "over range"),
    (COIL, "open circuit", OVER, "over range"),
    (COIL, "O/C", OVER, "over range"),
    (COIL, "inf", OVER, "over range"),
    (COIL, "infinite", OVER, "over range"),
    (COIL, "Infinity", OVER, "over range"),
    (COIL, "infinite resistance", OVER, "over range"),
    (COIL, "∞", OVER, "over range"),
    (INSULATION, "OL", above(1e12), "over range"),
    # over a range that is named
    (COIL, "OL on 20M", above(2e7), "above 20 Mohm"),
    (COIL, "OL (200 ohm range)", above(200.0), "above 200 ohm"),
    (COIL, "OL, >40 MΩ", above(4e7), "above 40 Mohm"),
    (NO_RANGE, "OL at 20 kohm", above(20e3), "above 20 kohm"),
    # a buzzer that stays silent says little
    (COIL, "no continuity", above(10.0), "above 10 ohm"),
    (COIL, "No beep", above(10.0), "above 10 ohm"),
    # limits
    (COIL, ">20 Mohm", above(2e7), "above 20 Mohm"),
    (COIL, "> 20M", above(2e7), "above 20 Mohm"),
    (COIL, "> 20 meg", above(2e7), "above 20 Mohm"),
    (COIL, "≥ 20 MΩ", above(2e7), "above 20 Mohm"),
    (COIL, ">= 20 M\u2126", above(2e7), "above 20 Mohm"),
    (COIL, "more than 20 megohms", above(2e7), "above 20 Mohm"),
    (COIL, "Above 20 M ohm", above(2e7), "above 20 Mohm"),
    (COIL, "better than 200 M", above(2e8), "above 200 Mohm"),
    (COIL, "20M+", above(2e7), "above 20 Mohm"),
    (COIL, "20 Mohm or more", above(2e7), "above 20 Mohm"),
    (COIL, "< 0.1", below(0.1), "below 0.1 ohm"),
    (COIL, "<0,1", below(0.1), "below 0.1 ohm"),
    (COIL, "≤ 0.1 ohm", below(0.1), "below 0.1 ohm"),
    (COIL, "less than 1 ohm", below(1.0), "below 1 ohm"),
    (COIL, "under 500 mΩ", below(0.5), "below 0.5 ohm"),
    (COIL, "about > 5k", above(5e3), "above 5000 ohm"),
    (INSULATION, "> 20", above(2e7), "above 20 Mohm"),
    (INSULATION, "<500k", below(5e5), "below 0.5 Mohm"),
    (VOLTAGE, "< 0.5", below(0.5), "below 0.5 V"),
    (FLOW, ">100", above(100 / 3600), "above 100 m3/h"),
    # multipliers without a unit, and a letter for the decimal point
    (COIL, "20M", 2e7, "20 Mohm"),
    (COIL, "1k5", 1500.0, "1500 ohm"),
    (COIL, "4k7", 4700.0, "4700 ohm"),
    (COIL, "4K7 ohm", 4700.0, "4700 ohm"),
    (COIL, "1M5", 1.5e6, "1.5 Mohm"),
    (COIL, "2R2", 2.2, "2.2 ohm"),
    (COIL, "0R1", 0.1, "0.1 ohm"),
    (COIL, "47R", 47.0, "47 ohm"),
    (COIL, "300k", 3e5, "300 kohm"),
    (COIL, "300 K ohm", 3e5, "300 kohm"),
    (COIL, "0.3 meg", 3e5, "300 kohm"),
    (COIL, "0,3 Meg", 3e5, "300 kohm"),
    (COIL, "1.5 mega", 1.5e6, "1.5 Mohm"),
    (COIL, "1 G", 1e9, "1 Gohm"),
    (INSULATION, "300k", 3e5, "0.3 Mohm"),
    # plain figures, as ever
    (COIL, "85", 85.0, "85 ohm"),
    (COIL, "85 Ω", 85.0, "85 ohm"),
    (COIL, "0.5 mΩ", 0.0005, "0.0005 ohm"),
    (COIL, "20 mOhm", 0.02, "0.02 ohm"),
    (COIL, "1 000 000", 1e6, "1 Mohm"),
    (COIL, "~ 85 ohm", 85.0, "85 ohm"),
    (COIL, "approx. 85", 85.0, "85 ohm"),
    (INSULATION, "85 ohm", 85.0, "85 ohm"),
    (VOLTAGE, "−2,5", -2.5, "-2.5 V"),
    (VOLTAGE, "24VDC", 24.0, "24 V"),
    (CURRENT, "0,0036 A", 0.0036, "3.6 mA"),
    (VOLUME, "0 L", 0.0, "0 l"),
    (COUNT, "2", 2.0, "2"),
]


@pytest.mark.parametrize(
    ("quantity", "typed", "value", "shown"), READ, ids=[f"{each[0].id} {each[1]}" for each in READ]
)
def test_a_reading_is_read(quantity: Quantity, typed: str, value: Reading, shown: str) -> None:
    """The value in SI units, and how it is repeated to the person who typed it."""
    read = read_reading(typed, quantity)
    if isinstance(value, Limit):
        assert isinstance(read, Limit)
        assert (read.direction, read.bound) == (value.direction, pytest.approx(value.bound))
    else:
        assert read == pytest.approx(value)
    assert quantity.shown(read) == shown


REFUSED: list[tuple[Quantity, str, str]] = [
    (COIL, "", "type the reading; for example 12.5 ohm, >20 Mohm or OL"),
    (COIL, "plenty", "`plenty` is not a figure, or is ambiguous; for example 12.5 ohm"),
    (COIL, "1,250", "did you mean `1250` or `1.250`?"),
    (COIL, "20 mohm", "did you mean `20 milliohm` or `20 Mohm`?"),
    (COIL, "20m", "`20m`: milli or mega? Write `20 milliohm` or `20 Mohm`"),
    (COIL, "1m5", "milli or mega?"),
    (COIL, "10-20 ohm", "is a range; type the one figure that is typical"),
    (COIL, ">", "is not a figure"),
    (COIL, "> 5 or less", "is not a figure"),
    (COIL, "<0 ohm", "beyond anything plausible for resistance of the coil circuit (0 ohm to 1 Gohm); look again"),
    (COIL, "-5", "look again"),
    (COIL, "> 2 Gohm", "look again"),
    (COIL, "20 V", "`V` does not measure the same thing as `ohm`; the reading is in ohm"),
    (COIL, "9" * 100, "is not a figure"),
    (COIL, "1e999", "is not a figure"),
    (NO_RANGE, "OL", "type the instrument's range, for example `>20 ohm`"),
    (VOLTAGE, "OL", "type the instrument's range, for example `>20 V`"),
    (FLOW, "OL", "type the instrument's range, for example `>20 m3/h`"),
    (FLOW, "over range", "type the instrument's range, for example `>20 m3/h`"),
    (VOLTAGE, "open", "`open` is only said of a resistance; type a figure; for example 12.5 V"),
    (VOLTAGE, "20M", "`M` does not measure the same thing as `V`"),
    (VOLTAGE, "no continuity", "is not a figure"),
    (VOLTAGE, "400", "(-60 V to 60 V); look again"),
    (PLACE, "OL", "where it sits is one of: inside, outside"),
]


@pytest.mark.parametrize(
    ("quantity", "typed", "why"), REFUSED, ids=[f"{each[0].id} {each[1][:20]}" for each in REFUSED]
)
def test_what_cannot_be_taken_is_refused_in_words_that_help(quantity: Quantity, typed: str, why: str) -> None:
    """Nothing is guessed, and what could be typed is said."""
    with pytest.raises(UnitError) as caught:
        read_reading(typed, quantity)
    assert why in str(caught.value)


_MARKS = ["∞", ">", "<", "≥", "-", "−", "+", "(", ")", ".", " ", "Ω", "\u2126"]
_WORDS = ["OL", "open", "inf", "M", "k", "m", "meg", "ohm", "V", "mA", "m3/h", "or more", "range", "about", "no beep"]
_FIGURES = ["20", "0,1", "1e9", "4k7", "1 000", "1,250"]
_PIECES = st.sampled_from([*_MARKS, *_WORDS, *_FIGURES])


@given(st.text(max_size=80) | st.lists(_PIECES, max_size=6).map("".join), st.sampled_from(QUANTITIES))
def test_any_text_is_read_or_refused(typed: str, quantity: Quantity) -> None:
    """Never anything else than a finite figure, a limit, or a reason why not; and nothing implausible."""
    try:
        read = read_reading(typed, quantity)
    except UnitError:
        return
    bound = read.bound if isinstance(read, Limit) else read
    assert math.isfinite(bound)
    assert quantity.reads_plausible(bound)
    assert quantity.shown(read)


@given(st.floats(0.001, 1e8), st.sampled_from([">", "<", "≥", "above ", "less than "]))
def test_what_is_shown_of_a_limit_can_be_typed_again(bound: float, word: str) -> None:
    """`above 20 Mohm` is read as it was meant."""
    read = read_reading(f"{word}{bound:.4g} ohm", COIL)
    again = read_reading(COIL.shown(read), COIL)
    assert isinstance(read, Limit)
    assert isinstance(again, Limit)
    assert (again.direction, again.bound) == (read.direction, pytest.approx(read.bound, rel=1e-3))


@pytest.mark.parametrize("typed", ["1e16 ohm", "1e12 Mohm", "> 1e17 ohm", "2e15"])
def test_what_no_case_could_keep_is_refused_where_it_is_typed(typed: str) -> None:
    """A case with such a figure could not be read again: it is told at once, whatever the quantity leaves open."""
    anything = Quantity(id="anything", title="anything", unit="ohm")
    with pytest.raises(UnitError, match="beyond anything plausible"):
        read_reading(typed, anything)
    with pytest.raises(UnitError):
        read_value(anything, typed)
