"""Little words by which a figure belongs to a thing, or only to the circumstances."""

from __future__ import annotations

from diagnose.language.english import grammar, speculation
from diagnose.language.english.lists import words

INDEFINITE = words("a an one another some each")
"""Before a figure and a noun: the figure tells which kind of thing it is (``a 2 mm layer``)."""

CIRCUMSTANCES = grammar.WHEN_LINKS | speculation.CONDITIONAL_CONJUNCTIONS | words("since until than where that")
"""What a figure is of does not stand beyond them."""

AT_PLACES = words("at on in inside through")
"""Before a thing: a figure may be of it, or of something that is read there."""

SAID_BY = words("by from across for")
"""Behind a figure: what follows may be what it is of (``60 m3/h by the pump curve``)."""

PREPOSITIONS = (
    AT_PLACES
    | SAID_BY
    | words("""
    of near beside besides behind after before into under over with without through to against past above below
    beyond around between along like via towards off next upstream downstream
""")
)
"""Those that govern a noun behind them."""

SIDES = words("upstream downstream front top side back outside ahead end because instead out")
"""Before *of*: what follows only says where or why."""

STATES = words("""
    running runs stopped stops stopping open opened closed shut full empty idle dry standing started starting starts
    start stop trips tripped trip kicks kicked comes came goes went switches switched working isolated removed
    disconnected
""")
"""Behind a thing: so it stood meanwhile (``pump off``)."""

OTHER_ONES = words("""
    twin sister neighbour neighbouring neighbor neighboring adjacent other another spare upstream downstream next
    previous former identical parallel elsewhere old removed second third
""")
"""Before the name of a meter or of what is read on it: that of another one."""

MEASURED_THINGS = words("""
    loop coil output supply electrode sensor tube unit device instrument one line head current voltage
    resistance conductivity temperature input
""")
"""Parts of a meter and what is read there, of which another one may have its own."""

THE_LINE = words("line pipe product liquid medium fluid water process nameplate plate")
"""Behind *of*: what is told of these is told of the meter's own place."""

ENDINGS_OF_OTHERS = ("ly", "ing", "ed")
"""Of words that are hardly nouns: how and what something does."""

NO_NOUNS = words("""
    wide long high low deep steady stable constant then measured fixed stuck same is now puts gives sits stands stays
    hangs holds comes goes drops falls rises jumps moves runs says tells shows reads
""")
"""Nor are these: what is told of a thing, not what it is called."""

OURS = words("our ours my mine this")
THEIRS = words("their theirs his her hers customer supplier")
"""Beside *ours*: of somebody else's meter (``the customer's meter says 96, ours 88``)."""

BESIDE_IT = words("before after behind beside above below next upstream downstream")
IT = words("it this ours mine that")
"""Behind a device: another one is meant (``the transmitter before it``)."""
