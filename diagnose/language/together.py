"""Words that affirm a finding when they stand near each other, in any order: *my hand … prickles* for a shock.

Looser than a phrase, and only as good as its words: meant for dangers, where missing one is worse than asking once too
often. One that is denied says nothing; a denial needs a phrase.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product
from typing import NamedTuple

from diagnose.language.phrases import Match
from diagnose.language.tokens import Token, Vocabulary, tokenize
from diagnose.rule_book.faults import Finding

_FARTHEST = 10
"""At most so many tokens may lie between the first and the last of the words."""

_MOST_PLACES = 12
"""Of one group, in one sentence: whoever repeats a word more often has said it."""


class WordGroups(NamedTuple):
    """Groups of stems, one of each of which affirms a finding."""

    finding: str
    groups: tuple[frozenset[str], ...]


def word_groups(findings: Iterable[Finding], vocabulary: Vocabulary) -> tuple[WordGroups, ...]:
    """Return the groups of all findings, by stems."""
    return tuple(
        WordGroups(item.id, tuple(_stems(words, vocabulary) for words in groups))
        for item in findings
        for groups in item.together
    )


def _stems(words: Iterable[str], vocabulary: Vocabulary) -> frozenset[str]:
    return frozenset(token.stem for word in words for token in tokenize(word.lower(), vocabulary)[:1])


def _places_of(group: frozenset[str], places: Mapping[str, Sequence[int]]) -> list[int]:
    return sorted(at for stem in group & places.keys() for at in places[stem])[:_MOST_PLACES]


def words_together(tokens: Sequence[Token], known: Sequence[WordGroups]) -> Iterator[Match[str]]:
    """Yield the nearest words of every group that all stand near each other, each a match with its finding as tag."""
    places: defaultdict[str, list[int]] = defaultdict(list)
    for at, token in enumerate(tokens):
        places[token.stem].append(at)
    for each in known:
        if any(group.isdisjoint(places) for group in each.groups):
            continue
        found = [_places_of(group, places) for group in each.groups]
        apart = (tuple(sorted(some)) for some in product(*found) if len({*some}) == len(some))  # a word counts once
        nearest = min(apart, key=lambda some: (some[-1] - some[0], some), default=())
        if nearest and nearest[-1] - nearest[0] <= _FARTHEST:
            yield Match(each.finding, nearest, nearest[-1] - nearest[0])
