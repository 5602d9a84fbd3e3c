"""Two readings side by side, mostly without a unit (``meter shows 40 but tank test gives 50``).

Which of them is wrong, and by how many m3/h, nobody can know from that; but whether they agree, and which is the
larger, needs no unit.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence

from diagnose.language.assertion import why_not_factual
from diagnose.language.bare_numbers import named_number
from diagnose.language.lexicon import Lexicon
from diagnose.language.phrases import Match
from diagnose.language.prose_pairs import ProsePairs, one_pair
from diagnose.language.results import Mention, Statement
from diagnose.language.sentences import Sentence

_AGREES_WITHIN = 0.02
"""What two readings may differ by that were not taken at the same moment (share of the larger; estimate)."""

_BOTH = 2
"""Readings of a pair."""

_SAID_IN_FIGURES = (9, 0)
"""Specificity: figures say more than the words around them."""

_NOT_A_NAME = 10
"""A smaller number without a verb may be part of a name (``tank 4``)."""


def pairs(
    text: str, sentence: Sentence, said: Sequence[Mention], lexicon: Lexicon, told: ProsePairs | None = None
) -> Iterator[Mention]:
    """Yield whether readings of a sentence agree, and which are the larger; ``said`` is what was understood of it.

    ``told`` are pairs of readings that go through several sentences, of which this may be one.
    """
    if told and told.start < sentence.end and sentence.start < told.end:
        yield from _of_several(text, sentence, lexicon, told)
        return
    found = _with_unit(said)
    if len(found) < _BOTH:
        found = _without_unit(text, sentence, lexicon)
    if len(found) < _BOTH:
        found = _held_against(text, sentence, lexicon)
    for name, (at, number) in found.items():
        for other in lexicon.quantities[name].disagreement:
            if other in found:
                tokens = (at, found[other][0])
                apart = [(number, found[other][1])]
                yield from _mentions(text, sentence, lexicon, (name, other), apart, tokens)


def _of_several(text: str, sentence: Sentence, lexicon: Lexicon, told: ProsePairs) -> Iterator[Mention]:
    """Yield what pairs of readings say that stand in this sentence, and perhaps in others."""
    inside = [at for at, each in enumerate(sentence.tokens) if told.start <= each.start < told.end]
    for name, other, turned in ((told.first, told.second, False), (told.second, told.first, True)):
        if inside and other in lexicon.quantities[name].disagreement:
            both = [pair[::-1] if turned else pair for pair in told.pairs]
            yield from _mentions(text, sentence, lexicon, (name, other), both, (inside[0], inside[-1]))


def _mentions(
    text: str,
    sentence: Sentence,
    lexicon: Lexicon,
    names: tuple[str, str],
    both: Sequence[tuple[float, float]],
    tokens: tuple[int, int],
) -> Iterator[Mention]:
    """Yield the findings that pairs of two quantities are apart, or are not, and in which direction."""
    quantity, other = lexicon.quantities[names[0]], names[1]
    apart = [pair for pair in both if _are_apart(*pair)]
    said = {quantity.disagreement[other]: bool(apart)}
    for finding, fits in ((quantity.larger.get(other), _is_larger), (quantity.smaller.get(other), _is_smaller)):
        if finding and apart and all(fits(*pair) for pair in apart):
            said[finding] = True
    quote = " ".join(text[sentence.tokens[0].start : sentence.tokens[-1].end].split())
    for finding, present in said.items():
        if why_not_factual(sentence, Match(finding, tuple(sorted(tokens)), 0), is_symptom=True):
            continue
        statement = Statement(quote=quote, finding=finding, present=present)
        yield Mention(0, len(sentence.tokens) - 1, statement, specificity=_SAID_IN_FIGURES)


def _is_larger(one: float, other: float) -> bool:
    return one > other >= 0


def _is_smaller(one: float, other: float) -> bool:
    return other > one >= 0


def _with_unit(said: Sequence[Mention]) -> dict[str, tuple[int, float]]:
    values = ((each.first, each.statement) for each in said if each.statement)
    return {item.quantity: (at, item.value) for at, item in values if isinstance(item.value, float)}


def _without_unit(text: str, sentence: Sentence, lexicon: Lexicon) -> dict[str, tuple[int, float]]:
    """Return the numbers by the quantities named before them; none where one has two."""
    found: dict[str, tuple[int, float]] = {}
    for at in range(len(sentence.tokens)):
        named = named_number(text, sentence, at, lexicon)
        if named is None or (not named.has_verb and named.number < _NOT_A_NAME):
            continue
        if named.quantity.id in found:
            return {}
        found[named.quantity.id] = (at, named.number)
    return found


def _held_against(text: str, sentence: Sentence, lexicon: Lexicon) -> dict[str, tuple[int, float]]:
    """Return two readings that a word holds beside each other (`display 10 versus 10.4 at the tank`)."""
    pair = one_pair(text[sentence.start : sentence.end], lexicon)
    starts = [token.start for token in sentence.tokens]
    return {each.quantity: (max(0, bisect_right(starts, sentence.start + each.start) - 1), each.value) for each in pair}


def _are_apart(one: float, other: float) -> bool:
    return abs(one - other) > _AGREES_WITHIN * max(abs(one), abs(other))
