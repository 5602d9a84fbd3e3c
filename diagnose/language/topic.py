"""What a report is about: one flow meter that is wrong, several, none, or a matter that is over.

A conservative reading: where nothing speaks for anything else, it is about a flow meter. Words of the trade stand in
the rule book (``about-…`` in ``book.yaml``), how people close a matter in :mod:`diagnose.language.english.closing`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from diagnose.language.english import all_well, closing, negation
from diagnose.language.lexicon import Lexicon
from diagnose.language.results import About, Understanding
from diagnose.language.solved import plain_words
from diagnose.language.tags import TAG
from diagnose.rule_book.book import Settings

_ITEM = re.compile(r"^\s*(?:\d{1,2}[.)]|[-*•])\s+", re.MULTILINE)
_PIECES = re.compile(r"(?<=[.!?;])\s+|\n+")
"""What parts sentences, and the items of a list."""
_FEWEST_METERS = 2
_FEWEST_WORDS, _ENGLISH_FROM = 6, 0.5
"""A text of at least so many words of which fewer than this share are known is foreign."""


class Topic(NamedTuple):
    """What a report is about; of several meters the names and the text about each, where that can be told."""

    about: About
    meters: tuple[tuple[str, str], ...] = ()


def topic_of(lexicon: Lexicon, text: str, read: Understanding, foreign: bool = False) -> Topic:
    """Return what a report is about; ``read`` is what was understood of it, ``foreign`` one that is hardly English."""
    findings, settings = lexicon.findings, lexicon.rule_book.settings
    told = (findings[each.finding] for each in read.understood if each.finding and each.present)
    wrong = any(each.says_what_is_wrong for each in told)
    if read.ending == "closed" or (read.ending and not wrong):
        return Topic("seems solved")
    words = plain_words(text)
    if settings.about_meters and not foreign:
        quotes = [each.quote for each in read.understood if each.finding and findings[each.finding].says_what_is_wrong]
        if _is_of_other_things(words, settings, not read.understood) or _is_of_what_comes_first(text, settings, quotes):
            return Topic("no flow meter")
    if not wrong and any(f" {each} " in words for each in closing.NOTHING_WRONG):
        return Topic("nothing wrong told")
    meters = _meters(text)
    if len(meters) >= _FEWEST_METERS:
        return Topic("several flow meters", meters)
    if _names_any(words, settings.about_several) or len(_tags(text)) >= _FEWEST_METERS:
        return Topic("several flow meters")
    return Topic("a flow meter")


def is_foreign(lexicon: Lexicon, text: str) -> bool:
    """Check whether a text is hardly English: few of its words are common ones, or words of the rule book."""
    spoken = [each for each in plain_words(text).split() if each.isalpha()]
    vocabulary = lexicon.vocabulary
    known = sum(vocabulary.is_known(each) or vocabulary.corrected(each) != (each,) for each in spoken)
    return len(spoken) >= _FEWEST_WORDS and known < _ENGLISH_FROM * len(spoken)


def _is_of_other_things(words: str, settings: Settings, says_nothing: bool) -> bool:
    """Check whether no word tells of a flow meter, while some tell of others or the whole says nothing."""
    if _names_any(words, settings.about_meters):
        return False
    plants = _first(words, settings.about_plants)
    others = _first(words, (*settings.about_instruments, *settings.about_others))
    return others < plants or (says_nothing and plants == len(words))


def _is_of_what_comes_first(text: str, settings: Settings, wrong: Sequence[str]) -> bool:
    """Check whether another thing is named first, and nothing that is wrong is told of a meter.

    What is said to be fine is only compared (``the pressure transmitter beside it is fine``).
    """
    words = plain_words(text)
    opening = _first(words, settings.about_instruments)
    if opening == len(words) or opening > _first(words, settings.about_meters):
        return False
    if any(_names_any(plain_words(quote), settings.about_meters) for quote in wrong):
        return False
    pieces = map(plain_words, _PIECES.split(text))
    piece = next((each for each in pieces if _names_any(each, settings.about_instruments)), words)
    spoken = piece.split()
    fine = (word for before, word in pairwise(["", *spoken]) if before not in negation.NEGATIONS)
    return all_well.OK_WORDS.isdisjoint(fine)


def _first(words: str, names: Iterable[str]) -> int:
    """Return where the first of some names stands in words, their length if none does."""
    places = (words.find(f" {name} ") for name in names)
    return min((at for at in places if at >= 0), default=len(words))


def _names_any(words: str, names: Iterable[str]) -> bool:
    return any(f" {name} " in words for name in names)


def _tags(text: str) -> tuple[str, ...]:
    found = (re.sub(r"[ -]", "", each[0]).upper() for each in TAG.finditer(text))
    return tuple(dict.fromkeys(found))


def _meters(text: str) -> tuple[tuple[str, str], ...]:
    """Return the names of meters and what is said of each: in every sentence or item that begins with one, and on."""
    found: dict[str, list[str]] = {}
    for piece in _PIECES.split(text):
        said = _ITEM.sub("", piece).strip()
        begins = TAG.match(said)
        if begins:
            found.setdefault(begins[0], []).append(said)
        elif found:
            found[next(reversed(found))].append(said)
    return tuple((name, " ".join(said)) for name, said in found.items())
