"""Words around figures: what reads them, what they are of, and what is only required."""

from __future__ import annotations

import re

from diagnose.language.english.lists import pairs, words
from diagnose.language.english.speculation import CONDITIONAL_CONJUNCTIONS

BEFORE_NUMBERS = words("about around roughly some say approx the a :")
"""Words that may precede a number without changing its meaning."""

UNITS_OF_OTHERS = words("bar mbar psi kpa mpa v mv volt volts ma ohm ohms kohm mohm a amp amps hz khz degrees")
"""Behind a zero: it is no flow that is zero."""

READING_STEMS = words("show read display giv measur report see get")
"""Stems of verbs that any instrument may have; they do not say which one it is."""

VALUE_STEMS = words("flow valu show number figur rate total percent compar relativ against sinc")
"""Stems of nouns for a reading, and of words that say more about it."""

DEEDS_AT_ZERO = words("check adjust calibrat calibration trim routin procedur setting button menu function")
"""Stems of nouns before which *zero* is something that is done to a meter."""

NOUNS_AFTER_ZERO = DEEDS_AT_ZERO | words("point offset drift stability error shift set line")
"""Stems of nouns before which *zero* is not a reading."""

MESSAGE_STEMS = words("show report")
"""Those after which a message follows (``the line says empty``)."""

MEASURED_VALUE = re.compile(r"\b(?:measur\w*|actual\w*|in fact|really)\b", re.IGNORECASE)
"""Next to one of two values of a quantity: that one is the reading."""

REQUIRED = words("""
    should must shall ought required require requires requirement requirements need needs needed have has expected
    expect expects supposed normal normally usual usually typical typically spec specs specification specified
    specifies minimum maximum min max want wants wanted allowed permitted permissible admissible acceptable accepted
    recommended recommends demanded demands according manual standard target criterion criteria rated designed
    would limit limits guideline threshold set setting setpoint until
""")
"""In the clause of a limit they say that it is required, not read (``should be below 1 ohm``)."""

CIRCUMSTANCE = CONDITIONAL_CONJUNCTIONS | words("when whenever while whilst once until till as than")
"""Before a limit they say when something happens (``when the current is above 21 mA``)."""

ACROSS = words("between against across")
"""After a limit they say where it was measured."""

MOVING = words("drop fall go ris jump climb increas decreas run reach get sink creep swing vary drift come")
"""Stems of verbs that tell of a change and not of a reading (``drops below 18 V``)."""

RUNNING = words("pour leak drip spill trickl seep spray squirt burn blow break")
"""Stems of verbs that a particle only tells more of (``water poured out``)."""

BRINGING_ABOUT = words("""
    inject injects injected injecting simulate simulates simulated simulating simulation simulator bridging bridged
    jumpered forcing sourcing sourced calibrator
""")
"""What is read meanwhile somebody made so, to test something (``injected 12 mA: the screen follows``)."""

BRINGING_ABOUT_BY_SOMEBODY = words("bridge jumper force forced source feed fed")
"""Likewise behind a person, for they have other meanings too (``the pipe bridge``, ``mains fed``)."""

TESTS = pairs("""
    output test, loop test, current test, alarm test, display test, test current, test output, test pulses,
    fixed output, test mode
""")
"""Names of what brings readings about."""

BESIDES = words("where whereas when while against")
"""After a figure: what comes next is told beside it (``10 l/s where the balance needs 25``)."""

IN_WORDS = words("open shorted infinite infinity ol mega megohms nothing")
"""Readings in words: what is named before them has its own."""
