"""Numbers without a unit behind the word for a reading, where a unit stands near (``display 50, recorder 62 m3/h``).

The unit is the one of the sentence, or of the whole report if it uses a single one for such readings. A number that may
be a name (``tank 4``) needs a verb before it (``the tank says 4``).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.language import english
from diagnose.language.figures import Figure
from diagnose.language.lexicon import Lexicon
from diagnose.language.sentences import Sentence
from diagnose.language.words import Word
from diagnose.rule_book.types import Quantity
from diagnose.units import read_number, spelling

_LAST_NAME = 20
_GLUED = frozenset("-/#_+°%.,^*")
_NEARNESS = 3


def bare_numbers(
    text: str, sentence: Sentence, own: Sequence[Figure], everywhere: Sequence[Figure], lexicon: Lexicon
) -> Iterator[Figure]:
    """Return figures for the bare numbers of a sentence; ``own`` and ``everywhere`` are those that have units."""
    if not any(figure.kind == "exact" for figure in everywhere):
        return
    words = sentence.words
    ends = {match.last: match.tag for match in lexicon.quantity_words.matches(words)}
    for at, word in enumerate(words):
        number = read_number(word.text) if word.kind == "word" and word.text[0].isdigit() else None
        if number is None or _is_glued(text, word) or not _stands_alone(words, at):
            continue
        quantity, told = _quantity(words, at, ends, lexicon)
        if quantity is None or (not told and number < _LAST_NAME and number == int(number)):
            continue
        unit = _unit(own, quantity, lexicon) or (_unit(everywhere, quantity, lexicon) if told else "")
        if unit:
            yield Figure("exact", word.start, word.end, text[word.start : word.end], number, unit, lead=word.start)


def _is_glued(text: str, word: Word) -> bool:
    return text[word.start - 1 : word.start] in _GLUED or text[word.end : word.end + 2].strip(" \n")[:1] in (
        *_GLUED - {".", ","},
        ":",
    )


def _stands_alone(words: Sequence[Word], at: int) -> bool:
    """Tell whether nothing is counted by a number: it ends a clause, or a place follows (``50 on the display``)."""
    behind = words[at + 1] if at + 1 < len(words) else None
    return behind is None or behind.kind in ("comma", "break", "link") or behind.text in ("on", "in", "at")


def _quantity(words: Sequence[Word], at: int, ends: dict[int, str], lexicon: Lexicon) -> tuple[Quantity | None, bool]:
    """Return the quantity whose word stands before a number, and whether a verb says that it was read."""
    told = False
    for before in range(at - 1, max(-1, at - 1 - _NEARNESS), -1):
        word = words[before]
        # `Display` may be a noun, `displays` is taken as a verb.
        is_verb = word.stem in english.TELLING and not (before in ends and word.text == word.stem)
        if before in ends and not is_verb:
            quantity = lexicon.quantities[ends[before]]
            return (quantity, told) if quantity.unit and not quantity.where_to_find else (None, told)
        told = told or is_verb
        if not is_verb and word.kind != "stop":
            break
    return None, told


def _unit(figures: Sequence[Figure], quantity: Quantity, lexicon: Lexicon) -> str:
    """Return the one unit that figures of a quantity's dimension have; empty if there is none or more than one."""
    units = {
        spelling(figure.unit): figure.unit
        for figure in figures
        if figure.kind == "exact" and quantity in lexicon.alike(figure.unit)
    }
    return next(iter(units.values())) if len(units) == 1 else ""
