"""Assertion status of a mention: affirmed, negated, speculative, conditional, historical, or about another device.

Rules in the manner of NegEx and ConText (Chapman et al. 2001; Harkema et al. 2009; both from memory), kept simple on
purpose:

* Negation: its scope is two other words before a mention, between its words, or right after it (``errors: none``).
  ``and``, ``but``, ``why`` and a colon end the scope; a comma does too, except in a list with ``or``.
* ``Not without`` is a double negation. ``Not always`` and ``not … all the time`` are partial: it is so at times.
* Speculation: see ``hedges.py``. After ``I think``, a symptom still counts, for it is plain to see; a result does not.
* Questions and conditions state no facts, except ``if I touch it``, which reports an attempt.
* Temporality: what ``was`` so and is ``ok now``, or has ``cleared``, is not present; what ``was fine until Monday`` is
  not absent.
* Experiencer: ``other meters are fine`` says nothing about this one.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from itertools import pairwise
from typing import Any

from diagnose.language.english import all_well, experiencer, grammar, negation, speculation, temporality
from diagnose.language.hedges import is_hedged
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import NOT, NOT_ALWAYS, Token

_NEGATION_SCOPE = 2
_REPLACEMENT_SCOPE = 8
_TAIL_SCOPE = 3
_EXPERIENCER_SCOPE = 8
_YEAR = re.compile(r"(?:19|20)\d\d")
AnyMatch = Match[Any]

CONDITION = "is only a condition"
QUESTION = "is only a question"
SPECULATION = "is only a guess"
OPINION = "is only an opinion"
"""Why a mention is not taken as a fact, in words that follow its quote."""


def contains_negation(tokens: Sequence[Token], match: AnyMatch) -> bool:
    """Check whether the matched phrase has a negation of its own."""
    return any(tokens[at].stem == NOT for at in match.positions)


def is_negated(tokens: Sequence[Token], match: AnyMatch, taken: Collection[int] = ()) -> bool:
    """Check whether a negation outside any phrase applies to a match; those at ``taken`` belong to other phrases."""
    if contains_negation(tokens, match):
        return False
    for at in range(match.last - 1, match.first, -1):
        if _is_free_negation(tokens, at, taken):
            return not _is_double_negation(tokens, at)
    pre_negation = _negation_before(tokens, match, taken)
    if pre_negation is not None:
        return not _is_double_negation(tokens, pre_negation)
    return _is_negated_behind(tokens, match.last, taken)


def _is_free_negation(tokens: Sequence[Token], at: int, taken: Collection[int]) -> bool:
    return tokens[at].kind == "not" and at not in taken


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
    tail = next((token for token in tokens[at + 1 :] if token.kind != "stop"), None)
    return tail is None or tail.kind in ("comma", "break") or tail.text in negation.POST_NEGATION_TAIL


def has_other_experiencer(sentence: Sentence, match: AnyMatch) -> bool:
    """Check whether a mention is about another device than the one reported (``other nodes on the bus work``)."""
    for at in range(max(sentence.clause(match.first).start, match.first - _EXPERIENCER_SCOPE), match.last):
        token = sentence.tokens[at]
        if token.text in experiencer.OTHER_EXPERIENCERS and at not in match.positions:
            return sentence.tokens[at + 1].text not in experiencer.PSEUDO_EXPERIENCERS
    return False


def why_not_factual(sentence: Sentence, match: AnyMatch, is_symptom: bool) -> str:
    """Return why a mention does not count as a fact, in words that can follow its quote; empty if it does count."""
    tokens = sentence.tokens
    clause = sentence.clause(match.first)
    before = range(clause.start, match.first)
    if _is_conditional(tokens, before):
        return CONDITION
    if (sentence.question and _is_asked(sentence, match, clause)) or _asks_how(tokens, clause):
        return QUESTION
    if is_hedged(sentence, match):
        return SPECULATION
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


def has_ended(sentence: Sentence, following: Sentence | None, match: AnyMatch) -> bool:
    """Check whether what was stated is over by now (``was dark last week, now fine``, ``alarm cleared``)."""
    tokens = sentence.tokens
    clause = sentence.clause(match.last)
    tail = tokens[match.last + 1 : min(clause.stop, match.last + 1 + _TAIL_SCOPE)]
    for at, token in enumerate(tail):
        if token.kind == "not":
            break
        if token.text in temporality.RESOLUTION_WORDS or (token.text == "away" and at and tail[at - 1].stem == "go"):
            return True
    start = sentence.clause(match.first).start
    if not any(token.text in temporality.PAST_VERBS for token in tokens[start : match.last]):
        return False
    if _is_reason_for_replacement(tokens, start) or _was_put_right(sentence, clause):
        return True
    if any((a.text, b.text) == ("used", "to") for a, b in pairwise(tokens[start : match.first])):
        return True
    later = [tokens[match.last + 1 :], following.tokens if following else ()]
    return any(_is_resolved(part) for part in later)


def _was_put_right(sentence: Sentence, clause: range) -> bool:
    """Check whether the next clause says only that it was put right (``had a leak in 2019, was repaired``)."""
    tokens = sentence.tokens
    if clause.stop + 1 >= len(tokens):
        return False
    behind = [tokens[at] for at in sentence.clause(clause.stop + 1)]
    named = [token for token in behind if token.kind == "word" and not _YEAR.fullmatch(token.text)]
    named = [token for token in named if token.text not in temporality.LONG_UNITS | {"last", "ago", "then"}]
    return bool(named) and all(token.text in temporality.RESOLUTION_WORDS for token in named)


def happened_long_ago(sentence: Sentence, match: AnyMatch) -> bool:
    """Check whether it was long ago (``last winter``, ``in 2019``, ``was last week``) and not said to last since."""
    clause = sentence.clause(match.first)
    own = sentence.tokens[clause.start : max(clause.stop, match.last + 1)]
    if any(token.text in temporality.LASTING_WORDS for token in own):
        return False
    was = any(token.text in temporality.PAST_VERBS for token in own)
    units = temporality.LONG_UNITS | temporality.WEEKS if was else temporality.LONG_UNITS
    return any(
        (token.text == "last" and following.text in units)
        or (token.text in units and following.text == "ago")
        or (token.text == "in" and _YEAR.fullmatch(following.text) is not None)
        for token, following in pairwise(own)
    )


def _is_reason_for_replacement(tokens: Sequence[Token], start: int) -> bool:
    """Check whether a clause gives the reason for a replacement (``sensor replaced (liner was torn)``)."""
    if not start or tokens[start - 1].text not in temporality.REASON_WORDS:
        return False
    before = tokens[max(0, start - 1 - _REPLACEMENT_SCOPE) : start - 1]
    return any(token.text in temporality.REPLACEMENT_VERBS for token in before)


def _is_resolved(tokens: Sequence[Token]) -> bool:
    for at, token in enumerate(tokens):
        if token.text in temporality.NOW_WORDS:
            near = tokens[max(0, at - _TAIL_SCOPE) : at + _TAIL_SCOPE + 1]
            if any(each.text in all_well.WELL_WORDS for each in near) and not any(each.kind == "not" for each in near):
                return True
        if token.text == "back" and any(each.text == "normal" for each in tokens[at : at + _TAIL_SCOPE]):
            return True
    return False


def is_historical(sentence: Sentence, at: int) -> bool:
    """Check whether a denial is about the past (``was fine until Monday``)."""
    clause = [sentence.tokens[place].text for place in sentence.clause(at, soft=False)]
    return bool(temporality.PAST_VERBS.intersection(clause)) and bool(
        temporality.HISTORICAL_WORDS.intersection(clause) or "used" in clause
    )
