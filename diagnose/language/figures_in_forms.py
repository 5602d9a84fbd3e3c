"""Figures without a unit, in a form that only one quantity has (``DN 80``); the unit is then the quantity's own.

The words of a form must stand right beside the figure, but for words like *is*.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence

from diagnose.language.as_found import OF_SOMETHING_ELSE, speaks_of_something_else
from diagnose.language.assertion import has_other_experiencer, why_not_factual
from diagnose.language.doubts import unsure
from diagnose.language.ended import was_measured_before
from diagnose.language.english import experiencer
from diagnose.language.lexicon import Lexicon
from diagnose.language.owners import is_form_of_another
from diagnose.language.phrases import Match
from diagnose.language.results import Mention, Statement
from diagnose.language.sentences import Sentence
from diagnose.language.statements import quoted
from diagnose.language.tokens import Token
from diagnose.language.written_forms import length
from diagnose.rule_book.quantities import Quantity
from diagnose.units import is_unit, read_number, unit_info

_BESIDE = 2
"""Words between a figure and the name of the device that has it (``the meter is DN 50``)."""


_ONE_MORE_BEHIND = re.compile(r"(?:\s?(?:\.\.+|…|<?->|→|/)\s?|\s(?:and|or|to)\s)\d")
_ONE_MORE_BEFORE = re.compile(r"\d(?:\s?(?:\.\.+|…|<?->|→|/)\s?|\s(?:and|or|to)\s)$")
_LONGEST_LINK = 8


def figures_written(text: str, sentence: Sentence, lexicon: Lexicon) -> Iterator[Mention]:
    """Yield the quantities whose figure a sentence gives in a form of their own."""
    found: list[Mention] = []
    for at, token in enumerate(sentence.tokens):
        number = read_number(token.text) if token.text[0].isdigit() else None
        if number is None or _is_one_of_several(text, token):
            continue
        mention = _mention(text, sentence, at, number, lexicon)
        if mention is not None:
            found.append(mention)
    yield from _without_two_values(text, sentence, found, lexicon)


def _without_two_values(text: str, sentence: Sentence, found: Sequence[Mention], lexicon: Lexicon) -> Iterator[Mention]:
    """Yield the mentions; of two values of one quantity only the one beside the meter's name counts."""
    for mention in found:
        said = mention.statement
        rivals = [each for each in found if said and each.statement and each.statement.quantity == said.quantity]
        beside = [each for each in rivals if _is_beside_own_name(sentence, each)]
        alone = len({each.statement.value for each in rivals if each.statement}) <= 1
        if said is None or alone or beside == [mention]:
            yield mention
            continue
        shown = " ".join(text[sentence.tokens[mention.first].start : sentence.tokens[mention.last].end].split())
        doubt = unsure(shown, lexicon.quantities[said.quantity], OF_SOMETHING_ELSE)
        yield mention._replace(statement=None, doubt=doubt)


def _is_beside_own_name(sentence: Sentence, mention: Mention) -> bool:
    clause = sentence.clause(mention.first)
    near = range(max(clause.start, mention.first - _BESIDE), min(clause.stop, mention.last + 1 + _BESIDE))
    return any(sentence.tokens[at].text in experiencer.OWN_DEVICES for at in near)


def _mention(text: str, sentence: Sentence, at: int, number: float, lexicon: Lexicon) -> Mention | None:
    tokens, forms = sentence.tokens, lexicon.written_forms
    before, behind = _beside(tokens, at, -1), _beside(tokens, at, 1)
    for stem in (tokens[place].stem for place in (*before[:1], *behind[:1])):
        for form in forms.get(stem, ()):
            places = (*_matched(tokens, before, form.before), at, *_matched(tokens, behind, form.behind))
            if len(places) != length(form) + 1 or _takes_from_another(tokens, at, places):
                continue
            quantity = lexicon.quantities[form.quantity]
            if at + 1 not in places and _has_unit_of_another(text, tokens, at, quantity):
                continue
            match = Match(quantity.id, tuple(sorted(places)), 0)
            value = number * quantity.si_factor + quantity.si_offset
            told = not (
                has_other_experiencer(sentence, match)
                or why_not_factual(sentence, match, True)
                or was_measured_before(sentence, match)
                or is_form_of_another(sentence, match, lexicon)
            )
            if told and _may_be(quantity, value) and not _is_relative(text, tokens[at], quantity):
                quote = quoted(text, sentence, match.first, match.last)
                if speaks_of_something_else(sentence, match, quantity.id, lexicon):
                    return Mention(match.first, match.last, doubt=unsure(quote, quantity, OF_SOMETHING_ELSE))
                said = Statement(quote=quote, quantity=quantity.id, value=value, unit=quantity.unit)
                return Mention(match.first, match.last, said)
    return None


def _is_one_of_several(text: str, figure: Token) -> bool:
    """Check whether a number is one of two, or the end of a range (``addresses 13 and 15``, ``0..15``)."""
    return bool(
        _ONE_MORE_BEHIND.match(text, figure.end) or _ONE_MORE_BEFORE.search(text[: figure.start][-_LONGEST_LINK:])
    )


def _takes_from_another(tokens: Sequence[Token], at: int, places: Sequence[int]) -> bool:
    """Check whether a form would take the unit of another figure, or a letter of a code (``4 mA = ok 0``, ``F12``)."""
    if at and tokens[at - 1].end == tokens[at].start and tokens[at - 1].text.isalpha() and at - 1 not in places:
        return True
    for place in places:
        between = tokens[min(at, place) : max(at, place) + 1]
        if tokens[place].kind == "figure" and place != at and any(token.kind != "figure" for token in between):
            return True
    return False


def _has_unit_of_another(text: str, tokens: Sequence[Token], at: int, quantity: Quantity) -> bool:
    """Check whether a figure stands there with a unit that is none of its quantity (``plate says 24 V``)."""
    last = at
    while last + 1 < len(tokens) and tokens[last + 1].kind == tokens[at].kind == "figure":
        last += 1
    unit = text[tokens[at].end : tokens[last].end].strip()
    if not is_unit(unit):
        return False
    return not quantity.unit or unit_info(unit).dimension != unit_info(quantity.unit).dimension


def _is_relative(text: str, figure: Token, quantity: Quantity) -> bool:
    """Check whether a figure says by how much something differs (``address ±1``), or is a share (``mA reads 50 %``)."""
    deviation = text[: figure.start].rstrip().endswith(("±", "+/-", "+-"))
    share = quantity.unit != "%" and text[figure.end : figure.end + 3].lstrip().startswith("%")
    return deviation or share


def _may_be(quantity: Quantity, value: float) -> bool:
    usual = quantity.written_values
    return quantity.reads_plausible(value) and (not usual or any(math.isclose(value, each) for each in usual))


def _beside(tokens: Sequence[Token], at: int, step: int) -> list[int]:
    """Return the places of the words beside a figure, nearest first, up to the end of the clause."""
    found: list[int] = []
    place = at + step
    while 0 <= place < len(tokens) and tokens[place].kind not in ("comma", "break"):
        if tokens[place].kind != "stop" or tokens[place].text == "at":
            found.append(place)
        place += step
    return found


def _matched(tokens: Sequence[Token], places: Sequence[int], stems: Sequence[str]) -> tuple[int, ...]:
    near = tuple(places[: len(stems)])
    return near if tuple(tokens[place].stem for place in near) == tuple(stems) else ()
