"""Phrases of the rule book and where a sentence has them.

A phrase is its content words. They may stand apart by a word or two; two or three of them may stand in any order,
though closer together then. ``not`` stays before the word it negates.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise, permutations
from typing import Any, Generic, TypeVar

from diagnose.language import english
from diagnose.language.ordinary import COMMON
from diagnose.language.words import NOT, THAN, ZERO, Vocabulary, Word, tokens

_FREE_ORDER = 3
_SHORTEST = 2
_LONGEST_SIGN = 2
_WORDS_BETWEEN = 2
_WORDS_BETWEEN_REORDERED = 1
_FARTHEST = 14

Tag = TypeVar("Tag")


@dataclass(frozen=True)
class Match(Generic[Tag]):
    """A phrase found in a sentence: what it stands for, positions of its words, and foreign words between them."""

    tag: Tag
    positions: tuple[int, ...]
    foreign: int

    @property
    def first(self) -> int:
        """Position of the first word."""
        return self.positions[0]

    @property
    def last(self) -> int:
        """Position of the last word."""
        return self.positions[-1]

    def rank(self) -> tuple[int, int]:
        """Return how specific the match is; more is better."""
        return (len(self.positions), -self.foreign)


@dataclass(frozen=True)
class _Variant(Generic[Tag]):
    """One order of a phrase's words; ``anchor`` is the position of its rarest.

    A word of ``denial`` must stand with its negation: *nobody changed it* is not *it cannot be changed*.
    """

    tag: Tag
    stems: tuple[str, ...]
    anchor: int
    between: int
    crossing: bool
    reordered: bool
    opposites: frozenset[str]
    denial: frozenset[str]


@dataclass
class PhraseIndex(Generic[Tag]):
    """Phrases by their rarest word, so that a sentence meets only those it may hold."""

    _variants: dict[str, list[_Variant[Tag]]] = field(default_factory=dict)

    @classmethod
    def of(
        cls, phrases: Iterable[tuple[str, Tag]], vocabulary: Vocabulary, tight: Callable[[Tag], bool] = lambda _: False
    ) -> PhraseIndex[Tag]:
        """Return the index of phrases, each with what it stands for.

        Words of a ``tight`` phrase stand side by side (of a long one, with one word between): *shows negative flow*
        is not *shows flow*.
        """
        read = [(content(phrase, vocabulary), phrase, tag) for phrase, tag in phrases]
        often = Counter(word for (stems, _), _, _ in read for word in set(stems))
        # Phrases that differ only in words that mean the same make one variant.
        variants: dict[str, dict[tuple[Any, ...], _Variant[Tag]]] = defaultdict(dict)
        for (stems, crossing), phrase, tag in read:
            if not stems or set(stems) == {NOT}:
                continue
            rarest = min(stems, key=lambda word: (word == NOT, often[word], word))
            opposites = frozenset(english.OPPOSITES[word] for word in stems if word in english.OPPOSITES)
            directed = _is_directed(phrase, stems, tight(tag))
            denial = _kind_of_denial(phrase.lower())
            for order in [stems] if directed else _orders(stems):
                between = _reach(stems, order, tight(tag))
                key = (tag, order, between, crossing, order != stems, denial)
                if key not in variants[rarest]:
                    rest = (crossing, order != stems, opposites - set(stems), denial)
                    variants[rarest][key] = _Variant(tag, order, order.index(rarest), between, *rest)
        return cls({stem: list(each.values()) for stem, each in variants.items()})

    def matches(self, words: Sequence[Word]) -> list[Match[Tag]]:
        """Return every match in a sentence, in the order of the words."""
        found = []
        for at, word in enumerate(words):
            for variant in self._variants.get(word.stem, ()):
                match = _match(variant, words, at)
                if match is not None:
                    found.append(match)
        return found


def _is_directed(phrase: str, stems: tuple[str, ...], tight: bool) -> bool:
    """Tell whether the words of a phrase say something else in another order.

    `Top to bottom` is not `bottom to top`, nor `the valve is open` `open the valve`, nor `the tank shows less`
    `shows less than the tank`.
    """
    words = phrase.split()
    says = len(stems) == _SHORTEST and not english.COPULA.isdisjoint(words)
    compares = THAN in words or (len(stems) > _SHORTEST and not english.COMPARATIVES.isdisjoint(words))
    return says or "to" in words or compares or (tight and stems[0] in english.TELLING)


def content(phrase: str, vocabulary: Vocabulary) -> tuple[tuple[str, ...], bool]:
    """Return the content words (stems) of a phrase, and whether it joins two statements.

    >>> content("the display is not working", Vocabulary([]))
    (('display', 'not', 'work'), False)
    >>> content("shows zero while flowing", Vocabulary([])), content("at zero", Vocabulary([]))
    ((('show', 'zero', 'flow'), True), (('at', 'zero'), False))
    >>> content("at night flow", Vocabulary([]))
    (('at', 'night', 'flow'), False)
    """
    words = [word for word in tokens(phrase.lower(), vocabulary) if word.kind != "comma"]
    joining = [word for word in words[1:-1] if word.text in english.TIME_LINKS]
    kept = [word for word in words if word.kind not in ("stop", "link", "break") or word.stem == THAN]
    strong = [word for word in kept if word not in joining]
    if len(strong) >= 2:
        kept = strong
    if len(kept) == 1 and kept[0].kind == "light":
        kept = words
    elif len(kept) == 1:
        kept = [word for word in words if word in kept or word.text in english.PREPOSITIONS]
    elif words[0].text == "at" or (
        words[0].text in english.PREPOSITIONS and sum(word.kind == "word" for word in kept) == 1
    ):
        kept = [words[0], *kept]
    if not kept or (len(kept) == 1 and len(words) > 1 and kept[0].text in COMMON):
        # `Who is right` is more than any `right`.
        kept = words
    return tuple(word.stem for word in kept), bool(joining)


def _is_amount(stems: tuple[str, ...]) -> bool:
    """Tell whether a number stands before its unit (``0 mA``)."""
    return (stems[0] == ZERO or stems[0][0].isdigit()) and len(stems[1]) <= _LONGEST_SIGN


def _reach(stems: tuple[str, ...], order: tuple[str, ...], tight: bool) -> int:
    """Return how many foreign words may stand between the words of a phrase; below zero, nothing at all may."""
    if len(stems) == _SHORTEST and _is_amount(stems):
        return -1
    if tight:
        return int(len(stems) >= _FREE_ORDER)
    if stems[0] == NOT and len(stems) == _SHORTEST and order == stems:
        return 0
    if english.PARTICLES.issuperset(stems):
        return 1
    if order == stems:
        circumstance = len(stems) == _SHORTEST and stems[0] in english.PREPOSITIONS
        return _WORDS_BETWEEN - circumstance
    # `A reading of 5 is wrong` is a wrong reading, `it shows the time wrong` is none.
    return 0 if len(stems) == _SHORTEST and order[0] in english.TELLING else _WORDS_BETWEEN_REORDERED


def _orders(stems: tuple[str, ...]) -> list[tuple[str, ...]]:
    if len(stems) > _FREE_ORDER or len(stems) < 2 or stems[0] in english.LEADING or _is_amount(stems):
        return [stems]
    if len(stems) == _SHORTEST and (stems[1] in english.PARTICLES - {"on", "off"} or stems[1] == NOT):
        # `Times out` is not `out last time`.
        return [stems]
    if english.PARTICLES.issuperset(stems):
        return [stems]
    # `No pulses at flow` is not `at no flow pulses`, nor `below zero` `zero below 2`.
    bound = [pair for pair in pairwise(stems) if pair[0] == NOT or pair[0] in english.BEFORE_NOUNS]
    orders = dict.fromkeys([stems, *permutations(stems)])
    return [order for order in orders if all(order.index(a) + 1 == order.index(b) for a, b in bound)]


def _match(variant: _Variant[Tag], words: Sequence[Word], at: int) -> Match[Tag] | None:
    positions = [at]
    foreign = 0
    for stems, step in ((variant.stems[variant.anchor + 1 :], 1), (variant.stems[: variant.anchor][::-1], -1)):
        here = at
        for wanted in stems:
            found = _next(variant, words, here, step, wanted)
            if found is None:
                return None
            here, passed = found
            positions.append(here)
            foreign += passed
    if variant.denial and not any(_denies_so(words, place, variant.denial) for place in positions):
        return None
    return Match(variant.tag, tuple(sorted(positions)), foreign)


def _kind_of_denial(phrase: str) -> frozenset[str]:
    """Return the words of which one must stand with a negation in the text; none if any negation will do."""
    if english.ABILITY.search(phrase):
        return english.ABLE
    words = phrase.split()
    return english.EVER if "never" in words else english.NOTHING if "nothing" in words else frozenset()


def _denies_so(words: Sequence[Word], at: int, beside: frozenset[str]) -> bool:
    return words[at].stem == NOT and any(word.text in beside for word in words[max(0, at - 1) : at + 2])


def _next(variant: _Variant[Tag], words: Sequence[Word], here: int, step: int, wanted: str) -> tuple[int, int] | None:
    """Return where the next word of a phrase stands, and how many foreign words lie before it."""
    passed = 0
    for at in range(here + step, here + step * _FARTHEST, step):
        if not 0 <= at < len(words):
            return None
        word = words[at]
        if word.stem == wanted:
            return at, passed
        if word.stem in variant.opposites:
            return None
        passed += _cost(word, variant)
        if passed > variant.between:
            return None
    return None


def _cost(word: Word, variant: _Variant[Tag]) -> int:
    if word.stem in english.SAYING and len(variant.stems) == _SHORTEST:
        # `The line says empty` is not `the line is empty`.
        return _FARTHEST
    if word.kind in ("word", "link"):
        return int(not word.text[0].isdigit())
    if THAN in variant.stems and (word.kind == "comma" or word.text in english.WHEN_LINKS):
        # `More than when it stood` compares with no other thing that comes later.
        return _FARTHEST
    if word.kind == "comma":
        # A comma parts two short statements, but may stand within a long one.
        if variant.crossing or (len(variant.stems) > _FREE_ORDER and not variant.reordered):
            return _FARTHEST if len(variant.stems) == _SHORTEST else 1
        return _FARTHEST
    if word.kind == "break":
        return 0 if variant.crossing else _FARTHEST
    if not variant.crossing and _parts(word, variant):
        return _FARTHEST
    if word.kind == "not" and NOT in variant.stems:
        return 1
    return 0


def _parts(word: Word, variant: _Variant[Tag]) -> bool:
    """Tell whether a word like *when* parts the words of a phrase (``display shows 5 with the pump off``)."""
    # Nor does a negation belong to what stands before such a word (``shows flow with no flow in the pipe``).
    near = len(variant.stems) == _SHORTEST or NOT in variant.stems
    links = english.TIME_LINKS if near else english.WHEN_LINKS
    return word.text in links and (variant.reordered or near)


def most_specific(matches: Sequence[Match[Tag]]) -> list[Match[Tag]]:
    """Return the matches whose words are not all words of a longer match."""
    kept: list[Match[Tag]] = []
    taken: dict[int, list[frozenset[int]]] = defaultdict(list)
    for match in sorted(matches, key=lambda match: (-len(match.positions), match.foreign, match.first)):
        own = frozenset(match.positions)
        if any(own < longer for longer in taken[match.first]):
            continue
        kept.append(match)
        for position in own:
            taken[position].append(own)
    return sorted(kept, key=lambda match: (match.first, match.last))
