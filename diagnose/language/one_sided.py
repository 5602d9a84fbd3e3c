"""Limits in a report: what somebody read (``coil to earth > 20 Mohm``), or what is asked for (``must be > 20 Mohm``).

Taken as read is only what is said plainly: behind the name of the quantity, by a verb of reading or by a sign, in a
clause that asks for nothing, denies nothing and names no circumstance (``at flow > 50 m3/h``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from diagnose.language import english
from diagnose.language.figures import FigureInText
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import Token

Meaning = Literal["read", "asked for", "unclear"]

_MOST_BETWEEN = 4


def as_read(
    sentence: Sentence, figure: FigureInText, place: Match[str], named: Match[str] | None
) -> FigureInText | None:
    """Return a limit as it was meant: ``exact`` where it was read, else without its direction; None where asked for.

    ``named`` are the words of its quantity. Over range without a name is none: the letters may mean anything.
    """
    meaning = _meaning(sentence, figure, place, named)
    if meaning == "asked for" or (figure.over_range and (meaning == "unclear" or named is None)):
        return None
    read = meaning == "read" and bool(figure.direction)
    return replace(figure, kind="exact") if read else replace(figure, direction="")


def _meaning(sentence: Sentence, figure: FigureInText, place: Match[str], named: Match[str] | None) -> Meaning:
    words = sentence.tokens
    lead = next((at for at, word in enumerate(words) if word.start >= figure.lead), place.first)
    first = min(lead, named.first) if named else lead
    before, after = range(_start(words, first), lead), _behind(words, place.last)
    if any(words[at].text in english.REQUIRED or words[at].stem in english.REQUIRED for at in (*before, *after)):
        return "asked for"
    if any(words[at].kind == "not" or words[at].text in english.CIRCUMSTANCE for at in before):
        return "unclear"
    return "read" if _plainly(words, figure, lead, after, named) else "unclear"


def _start(words: Sequence[Token], first: int) -> int:
    """Return where the clause starts that ends with a limit or with the name before it."""
    return next((at + 1 for at in range(first - 1, -1, -1) if words[at].kind in ("comma", "break")), 0)


def _behind(words: Sequence[Token], last: int) -> range:
    end = next((at for at in range(last + 1, len(words)) if words[at].kind in ("comma", "break", "link")), len(words))
    return range(last + 1, end)


def _plainly(words: Sequence[Token], figure: FigureInText, lead: int, after: range, named: Match[str] | None) -> bool:
    told = bool(lead) and _is_told(words, lead - 1)
    if named is None or named.first > lead:
        return told or (figure.signed and bool(lead) and words[lead - 1].kind == "word" and not _goes_on(words, after))
    between = range(named.last + 1, lead)
    if len(between) > _MOST_BETWEEN or any(words[at].stem in english.MOVING for at in between):
        return False
    if not figure.signed:
        return told or (words[lead - 1].kind == "light" and any(_is_told(words, at) for at in between))
    if any(_is_told(words, at) for at in between):
        return True
    at_place = named.first and words[named.first - 1].text in english.LEADING_WORDS
    return not at_place and not _goes_on(words, after)


def _goes_on(words: Sequence[Token], after: range) -> bool:
    """Tell whether behind a limit a statement goes on in which it is only a circumstance (``> 5 m3/h reads low``)."""
    following = words[after.start] if after else None
    if following is None or following.text in english.ACROSS:
        return False
    return following.kind not in ("stop", "light") or following.text == ":"


def _is_told(words: Sequence[Token], at: int) -> bool:
    """Tell whether a word says that a reading follows (``is``, ``reads``, ``measured``, a colon)."""
    word = words[at]
    verb = word.stem in english.READING_STEMS and word.stem != "get"
    return verb or word.text in english.COPULA or word.text == ":"
