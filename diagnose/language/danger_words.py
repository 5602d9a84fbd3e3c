"""Words that may tell of a danger where none was understood: enough to ask back, never to stop work by themselves.

Phrases find the dangers that somebody foresaw in these words. Excited people find others; so single words that may
tell of a danger (``may-tell`` of its finding) are asked about, before anything else.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from diagnose.language.ended import happened_long_ago
from diagnose.language.figurative import is_figure_of_speech
from diagnose.language.phrases import Match
from diagnose.language.results import DangerInDoubt, Mention, shortened
from diagnose.language.sentences import Sentence

if TYPE_CHECKING:
    from diagnose.language.lexicon import Lexicon

_MOST_FINDINGS = 3
"""Dangers that are named as what it could be."""

_DENIED_FROM = 4
"""So many words before it a negation still denies a word."""


def dangers_in_doubt(
    text: str, sentence: Sentence, mentions: Sequence[Mention], lexicon: Lexicon
) -> Iterator[tuple[range, DangerInDoubt]]:
    """Yield each clause, as tokens and in words, that may tell of a danger where nothing was understood of one."""
    findings = lexicon.findings
    told = (
        findings[each.statement.finding]
        for each in mentions
        if each.statement and each.statement.finding and each.statement.present
    )
    found = lexicon.danger_words.matches(sentence.tokens)
    if not found or sentence.boilerplate or any(each.keep_away for each in told):
        return
    settled = _places(each for each in mentions if each.statement and each.statement.finding)
    settled |= {at for each in lexicon.sounds_like.matches(sentence.tokens) for at in each.positions}
    # Which liquid or place it is says nothing of what happens there: `caustic` in `caustic is running down`.
    named = settled | _places(each for each in mentions if each.statement)
    open_still = [
        each
        for each in found
        if settled.isdisjoint(each.positions)
        and not named.issuperset(each.positions)
        and not _is_none_now(sentence, each, lexicon)
    ]
    by_clause: dict[range, list[str]] = {}
    for each in open_still:
        by_clause.setdefault(sentence.clause(each.first, soft=False), []).append(each.tag)
    for clause, names in by_clause.items():
        quote = text[sentence.tokens[clause[0]].start : sentence.tokens[clause[-1]].end]
        yield clause, DangerInDoubt(quote=shortened(quote), findings=_likeliest(names))


def _places(mentions: Iterable[Mention]) -> set[int]:
    return {at for each in mentions for at in range(each.first, each.last + 1)}


def _likeliest(names: Iterable[str]) -> tuple[str, ...]:
    counted = list(names)
    return tuple(sorted(dict.fromkeys(counted), key=lambda name: -counted.count(name))[:_MOST_FINDINGS])


def _is_none_now(sentence: Sentence, match: Match[str], lexicon: Lexicon) -> bool:
    """Check whether a word of danger is denied, of long ago, or only a figure of speech."""
    return (
        _denied(sentence, match) or happened_long_ago(sentence, match) or is_figure_of_speech(sentence, match, lexicon)
    )


def _denied(sentence: Sentence, match: Match[str]) -> bool:
    first = max(sentence.clause(match.first)[0], match.first - _DENIED_FROM)
    return any(token.kind == "not" for token in sentence.tokens[first : match.first])
