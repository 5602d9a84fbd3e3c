"""Whether a figure tells how this meter was found: not of something else, and not brought about for a test.

What is of something else for certain is no reading (``the pump curve says 55 m3/h``); what may be is asked back.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any

from diagnose.language.english import around_figures, experiencer, grammar
from diagnose.language.lexicon import Lexicon
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import Token
from diagnose.rule_book.quantities import Quantity

OF_SOMETHING_ELSE = "may be of something else"
BROUGHT_ABOUT = "may have been brought about in a test"
"""Why a figure is not taken as it stands, in words that follow its quote."""


def why_not_as_found(sentence: Sentence, position: Match[str], quantity: Quantity | None, lexicon: Lexicon) -> str:
    """Return why a figure may not be how the meter was found, in words that follow its quote; empty if it is."""
    if quantity is None:
        return ""
    if speaks_of_something_else(sentence, position, quantity.id, lexicon):
        return OF_SOMETHING_ELSE
    if quantity.of_data_sheet:
        return ""
    if _only_names_it(sentence, position):
        return OF_SOMETHING_ELSE
    return BROUGHT_ABOUT if _was_brought_about(sentence) else ""


def is_only_when(tokens: Sequence[Token], position: Match[str], match: Match[str]) -> bool:
    """Check whether a figure only says when something is told of what is named next (``at 30 m3/h it shows 28``)."""
    if match.first < position.last or not position.first or tokens[position.first - 1].text != "at":
        return False
    return not any(token.text in grammar.PLACE_WORDS for token in tokens[position.last + 1 : match.first])


def speaks_of_something_else(sentence: Sentence, match: Match[Any], quantity: str, lexicon: Lexicon) -> bool:
    """Check whether words stand near by which it is of something else (``# m in one tray``, ``over a beer``)."""
    near = set(_near(sentence, match.first))
    found = (each for each in lexicon.of_something_else.matches(sentence.tokens) if each.tag == quantity)
    return any(near.issuperset(each.positions) for each in found)


def _near(sentence: Sentence, at: int) -> Iterator[int]:
    """Yield the positions of a clause, and of the heading before a colon in which or under which it stands."""
    clause = sentence.clause(at)
    yield from clause
    colons = [place for place in range(clause.stop) if sentence.tokens[place].text == ":"]
    if colons:
        yield from range(colons[-1])


def _only_names_it(sentence: Sentence, position: Match[str]) -> bool:
    """Check whether a figure is a name for its source, of which something is told (``the 24 V goes to terminal 2``)."""
    tokens = sentence.tokens
    if not position.first or tokens[position.first - 1].text != "the" or position.last + 1 >= len(tokens):
        return False
    behind = tokens[position.last + 1]
    moved = behind.kind in ("word", "light") and behind.text not in grammar.PLACE_WORDS
    return moved and behind.stem not in around_figures.READING_STEMS


def _was_brought_about(sentence: Sentence) -> bool:
    """Check whether somebody brought readings about (``injected 12 mA``, ``when I bridge the recorder``)."""
    texts = [token.text for token in sentence.tokens]
    pairs = list(pairwise(texts))
    done = not around_figures.BRINGING_ABOUT.isdisjoint(texts) or any(each in around_figures.TESTS for each in pairs)
    return done or any(
        one in experiencer.PERSONS_SPEAKING and other in around_figures.BRINGING_ABOUT_BY_SOMEBODY
        for one, other in pairs
    )


def is_reported_by_the_meter(sentence: Sentence, match: Match[Any], phrases: Iterable[str]) -> bool:
    """Check whether words are a message of the device, not what somebody found (``error "coil open"``).

    What is itself about messages, as its ``phrases`` show, says what is shown, and that is seen.
    """
    texts = [token.text for token in sentence.tokens]
    before = texts[sentence.clause(match.first).start : match.last + 1]
    said = not experiencer.MESSAGES.isdisjoint(before) or any(
        one in experiencer.SPEAKING_DEVICES and other in experiencer.SPEAKING_VERBS for one, other in pairwise(before)
    )
    return said and all(experiencer.MESSAGES.isdisjoint(phrase.split()) for phrase in phrases)
