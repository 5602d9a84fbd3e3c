"""Denials by subject: the subject of a finding with an ok-word (``fuse is fine``, ``fuse and supply: ok``).

And denials that are none: of all but one, or until lately.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from diagnose.language.english import all_well, grammar, negation, speculation, temporality
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence

_SCOPE = 2
_OK_WORDS_BEFORE = all_well.OK_CHECKS | {"good", "healthy", "intact", "sound", "correct", "normal", "proper"}


def ok_word_of(sentence: Sentence, subject: Match[str], subjects: Collection[int]) -> int | None:
    """Return the position of the ok-word that applies to a subject, or None.

    ``subjects`` are the positions of all subjects in the sentence: they may form a list that shares one ok-word.
    """
    if _is_only_placed(sentence, subject):
        return None
    behind = _nearest_ok_word(sentence, subject.last, 1, subjects, all_well.OK_WORDS)
    return behind if behind is not None else _nearest_ok_word(sentence, subject.first, -1, subjects, _OK_WORDS_BEFORE)


def ok_word_of_it(sentence: Sentence, subject: Match[str]) -> int | None:
    """Return the position of the ok-word by which a writer contradicts what others believe of a subject, or None.

    ``The operators swear the fuse has gone, but I tested it and it is good``.
    """
    tokens = sentence.tokens
    clause = sentence.clause(subject.first, soft=False)
    believed = any(tokens[at].text in speculation.OPINION_VERBS for at in range(clause.start, subject.first))
    if not believed or tokens[clause.stop : clause.stop + 1] == () or tokens[clause.stop].text != "but":
        return None
    for at in range(clause.stop + 1, len(tokens) - 2):
        said = tuple(token.text for token in tokens[at : at + 2])
        if said == ("it", "is") and tokens[at + 2].text in all_well.OK_WORDS - all_well.OK_CHECKS:
            return at + 2
    return None


def _is_only_placed(sentence: Sentence, subject: Match[str]) -> bool:
    """Check whether a subject only says where or whose something else is (``the man from the ground works``)."""
    tokens = sentence.tokens
    at = subject.first - 1
    while at >= 0 and tokens[at].text in grammar.DETERMINERS:
        at -= 1
    start = sentence.clause(subject.first).start
    return (
        at > start
        and tokens[at].text in grammar.BEFORE_OBJECTS
        and (tokens[at - 1].kind in ("word", "not") or tokens[at - 1].text in grammar.COPULA)
    )


def _nearest_ok_word(
    sentence: Sentence, start: int, step: int, subjects: Collection[int], ok_words: Collection[str]
) -> int | None:
    tokens = sentence.tokens
    other_words = 0
    limit = _SCOPE if step > 0 else 0
    at = start + step
    while 0 <= at < len(tokens):
        token = tokens[at]
        if token.text in ok_words:
            return at if _is_asserted(sentence, start, at) else None
        if at in subjects or token.kind in ("stop", "light", "figure"):
            pass
        elif token.kind in ("comma", "link"):
            if not _list_goes_on(sentence, at, step, subjects, ok_words):
                return None
        elif token.kind != "word" or token.stem in negation.CESSATION_STEMS:
            return None
        else:
            other_words += 1
            if other_words > limit:
                return None
        at += step
    return None


def _list_goes_on(sentence: Sentence, at: int, step: int, subjects: Collection[int], ok_words: Collection[str]) -> bool:
    tokens = sentence.tokens
    at += step
    while 0 <= at < len(tokens) and tokens[at].kind in ("stop", "link"):
        at += step
    return 0 <= at < len(tokens) and (at in subjects or (step > 0 and tokens[at].text in ok_words))


def _is_asserted(sentence: Sentence, subject: int, ok: int) -> bool:
    """Check that the ok-word is neither negated nor merely a request (``to be checked``, ``please``)."""
    tokens = sentence.tokens
    first = max(0, min(subject, ok) - 3)
    between = tokens[first:ok]
    if any(token.kind == "not" for token in tokens[min(subject, ok) : ok]) or (ok and tokens[ok - 1].kind == "not"):
        return False
    if ok + 1 < len(tokens) and tokens[ok].text in all_well.OK_CHECKS and tokens[ok + 1].kind == "not":
        return False
    clause = sentence.clause(subject)
    if tokens[ok].text in all_well.OK_CHECKS and any(tokens[at].kind == "not" for at in clause):
        # `Nothing on the terminals, checked with the multimeter` tells how it was found out.
        return False
    requests = {"be", "should", "must", "need", "needs", "will", "please", "shall"}
    return not (tokens[ok].text in all_well.OK_CHECKS and any(token.text in requests for token in between))


def holds_no_longer(sentence: Sentence, match: Match[Any]) -> bool:
    """Check whether what is denied holds for somebody all the same, or since lately.

    *Nobody felt a shock except me*, *there was no smoke until ten minutes ago*; *none until now* is still none, and
    *none until Friday* will be.
    """
    behind = [token.text for token in sentence.tokens[match.last + 1 :]]
    past = any(token.text in temporality.PAST_VERBS | temporality.PERCEIVED for token in sentence.tokens)
    for word, following, third in zip(behind, [*behind[1:], ""], [*behind[2:], "", ""], strict=False):
        if word in negation.EXCEPTIONS or (word, following) in negation.EXCEPTION_PAIRS:
            return True
        if word == "but" and following in grammar.PERSONS and third in ("", ","):
            return True
        if past and word in ("until", "till") and following not in ("now", "today"):
            return True
    return False
