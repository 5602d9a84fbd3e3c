"""Readings without a unit that need none: ``loop current 3.6``, ``coil resistance 4k7``, ``electrode resistance 20M``.

An instrument shows volts and milliamperes as bare numbers, and people write them so; a resistance needs its multiplier
at least, for nobody knows otherwise what 20 are.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from diagnose.errors import UnitError
from diagnose.language.bare_numbers import may_be_part_of_name, quantity_before
from diagnose.language.figures import FigureInText
from diagnose.language.lexicon import Lexicon
from diagnose.language.sentences import Sentence
from diagnose.rule_book.quantities import Quantity
from diagnose.rule_book.readings import read_reading
from diagnose.units import unit_info

_WRITTEN = re.compile(
    r"(?P<number>\d{1,6}+(?:[.,]\d{1,4}+)?+)(?P<multiplied> ?[kM](?:\d{1,2})?+)?+"
    r"(?=\s*(?:[;!?)\n]|,(?!\d)|\.?\s*$|\.\s|and\b))"
)
_BARE_IN = ("V", "A")
_MULTIPLIED_IN = "ohm"


def in_plain_units(text: str, sentence: Sentence, own: Sequence[FigureInText], lexicon: Lexicon) -> list[FigureInText]:
    """Return the figures of a sentence with those added, or put in place of others, whose unit is plain."""
    plain = list(_plain(text, sentence, lexicon))
    others = [each for each in own if all(each.end <= new.start or new.end <= each.start for new in plain)]
    return sorted((*others, *plain), key=lambda each: each.start)


def _plain(text: str, sentence: Sentence, lexicon: Lexicon) -> Iterator[FigureInText]:
    ends = lexicon.quantity_ends(sentence.tokens)
    for at, token in enumerate(sentence.tokens):
        written = _WRITTEN.match(text, token.start, sentence.end) if ends and token.text[0].isdigit() else None
        if written is None:
            continue
        quantity, has_verb = quantity_before(sentence.tokens, at, ends, lexicon)
        if quantity is None or not _needs_no_unit(quantity, bool(written["multiplied"])):
            continue
        if not written["multiplied"] and may_be_part_of_name(token.text, has_verb):
            continue
        try:
            value = read_reading(written[0], quantity)
        except UnitError:
            continue
        if isinstance(value, float):
            unit = unit_info(quantity.unit)
            number = (value - unit.offset) / unit.factor
            yield FigureInText("exact", token.start, written.end(), written[0], number, quantity.unit, lead=token.start)


def _needs_no_unit(quantity: Quantity, multiplied: bool) -> bool:
    dimension = unit_info(quantity.unit).dimension
    if multiplied:
        return dimension == unit_info(_MULTIPLIED_IN).dimension
    return dimension in {unit_info(unit).dimension for unit in _BARE_IN}
