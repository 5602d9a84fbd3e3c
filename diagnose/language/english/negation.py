"""How English denies: words, contracted verbs, what ends the scope of a denial, and opposites."""

from __future__ import annotations

import re

from diagnose.language.english.lists import pairs, words

NEGATIONS = words("""
    not no never without none nothing neither nor nobody cannot hardly barely scarcely cant wont dont nowhere
    ain't aint neither nil
""")

NEGATED_VERBS = re.compile(
    r"(?:do|does|dos|doe|did|is|are|was|were|has|have|had|ca|can|could|wo|would|should|need)n['’]?t|doesn|didn|isn"
)
"""Verbs contracted with ``not``, with or without the apostrophe, and the usual misspellings."""

NEGATION_PAIRS = pairs("fail to, unable to, refus to, free of, free from, lack of, absenc of, instead of")
"""A stem and a word that together are a negation."""

INABILITY = re.compile(
    r"\b(?:cannot|can['’]?t|can not|couldn['’]?t|could not|unable|not possible|not able|won['’]?t)\b"
)
"""Something cannot be done; *nobody does it* does not mean that."""

ABILITY_WORDS = words(
    "can could will would able possible allowed let allow cannot can't cant couldn't unable won't wont"
)
"""Next to a negation these mean the same."""

EMPTY_CHOICES = words("yes no none other normal open")
"""Names of values that say nothing without what they are about."""

UNUSED_WORDS = words(
    "unused spare free unwired unconnected disconnected idle forgotten forgot missing omitted absent lacking"
)

USED_STEMS = words("us wir connect fit")
"""After a thing that a meter may have, these say that it is not in use; the latter after a negation."""

NEVER_WORDS = words("never ever once yet")
"""One of these is, or is next to, a negation for all time; *not good* is not *never good*."""

NOTHING_WORDS = words("nothing none anything nil")
"""Likewise: *nothing on it* is not *not on it*."""

CESSATION_STEMS = words("stop quit ceas")
"""Stems that are a negation before a word ending in -ing: ``stopped responding``."""

PSEUDO_NEGATIONS = words(
    "sorry wait only just merely necessarily doubt matter until sooner sure idea clue wonder surprise"
)
"""Pseudo-negations: after ``not`` or ``no`` the negation ends with them (``not only dark``, ``no idea why``)."""

SCOPE_TERMINATORS = words(
    "why because since when after before until if unless so which where how what who while whether"
)
"""Words that end the scope of a negation."""

POST_NEGATION_TAIL = words("""
    seen present there found observed visible shown noticed detected reported recorded active any so case true
    apparent evident at all known
""")
"""What may follow a negation placed after the mention that it negates: ``moisture not seen``, ``errors: none``."""

COMES_UP = words(
    "come comes came coming appear appears appeared occur occurs occurred arise arises arose happen happens"
)
"""Likewise, of what gives notice of itself (``the alarm does not come``)."""

RULED_OUT = words("excluded discounted disproved")
"""Behind a mention: somebody made sure that it is not so."""

SET_UP_WORDS = words("configured wired connected installed fitted set enabled activated used assigned")
"""After *was never*: there is no such thing (``the alarm for comms was never configured``)."""

EXCEPTIONS = words("except excepting save besides")

EXCEPTION_PAIRS = pairs("apart from, aside from, other than")

ANTONYMS = {
    first: second
    for pair in (
        "high low",
        "open clos",
        "ful empty",
        "on off",
        "up down",
        "ris fall",
        "more les",
        "before after",
        "increas decreas",
        "posit negat",
        "fast slow",
        "hot cold",
        "wet dry",
        "ok bad",
        "long short",
        "input output",
        "forward backward",
        "left right",
        "first last",
        "left right",
        "max min",
    )
    for first, second in (pair.split(), reversed(pair.split()))
}
"""Stems; an antonym of a phrase's word inside the match means that something else is meant."""

APPROXIMATE_NEGATIONS = words("hardly barely scarcely")
"""Before a number these are not negations (``hardly two weeks ago``)."""

ALWAYS_WORDS = words("always constantly permanently continuously consistently continually")
"""After ``not``: partial negation, it is so at times."""

ALL_THE_TIME = (
    ("all", "the", "time"),
    ("all", "time"),
    ("every", "time"),
    ("the", "whole", "time"),
    ("at", "all", "times"),
)

NO_PLAIN_DENIAL = words("""
    just only merely simply ordinary mere normal like until till believe believes believed believing belief say says
    said saying told tell tells claim claims claimed according can could yesterday before earlier anymore yet
""")
"""In the clause of a danger that is denied: the negation may be meant for these (``no longer just smoke``)."""

THE_REAL_THING = words("real proper actual worse bigger stronger")
"""Behind it: what is there is more than what is denied (``not a tingle, a proper shock``)."""

TURNS = words("but though although however yet except")
"""After one of these the sentence turns round."""

ECHOES = words("did does do is was are were has have had one some there yes")
"""Last word of what turns round: it echoes what was denied (``I didn't get a shock but my mate did``)."""

BACK_AGAIN = words("again today now back still")
