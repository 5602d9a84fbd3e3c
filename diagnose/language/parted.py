"""Phrases whose words stand near each other, but do not belong together.

A phrase of two or three words may have others between. They part it if they are the head of another thing (``the meter
terminals 4 mA at zero``), begin another one (``the meter, and ran the zero``), or tell of something that goes on.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from diagnose.language.english import around_figures, grammar, parting, temporality
from diagnose.language.lexicon import Claim
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import ZERO, Token

_TWO_WORDS = 2
_SERIES = 3


def is_parted(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether the words of a match do not belong together, or only name another thing together."""
    tokens = sentence.tokens
    return (
        _names_a_part(tokens, match)
        or _qualifies_another_thing(tokens, match)
        or _is_of_what_follows(tokens, match)
        or _is_done_to_another_thing(tokens, match)
        or _governs_another_thing(tokens, match)
        or _is_of_an_instrument(tokens, match)
        or _is_of_a_series(tokens, match)
        or _is_of_an_electricians_meter(sentence, match)
        or _is_heading_of_figures(tokens, match)
        or _is_time_of_a_figure(tokens, match)
        or _is_part_of_a_number(tokens, match)
    )


def denies_nothing(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether words that look like a denial are none (``20 kohm dry``, ``the RCD on the outlet``)."""
    tokens = sentence.tokens
    if match.tag.present:
        return False
    between = [tokens[at] for at in _between(match)]
    nearly = any(
        tokens[at].stem == ZERO and tokens[at - 1].text in parting.NEAR and at - 1 not in match.positions
        for at in match.positions
        if at
    )
    goes_on = any(token.text in parting.LASTING for token in between)
    return goes_on or nearly or _holds_a_value(tokens, match) or _is_on_a_thing(sentence, match)


def _holds_a_value(tokens: Sequence[Token], match: Match[Claim]) -> bool:
    """Check whether a value parts the words of a denial (``electrode to housing: 20 kohm dry``).

    One that is shown (``shows 33 steady``), a span of time, a count (``the other 5 devices answer``), or one that only
    tells which thing (``the 5 m3 tank``) does not.
    """
    figures = [at for at in _between(match) if _is_figure(tokens[at])]
    if not figures or tokens[figures[0] - 1].text in grammar.DETERMINERS:
        return False
    shown = tokens[figures[0] - 1].stem in around_figures.READING_STEMS
    counts = figures[0] + 1 in match.positions
    if len(figures) == 1 and (shown or counts):
        return False
    behind = tokens[figures[-1] + 1].text
    return behind not in temporality.TIME_UNITS and behind not in parting.SHORT_TIMES


def _between(match: Match[Claim]) -> list[int]:
    return [at for at in range(match.first + 1, match.last) if at not in match.positions]


def _is_figure(token: Token) -> bool:
    return token.text[0].isdigit()


def _names_a_part(tokens: Sequence[Token], match: Match[Claim]) -> bool:
    """Check whether the first word only tells whose part it is that is spoken of (``the sludge meter on line 2``)."""
    at = match.first + 1
    if at in match.positions or at >= match.last or tokens[at].text not in parting.HEADS:
        return False
    first = tokens[match.first]
    if first.kind != "word" or _is_figure(first) or first.text in parting.QUALITIES:
        return False
    named = tokens[at].text in ("meter", "meters") and first.text in parting.NAMES_OF_THE_METER
    return not named and first.stem != ZERO


def _qualifies_another_thing(tokens: Sequence[Token], match: Match[Claim]) -> bool:
    """Check whether a quality is of something before its noun (``in the new cabinet and in the sensor``)."""
    if len(match.positions) != _TWO_WORDS or tokens[match.first].text not in parting.QUALITIES:
        return False
    between = [tokens[at] for at in _between(match)]
    others = any(token.kind == "word" for token in between) and tokens[match.last].kind == "word"
    return others and any(token.text in parting.BETWEEN_THINGS for token in between)


def _is_of_what_follows(tokens: Sequence[Token], match: Match[Claim]) -> bool:
    """Check whether a quality at the end belongs to the noun behind it (``meter in new house heating``)."""
    at = match.last
    behind = tokens[at + 1] if at + 1 < len(tokens) else None
    if len(match.positions) != _TWO_WORDS or tokens[at].text not in parting.QUALITIES or behind is None:
        return False
    placed = tokens[at - 1].text in grammar.PREPOSITIONS | {"the", "a", "an"} and at - 1 > match.first
    return placed and behind.kind == "word" and not _is_figure(behind)


def _is_done_to_another_thing(tokens: Sequence[Token], match: Match[Claim]) -> bool:
    """Check whether a deed is done to a thing that only belongs to what a match names (``cable to the converter``)."""
    if len(match.positions) != _TWO_WORDS or tokens[match.first].stem not in parting.DEED_STEMS:
        return False
    between = [tokens[at] for at in _between(match)]
    return any(thing.kind == "word" and link.text in grammar.BEFORE_OBJECTS for thing, link in pairwise(between))


def _governs_another_thing(tokens: Sequence[Token], match: Match[Claim]) -> bool:
    """Check whether another deed with its own object is told of (``went through the meter and ran the zero``)."""
    between = [tokens[at] for at in _between(match)]
    link = next((at for at, token in enumerate(between) if token.text in grammar.JOINING), None)
    if len(match.positions) != _TWO_WORDS or link is None or between[-1].text not in grammar.DETERMINERS:
        return False
    deed = between[link + 1 : -1]
    return bool(deed) and deed[0].kind in ("word", "light")


def _is_of_an_instrument(tokens: Sequence[Token], match: Match[Claim]) -> bool:
    """Check whether *flow*, far from the rest, only names an instrument (``last night none of our flow meters``)."""
    behind = tokens[match.last + 1] if match.last + 1 < len(tokens) else None
    far = any(tokens[at].kind != "stop" for at in _between(match))
    named = behind is not None and tokens[match.last].text == "flow" and behind.stem in parting.INSTRUMENT_STEMS
    return far and named


def _is_of_a_series(tokens: Sequence[Token], match: Match[Claim]) -> bool:
    """Check whether a zero is one of several values (``leaps 0...40...0``, ``jumps between 0 and 40``)."""
    for at in match.positions:
        if tokens[at].stem != ZERO or not _is_figure(tokens[at]):
            continue
        if at and tokens[at - 1].text == "between":
            return True
        first, last = at, at
        while first and _is_figure(tokens[first - 1]):
            first -= 1
        while last + 1 < len(tokens) and _is_figure(tokens[last + 1]):
            last += 1
        run = tokens[first : last + 1]
        if len(run) >= _SERIES and any(token.stem != ZERO for token in run):
            return True
    return False


def _is_of_an_electricians_meter(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether a meter in a match, or right before it, measures no flow (``mA meter in the loop: 0.0``)."""
    tokens = sentence.tokens
    places = list(match.positions)
    if tokens[match.first].stem in around_figures.READING_STEMS:
        places.append(match.first - 1)
    return any(
        tokens[at].text in ("meter", "meters")
        and at - 1 not in match.positions
        and tokens[at - 1].text in parting.ELECTRICIANS_METERS
        for at in places
        if at > 0
    )


def _is_part_of_a_number(tokens: Sequence[Token], match: Match[Claim]) -> bool:
    """Check whether a fraction belongs to a number before it (``one and a half times`` is not ``half``)."""
    return any(
        at >= len(parting.AND_A)
        and tuple(token.text for token in tokens[at - len(parting.AND_A) : at]) == parting.AND_A
        and at - 1 not in match.positions
        for at in match.positions
        if tokens[at].text in parting.FRACTIONS
    )


def _is_heading_of_figures(tokens: Sequence[Token], match: Match[Claim]) -> bool:
    """Check whether a span of time only says of when the figures behind it are (``over the last week: 412 m3``)."""
    behind = [token.text for token in tokens[match.last + 1 : match.last + 2]]
    return tokens[match.first].stem == "during" and behind == [":"]


def _is_time_of_a_figure(tokens: Sequence[Token], match: Match[Claim]) -> bool:
    """Check whether a time of day only says when a value was read (``12.9 at midday``)."""
    first, last = tokens[match.first], tokens[match.last]
    before = tokens[match.first - 1] if match.first else None
    return before is not None and _is_figure(before) and first.text == "at" and last.text in parting.TIMES_OF_DAY


def _is_on_a_thing(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether *on* says where something is, not that it is on (``the RCD on the outlet``, ``on the cover``)."""
    tokens = sentence.tokens
    start = sentence.clause(match.first).start
    if any(tokens[at].text in grammar.WHEN_LINKS | {"with", "once", "after"} for at in range(start, match.first)):
        # `With the supply on the screen stays dark`.
        return False
    if tokens[match.last].text == "on":
        behind = tokens[match.last + 1 : match.last + 2]
        return any(token.text in grammar.DETERMINERS for token in behind)
    if tokens[match.first].text != "on" or len(match.positions) != _TWO_WORDS:
        return False
    before = tokens[match.first - 1].text if match.first else ""
    placed = any(token.text in grammar.DETERMINERS for token in tokens[match.first + 1 : match.last])
    return placed and before not in parting.SETTING_WORDS
