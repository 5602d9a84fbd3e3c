"""What is guessed, asked, believed or answered, and not stated."""

from __future__ import annotations

from diagnose.language.english.lists import pairs, words

HEDGES = words("""
    maybe perhaps possibly probably presumably might suspect suspected suspects suspecting wonder wondering assume
    assuming potentially suspicion likely unsure supposedly allegedly theory whether
""")
"""Hedges: nothing within their scope counts as a fact."""

ASKING = words("whether")
"""Those that ask about all that follows."""

HEDGE_PAIRS = pairs(
    "could be, could have, may be, may have, can be, not sure, not certain, not know, in case, not necessarily"
)

OPINION_VERBS = words("think believe guess reckon feel thinks believes swear swears claim claims insist insists")
"""After these a symptom counts, for it is plain to see; a conclusion does not."""

HEDGE_SCOPE_STARTERS = words(
    "with from since because due for by in at after before on when as during under around through"
)
"""After ``perhaps``: only the circumstance that follows is uncertain."""

CAUSAL_CONJUNCTIONS = words("because hence therefore")

GUESS_VERBS = words("guess reckon")
"""Those after which a figure does not count either."""

CONDITIONAL_CONJUNCTIONS = words("if unless assuming provided")

MODALS = words("should would could can may might must will please call tell had want wish were i'd we'd i'll we'll")
"""In a sentence with one of these, ``if I`` does not report an attempt."""

SUPPOSED = words("should would could ought suppose supposing imagine example")
"""In a sentence with figures: nobody read them."""

QUESTION_WORDS = words("why what how who where which when")
"""These presuppose what they ask about: ``why is it dark?`` means that it is dark."""

ANSWER_MARKS = words("a answer ans")
"""Before an answer (``Q: … A: no``)."""

YES_WORDS = words("yes yep yeah y correct indeed affirmative")

NO_WORDS = words("no nope n negative not")

ANSWERS = (
    YES_WORDS
    | (NO_WORDS - {"not"})
    | words("ok okay done right true sure idea dont don't know unknown skip note back plant")
)
"""Words that answer a question, with which no sentence about a meter begins: what follows is told beside the answer."""
