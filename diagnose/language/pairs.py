"""Two readings side by side, mostly without a unit (``meter shows 40 but tank test gives 50``).

Which of them is wrong, and by how many m3/h, nobody can know from that; but whether they agree needs no unit.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.language.assertion import why_not_factual
from diagnose.language.bare_numbers import named_number
from diagnose.language.lexicon import Lexicon
from diagnose.language.phrases import Match
from diagnose.language.results import Mention, Statement
from diagnose.language.sentences import Sentence

_AGREES_WITHIN = 0.02
"""What two readings may differ by that were not taken at the same moment (share of the larger; estimate)."""

_SAID_IN_FIGURES = (9, 0)
"""Specificity: figures say more than the words around them."""

_NOT_A_NAME = 10
"""A smaller number without a verb may be part of a name (``tank 4``)."""


def pairs(text: str, sentence: Sentence, said: Sequence[Mention], lexicon: Lexicon) -> Iterator[Mention]:
    """Yield whether two readings of a sentence agree; ``said`` is what was understood of it."""
    found = _with_unit(said) or _without_unit(text, sentence, lexicon)
    for name, (at, number) in found.items():
        for other, finding in lexicon.quantities[name].disagreement.items():
            if other not in found:
                continue
            apart = _are_apart(number, found[other][1])
            match = Match(finding, tuple(sorted((at, found[other][0]))), 0)
            if why_not_factual(sentence, match, is_symptom=True):
                continue
            quote = " ".join(text[sentence.tokens[0].start : sentence.tokens[-1].end].split())
            statement = Statement(quote=quote, finding=finding, present=apart)
            yield Mention(0, len(sentence.tokens) - 1, statement, specificity=_SAID_IN_FIGURES)


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


def _are_apart(one: float, other: float) -> bool:
    return abs(one - other) > _AGREES_WITHIN * max(abs(one), abs(other))
