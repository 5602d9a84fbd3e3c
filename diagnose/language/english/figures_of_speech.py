"""How English says of readings and prices what can only happen to things and people."""

from __future__ import annotations

from diagnose.language.english.lists import words

BEFORE_VERBS = words("""
    has have had just suddenly simply totally completely nearly almost really then always now again literally all
    gets got goes went keeps kept on
""")
"""Between a subject and its verb: the verb is still its own (``the total has just exploded``)."""

HELPING = words("has have had gets got goes went keeps kept")
"""Those that make a verb of what follows; *now* and *then* do not (``loud noise then smoke``)."""

VERBS = words("""
    burst bursts blew blows shot shoots flew flies caught catches bled bleeds froze drowns explodes collapses dies hits
    bites bit stinks spits
""")
"""Verbs that do not end in *ed*."""

FROM_SOMETHING = words("out from through over")
"""Behind the verb: something leaves a thing, and has a body (``the rest burst out of the flange``)."""
