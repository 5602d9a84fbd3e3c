"""When and to what end something is said: attempts that changed nothing, times at which all is well."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from diagnose.language import english
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.words import Word

_REACH = 4
_SUBJECTS = 2
AnyMatch = Match[Any]


def tried_in_vain(sentence: Sentence, following: Sentence | None, match: AnyMatch) -> bool:
    """Tell whether what was stated was only tried and changed nothing (``swapped A and B, no change``)."""
    behind = list(sentence.words[match.last + 1 :]) or list(following.words if following else ())
    tail = [word for word in behind if word.kind not in ("stop", "comma", "break", "link")][:2]
    texts = [word.text for word in tail]
    if texts[:1] == ["same"] or texts == ["still", "same"]:
        return len(behind) <= _REACH
    return len(tail) == len(("no", "change")) and tail[0].kind == "not" and texts[1] in english.VAIN


def well_then(sentence: Sentence, match: AnyMatch) -> bool:
    """Tell whether all is well at the time that a history names (``in summer no problem``, ``fine after cleaning``)."""
    words = sentence.words
    before = [word for word in words[max(0, match.first - 2) : match.first] if word.text not in ("the", "a", "every")]
    opening = [words[match.first], *before[-1:]]
    if not any(word.text in english.WHEN for word in opening):
        return False
    clause = sentence.clause(match.first)
    ahead = words[clause.start : match.first]
    if any(word.text in ("only", "still", "not") for word in (*ahead[-2:], words[match.first])):
        return False
    return _says_well(words[match.last + 1 :]) or _says_only_well(ahead)


def _says_well(words: Sequence[Word]) -> bool:
    """Tell whether words start with ``it is ok``, ``both agree`` or ``no problem``, about nothing else."""
    foreign = 0
    for at, word in enumerate(words[: 2 * _REACH]):
        if word.kind == "not":
            return at + 1 < len(words) and words[at + 1].text in english.TROUBLE
        if word.text in english.OK_WORDS - english.OK_CHECKS and not foreign:
            return True
        if word.stem in english.AGREEING and foreign <= _SUBJECTS:
            return True
        if word.kind == "break" or (word.kind == "comma" and foreign):
            return False
        foreign += word.kind == "word"
        if foreign > _SUBJECTS:
            return False
    return False


def _says_only_well(words: Sequence[Word]) -> bool:
    telling = [word for word in words if word.kind not in ("stop", "light", "link")]
    return len(telling) in (1, 2) and _says_well(telling)
