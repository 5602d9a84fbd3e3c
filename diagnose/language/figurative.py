"""Figures of speech: dangers that are said of what has no body (``the total exploded``, ``a burst of pulses``).

A reading neither burns nor bursts; what it is said of decides, not the word. Only what stands right before its verb, or
right behind *of*, is taken for what the words are about: excited people leave out commas (``wrong reading smoke from
the head``).
"""

from __future__ import annotations

from typing import Any

from diagnose.language.english import figures_of_speech, grammar
from diagnose.language.lexicon import Lexicon
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence

_BETWEEN = grammar.COPULA | figures_of_speech.BEFORE_VERBS


def is_figure_of_speech(sentence: Sentence, match: Match[Any], lexicon: Lexicon) -> bool:
    """Check whether the words of a danger are said of something that has no body."""
    named = {at for each in lexicon.without_bodies.matches(sentence.tokens) for at in each.positions}
    return bool(named) and (_is_said_of(sentence, match, named) or _is_made_of(sentence, match, named))


def _is_said_of(sentence: Sentence, match: Match[Any], named: set[int]) -> bool:
    """Check whether such a thing is the subject of the first word, which is a verb or stands behind one."""
    tokens = sentence.tokens
    at = match.first - 1
    while at >= 0 and tokens[at].text in _BETWEEN:
        at -= 1
    first = tokens[match.first].text
    helping = grammar.COPULA | figures_of_speech.HELPING
    helped = any(token.text in helping for token in tokens[max(at, 0) + 1 : match.first])
    verb = helped or first.endswith("ed") or first in figures_of_speech.VERBS
    behind = tokens[match.last + 1].text if match.last + 1 < len(tokens) else ""
    return at in named and verb and behind not in figures_of_speech.FROM_SOMETHING


def _is_made_of(sentence: Sentence, match: Match[Any], named: set[int]) -> bool:
    """Check whether such a thing is what there is so much of (``an explosion of alarms``)."""
    tokens = sentence.tokens
    behind = match.last + 1
    if behind >= len(tokens) or tokens[behind].text != "of":
        return False
    at = behind + 1
    while at < len(tokens) and tokens[at].text in grammar.DETERMINERS:
        at += 1
    while at in named and at + 1 in named:
        at += 1
    # What belongs to a thing is that thing's (`burning smell of the signal cable`).
    return at in named and (at + 1 >= len(tokens) or tokens[at + 1].kind != "word")
