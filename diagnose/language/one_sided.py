"""Limits in a report: readings (``coil to earth > 20 Mohm``) or requirements (``must be > 20 Mohm``).

A limit counts as a reading only if it is plain: after the name of the quantity, with a reading verb or a sign, in a
clause without a requirement, a negation or a circumstance (``at flow > 50 m3/h``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from diagnose.language.english import around_figures, grammar
from diagnose.language.figures import FigureInText
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import Token

Meaning = Literal["read", "asked for", "unclear"]

_MOST_BETWEEN = 4


def as_read(
    sentence: Sentence, figure: FigureInText, position: Match[str], named: Match[str] | None
) -> FigureInText | None:
    """Classify a limit: ``exact`` if it is a reading, without direction if unclear, None if it is a requirement.

    ``named`` is the name of its quantity. Over range without a name is None: the letters may mean anything.
    """
    meaning = _meaning(sentence, figure, position, named)
    if meaning == "asked for" or (figure.over_range and (meaning == "unclear" or named is None)):
        return None
    read = meaning == "read" and bool(figure.direction)
    return replace(figure, kind="exact") if read else replace(figure, direction="")


def _meaning(sentence: Sentence, figure: FigureInText, position: Match[str], named: Match[str] | None) -> Meaning:
    tokens = sentence.tokens
    lead = next((at for at, token in enumerate(tokens) if token.start >= figure.lead), position.first)
    first = min(lead, named.first) if named else lead
    before, after = range(_clause_start(tokens, first), lead), _rest_of_clause(tokens, position.last)
    beside = [tokens[at] for at in (*before, *after)]
    if any(not around_figures.REQUIRED.isdisjoint((token.text, token.stem)) for token in beside):
        return "asked for"
    if any(tokens[at].kind == "not" or tokens[at].text in around_figures.CIRCUMSTANCE for at in before):
        return "unclear"
    return "read" if _is_plain_reading(tokens, figure, lead, after, named) else "unclear"


def _clause_start(tokens: Sequence[Token], first: int) -> int:
    """Return the start of the clause that ends with a limit or with the name before it."""
    return next((at + 1 for at in range(first - 1, -1, -1) if tokens[at].kind in ("comma", "break")), 0)


def _rest_of_clause(tokens: Sequence[Token], last: int) -> range:
    end = next(
        (at for at in range(last + 1, len(tokens)) if tokens[at].kind in ("comma", "break", "link")), len(tokens)
    )
    return range(last + 1, end)


def _is_plain_reading(
    tokens: Sequence[Token], figure: FigureInText, lead: int, after: range, named: Match[str] | None
) -> bool:
    announced = bool(lead) and _announces_reading(tokens, lead - 1)
    if named is None or named.first > lead:
        return announced or (
            figure.signed and bool(lead) and tokens[lead - 1].kind == "word" and not _continues(tokens, after)
        )
    between = range(named.last + 1, lead)
    if len(between) > _MOST_BETWEEN or any(tokens[at].stem in around_figures.MOVING for at in between):
        return False
    if not figure.signed:
        return announced or (tokens[lead - 1].kind == "light" and any(_announces_reading(tokens, at) for at in between))
    if any(_announces_reading(tokens, at) for at in between):
        return True
    at_position = named.first and tokens[named.first - 1].text in grammar.LEADING_WORDS
    return not at_position and not _continues(tokens, after)


def _continues(tokens: Sequence[Token], after: range) -> bool:
    """Check whether a statement follows in which the limit is only a circumstance (``> 5 m3/h reads low``)."""
    following = tokens[after.start] if after else None
    if following is None or following.text in around_figures.ACROSS:
        return False
    return following.kind not in ("stop", "light") or following.text == ":"


def _announces_reading(tokens: Sequence[Token], at: int) -> bool:
    """Check whether a token announces a reading (``is``, ``reads``, ``measured``, a colon)."""
    token = tokens[at]
    verb = token.stem in around_figures.READING_STEMS and token.stem != "get"
    return verb or token.text in grammar.COPULA or token.text == ":"
