"""Finds phrases of the rule book in a sentence.

A phrase is matched by its content stems. Gaps of a word or two are allowed; phrases of two or three stems may match in
any order, with smaller gaps. ``not`` stays before the word that it negates.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations
from typing import Any, Generic, TypeVar

import msgspec

from diagnose.language.english import around_figures, grammar, negation
from diagnose.language.tokens import NOT, THAN, ZERO, Token, Vocabulary, tokenize

_MAX_FREE_ORDER = 3
_TWO_WORDS = 2
_LONGEST_UNIT_SIGN = 2
_MAX_GAP = 2
_MAX_GAP_REORDERED = 1
_MAX_DISTANCE = 14
_NOTHING_BETWEEN = -1
_SMALL_WORDS = grammar.STOP_WORDS - grammar.PREPOSITIONS
"""A phrase of one other word keeps them, in their order: ``one pulse`` is not any ``pulse``."""

Tag = TypeVar("Tag")


@dataclass(frozen=True)
class Match(Generic[Tag]):
    """A phrase found in a sentence: its tag, the positions of its tokens, and the count of other words between."""

    tag: Tag
    positions: tuple[int, ...]
    gap: int

    @property
    def first(self) -> int:
        """Position of the first word."""
        return self.positions[0]

    @property
    def last(self) -> int:
        """Position of the last word."""
        return self.positions[-1]

    def specificity(self) -> tuple[int, int]:
        """Return a sort key: longer matches with smaller gaps are more specific."""
        return (len(self.positions), -self.gap)


class Variant(msgspec.Struct, Generic[Tag], frozen=True, array_like=True):
    """One word order of a phrase; ``anchor`` is the position of its rarest stem.

    One word of ``negation_context`` must be next to the negation: *nobody changed it* is not *it cannot be changed*.
    None of those ``barred`` may stand between its words: *water in the line* is no *water line*.
    """

    tag: Tag
    stems: tuple[str, ...]
    anchor: int
    max_gap: int
    joins_clauses: bool
    is_reordered: bool
    antonyms: frozenset[str]
    negation_context: frozenset[str]
    barred: frozenset[str] = frozenset()


Packed = dict[str, msgspec.Raw]
"""Variants of phrases by their rarest stem, as msgpack: only those of stems that occur are ever unpacked."""


class PhraseIndex(Generic[Tag]):
    """Phrases indexed by their rarest stem, so that only those that may occur in a sentence are tried."""

    def __init__(self, packed: Packed, tag: Any) -> None:
        """Take what :func:`packed` made of phrases with tags of the type ``tag``."""
        self._packed = packed
        self._unpacked: dict[str, list[Variant[Tag]]] = {}
        self._decoder = msgspec.msgpack.Decoder(list[Variant[tag]])

    def _of(self, stem: str) -> Sequence[Variant[Tag]]:
        if stem not in self._packed:
            return ()
        if stem not in self._unpacked:
            self._unpacked[stem] = self._decoder.decode(self._packed[stem])
        return self._unpacked[stem]

    def matches(self, tokens: Sequence[Token]) -> list[Match[Tag]]:
        """Return every match in a sentence, in order."""
        found = []
        there = {token.stem for token in tokens}
        for at, token in enumerate(tokens):
            for variant in self._of(token.stem):
                if not there.issuperset(variant.stems):
                    continue
                match = _match(variant, tokens, at)
                if match is not None:
                    found.append(match)
        return found


def packed(variants: Mapping[str, Sequence[Variant[Tag]]]) -> Packed:
    """Return variants by their stems as the cache keeps them."""
    return {stem: msgspec.Raw(msgspec.msgpack.encode(each)) for stem, each in variants.items()}


def variants_of(
    phrases: Iterable[tuple[str, Tag]],
    vocabulary: Vocabulary,
    contiguous: Callable[[Tag], bool] = lambda _: False,
    as_written: bool = False,
    word_for_word: bool = False,
    bars_prepositions: bool = False,
) -> dict[str, list[Variant[Tag]]]:
    """Return what phrases, each with the tag that it stands for, are looked up by: their variants by the rarest stem.

    The words of a ``contiguous`` phrase must be adjacent (in a long one, with one word between): *shows negative
    flow* is not *shows flow*. Those that match only ``as_written`` keep their order: *the pump trips* is not *trips
    the pump*. Those that match ``word_for_word`` keep their small words too, and nothing may stand between: *he
    passed out* is not *passed out the drawings*. One that ``bars_prepositions`` has none but its own in between:
    *water in the line* is no *water line*.
    """
    stems_of = _every_stem if word_for_word else content_stems
    read = [(stems_of(phrase, vocabulary), phrase, tag) for phrase, tag in phrases]
    frequency = Counter(stem for (stems, _), _, _ in read for stem in set(stems))
    # Phrases that differ only in synonyms make one variant.
    variants: dict[str, dict[tuple[Any, ...], Variant[Tag]]] = defaultdict(dict)
    for (stems, joins_clauses), phrase, tag in read:
        if not stems or set(stems) == {NOT}:
            continue
        rarest = min(stems, key=lambda stem: (stem == NOT, frequency[stem], stem))
        antonyms = frozenset(negation.ANTONYMS[stem] for stem in stems if stem in negation.ANTONYMS)
        fixed_order = as_written or word_for_word or _has_fixed_order(phrase, stems, contiguous(tag))
        negation_context = _negation_context(phrase.lower())
        barred = grammar.RELATIONS.difference(phrase.lower().split()) if bars_prepositions else frozenset[str]()
        halves = _clauses(phrase, stems, vocabulary) if joins_clauses else ()
        for order in [stems] if fixed_order else _word_orders(stems):
            if not all(_stays_together(order, half) for half in halves):
                continue
            max_gap = _NOTHING_BETWEEN if word_for_word else _max_gap(stems, order, contiguous(tag))
            key = (tag, order, max_gap, joins_clauses, order != stems, negation_context, barred)
            if key not in variants[rarest]:
                rest = (joins_clauses, order != stems, antonyms - set(stems), negation_context, barred)
                variants[rarest][key] = Variant(tag, order, order.index(rarest), max_gap, *rest)
    return {stem: list(each.values()) for stem, each in variants.items()}


def _has_fixed_order(phrase: str, stems: tuple[str, ...], contiguous: bool) -> bool:
    """Check whether a phrase means something else in another order.

    `Top to bottom` is not `bottom to top`, nor `the valve is open` `open the valve`, nor `the tank shows less`
    `shows less than the tank`.
    """
    words = phrase.split()
    says = len(stems) == _TWO_WORDS and not grammar.COPULA.isdisjoint(words)
    compares = THAN in words or (len(stems) > _TWO_WORDS and not grammar.COMPARATIVES.isdisjoint(words))
    whole = len(stems) == len(words) and any(word in _SMALL_WORDS for word in words)
    return says or whole or "to" in words or compares or (contiguous and stems[0] in around_figures.READING_STEMS)


def content_stems(phrase: str, vocabulary: Vocabulary) -> tuple[tuple[str, ...], bool]:
    """Return the content stems of a phrase, and whether it joins two clauses.

    >>> content_stems("the display is not working", Vocabulary([]))
    (('display', 'not', 'work'), False)
    >>> content_stems("shows zero while flowing", Vocabulary([])), content_stems("at zero", Vocabulary([]))
    ((('show', 'zero', 'flow'), True), (('at', 'zero'), False))
    >>> content_stems("at night flow", Vocabulary([]))
    (('at', 'night', 'flow'), False)
    """
    tokens = [token for token in tokenize(phrase.lower(), vocabulary) if token.kind != "comma"]
    if not tokens:
        return (), False
    joining = [token for token in tokens[1:-1] if token.text in grammar.TIME_LINKS]
    kept = [token for token in tokens if token.kind not in ("stop", "link", "break") or token.stem == THAN]
    strong = [token for token in kept if token not in joining]
    if len(strong) >= 2:
        kept = strong
    if tokens[0].kind == "break":
        # `Although the pump is off` is more than any pump that is off.
        kept = [tokens[0], *kept]
    if len(kept) == 1 and kept[0].kind != "light":
        kept = [token for token in tokens if token in kept or token.text in grammar.PREPOSITIONS]
    elif len(kept) > 1 and kept[0] is not tokens[0] and _begins_with_place(tokens, kept):
        kept = [tokens[0], *kept]
    if len(kept) < _TWO_WORDS and len(kept) < len(tokens):
        # `Who is right` is more than any `right`, and `one pulse` more than a `pulse`.
        kept = tokens
    return tuple(token.stem for token in kept), bool(joining)


def _every_stem(phrase: str, vocabulary: Vocabulary) -> tuple[tuple[str, ...], bool]:
    tokens = tokenize(phrase.lower(), vocabulary)
    return tuple(token.stem for token in tokens), False


def _begins_with_place(tokens: Sequence[Token], kept: Sequence[Token]) -> bool:
    """Check whether the preposition at the start of a phrase belongs to its meaning (``at night flow``)."""
    one_word = sum(token.kind == "word" for token in kept) == 1
    return tokens[0].text == "at" or (tokens[0].text in grammar.PREPOSITIONS and one_word)


def _clauses(phrase: str, stems: tuple[str, ...], vocabulary: Vocabulary) -> tuple[tuple[str, ...], ...]:
    """Return the stems before and after the word that joins the two clauses of a phrase."""
    tokens = tokenize(phrase.lower(), vocabulary)
    joint = next(at for at, token in enumerate(tokens[1:-1], start=1) if token.text in grammar.TIME_LINKS)
    parts = ([token.stem for token in part] for part in (tokens[:joint], tokens[joint + 1 :]))
    return tuple(tuple(each for each in stems if each in part) for part in parts)


def _stays_together(order: tuple[str, ...], clause: tuple[str, ...]) -> bool:
    """Check whether nothing of another clause comes between (``valve says closed`` is not ``says, valve closed``)."""
    places = sorted(order.index(stem) for stem in clause)
    return not places or places[-1] - places[0] < len(places)


def _is_quantity(stems: tuple[str, ...]) -> bool:
    """Check whether a phrase is a number with its unit (``0 mA``)."""
    return (stems[0] == ZERO or stems[0][0].isdigit()) and len(stems[1]) <= _LONGEST_UNIT_SIGN


def _max_gap(stems: tuple[str, ...], order: tuple[str, ...], contiguous: bool) -> int:
    """Return how many other words are allowed inside a phrase; negative: not even stop words."""
    if len(stems) == _TWO_WORDS and _is_quantity(stems):
        return _NOTHING_BETWEEN
    if contiguous:
        return int(len(stems) >= _MAX_FREE_ORDER)
    if stems[0] == NOT and len(stems) == _TWO_WORDS and order == stems:
        return 0
    if grammar.PARTICLES.issuperset(stems):
        return 1
    if order == stems:
        circumstance = len(stems) == _TWO_WORDS and stems[0] in grammar.PREPOSITIONS
        return _MAX_GAP - circumstance
    # `A reading of 5 is wrong` is a wrong reading, `it shows the time wrong` is none.
    return 0 if len(stems) == _TWO_WORDS and order[0] in around_figures.READING_STEMS else _MAX_GAP_REORDERED


def _word_orders(stems: tuple[str, ...]) -> list[tuple[str, ...]]:
    if len(stems) > _MAX_FREE_ORDER or len(stems) < 2 or stems[0] in grammar.LEADING_WORDS or _is_quantity(stems):
        return [stems]
    if len(stems) == _TWO_WORDS and (stems[1] in grammar.PARTICLES - {"on", "off"} or stems[1] == NOT):
        # `Times out` is not `out last time`.
        return [stems]
    if grammar.PARTICLES.issuperset(stems):
        return [stems]
    # `No pulses at flow` is not `at no flow pulses`, nor `below zero` `zero below 2`.
    fixed_pairs = [pair for pair in pairwise(stems) if pair[0] == NOT or pair[0] in grammar.BEFORE_NOUNS]
    orders = dict.fromkeys([stems, *permutations(stems)])
    return [order for order in orders if all(order.index(a) + 1 == order.index(b) for a, b in fixed_pairs)]


def _match(variant: Variant[Tag], tokens: Sequence[Token], at: int) -> Match[Tag] | None:
    positions = [at]
    gap = 0
    for stems, step in ((variant.stems[variant.anchor + 1 :], 1), (variant.stems[: variant.anchor][::-1], -1)):
        here = at
        for wanted in stems:
            found = _next_stem(variant, tokens, here, step, wanted)
            if found is None:
                return None
            here, passed = found
            positions.append(here)
            gap += passed
    if variant.negation_context and not any(
        _is_negated_as_required(tokens, place, variant.negation_context) for place in positions
    ):
        return None
    if variant.is_reordered and any(_denies_another_word(tokens, at, positions) for at in positions):
        return None
    return Match(variant.tag, tuple(sorted(positions)), gap)


def _denies_another_word(tokens: Sequence[Token], at: int, positions: Collection[int]) -> bool:
    """Check whether a negation stands before a word that is not of the phrase (``current never moves in the loop``)."""
    if tokens[at].stem != NOT:
        return False
    behind = next((place for place in range(at + 1, len(tokens)) if tokens[place].kind not in ("stop", "light")), at)
    return tokens[behind].kind == "word" and behind not in positions


def _negation_context(phrase: str) -> frozenset[str]:
    """Return the words one of which must be next to the negation in the text; empty if any negation will do."""
    if negation.INABILITY.search(phrase):
        return negation.ABILITY_WORDS
    words = phrase.split()
    return negation.NEVER_WORDS if "never" in words else negation.NOTHING_WORDS if "nothing" in words else frozenset()


def _is_negated_as_required(tokens: Sequence[Token], at: int, beside: frozenset[str]) -> bool:
    return tokens[at].stem == NOT and any(token.text in beside for token in tokens[max(0, at - 1) : at + 2])


def _next_stem(
    variant: Variant[Tag], tokens: Sequence[Token], here: int, step: int, wanted: str
) -> tuple[int, int] | None:
    """Return the position of the next stem of a phrase and the gap before it."""
    passed = 0
    for at in range(here + step, here + step * _MAX_DISTANCE, step):
        if not 0 <= at < len(tokens):
            return None
        token = tokens[at]
        if token.stem == wanted:
            return at, passed
        if token.stem in variant.antonyms or (variant.is_reordered and _begins_clause(tokens, at)):
            return None
        passed += _gap_cost(token, variant)
        if passed > variant.max_gap:
            return None
    return None


def _begins_clause(tokens: Sequence[Token], at: int) -> bool:
    """Check whether something else is spoken of from here on (``the output is stuck and the display moves``)."""
    behind = tokens[at + 1].text if at + 1 < len(tokens) else ""
    return tokens[at].text in grammar.JOINING and behind in grammar.DETERMINERS


def _gap_cost(token: Token, variant: Variant[Tag]) -> int:
    if token.text in variant.barred:
        return _MAX_DISTANCE
    if token.stem in around_figures.MESSAGE_STEMS and len(variant.stems) == _TWO_WORDS:
        # `The line says empty` is not `the line is empty`.
        return _MAX_DISTANCE
    if token.kind in ("word", "link"):
        return int(not token.text[0].isdigit())
    if THAN in variant.stems and (token.kind == "comma" or token.text in grammar.WHEN_LINKS):
        # `More than when it stood` does not compare with anything that comes later.
        return _MAX_DISTANCE
    if token.kind == "comma":
        # A comma separates two short clauses, but may occur inside a long phrase.
        if variant.joins_clauses or (len(variant.stems) > _MAX_FREE_ORDER and not variant.is_reordered):
            return _MAX_DISTANCE if len(variant.stems) == _TWO_WORDS else 1
        return _MAX_DISTANCE
    if token.kind == "break":
        return 0 if variant.joins_clauses else _MAX_DISTANCE
    if not variant.joins_clauses and _separates(token, variant):
        return _MAX_DISTANCE
    if token.kind == "not" and NOT in variant.stems:
        return 1
    return 0


def _separates(token: Token, variant: Variant[Tag]) -> bool:
    """Check whether a word like *when* splits the phrase (``display shows 5 with the pump off``)."""
    # A negation after such a word does not apply to what is before it (``shows flow with no flow in the pipe``).
    near = len(variant.stems) == _TWO_WORDS or NOT in variant.stems
    links = grammar.TIME_LINKS if near else grammar.WHEN_LINKS
    return token.text in links and (variant.is_reordered or near)


def most_specific(matches: Sequence[Match[Tag]]) -> list[Match[Tag]]:
    """Return the matches that are not contained in a longer match."""
    kept: list[Match[Tag]] = []
    taken: dict[int, list[frozenset[int]]] = defaultdict(list)
    for match in sorted(matches, key=lambda match: (-len(match.positions), match.gap, match.first)):
        own = frozenset(match.positions)
        if any(own < longer for longer in taken[match.first]):
            continue
        kept.append(match)
        for position in own:
            taken[position].append(own)
    return sorted(kept, key=lambda match: (match.first, match.last))
