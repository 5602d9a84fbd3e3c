"""The scope of hedges such as ``maybe``.

A hedge before a number covers only the number (``drops out maybe ten times a day``; not so *whether*), one before a
circumstance covers what follows (``dark since Monday, perhaps with the storm``). Any other covers its clause;
``probably because`` also covers the next one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from diagnose.language.english import grammar, speculation
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import Token

_LONGEST_AMOUNT = 6
_OBSERVATION_VERBS = frozenset({"seen", "read", "heard", "felt", "found"})


def is_hedged(sentence: Sentence, match: Match[Any]) -> bool:
    """Check whether a match is within the scope of a hedge."""
    tokens = sentence.tokens
    clause = sentence.clause(match.first)
    own = range(clause.start, max(clause.stop, match.last + 1))
    if clause.start >= 2 and tokens[clause.start - 1].text in speculation.CAUSAL_CONJUNCTIONS:
        own = range(clause.start - 2, own.stop)
    return any(_is_in_scope(match, scope, tokens) for scope in _scopes(sentence, own))


def _is_in_scope(match: Match[Any], scope: range, tokens: Sequence[Token]) -> bool:
    """Check whether a match falls within a scope; a scope that is only a number must contain all of it."""
    inside = [at in scope for at in match.positions]
    amount = any(is_number_word(tokens[at]) for at in scope[1:]) and len(scope) < _LONGEST_AMOUNT
    return all(inside) if amount else any(inside)


def _scopes(sentence: Sentence, own: range) -> Iterator[range]:
    """Yield the scopes of the hedges in a stretch of tokens."""
    tokens = sentence.tokens
    for at in own:
        token = tokens[at]
        following = tokens[at + 1] if at + 1 < own.stop else None
        if token.text in speculation.HEDGES:
            yield _scope_of(sentence, at, own)
        elif following is not None and _is_hedge_pair(token, following):
            seen = any(each.text in _OBSERVATION_VERBS for each in tokens[at + 2 : at + 3])
            if not seen:
                yield own


def _is_hedge_pair(token: Token, following: Token) -> bool:
    return (token.stem if token.kind == "not" else token.text, following.text) in speculation.HEDGE_PAIRS


def _scope_of(sentence: Sentence, at: int, own: range) -> range:
    tokens = sentence.tokens
    if tokens[at].text in speculation.ASKING:
        return own
    for here in range(at + 1, own.stop):
        token = tokens[here]
        if is_number_word(token):
            return range(at, here + 2)
        if token.text in speculation.HEDGE_SCOPE_STARTERS:
            return range(at, own.stop)
        if token.kind not in ("stop", "light"):
            break
    return own


def is_number_word(token: Token) -> bool:
    """Check whether a token is a number, in digits or words."""
    return token.text[0].isdigit() or token.text in grammar.NUMBER_WORDS
