"""Denials of a danger that may be none: ``it hasn't stopped smoking``, ``not a tingle, a proper shock``.

A danger that is denied in plain words is denied. Where the sentence says more (that something does not stop, was only
of its kind, is believed or told, was so yesterday, or that somebody else did), nobody knows what the negation was meant
for; so it is asked, and neither taken as absent nor as present.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from diagnose.language.english import negation
from diagnose.language.results import DangerInDoubt, Mention, shortened
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import Token

_REACH = 5

if TYPE_CHECKING:
    from diagnose.language.lexicon import Lexicon


def in_doubt(sentence: Sentence, mentions: Sequence[Mention], lexicon: Lexicon) -> list[Mention]:
    """Return the mentions that deny a danger in words which may mean something else."""
    return [each for each in mentions if _denies_a_danger(each, lexicon) and _says_more(sentence, each)]


def asked_about(text: str, sentence: Sentence, mention: Mention) -> tuple[range, DangerInDoubt]:
    """Return a doubtful denial as a danger to ask about, with the words of its clause."""
    clause = sentence.clause(mention.first, soft=False)
    quote = text[sentence.tokens[clause[0]].start : sentence.tokens[clause[-1]].end]
    name = mention.statement.finding if mention.statement else ""
    return clause, DangerInDoubt(quote=shortened(quote), findings=(name,))


def _denies_a_danger(mention: Mention, lexicon: Lexicon) -> bool:
    said = mention.statement
    if said is None or not said.finding or said.present is not False:
        return False
    return lexicon.findings[said.finding].keep_away is not None


def _does_not_come(tokens: Sequence[Token]) -> bool:
    """Check whether it is denied that something comes (``the smoke does not come from the motor``)."""
    at = next((place for place, token in enumerate(tokens) if token.kind == "not"), len(tokens))
    return any(token.text in negation.COMES_UP for token in tokens[at + 1 :])


def _says_more(sentence: Sentence, mention: Mention) -> bool:
    tokens = sentence.tokens
    own = [tokens[at] for at in sentence.clause(mention.first)]
    behind = tokens[mention.last + 1 :]
    if _does_not_come(tokens[mention.first + 1 : mention.last + 1 + _REACH]):
        return True  # it may only not come from there, or not with gloves on
    if not any(each.kind == "not" for each in tokens[: mention.last + 1]):
        return False  # denied by words of its own (``pumped out``)
    stops = tuple(negation.CESSATION_STEMS)
    if any(each.text in negation.NO_PLAIN_DENIAL or each.text.startswith(stops) for each in own):
        return True
    if any(each.text == "without" for each in tokens[: mention.first - 1]):
        return True  # `without gloves you get a shock`: what is missing is something else
    if any(each.text in negation.THE_REAL_THING for each in behind):
        return True
    later = [each.text for each in behind]
    turned = next((at for at, word in enumerate(later) if word in negation.TURNS), None)
    if turned is None:
        return False
    tail = later[turned + 1 :]
    return bool(tail) and (tail[-1] in negation.ECHOES or not negation.BACK_AGAIN.isdisjoint(tail))
