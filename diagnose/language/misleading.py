"""Phrases found whose words belong to something else: another thing, an attribute, a mere amount, a trial."""

from __future__ import annotations

from typing import Any

from diagnose.language import english
from diagnose.language.certainty import about_another, has_own_negation
from diagnose.language.lexicon import Claim
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.words import THAN, ZERO, Word


def without_part(sentence: Sentence, match: Match[Any]) -> bool:
    """Tell whether what is said of was so with something taken away (``we disconnected it and the breaker held``)."""
    return any(sentence.words[at].stem in english.TAKEN_AWAY and at not in match.positions for at in range(match.first))


def _of_no_trouble(sentence: Sentence, match: Match[Claim]) -> bool:
    """Tell whether a denied trouble is only named after the thing (``no display alarm`` is not ``no display``)."""
    words = sentence.words
    named = match.last + 1 < len(words) and words[match.last + 1].text in english.TROUBLE
    return named and match.tag.present and has_own_negation(words, match)


def _of_nothing(sentence: Sentence, match: Match[Claim]) -> bool:
    """Tell whether it shows zero where the statement has it show something (``shows 0 with the pump off``)."""
    words = sentence.words
    telling = [at for at in match.positions if words[at].stem in english.TELLING]
    if len(telling) != 1:
        return False
    behind = next((at for at in range(telling[0] + 1, len(words)) if words[at].kind not in ("stop", "light")), None)
    return behind is not None and words[behind].stem == ZERO and behind not in match.positions


def is_misleading(sentence: Sentence, match: Match[Claim]) -> bool:
    """Tell whether a match does not say what its phrase stands for."""
    return (
        about_another(sentence, match)
        or _of_another(sentence, match)
        or _as_noun(sentence, match)
        or _of_amount(sentence, match)
        or _of_nothing(sentence, match)
        or (not match.tag.present and without_part(sentence, match))
        or _of_no_trouble(sentence, match)
    )


def _as_noun(sentence: Sentence, match: Match[Claim]) -> bool:
    """Tell whether a word belongs to a noun behind it: ``reads … at high flow`` is not ``reads high``."""
    words = sentence.words
    telling = any(words[place].stem in english.TELLING for place in match.positions)
    for at in match.positions:
        behind = words[at + 1] if at + 1 < len(words) and at + 1 not in match.positions else None
        before = words[at - 1].text if at and at - 1 not in match.positions else ""
        # Nor is the second of two words for one thing (`mag meter`) another noun.
        if behind is None or behind.kind != "word" or behind.stem == words[at].stem:
            continue
        opposite = words[at].stem in english.OPPOSITES
        if before == "at" and (opposite or (words[at].stem == ZERO and telling)):
            return True
        if opposite and telling and at == match.last and not _says_how(behind):
            return True
        if telling and behind.stem in (english.ZERO_NOUNS if words[at].stem == ZERO else english.FURTHER_NOUNS):
            return True
    return False


def _says_how(word: Word) -> bool:
    """Tell whether a word behind ``reads high`` goes on about the reading (``reads high compared with the tank``)."""
    return word.text[0].isdigit() or word.text.endswith("ly") or word.stem in english.VALUE_STEMS


def _of_another(sentence: Sentence, match: Match[Claim]) -> bool:
    """Tell whether a noun within a statement is another one than it seems (``lower than the master meter``)."""
    return any(
        at - 1 not in match.positions and sentence.words[at - 1].text in english.ANOTHER
        for at in match.positions[1:]
        if sentence.words[at].kind == "word"
    )


def _of_amount(sentence: Sentence, match: Match[Claim]) -> bool:
    """Tell whether a mere number is told: ``more than 5 m3/h`` compares nothing, ``at full flow 5 m3/h`` is fine."""
    words = sentence.words
    behind = [word for word in words[match.last + 1 :] if word.text not in english.ROUGHLY][:1]
    if not behind or not behind[0].text[0].isdigit():
        return False
    return words[match.last].stem == THAN or words[match.first].text == "at"
