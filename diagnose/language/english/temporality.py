"""How people say when something was, and that it is over."""

from __future__ import annotations

from diagnose.language.english.lists import words

REASON_WORDS = words("( because as since for")

REPLACEMENT_VERBS = words("replaced changed exchanged swapped renewed repaired rebuilt relined")
"""Before a reason in the past: that condition is over (``sensor replaced because the liner was torn``)."""

TIME_PREPOSITIONS = words("in at when after since during while whenever on")
"""Before a history phrase: the time at which something is so (``in summer no problem``)."""

RESOLUTION_WORDS = words("cleared disappeared vanished resolved solved fixed cured recovered rectified repaired")
"""After a mention: it is over."""

LASTING_WORDS = words("since still again ever until always")
"""With a time in the past: it may be so to this day (``since last summer``)."""

LONG_UNITS = words("""
    month months year years season winter spring summer autumn january february march april may june july august
    september october november december
""")
"""Units of time and seasons so long that what happened *last* of them, or some *ago*, is not there now."""

WEEKS = words("week weeks")
"""Those after which it is over if a verb in the past says so."""

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
