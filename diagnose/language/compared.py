"""Which of two readings is the larger, by the grammar of a comparison (``the tank shows 9 % less than our meter``).

What stands before the comparative is held against what stands behind *than*, *of* or *against*. Who is the larger then
outweighs phrases that see only some of these words. With nothing before it the meter itself is meant, unless the meter
is the other side: then nobody knows.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain
from typing import NamedTuple

from diagnose.language.assertion import why_not_factual
from diagnose.language.english import around_figures, comparing, grammar, owning
from diagnose.language.lexicon import Lexicon
from diagnose.language.owners import may_be_a_noun, other_things
from diagnose.language.phrases import Match, most_specific
from diagnose.language.results import Mention, Statement
from diagnose.language.sentences import Sentence
from diagnose.language.statements import quoted
from diagnose.language.tokens import Token

_IN_GRAMMAR = (8, 0)
"""Specificity: a whole comparison says more than a phrase; figures side by side say more still."""

_TO_THE_NAME = 3
"""Words between *than* and the name of the other side (``than what our meter``)."""


class _Comparison(NamedTuple):
    """Where a comparison stands, the quantities of both sides ("": nobody knows), and whether the first is larger."""

    first: int
    last: int
    subject: str
    other: str
    is_larger: bool


def with_comparisons(text: str, sentence: Sentence, said: Sequence[Mention], lexicon: Lexicon) -> list[Mention]:
    """Return the mentions of a sentence, its comparisons read as a whole in place of phrases inside them."""
    found = list(_comparisons(text, sentence, lexicon))
    if not found:
        return list(said)
    told = [mention for one in found for mention in _mentions(text, sentence, one, lexicon)]
    compared = [each for each in lexicon.quantities.values() if each.disagreement]
    outweighed = {each.statement.finding for each in told if each.statement}
    outweighed.update(chain.from_iterable((*each.larger.values(), *each.smaller.values()) for each in compared))
    return [*(each for each in said if not _is_inside(each, found, outweighed)), *told]


def _is_inside(mention: Mention, found: Sequence[_Comparison], outweighed: set[str]) -> bool:
    """Check whether a phrase that says who is the larger has words of a comparison."""
    near = any(mention.first <= one.last and one.first <= mention.last for one in found)
    return near and mention.statement is not None and mention.statement.finding in outweighed


def _mentions(text: str, sentence: Sentence, one: _Comparison, lexicon: Lexicon) -> Iterator[Mention]:
    """Yield the findings that a comparison tells; none where one of its sides is not known."""
    if not one.subject or why_not_factual(sentence, Match("", (one.first, one.last), 0), is_symptom=True):
        return
    for name, other, larger in ((one.subject, one.other, one.is_larger), (one.other, one.subject, not one.is_larger)):
        quantity = lexicon.quantities[name]
        if other not in quantity.disagreement:
            continue
        finding = (quantity.larger if larger else quantity.smaller).get(other, quantity.disagreement[other])
        statement = Statement(quote=quoted(text, sentence, one.first, one.last), finding=finding, present=True)
        yield Mention(one.first, one.last, statement, specificity=_IN_GRAMMAR)


def _comparisons(text: str, sentence: Sentence, lexicon: Lexicon) -> Iterator[_Comparison]:
    """Yield the comparisons of a sentence whose other side is named."""
    tokens = sentence.tokens
    marked = [(at, way) for at in range(len(tokens)) if (way := _way(text, tokens, at)) is not None]
    if not marked:
        return
    foreign = list(other_things(sentence, lexicon))
    names = [each for each in _names(tokens, lexicon) if not any(_is_part(each, thing) for thing in foreign)]
    taken = {at for each in names for at in each.positions}
    for at, is_larger in marked:
        clause = sentence.clause(at, soft=False)
        near = [each for each in names if clause.start <= each.first and each.last < clause.stop]
        other = _other_side(tokens, [*near, *_this_one(tokens, clause, lexicon)], at)
        if any(tokens[place].kind == "not" for place in range(clause.start, at)):
            continue
        before = [each for each in near if each.last < at and each is not other]
        if other is None:
            if before and _stands_alone(tokens, before[-1], at, clause, lexicon):
                sides = (before[-1].tag, _own(lexicon))
                reported = any(tokens[place].text in comparing.US for place in range(before[-1].last, at))
                yield _Comparison(before[-1].first, at, *(sides[::-1] if reported else sides), is_larger)
            continue
        first, last = min(at, other.first, *(each.first for each in before)), max(at, other.last)
        if before:
            if before[-1].tag != other.tag:
                yield _Comparison(before[-1].first, last, before[-1].tag, other.tag, is_larger)
        elif any(clause.start <= thing.first < at and taken.isdisjoint(thing.positions) for thing in foreign):
            yield _Comparison(first, last, "", other.tag, is_larger)
        elif not any(_may_be_subject(tokens[place]) for place in range(clause.start, at) if place not in taken):
            yield _Comparison(first, last, _own_reading(other.tag, lexicon), other.tag, is_larger)


def _stands_alone(tokens: Sequence[Token], subject: Match[str], at: int, clause: range, lexicon: Lexicon) -> bool:
    """Check whether another instrument is said to show so many per cent more, and it goes without saying than what."""
    amount = any(tokens[place].text in ("%", "percent") for place in clause)
    plain = not any(_may_be_subject(token) for token in tokens[subject.last + 1 : at])
    held = any(token.text in comparing.OTHER_SIDE - {"to", "with", "of"} for token in tokens[at + 1 : clause.stop])
    return amount and plain and not held and bool(lexicon.quantities[subject.tag].disagreement)


def _own(lexicon: Lexicon) -> str:
    """Return the quantity that the meter itself shows: of those read side by side the one that all are held against."""
    return next((name for name, each in lexicon.quantities.items() if each.column and not each.disagreement), "")


def _may_be_subject(token: Token) -> bool:
    return may_be_a_noun(token) or token.text in owning.MEASURED_THINGS


def _own_reading(other: str, lexicon: Lexicon) -> str:
    """Return what is held against a quantity where nobody says what: the first that it may disagree with, if any."""
    return next(iter(lexicon.quantities[other].disagreement), "")


def _names(tokens: Sequence[Token], lexicon: Lexicon) -> list[Match[str]]:
    """Return the names of compared quantities in a sentence, without verbs that every instrument shares."""
    compared = {name for name, each in lexicon.quantities.items() if each.column}
    found = most_specific([each for each in lexicon.quantity_words.matches(tokens) if each.tag in compared])
    return sorted(
        (each for each in found if any(not _is_a_verb(tokens[at]) for at in each.positions)),
        key=lambda each: each.first,
    )


def _this_one(tokens: Sequence[Token], clause: range, lexicon: Lexicon) -> list[Match[str]]:
    """Return where the meter itself is meant without its name (``less than ours``)."""
    own = _own(lexicon)
    return [Match(own, (at,), 0) for at in clause if own and tokens[at].text in comparing.THIS_ONE]


def _is_a_verb(token: Token) -> bool:
    return token.stem in around_figures.READING_STEMS | {"indicat"} and token.text not in ("display", "displays")


def _is_part(name: Match[str], thing: Match[str]) -> bool:
    return set(name.positions) < set(thing.positions)


def _way(text: str, tokens: Sequence[Token], at: int) -> bool | None:
    """Return whether a word says that what stands before it is the larger (False: the smaller); None if it does not."""
    word = tokens[at].text
    if word in comparing.LARGER | comparing.MULTIPLES:
        return True
    if word in comparing.SMALLER | comparing.FRACTIONS:
        return False
    before = tokens[at - 1] if at else None
    amount = before is not None and (before.text in comparing.AMOUNTS or before.text in grammar.NUMBER_WORDS)
    if amount and word in comparing.OVER_IT:
        return True
    if amount and word in comparing.UNDER_IT:
        return False
    if word in ("%", "percent") and before is not None and before.text[0].isdigit():
        sign = text[: before.start].rstrip()[-1:]
        follows = at + 1 < len(tokens) and tokens[at + 1].text in comparing.HOLDING
        return sign == "+" if follows and sign in ("+", "-", "−", "–") else None
    return None


def _other_side(tokens: Sequence[Token], names: Sequence[Match[str]], at: int) -> Match[str] | None:
    """Return the name of what something is held against: behind the comparative, else before it."""
    marks = range(at + 1, min(len(tokens), at + 1 + _TO_THE_NAME))
    mark = next((place for place in marks if tokens[place].text in comparing.OTHER_SIDE), None)
    if mark is None and tokens[at].text in comparing.MULTIPLES | comparing.FRACTIONS | {"above", "below"}:
        mark = at
    if mark is not None:
        behind = (each for each in names if mark < each.first <= mark + 1 + _TO_THE_NAME)
        return next((each for each in behind if _leads_to(tokens[mark + 1 : each.first])), None)
    return next((each for each in names if each.last < at and _is_held(tokens, each.first)), None)


def _leads_to(between: Sequence[Token]) -> bool:
    """Check whether nothing but little words stands before the name of the other side (``than what is in the``)."""
    return all(
        (token.kind in ("stop", "link") and token.text not in grammar.PREPOSITIONS - {"of", "as", "to"})
        or token.text in comparing.READ_VALUES | comparing.OTHER_SIDE
        for token in between
    )


def _is_held(tokens: Sequence[Token], first: int) -> bool:
    """Check whether a name stands behind *compared to*, *against* or the like."""
    at = first - 1
    while at >= 0 and tokens[at].text in grammar.DETERMINERS | {"to", "with"}:
        at -= 1
    return at >= 0 and tokens[at].text in comparing.HOLDING
