"""Readings written without a unit that take it from another figure (``display 50, recorder 62 m3/h``).

The unit comes from the same sentence, or from the whole report if it uses only one unit for such readings. A number
that may be part of a name (``tank 4``) counts only after a verb (``the tank says 4``).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from diagnose.language.english import around_figures
from diagnose.language.figures import FigureInText
from diagnose.language.lexicon import Lexicon
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import Token
from diagnose.rule_book.quantities import Quantity
from diagnose.units import read_number, spelling

_SMALLEST_VALUE = 20
_JOINING_MARKS = frozenset("-/#_+°%.,^*")
_MAX_DISTANCE = 3


def bare_numbers(
    text: str, sentence: Sentence, own: Sequence[FigureInText], everywhere: Sequence[FigureInText], lexicon: Lexicon
) -> Iterator[FigureInText]:
    """Yield figures for the numbers without a unit in a sentence.

    ``own`` are the figures with a unit in this sentence, ``everywhere`` one exact figure for each unit in the text.
    """
    if not everywhere:
        return
    for at, token in enumerate(sentence.tokens):
        named = named_number(text, sentence, at, lexicon)
        if named is None:
            continue
        number, quantity, has_verb = named
        if may_be_part_of_name(token.text, has_verb):
            continue
        unit = _unit(own, quantity, lexicon) or (_unit(everywhere, quantity, lexicon) if has_verb else "")
        if unit:
            yield FigureInText(
                "exact", token.start, token.end, text[token.start : token.end], number, unit, lead=token.start
            )


class NamedNumber(NamedTuple):
    """A number without a unit, the quantity named just before it, and whether a verb says that it was read."""

    number: float
    quantity: Quantity
    has_verb: bool


def named_number(text: str, sentence: Sentence, at: int, lexicon: Lexicon) -> NamedNumber | None:
    """Return what a token says as a reading without a unit, or None if it is none."""
    token = sentence.tokens[at]
    number = read_number(token.text) if token.kind == "word" and token.text[0].isdigit() else None
    if number is None or _is_part_of_code(text, token) or not _is_not_a_count(sentence.tokens, at):
        return None
    quantity, has_verb = quantity_before(sentence.tokens, at, lexicon.quantity_ends(sentence.tokens), lexicon)
    return None if quantity is None else NamedNumber(number, quantity, has_verb)


def _is_part_of_code(text: str, token: Token) -> bool:
    return text[token.start - 1 : token.start] in _JOINING_MARKS or text[token.end : token.end + 2].strip(" \n")[
        :1
    ] in (
        *_JOINING_MARKS - {".", ","},
        ":",
    )


def _is_not_a_count(tokens: Sequence[Token], at: int) -> bool:
    """Check that a number counts nothing: it ends its clause, or a place follows (``50 on the display``)."""
    behind = tokens[at + 1] if at + 1 < len(tokens) else None
    return behind is None or behind.kind in ("comma", "break", "link") or behind.text in ("on", "in", "at")


def may_be_part_of_name(number: str, has_verb: bool) -> bool:
    """Check whether a number may only be counting something off (``tank 4``, ``current output 1``)."""
    value = read_number(number)
    return not has_verb and (value is None or (value < _SMALLEST_VALUE and value == int(value)))


def quantity_before(
    tokens: Sequence[Token], at: int, ends: dict[int, str], lexicon: Lexicon
) -> tuple[Quantity | None, bool]:
    """Find the quantity named just before a number, and whether a verb says that the number was read."""
    has_verb = False
    for before in range(at - 1, max(-1, at - 1 - _MAX_DISTANCE), -1):
        token = tokens[before]
        # `Display` may be a noun, `displays` is taken as a verb.
        is_verb = token.stem in around_figures.READING_STEMS and not (before in ends and token.text == token.stem)
        if before in ends and not is_verb:
            quantity = lexicon.quantities[ends[before]]
            return (quantity, has_verb) if quantity.unit and not quantity.of_data_sheet else (None, has_verb)
        has_verb = has_verb or is_verb
        if not is_verb and token.kind != "stop":
            break
    return None, has_verb


def _unit(figures: Sequence[FigureInText], quantity: Quantity, lexicon: Lexicon) -> str:
    """Return the only unit used by figures of a quantity's dimension, or an empty string if it is not unique."""
    units = {
        spelling(figure.unit): figure.unit
        for figure in figures
        if figure.kind == "exact" and quantity in lexicon.commensurable(figure.unit)
    }
    return next(iter(units.values())) if len(units) == 1 else ""
