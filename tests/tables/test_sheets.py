"""Sheets as they come from weighbridges, counters and spreadsheets: what would be misread in silence is read or asked.

All figures are invented.
"""

from __future__ import annotations

import pytest

from diagnose.errors import DiagnoseError, ProblemsFound
from tests.comparison.comparisons import HOUR
from tests.tables.test_readings import in_hours, read

TEN_AND_TWENTY = {
    "tonnes at a density": (
        "Waage Brutto (t);Tara (t);Zähler Anfang (m³);Zähler Ende (m³);Dichte (t/m³);Dauer [h]\n"
        "25,0105;15,00;100,0;110,4;1,00105;1\n35,021;15,00;110,4;131,2;1,00105;1"
    ),
    "tonnes without brackets": (
        "weighbridge t\tmeter m3\tdensity kg/m3\ttime min\n10.0105\t10.4\t1001.05\t60\n20.0210\t20.8\t1001.05\t60"
    ),
    "a mass flow": "Coriolis reference [t/h];meter [m3/h];density [kg/m3]\n10,00;10,4;1000\n20,00;20,8;1000",
    "from and to": (
        "Behälter\t\tWasserzähler\t\tUhrzeit\t\nAnfang\tEnde\tAnfang\tEnde\tvon\tbis\nm³\tm³\tm³\tm³\t\t\n"
        "0\t10,0\t100,0\t110,4\t08:00\t09:00\n0\t20,0\t110,4\t131,2\t09:30\t10:30"
    ),
    "a mean below": "Run\tReference m3/h\tMeter m3/h\n1\t10.0\t10.4\n2\t20.0\t20.8\nAverage\t15.0\t15.6",
    "a sum below": "Lauf;Behälter [m³];Zähler [m³];Dauer [h]\n1;10,0;10,4;1\n2;20,0;20,8;1\nSumme;30,0;31,2;2",
    "a dial that is multiplied": "Tank [m3];Counter x10 [m3];duration [h]\n10,0;1,04;1\n20,0;2,08;1",
    "a unit that is a multiple": "Tank [in 100 l];Meter (l x 1000);duration [h]\n100;10,4;1\n200;20,8;1",
    "a counter that began anew": (
        "start counter [m3];stop counter [m3];start tank [m3];stop tank [m3];duration [h]\n"
        "99990,0;00000,4;0;10;1\n00000,4;00021,2;0;20;1"
    ),
    "a total that began anew": (
        "time;tank total [m3];meter total [m3]\n08:00;0,0;99990,0\n09:00;10,0;00000,4\n10:00;30,0;00021,2"
    ),
    "one side runs on": "time;Tank volume [m3];Meter reading [m3]\n08:00;0;100,0\n09:00;10,0;110,4\n10:00;20,0;131,2",
    "minutes and seconds": "Tank [l];Zeit [min:s];Zähler [l]\n1000;6:00;1040\n1000;3:00;1040",
    "notes above": "Meter: FT-101\nRange: 0-100 m3/h\n\nReference [m3/h];Meter [m3/h]\n10,0;10,4\n20,0;20,8",
}


@pytest.mark.parametrize("text", TEN_AND_TWENTY.values(), ids=TEN_AND_TWENTY.keys())
def test_sheets_are_read_as_meant(text: str) -> None:
    """However it is written: 10 and 20 m³/h, of which the meter makes 10.4 and 20.8."""
    found = read(text)
    assert found.kind == "flow"
    assert in_hours(found.reference) == pytest.approx([10, 20], rel=2e-3)
    assert in_hours(found.indicated) == pytest.approx([10.4, 20.8], rel=1e-5)


SAID = {
    "a mean below": "left out because it sums up other lines: line 4 (`Average`)",
    "a dial that is multiplied": "multiplied by 10",
    "a counter that began anew": "begun anew after 100 000",
    "a total that began anew": "begun anew after 100 000",
    "one side runs on": "`Meter reading [m3]` runs on, the other side does not",
}


@pytest.mark.parametrize(("name", "words"), SAID.items())
def test_how_it_was_read_is_said(name: str, words: str) -> None:
    """Whatever is not as it stands there."""
    assert any(words in each for each in read(TEN_AND_TWENTY[name]).warnings)


def test_gallons_of_which_country_is_said() -> None:
    """As for single figures; of imperial ones nothing need be said."""
    assert any("US gallons" in each for each in read("Tank (gal),Meter (gal)\n100.0,104.0\n200.0,208.0").warnings)
    assert not any("gallons" in each for each in read("Tank (imp gal),Meter (imp gal)\n100.0,104.0").warnings)


REFUSED = {
    "tons of three kinds": ("Truck scale (tons),Meter (m3)\n10.0,10.4", "`t`, `short ton` or `long ton`"),
    "density in what": ("scale [kg];meter [m3];density [stone]\n10;10,4;1,0", "`stone` is not a known unit"),
    "a tank that was emptied once": (
        "tank start [m3];tank stop [m3];meter start [m3];meter stop [m3]\n9950;20;100;110\n20;30;110;120",
        "are start and stop swapped?",
    ),
}


@pytest.mark.parametrize(("text", "words"), REFUSED.values(), ids=REFUSED.keys())
def test_what_may_be_several_things_is_asked(text: str, words: str) -> None:
    """Never guessed."""
    with pytest.raises(DiagnoseError) as error:
        read(text)
    told = error.value.problems if isinstance(error.value, ProblemsFound) else [error.value]
    assert any(words in f"{each} {getattr(each, 'help', '')}" for each in told)


def test_all_lines_called_total_are_readings() -> None:
    """A label that every line has sums up nothing."""
    found = read("what;reference [m3/h];meter [m3/h]\ntotal;10,0;10,4\ntotal;20,0;20,8")
    assert found.reference == pytest.approx([10 * HOUR, 20 * HOUR])
