"""Assertion status of a mention: affirmed, negated, speculative, conditional, historical, or about another device.

Rules in the manner of NegEx and ConText (Chapman et al. 2001; Harkema et al. 2009; both from memory), kept simple on
purpose:

* Negation: its scope is two other words before a mention, between its words, or right after it (``errors: none``).
  ``and``, ``but``, ``why`` and a colon end the scope; a comma does too, except in a list with ``or``.
* ``Not without`` is a double negation. ``Not always`` and ``not … all the time`` are partial: it is so at times.
* Speculation: see ``hedges.py``. After ``I think``, a symptom still counts, for it is plain to see; a result does not.
* Questions and conditions state no facts, except ``if I touch it``, which reports an attempt.
* Temporality: see ``ended.py``.
* Experiencer: ``other meters are fine`` says nothing about this one.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from diagnose.language.english import experiencer, grammar, negation, speculation, temporality
from diagnose.language.hedges import is_hedged
from diagnose.language.intentions import is_intended, is_ordered
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import NOT, NOT_ALWAYS, Token

_NEGATION_SCOPE = 2
_EXPERIENCER_SCOPE = 8
_RULED_OUT_WITHIN = 6
_WITHOUT = ("without", "nothing", "none")
AnyMatch = Match[Any]

CONDITION = "is only a condition"
QUESTION = "is only a question"
SPECULATION = "is only a guess"
OPINION = "is only an opinion"
INTENTION = "is only wanted or planned"
"""Why a mention is not taken as a fact, in words that follow its quote."""


def contains_negation(tokens: Sequence[Token], match: AnyMatch) -> bool:
    """Check whether the matched phrase has a negation of its own."""
    return any(tokens[at].stem == NOT for at in match.positions)


def is_negated(tokens: Sequence[Token], match: AnyMatch, taken: Collection[int] = ()) -> bool:
    """Check whether a negation outside any phrase applies to a match; those at ``taken`` belong to other phrases."""
    if contains_negation(tokens, match):
        return _is_denied_inside(tokens, match, taken)
    for at in range(match.last - 1, match.first, -1):
        if _is_free_negation(tokens, at, taken) and not _is_attribute(tokens, at, match):
            return not _is_double_negation(tokens, at)
    pre_negation = _negation_before(tokens, match, taken)
    if pre_negation is not None:
        return not _is_double_negation(tokens, pre_negation)
    return _is_negated_behind(tokens, match.last, taken) or _is_ruled_out(tokens, match.last) is True


def _is_denied_inside(tokens: Sequence[Token], match: AnyMatch, taken: Collection[int]) -> bool:
    """Check whether a phrase with a negation of its own is denied by another one (``with no flow it does not count``).

    That one stands right before the last word of the phrase.
    """
    at = match.last - 1
    own = max(place for place in match.positions if tokens[place].stem == NOT)
    return (
        own < at
        and at not in match.positions
        and _is_free_negation(tokens, at, taken)
        and tokens[at].text not in _WITHOUT
    )


def _is_free_negation(tokens: Sequence[Token], at: int, taken: Collection[int]) -> bool:
    return tokens[at].kind == "not" and at not in taken


def _is_attribute(tokens: Sequence[Token], at: int, match: AnyMatch) -> bool:
    """Check whether ``without`` only tells which one it is (``the gland without cable was open``)."""
    between = tokens[at + 1 : match.last]
    return tokens[at].text == "without" and any(token.text in grammar.COPULA for token in between)


def _is_double_negation(tokens: Sequence[Token], at: int) -> bool:
    """Check for a second negation right before this one, as in ``not without``."""
    here = at - 1
    while here >= 0 and tokens[here].kind in ("stop", "light"):
        here -= 1
    return here >= 0 and tokens[here].kind == "not" and tokens[at].text in ("without", "no", "free", "lack")


def _negation_before(tokens: Sequence[Token], match: AnyMatch, taken: Collection[int]) -> int | None:
    other_words = 0
    list_goes_on = any(token.text in ("or", "nor") for token in tokens[match.last + 1 : match.last + 3])
    for at in range(match.first - 1, -1, -1):
        token = tokens[at]
        if _is_free_negation(tokens, at, taken):
            if _denies_what_is_there(tokens, at, match.first):
                return None
            return None if at and tokens[at - 1].text in ("or", "whether") and token.text == "not" else at
        if token.text in ("or", "nor"):
            list_goes_on, other_words = True, 0
        elif token.kind in ("break", "link") or token.text in negation.SCOPE_TERMINATORS or token.text == ":":
            return None
        elif token.kind == "comma":
            if not list_goes_on:
                return None
            other_words = 0
        elif token.kind == "word":
            other_words += 1
            if other_words > _NEGATION_SCOPE:
                return None
    return None


def _denies_what_is_there(tokens: Sequence[Token], at: int, first: int) -> bool:
    """Check whether a negation is of a thing, and only its place is mentioned (``no pull-up in the new panel``)."""
    place = first - 1
    while place > at and tokens[place].text in grammar.DETERMINERS:
        place -= 1
    things = any(token.kind == "word" for token in tokens[at + 1 : place])
    return tokens[at].text in ("no", "nothing") and things and tokens[place].text in ("in", "on", "at")


def is_partially_negated(tokens: Sequence[Token], match: AnyMatch, taken: Collection[int] = ()) -> bool:
    """Check for partial negation: what is *not always* so is so at times (``not full all the time``)."""
    first = match.first - 1
    while first >= 0 and tokens[first].kind in ("stop", "light") and tokens[first].stem != NOT_ALWAYS:
        first -= 1
    if any(token.stem == NOT_ALWAYS for token in tokens[max(first, 0) : match.last]):
        return True
    behind = tuple(token.text for token in tokens[match.last + 1 : match.last + 4])
    lasting = behind[:1] and behind[0] in negation.ALWAYS_WORDS
    lasting = lasting or any(behind[: len(idiom)] == idiom for idiom in negation.ALL_THE_TIME)
    return bool(lasting) and not contains_negation(tokens, match) and is_negated(tokens, match, taken)


def _is_negated_behind(tokens: Sequence[Token], last: int, taken: Collection[int]) -> bool:
    at = last + 1
    while at < len(tokens) and tokens[at].kind == "stop":
        at += 1
    if at >= len(tokens) or not _is_free_negation(tokens, at, taken) or tokens[at].text in ("without", "nor", "nobody"):
        return False
    if tokens[at].text == "nothing" and tokens[at - 1].text in ("do", "does", "did"):
        # `It does nothing` is no denial of it.
        return False
    tail = next((token for token in tokens[at + 1 :] if token.kind != "stop"), None)
    return (
        tail is None
        or tail.kind in ("comma", "break")
        or tail.text in negation.POST_NEGATION_TAIL
        or tail.text in negation.COMES_UP
    )


def _is_ruled_out(tokens: Sequence[Token], last: int) -> bool | None:
    """Check whether somebody ruled out what stands before (True), or says that it cannot be ruled out (False)."""
    denied = False
    for at in range(last + 1, min(last + 1 + _RULED_OUT_WITHIN, len(tokens))):
        token = tokens[at]
        out = token.text == "ruled" and any(each.text == "out" for each in tokens[at + 1 : at + 2])
        if out or token.text in negation.RULED_OUT:
            return not denied
        if token.kind not in ("stop", "not", "light"):
            return None
        denied = denied or token.kind == "not"
    return None


def has_other_experiencer(sentence: Sentence, match: AnyMatch) -> bool:
    """Check whether a mention is about another device than the one reported (``other nodes on the bus work``)."""
    for at in range(max(sentence.clause(match.first).start, match.first - _EXPERIENCER_SCOPE), match.last):
        token = sentence.tokens[at]
        if token.text in experiencer.OTHER_EXPERIENCERS and at not in match.positions:
            return sentence.tokens[at + 1].text not in experiencer.PSEUDO_EXPERIENCERS
        if token.text in experiencer.FORMER and _was_another(sentence.tokens[at + 1 : at + 3]):
            return True
    return False


def _was_another(tokens: Sequence[Token]) -> bool:
    """Check whether tokens tell of a device that is gone (``the old meter was dead``)."""
    if len(tokens) < len(("meter", "was")):
        return False
    return tokens[0].text in experiencer.WHOLE_DEVICES and tokens[1].text in temporality.PAST_VERBS


def why_not_factual(sentence: Sentence, match: AnyMatch, is_symptom: bool) -> str:
    """Return why a mention does not count as a fact, in words that can follow its quote; empty if it does count."""
    tokens = sentence.tokens
    clause = sentence.clause(match.first)
    before = range(clause.start, match.first)
    if _is_conditional(tokens, before):
        return CONDITION
    if (sentence.question and _is_asked(sentence, match, clause)) or _asks_how(tokens, clause):
        return QUESTION
    if is_hedged(sentence, match) or _is_ruled_out(tokens, match.last) is False:
        return SPECULATION
    if is_intended(sentence, match) or (not is_symptom and is_ordered(sentence, match)):
        return INTENTION
    if not is_symptom and any(tokens[at].text in speculation.OPINION_VERBS for at in before):
        return OPINION
    return ""


def _is_conditional(tokens: Sequence[Token], before: range) -> bool:
    """Check whether a condition comes first; what happens ``if I touch it`` has happened, so that does not count."""
    for at in before:
        if tokens[at].text in speculation.CONDITIONAL_CONJUNCTIONS and not (
            at > before.start and tokens[at - 1].text in ("as", "even")
        ):
            tried = tokens[at].text == "if" and at + 1 < len(tokens) and tokens[at + 1].text in ("i", "we")
            if not tried or any(token.text in speculation.MODALS for token in tokens):
                return True
    return False


def _asks_how(tokens: Sequence[Token], clause: range) -> bool:
    """Check whether a clause asks how or where to do something, with or without a question mark."""
    opening = [tokens[at].text for at in clause if tokens[at].kind not in ("link", "comma")][:3]
    return opening[:1] in (["how"], ["where"]) and bool({"i", "we", "to"}.intersection(opening[1:]))


def _is_asked(sentence: Sentence, match: AnyMatch, clause: range) -> bool:
    tokens = sentence.tokens
    opening = [token.text for token in tokens[:4]] + [tokens[at].text for at in clause if at < match.first]
    if speculation.QUESTION_WORDS.intersection(opening):
        return False
    is_last = clause.stop >= len(tokens) or match.last >= len(tokens) - 2
    start = next((tokens[at].text for at in clause if tokens[at].kind not in ("link", "comma")), "")
    return is_last or start in grammar.AUXILIARY_VERBS
