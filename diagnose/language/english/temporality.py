"""How people say when something was, and that it is over."""

from __future__ import annotations

from diagnose.language.english.lists import pairs, words

REASON_WORDS = words("( because as since for")

REPLACEMENT_VERBS = words("replaced changed exchanged swapped renewed repaired rebuilt relined")
"""Before a reason in the past: that condition is over (``sensor replaced because the liner was torn``)."""

TIME_PREPOSITIONS = words("in at when after since during while whenever on")
"""Before a history phrase: the time at which something is so (``in summer no problem``)."""

RESOLUTION_WORDS = words("cleared disappeared vanished resolved solved fixed cured recovered rectified repaired")
"""After a mention: it is over."""

SINCE_PUT_RIGHT = words("s has have had been got now already meanwhile again since then")
"""Beside those, in a sentence of its own: still only that it is over."""

BEFORE_GONE = words("is are has have had was were s it's")
GONE_WORDS = words("gone over")
"""After those, behind a mention: it is over (``the jumping has gone``)."""

PUT_RIGHT = (
    RESOLUTION_WORDS
    | REPLACEMENT_VERBS
    | words("""
    corrected cleaned tightened retightened reconnected refitted remade opened closed freed emptied refilled adjusted
    reset put pushed removed
""")
)
"""First word of what follows something that *was* so: it was done about it (``was full of leaves. Cleaned.``)."""

STILL_THERE = words("still again same remains remained continues continued persists")
"""It was done in vain."""

EARLIER_CASES = pairs("last time, previous time, other time")
"""Before a mention: that was another case."""

LASTING_WORDS = words("since still again ever until always")
"""With a time in the past: it may be so to this day (``since last summer``)."""

LONG_UNITS = words("""
    month months year years season winter spring summer autumn january february march april may june july august
    september october november december
""")
"""Units of time and seasons so long that what happened *last* of them, or some *ago*, is not there now."""

WEEKS = words("week weeks")
"""Those after which it is over if a verb in the past says so."""

DAYS_AND_MORE = LONG_UNITS | WEEKS | words("day days")

NOW_WORDS = words("now again since currently meanwhile")

PAST_VERBS = words("was were had used wasn")

PERCEIVED = words("felt saw heard smelt smelled noticed")

HISTORICAL_WORDS = words("until till before previously formerly originally earlier")
"""With an ok-word in the past tense: it is no longer ok (``was fine until Monday``)."""

TIME_UNITS = words("""
    second seconds minute minutes hour hours day days night nights week weeks weekend month months year years season
    summer winter time shift
""")

TIME_SPAN_WORDS = words(
    "the a an last past next some several many few couple of whole long course this that these those first"
)
"""Between *over* and a unit of time: then *over* means *during*."""

ROLLING = words("rol turn flip wrap clock tip tick")
"""Stems of verbs to which an *over* behind them belongs."""
