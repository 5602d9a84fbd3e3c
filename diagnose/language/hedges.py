"""How far ``maybe`` and its like reach.

A hedge before an amount hedges the amount only (``drops out maybe ten times a day``), one before a circumstance what
follows (``dark since Monday, perhaps with the storm``); any other hedges its clause, and ``probably because`` the next.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from diagnose.language import english
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.words import Word

_LONGEST_AMOUNT = 6
_SEEN = frozenset({"seen", "read", "heard", "felt", "found"})


def hedged(sentence: Sentence, match: Match[Any]) -> bool:
    """Tell whether what a match says is only supposed."""
    words = sentence.words
    clause = sentence.clause(match.first)
    own = range(clause.start, max(clause.stop, match.last + 1))
    if clause.start >= 2 and words[clause.start - 1].text in english.BECAUSE:
        own = range(clause.start - 2, own.stop)
    return any(_lies_in(match, reach, words) for reach in _reaches(sentence, own))


def _lies_in(match: Match[Any], reach: range, words: Sequence[Word]) -> bool:
    """Tell whether a match is within the reach of a hedge; of a mere amount, it must be nothing more."""
    inside = [at in reach for at in match.positions]
    amount = any(is_amount(words[at]) for at in reach[1:]) and len(reach) < _LONGEST_AMOUNT
    return all(inside) if amount else any(inside)


def _reaches(sentence: Sentence, own: range) -> Iterator[range]:
    """Go through the stretches of words that are not certain."""
    words = sentence.words
    for at in own:
        word = words[at]
        following = words[at + 1] if at + 1 < own.stop else None
        if word.text in english.UNCERTAIN:
            yield _reach(sentence, at, own)
        elif following is not None and _is_pair(word, following):
            seen = any(each.text in _SEEN for each in words[at + 2 : at + 3])
            if not seen:
                yield own


def _is_pair(word: Word, following: Word) -> bool:
    return (word.stem if word.kind == "not" else word.text, following.text) in english.UNCERTAIN_PAIRS


def _reach(sentence: Sentence, at: int, own: range) -> range:
    words = sentence.words
    for here in range(at + 1, own.stop):
        word = words[here]
        if is_amount(word):
            return range(at, here + 2)
        if word.text in english.HEDGES_WHAT_FOLLOWS:
            return range(at, own.stop)
        if word.kind not in ("stop", "light"):
            break
    return own


def is_amount(word: Word) -> bool:
    """Tell whether a word is a number."""
    return word.text[0].isdigit() or word.text in english.NUMBERS
