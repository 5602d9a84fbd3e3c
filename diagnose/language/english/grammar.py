"""Little words of English: which carry no content, which join, and which keep their place."""

from __future__ import annotations

from diagnose.language.english.lists import words

STOP_WORDS = words("""
    a an the is are was were be been being am has have had having do does did it its it's this that these
    those there here i we you he she they me us him her them my our your his their who which whom of in at to from
    for as into onto upon about so then than as just i'm we've it'll that's there's he's i've we're
    any some one will would can could shall should may might must very really quite rather please
    please let let's what's hi hello ok'd etc e g eg ie per such
""")
"""Stop words: never content of a phrase, and not counted in its gaps."""

PREPOSITIONS = words("at in to from of by for into as")
"""Stop words that are kept if a phrase would otherwise be a single word (``at zero``)."""

BEFORE_OBJECTS = words("from of for by in to at on about")
"""Between two nouns: what follows tells of the first, and is not what is spoken of."""

LEADING_WORDS = PREPOSITIONS | words("all after before since during until till every each with without under over near")
"""Words that stay before what they govern, so that a phrase beginning with one keeps its order."""

RELATIONS = (BEFORE_OBJECTS - {"on"}) | words("after before behind into over under with through since until")
"""Between two words: how the one stands to the other."""

HAPPENING = words("""
    starts started stops stopped runs ran trips tripped kicks kicked comes came goes went switches switched is was has
    had got gets start stop trip
""")
"""Behind *after the pump*: then it is a time, not a place."""

PLACE_WORDS = words("on over via in at under by inside near")
"""A phrase that begins with one says where something is: what is denied before it is that thing, not the place."""

LIGHT_WORDS = words("""
    on off up down out over under with within through across along around near after before since during until till
    again still now always ever often constantly continuously permanently sometimes occasionally suddenly currently
    already almost nearly completely totally entirely fully only even actually simply basically slightly somewhat
    much too far bit little lot way by today yesterday morning night week weeks day days month months hour hours
    get gets getting got become becomes became becoming seem seems seemed appear appears appeared look looks looked
    looking stay stays stayed staying remain remains remained keep keeps kept keeping go goes going went gone come
    comes coming came start starts started begin begins began sit sits sitting like mostly partly roughly about when
    while whenever whilst all every each back left itself think believe guess found find checked tested verified
    inspected also both against themselves himself
""")
"""Light words: content if a phrase contains them, otherwise not counted in its gaps."""

COPULA = words("is are was were")

COMPARATIVES = frozenset({"less", "more", "lower", "higher"})
"""Comparatives."""

BEFORE_NOUNS = frozenset({"below", "under", "above", "beyond"})
"""Words that stay directly before the word they govern, in any order of the others."""

PARTICLES = words("out up down away over on off")
"""Particles: they change the meaning of the verb before them."""

TIME_LINKS = words("while whilst whenever when although though but despite with")
"""Words that join two clauses; a phrase that has one may match across such a word in the text."""

WHEN_LINKS = TIME_LINKS - {"with", "but", "despite"}
"""Those that a phrase without one never crosses when it is reordered."""

CLAUSE_BREAKS = words(
    "but however although though whereas while whilst yet except because therefore hence despite plus"
)
"""Words that begin a new clause."""

COORDINATORS = words("and or nor & vs versus compared than")
"""Coordinators: words that join two things of the same kind."""

JOINING = words("and or but")
DETERMINERS = words("the a an this that its his her our my their")
"""After a joining word one of these begins a clause about something else."""

AUXILIARY_VERBS = words("""
    is are was were does do did has have had can could should would will isn't aren't doesn't don't hasn't am may
""")
"""A sentence that begins with one of these and ends with a question mark is a question about what it mentions."""

PERSONS = words("me him her us them one two i he she myself himself")
"""Behind a denial: it holds for all but somebody (``nobody felt a shock but me``)."""

COMPOUND_NOUNS = words("direct direction meter switch profil sensor")
"""Stems of nouns that form a compound with the noun before them (``shows the flow direction``)."""

HUMAN_SUBJECTS = words("i we you they he she one can cannot can't could couldn't to be")
"""Before *read*: a person reads. Otherwise an instrument does, and *reads* is a synonym of *shows*."""

COMPARISON_WORDS = words("more less higher lower bigger smaller greater faster slower other another different")
"""Before *as*: a slip for *than*."""

NUMBER_WORDS = words("""
    two three four five six seven eight nine ten eleven twelve fifteen twenty thirty forty fifty sixty hundred
    thousand half couple few several dozen
""")
"""Numbers in words; they are not counted in the gaps of a phrase."""

NON_COMPOUND_ENDINGS = words("led ored age ages ful less ton its ore red ted ated ised ising ands raining")
"""Never the second part of a compound: *controlled* does not contain an *LED*."""

ABBREVIATIONS = words(
    "e.g i.e approx ca no nr tel temp max min vs a.c d.c resp incl dept ref pos fig st mr mrs ms dr abt"
)

NUMBER_SIGNS = words("no nr nos")

AFTER_RETURN = words("to again online")
"""After *back*, as after *is*: something has come back, and does not run backwards (``flow is back``)."""

NUMBER_SIGNS_IN_FULL = words("number numbers numero")
