"""What a report is about, said before any cause is ranked."""

from __future__ import annotations

import pytest

from diagnose.language.cleaning import clean
from diagnose.reading import read_report
from tests.engines import real_engine

ENGINE = real_engine()

SOLVED = """
Solved, it was the fuse, please close
Please close INC-4471. Turned out the fuse was blown, replaced, reading right since Friday.
Please close this one. It was the fuse. Changed it and the meter is running again since 9 o'clock. Thanks.
ok found, loose wire on terminal 22, tightened and everything works now. sry for the noise. can be closed
Forget my mail of yesterday, somebody had borrowed the fuse. Meter is up, reads 12.4, everything alright.
"""
NOT_SOLVED = """
The display was dark, the fitter fixed it on Monday, but now it is dark again. What should we do?
After switching off and on it works again for a day, then the display is dark.
If I tap the housing the display works again.
The problem is still not solved: flow is negative.
Ticket was closed on Friday by mistake. Display is still dark.
Solved on Monday, thanks. But the meter is dark and it came back today.
When I unplug the new one, number 3 is good again, display of the meter is dark.
"""
NO_METER = """
Printer out of toner, and I forgot my password
Temperature probe TT-204 on the heat exchanger reads 850 deg, it is a Pt100 with three wires.
Does anyone know whether the canteen is open on Friday? Also the coffee machine leaks.
Thank you very much for the quick help yesterday, great job, regards from the whole team!
No picture, no sound on the valve positioner XV-12, 4-20 in is 12 mA. Sent to the flow team, nobody else answers.
Device: LT-33 radar on the sludge tank. Problem: echo jumps. The magflow on the feed is ok, please do not touch that.
I mean the thermometer TE-7 in the flow of the heating, it shows 240 degrees, is a pt100. The magnetic part is right.
Turbine meter in the diesel line has seized and needs a rotor. Told him that we only do mag meters here.
"""
SEVERAL = """
FT-1 zero. FT-2 dark. FT-3 negative.
All three meters show a slow swaying of the value.
"""
NOTHING_WRONG = """
We plan a new DN250 flow meter for the river intake next year. How much straight pipe should we leave before it?
Shift handover. All flow meters on the round ok, no alarms.
The meter is fine, the pump is broken.
asks for a quote for a new DN80 flow meter
"""
A_METER = """
Flow is negative.
It reads twice what it should.
The meter is fine but the DCS shows 10 % less than the display
display dark, fuse ok
Bonjour, le débitmètre de la ligne lait saute sans arrêt, entre 8 et 19 m³/h
The pressure transmitter beside the flow meter is fine, the flow meter shows zero.
Display counts fine, the printer of the truck loading gets double litres since a relay was put in between the pulse.
Level radar of the tank gives 50 but the meter shows 40.
We replaced the turbine meter by a magmeter in May. The magmeter reads 5 % low.
We spilled coffee over the keyboard, don't worry. The meter on line 3 jumps whenever the drive of pump 2 starts.
"""


def lines(block: str) -> list[str]:
    """Return the texts of a block."""
    return block.strip().splitlines()


@pytest.mark.parametrize(
    ("about", "text"),
    [
        *(("seems solved", text) for text in lines(SOLVED)),
        *(("a flow meter", text) for text in lines(NOT_SOLVED)),
        *(("no flow meter", text) for text in lines(NO_METER)),
        *(("several flow meters", text) for text in lines(SEVERAL)),
        *(("nothing wrong told", text) for text in lines(NOTHING_WRONG)),
        *(("a flow meter", text) for text in lines(A_METER)),
    ],
)
def test_what_a_report_is_about(about: str, text: str) -> None:
    """Where nothing speaks for anything else, it is about one meter."""
    assert read_report(ENGINE, text, {}).topic.about == about


def test_an_instrument_may_be_named_across_two_lines() -> None:
    """As mail programs wrap them."""
    text = "The pressure\ntransmitter beside the flow meter reads 3 bar."
    assert read_report(ENGINE, text, {}).topic.about in ("a flow meter", "no flow meter")


def test_each_meter_has_its_own_words() -> None:
    """A sentence goes with the tag that it begins with, or with the one before; its tag is read as the meter."""
    text = "FT-201: black screen. Fuse out.\n2) FIT-202 powered, but flow is restless."
    assert read_report(ENGINE, text, {}).topic.meters == (
        ("FT-201", "FT-201: black screen. Fuse out."),
        ("FIT-202", "FIT-202 powered, but flow is restless."),
    )


def test_a_closed_report_tells_of_nothing_that_is_wrong_now() -> None:
    """What it says and what it is about are judged by the same words."""
    report = read_report(ENGINE, "Display is dark. Close the incident.", {})
    assert report.topic.about == "seems solved"
    assert report.understanding.understood == ()
    assert report.understanding.doubts


def test_what_was_said_before_does_not_end_what_is_said_now() -> None:
    """A further answer is a report of its own."""
    further = read_report(ENGINE, "flow is negative", {}, before="Please close the ticket.")
    assert further.topic.about == "a flow meter"


def test_a_tag_of_another_instrument_does_not_make_the_meter_another_one() -> None:
    """PT is a pressure transmitter; what is said of the flow meter after it counts."""
    understood = read_report(ENGINE, "PT-101 was changed. FT-203 fuse is fine.", {}).understanding.understood
    assert [(each.finding, each.present) for each in understood if each.finding == "fuse-open"] == [
        ("fuse-open", False)
    ]


def test_tags_of_other_instruments_are_no_meters() -> None:
    """ISA-5.1: the first letter is the variable; F is flow, P pressure, L level."""
    assert (
        read_report(ENGINE, "PT-1 is fine, LT-2 is fine. The flow meter shows zero.", {}).topic.about == "a flow meter"
    )


@pytest.mark.parametrize(
    ("foreign", "text"),
    [
        (True, "Moin, der Durchflussmesser zeigt seit gestern nichts mehr an, Sicherung ist in Ordnung"),
        (True, "Buenos días, el caudalímetro marca menos seis con las dos bombas paradas"),
        (False, "flowmetr displya is drak sinse mondey, fuze is okey, plz halp"),
        (False, "dark"),
    ],
)
def test_a_text_that_is_hardly_english_is_told_apart(foreign: bool, text: str) -> None:
    """From misspelt English, too; of a word or two nobody can tell."""
    assert read_report(ENGINE, clean(text), {}).foreign is foreign
