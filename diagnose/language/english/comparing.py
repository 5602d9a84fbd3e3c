"""Words by which one thing is held against another."""

from __future__ import annotations

from diagnose.language.english.lists import words

LARGER = words("more higher larger greater bigger")
SMALLER = words("less lower smaller fewer")
"""Comparatives: what comes behind *than* is the other side."""

MULTIPLES = words("twice double triple")
FRACTIONS = words("half third quarter")
"""Directly before the other side (``twice the tank``), or before *of*."""

OVER_IT = words("above high")
UNDER_IT = words("below low short under")
"""Behind an amount (``9 % above the tank``); without one they say where something is, or how it is."""

OTHER_SIDE = words("than of what against versus vs as with to compared relative")
"""They introduce the other side."""

HOLDING = words("compared against versus vs relative")
"""Before a comparison: what follows is the other side (``compared to the tank it shows 9 % less``)."""

AMOUNTS = words("% percent pct per cent bit little lot way far much")
"""Before *above* and *below*: how much it is apart."""

THIS_ONE = words("ours mine this")
"""Behind *than*: the meter itself."""

READ_VALUES = words("value figure reading readings amount volume number")
"""Between *than* and a name: that of what is named (``than the value of the tank``)."""

US = words("we it ours mine i'm we're it's")
"""Behind an instrument that says so: of the meter itself (``the clamp-on says we are 8 % low``)."""
