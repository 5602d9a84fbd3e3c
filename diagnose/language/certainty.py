"""Whether what a sentence mentions is said to be so, not to be so, or only asked, supposed or over.

Kept simple on purpose:

* A negation counts up to two foreign words before a statement, between its words, or right behind it
  (``errors: none``); it does not cross ``and``, ``but`` or ``why``, and crosses commas only in lists with ``or``.
* ``not without`` is no negation.
* ``Not always`` and ``not … all the time`` say that it is otherwise at times; a colon ends what a negation reaches.
* ``If I touch it`` tells of an attempt, any other condition of nothing; how far ``maybe`` reaches: ``hedges.py``.
* ``Other meters are fine`` says nothing about this one.
* Questions, conditions and suppositions are no facts. With ``I think``, what is plain to see counts all the same.
* What ``was`` so and is ``ok now``, or has ``cleared``, is not present; what ``was fine until`` is not absent.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from diagnose.language import english
from diagnose.language.hedges import hedged
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.words import NOT, NOT_ALWAYS, Word

_REACH = 2
_REPLACED_REACH = 8
_TAIL_REACH = 3
_OTHERS_REACH = 8
AnyMatch = Match[Any]


def has_own_negation(words: Sequence[Word], match: AnyMatch) -> bool:
    """Tell whether a negation is one of the words of the phrase."""
    return any(words[at].stem == NOT for at in match.positions)


def negated(words: Sequence[Word], match: AnyMatch, taken: Collection[int] = ()) -> bool:
    """Tell whether a match is denied by a negation that belongs to no phrase (``taken`` ones do)."""
    if has_own_negation(words, match):
        return False
    for at in range(match.last - 1, match.first, -1):
        if _is_free(words, at, taken):
            return not _doubled(words, at)
    at_front = _before(words, match, taken)
    if at_front is not None:
        return not _doubled(words, at_front)
    return _behind(words, match.last, taken)


def _is_free(words: Sequence[Word], at: int, taken: Collection[int]) -> bool:
    return words[at].kind == "not" and at not in taken


def _doubled(words: Sequence[Word], at: int) -> bool:
    """Tell whether another negation stands right before this one, as in ``not without``."""
    here = at - 1
    while here >= 0 and words[here].kind in ("stop", "light"):
        here -= 1
    return here >= 0 and words[here].kind == "not" and words[at].text in ("without", "no", "free", "lack")


def _before(words: Sequence[Word], match: AnyMatch, taken: Collection[int]) -> int | None:
    foreign = 0
    list_goes_on = any(word.text in ("or", "nor") for word in words[match.last + 1 : match.last + 3])
    for at in range(match.first - 1, -1, -1):
        word = words[at]
        if _is_free(words, at, taken):
            return None if at and words[at - 1].text in ("or", "whether") and word.text == "not" else at
        if word.text in ("or", "nor"):
            list_goes_on, foreign = True, 0
        elif word.kind in ("break", "link") or word.text in english.SCOPE_ENDS or word.text == ":":
            return None
        elif word.kind == "comma":
            if not list_goes_on:
                return None
            foreign = 0
        elif word.kind == "word":
            foreign += 1
            if foreign > _REACH:
                return None
    return None


def so_at_times(words: Sequence[Word], match: AnyMatch, taken: Collection[int] = ()) -> bool:
    """Tell whether a match is said not to be so always, hence to be otherwise at times (``not full all the time``)."""
    first = match.first - 1
    while first >= 0 and words[first].kind in ("stop", "light") and words[first].stem != NOT_ALWAYS:
        first -= 1
    if any(word.stem == NOT_ALWAYS for word in words[max(first, 0) : match.last]):
        return True
    behind = tuple(word.text for word in words[match.last + 1 : match.last + 4])
    lasting = behind[:1] and behind[0] in english.ALWAYS
    lasting = lasting or any(behind[: len(idiom)] == idiom for idiom in english.ALL_THE_TIME)
    return bool(lasting) and not has_own_negation(words, match) and negated(words, match, taken)


def _behind(words: Sequence[Word], last: int, taken: Collection[int]) -> bool:
    at = last + 1
    while at < len(words) and words[at].kind == "stop":
        at += 1
    if at >= len(words) or not _is_free(words, at, taken) or words[at].text in ("without", "nor", "nobody"):
        return False
    tail = next((word for word in words[at + 1 :] if word.kind != "stop"), None)
    return tail is None or tail.kind in ("comma", "break") or tail.text in english.DENYING_TAIL


def about_another(sentence: Sentence, match: AnyMatch) -> bool:
    """Tell whether a statement is about something else than what was reported (``other nodes on the bus work``)."""
    for at in range(max(sentence.clause(match.first).start, match.first - _OTHERS_REACH), match.last):
        word = sentence.words[at]
        if word.text in english.OTHERS and at not in match.positions:
            return sentence.words[at + 1].text not in english.NO_OTHERS
    return False


def no_fact(sentence: Sentence, match: AnyMatch, plain_to_see: bool) -> str:
    """Return why a statement is not to be taken as a fact, in words that finish a sentence; empty if it is one."""
    words = sentence.words
    clause = sentence.clause(match.first)
    before = range(clause.start, match.first)
    if _conditional(words, before):
        return "is said as a condition"
    if (sentence.question and _asked(sentence, match, clause)) or _asks_how(words, clause):
        return "is asked"
    if hedged(sentence, match):
        return "is not certain"
    if not plain_to_see and any(words[at].text in english.OPINION for at in before):
        return "is an opinion"
    return ""


def _conditional(words: Sequence[Word], before: range) -> bool:
    """Tell whether a condition stands before a statement; what happens ``if I touch it`` has been seen to happen."""
    for at in before:
        if words[at].text in english.CONDITION and not (at > before.start and words[at - 1].text in ("as", "even")):
            tried = words[at].text == "if" and at + 1 < len(words) and words[at + 1].text in ("i", "we")
            if not tried or any(word.text in english.MODALS for word in words):
                return True
    return False


def _asks_how(words: Sequence[Word], clause: range) -> bool:
    """Tell whether a clause asks how to do something, with or without a question mark."""
    opening = [words[at].text for at in clause if words[at].kind not in ("link", "comma")][:3]
    return opening[:1] in (["how"], ["where"]) and bool({"i", "we", "to"}.intersection(opening[1:]))


def _asked(sentence: Sentence, match: AnyMatch, clause: range) -> bool:
    words = sentence.words
    opening = [word.text for word in words[:4]] + [words[at].text for at in clause if at < match.first]
    if english.PRESUPPOSING.intersection(opening):
        return False
    is_last = clause.stop >= len(words) or match.last >= len(words) - 2
    start = next((words[at].text for at in clause if words[at].kind not in ("link", "comma")), "")
    return is_last or start in english.ASKING


def over(sentence: Sentence, following: Sentence | None, match: AnyMatch) -> bool:
    """Tell whether what was stated has ended since (``was dark last week, now fine``, ``alarm cleared``)."""
    words = sentence.words
    clause = sentence.clause(match.last)
    tail = words[match.last + 1 : min(clause.stop, match.last + 1 + _TAIL_REACH)]
    for at, word in enumerate(tail):
        if word.kind == "not":
            break
        if word.text in english.CURED or (word.text == "away" and at and tail[at - 1].stem == "go"):
            return True
    start = sentence.clause(match.first).start
    if not any(word.text in english.PAST for word in words[start : match.last]):
        return False
    if _as_reason_to_replace(words, start):
        return True
    later = [words[match.last + 1 :], following.words if following else ()]
    return any(_well_again(part) for part in later)


def _as_reason_to_replace(words: Sequence[Word], start: int) -> bool:
    """Tell whether a clause says why something was replaced (``sensor replaced (liner was torn)``)."""
    if not start or words[start - 1].text not in english.REASONS:
        return False
    return any(word.text in english.REPLACED for word in words[max(0, start - 1 - _REPLACED_REACH) : start - 1])


def _well_again(words: Sequence[Word]) -> bool:
    for at, word in enumerate(words):
        if word.text in english.NOW_WORDS:
            near = words[max(0, at - _TAIL_REACH) : at + _TAIL_REACH + 1]
            if any(each.text in english.WELL_WORDS for each in near) and not any(each.kind == "not" for each in near):
                return True
        if word.text == "back" and any(each.text == "normal" for each in words[at : at + _TAIL_REACH]):
            return True
    return False


def lapsed(sentence: Sentence, at: int) -> bool:
    """Tell whether a denial belongs to the past (``was fine until Monday``)."""
    clause = [sentence.words[place].text for place in sentence.clause(at, soft=False)]
    return bool(english.PAST.intersection(clause)) and bool(english.LAPSED.intersection(clause) or "used" in clause)
