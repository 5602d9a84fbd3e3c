"""The subject of a finding together with an ok-word: ``fuse is fine``, ``wiring checked``, ``fuse and supply: ok``."""

from __future__ import annotations

from collections.abc import Collection

from diagnose.language import english
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence

_REACH = 2
_BEFORE = english.OK_CHECKS | {"good", "healthy", "intact", "sound", "correct", "normal", "proper"}


def found_ok(sentence: Sentence, subject: Match[str], subjects: Collection[int]) -> int | None:
    """Return where the ok-word stands that is said of a subject, or None.

    ``subjects`` are the positions of all subjects in the sentence, which may stand in a list.
    """
    behind = _walk(sentence, subject.last, 1, subjects, english.OK_WORDS)
    return behind if behind is not None else _walk(sentence, subject.first, -1, subjects, _BEFORE)


def _walk(
    sentence: Sentence, start: int, step: int, subjects: Collection[int], ok_words: Collection[str]
) -> int | None:
    words = sentence.words
    foreign = 0
    limit = _REACH if step > 0 else 0
    at = start + step
    while 0 <= at < len(words):
        word = words[at]
        if word.text in ok_words:
            return at if _is_done(sentence, start, at) else None
        if at in subjects or word.kind in ("stop", "light", "figure"):
            pass
        elif word.kind in ("comma", "link"):
            if not _list_goes_on(sentence, at, step, subjects, ok_words):
                return None
        elif word.kind != "word" or word.stem in english.GIVING_UP:
            return None
        else:
            foreign += 1
            if foreign > limit:
                return None
        at += step
    return None


def _list_goes_on(sentence: Sentence, at: int, step: int, subjects: Collection[int], ok_words: Collection[str]) -> bool:
    words = sentence.words
    at += step
    while 0 <= at < len(words) and words[at].kind in ("stop", "link"):
        at += step
    return 0 <= at < len(words) and (at in subjects or (step > 0 and words[at].text in ok_words))


def _is_done(sentence: Sentence, subject: int, ok: int) -> bool:
    """Tell whether the ok-word is neither negated nor only wished for (``to be checked``, ``please``)."""
    words = sentence.words
    first = max(0, min(subject, ok) - 3)
    between = words[first:ok]
    if any(word.kind == "not" for word in words[min(subject, ok) : ok]) or (ok and words[ok - 1].kind == "not"):
        return False
    if ok + 1 < len(words) and words[ok].text in english.OK_CHECKS and words[ok + 1].kind == "not":
        return False
    wished = {"be", "should", "must", "need", "needs", "will", "please", "shall"}
    return not (words[ok].text in english.OK_CHECKS and any(word.text in wished for word in between))
