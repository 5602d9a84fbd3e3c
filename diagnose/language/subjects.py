"""What a clause is about: its subject, which stands before the verb (``the level switch in the sump is stuck``).

What is said of another thing than the meter says nothing of the meter, unless a phrase names that thing too (``the
tank runs over``), or the meter.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from diagnose.language.english import experiencer, grammar, speculation
from diagnose.language.lexicon import Lexicon
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import Token

_MOST_ADJECTIVES = 2
_CIRCUMSTANCES = grammar.WHEN_LINKS | speculation.CONDITIONAL_CONJUNCTIONS | {"since", "after", "before", "until"}
_BOUNDARIES = _CIRCUMSTANCES | {":", "that"}


def is_of_another_thing(sentence: Sentence, match: Match[Any], lexicon: Lexicon) -> bool:
    """Check whether the clause of a match has another thing as its subject, which the match does not name."""
    tokens = sentence.tokens
    start = _start(sentence, match.first)
    if start > 0 and tokens[start - 1].text in _CIRCUMSTANCES:
        # Where the circumstance ends and the clause begins nobody says (`when the pump stands there come no pulses`).
        return False
    near = tokens[start : match.last]
    found = lexicon.other_things.matches(near)
    for thing in sorted(found, key=lambda each: -len(each.positions)):
        last = start + thing.last
        if start + thing.first > match.first or {start + at for at in thing.positions}.issubset(match.positions):
            continue
        if _opens(near, thing.first) and _is_a_subject(tokens, last) and not _names_the_meter(tokens, match):
            return True
    return False


def _start(sentence: Sentence, at: int) -> int:
    """Return where the part of a clause begins in which a token stands: after *when*, *and the*, a colon."""
    tokens = sentence.tokens
    start = sentence.clause(at).start
    for place in range(at - 1, start - 1, -1):
        joined = tokens[place].kind == "link" and tokens[place + 1].text in grammar.DETERMINERS
        if tokens[place].text in _BOUNDARIES or joined:
            return place + 1
    return start


def _opens(near: Sequence[Token], first: int) -> bool:
    """Check whether nothing but articles and adjectives stands before a thing."""
    before = near[:first]
    placed = any(token.text in grammar.PREPOSITIONS | grammar.PLACE_WORDS for token in before)
    persons = any(token.text in experiencer.PERSONS_SPEAKING for token in before)
    return not (placed or persons) and sum(token.kind == "word" for token in before) <= _MOST_ADJECTIVES


def _is_a_subject(tokens: Sequence[Token], last: int) -> bool:
    """Check whether a thing is neither part of a longer name (``tank meter``) nor only said to be off or on."""
    behind = tokens[last + 1] if last + 1 < len(tokens) else None
    return behind is not None and behind.text not in experiencer.OWN_NAMES | grammar.PARTICLES | {"running", "stopped"}


def _names_the_meter(tokens: Sequence[Token], match: Match[Any]) -> bool:
    return any(tokens[at].text in experiencer.OWN_NAMES for at in match.positions)
