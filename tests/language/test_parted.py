"""Words of a phrase that stand near each other and do not belong together, each with a twin that must be read.

On the rule book that the project ships: what is parted depends on the phrases that it has.
"""

from __future__ import annotations

import pytest

from diagnose.language.lexicon import Lexicon
from diagnose.language.understanding import understand
from tests.engines import real_engine


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    """Return the words of the rule book that the project ships."""
    return real_engine().lexicon


def said(text: str, finding: str, lexicon: Lexicon) -> bool | None:
    """Return whether a text says that a finding is present or absent, or None if it says neither."""
    told = [each.present for each in understand(text, lexicon).understood if each.finding == finding]
    return told[0] if told else None


PARTED = [
    # the head of another thing stands between
    ("The sludge meter on line 3 drifts.", "other-parts-fouled"),
    ("At the meter terminals 20 mA at zero, at the plc 19.", "zero-while-flowing"),
    ("Good until the firmware settings were restored from the backup.", "electronics-replaced"),
    # another deed, with an object of its own
    ("The fitter opened the menu of the meter and ran the zero.", "zero-while-flowing"),
    # a quality of something before its noun
    ("It reads low on the cooling water main.", "supply-voltage-low"),
    ("The screen is earthed in the new panel and in the sensor box.", "worked-on-pipe"),
    # another instrument
    ("mA meter in the loop: 0.0, display 40.", "zero-while-flowing"),
    ("The clamp meter shows zero.", "zero-while-flowing"),
    # a deed at zero, a circumstance, one of several values, a time of day
    ("We did the meter zero calibration.", "zero-while-flowing"),
    ("The meter has an offset of 3 m3/h at zero flow.", "zero-while-flowing"),
    ("The reading leaps 0...60...0 m3/h.", "zero-while-flowing"),
    ("The reading flips between 0 and 40.", "zero-while-flowing"),
    ("The pump stops 21:00 every evening.", "reading-at-standstill"),
    # clauses that do not come apart
    ("The drain valve says shut on its label.", "reading-at-standstill"),
    ("Value -99, nothing to do with the flow.", "reading-at-standstill"),
    # a negation of another thing
    ("There are no clamps for 4-20 in this box.", "output-dead"),
    ("Since last night none of our 9 flow meters answers.", "only-at-low-flow"),
    # a particle that only says where
    ("The RCD on the outlet trips.", "supply-switch-off"),
    ("The breaker on this panel is warm.", "supply-switch-off"),
    ("I measured 65 degrees on the cover.", "live-conductors-bare"),
    ("The cable goes in under the terminal cover.", "live-conductors-bare"),
    # a value between, or something that goes on
    ("Insulation electrode to housing: 30 kohm dry.", "moisture-seen"),
    ("The meter read 560 to 610 at the same time.", "times-not-the-same"),
    ("Valve closed it still wanders around zero.", "reading-at-standstill"),
    # times that are those of something else
    ("Over the last week: meter 312 m3, counter 318.", "came-slowly"),
    ("Battery 10.4 V at dawn, 12.9 at midday.", "when-hot"),
    ("Hot cleaning for the third time two weeks ago.", "comes-and-goes"),
    ("Wiring unchanged since commissioning.", "never-right"),
    ("With the main valve behind the meter shut it shows 0.", "straight-run-short"),
    # a word that is misspelt for none of the trade
    ("We changed the reference electrolyte.", "tingle-felt"),
    ("Salida 100 L/pulso, ancho 2 ms.", "pipe-moves"),
    # other words for less, for a return, for a mere agreement
    ("The flow drops to near nothing every time it rains.", "reading-at-standstill"),
    ("The value takes a minute and all is normal.", "reading-slow"),
    ("125 with the spare one and flow back at 410.", "flow-really-reverses"),
    ("It agrees with the pump curve.", "expectation-only"),
    ("Value drops to nonsense when the crane turns.", "bus-values-wrong"),
    ("When the pump stands no pulses come.", "no-pulses-counted"),
    ("The display is frozen at 12.4 since Sunday.", "display-garbled"),
    ("Control room value at that time: often drops out.", "bus-silent"),
]


@pytest.mark.parametrize(("text", "finding"), PARTED)
def test_words_that_do_not_belong_together_say_nothing(text: str, finding: str, lexicon: Lexicon) -> None:
    """What only stands near each other is no statement, neither that it is so nor that it is not."""
    assert said(text, finding, lexicon) is None


TOGETHER = [
    ("The meter now says 38 and it is very restless.", "reading-erratic", True),
    ("The meter shows flat 0.00 while we pump.", "zero-while-flowing", True),
    ("Flow meter display: 0.00 m3/h the whole time.", "zero-while-flowing", True),
    ("The meter is at zero although the pump runs.", "zero-while-flowing", True),
    ("Flow meter shows zero and the pump runs.", "zero-while-flowing", True),
    ("It reads 0 0 0 all day although we pump.", "zero-while-flowing", True),
    ("At 14:00 the meter shows 0 although the pump runs.", "zero-while-flowing", True),
    ("The reading is dead low.", "reads-low", True),
    ("Valve closed, meter shows zero.", "reading-at-standstill", False),
    ("It shows 8 with the valve shut.", "reading-at-standstill", True),
    ("With the valve shut it shows 8.", "reading-at-standstill", True),
    ("The RCD is on.", "supply-switch-off", False),
    ("The breaker is on.", "supply-switch-off", False),
    ("All covers are on.", "live-conductors-bare", False),
    ("The housing is dry inside.", "moisture-seen", False),
    ("Display shows 33.1 m3/h steady.", "reading-erratic", False),
    ("Ran 6 yrs without trouble.", "never-right", False),
    ("The other 5 devices answer fine.", "others-on-bus-affected", False),
    ("Two level transmitters on the same psu are running.", "others-on-supply-affected", False),
    ("Over the last weeks it came down.", "came-slowly", True),
    ("It drops out at midday every day.", "when-hot", True),
    ("It cuts out several times a week.", "comes-and-goes", True),
    ("It has been wrong since commissioning.", "never-right", True),
    ("The meter sits close behind a valve.", "straight-run-short", True),
    ("It takes minutes to come down.", "reading-slow", True),
    ("When the pump stops the water flows back.", "flow-really-reverses", True),
    ("We compare it with the pump curve.", "expectation-only", True),
    ("The modbus value is nonsense.", "bus-values-wrong", True),
    ("No pulses come though water flows.", "no-pulses-counted", True),
    ("Characters on the display are garbled, the display hangs.", "display-garbled", True),
    ("The master times out on it.", "bus-silent", True),
    ("There are no pulses at the plc.", "no-pulses-counted", True),
    ("A new sensor was put in.", "worked-on-pipe", True),
]


@pytest.mark.parametrize(("text", "finding", "present"), TOGETHER)
def test_words_that_belong_together_are_read(text: str, finding: str, present: bool, lexicon: Lexicon) -> None:
    """Adverbs, figures and verbs of being part nothing."""
    assert said(text, finding, lexicon) is present


@pytest.mark.parametrize(
    "text",
    [
        "Swapped the converter with a spare from the store.",
        "Swapped in the workshop transmitter on the same sensor.",
        "Exchanged the converter for a borrowed one.",
    ],
)
def test_a_trial_with_a_spare_is_asked_about(text: str, lexicon: Lexicon) -> None:
    """Nobody says that the spare stayed; so it is asked, and not taken for the history of the fault."""
    read = understand(text, lexicon)
    assert said(text, "electronics-replaced", lexicon) is None
    assert any("trial" in each for each in read.doubts)


@pytest.mark.parametrize(
    "text",
    [
        "Swapped the converter with a spare last month, since then it reads low.",
        "The transmitter was replaced in May.",
        "We swapped the transmitter between line A and line B last week.",
    ],
)
def test_a_part_that_stayed_is_read(text: str, lexicon: Lexicon) -> None:
    """When it was done, or since when it is so, tells that it was no trial."""
    assert said(text, "electronics-replaced", lexicon) is True


def test_all_is_well_when_everything_comes_back(lexicon: Lexicon) -> None:
    """What comes back when it is warm is not the fault; what comes with the heat is."""
    assert said("At noon when the sun is on it everything comes back.", "when-hot", lexicon) is False
    assert said("When the sun is on it the fault comes back.", "when-hot", lexicon) is True


HARMLESS = [
    ("Valve closed, it still breathes around zero.", "person-unwell"),
    ("The value is still breathing a little.", "person-unwell"),
    ("Pulled the clamp meter over the loop: nothing.", "pipe-moves"),
    ("Reading swings all over, sometimes an empty pipe alarm.", "pipe-moves"),
    ("The blister is the size of a hand, with acid behind it.", "chemical-on-somebody"),
    ("Impulse pipe was blown through.", "liquid-sprays-out"),
    ("After the brown out the meter on the fire ring came up in German.", "burning-now"),
]


@pytest.mark.parametrize(("text", "finding"), HARMLESS)
def test_a_figure_of_speech_is_no_danger(text: str, finding: str, lexicon: Lexicon) -> None:
    """What only sounds like a danger stops nothing."""
    assert said(text, finding, lexicon) is None


DANGERS = [
    ("He lies in the pit, he is still breathing.", "person-unwell"),
    ("The clamp of the pipe was pulled out, the pipe swings.", "pipe-moves"),
    ("The pipe swings all over the place.", "pipe-moves"),
    ("I have acid on my hand.", "chemical-on-somebody"),
    ("The pipe blew at the joint, water sprays out.", "liquid-sprays-out"),
    ("Fire comes out of the meter.", "burning-now"),
    ("I was nearly electrocuted at the housing.", "tingle-felt"),
]


@pytest.mark.parametrize(("text", "finding"), DANGERS)
def test_a_danger_is_read_all_the_same(text: str, finding: str, lexicon: Lexicon) -> None:
    """The same words stop all work where they mean what they say."""
    assert said(text, finding, lexicon) is True
