"""Circumstances that turn a mention round: attempts that changed nothing, times when everything was fine."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from diagnose.language.english import all_well, experiencer, grammar, parting, temporality
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import Token

_SCOPE = 4
_MOST_SUBJECTS = 2
AnyMatch = Match[Any]


def is_failed_attempt(sentence: Sentence, following: Sentence | None, match: AnyMatch) -> bool:
    """Check whether what was done was a trial that changed nothing (``swapped A and B, no change``)."""
    if _was_turned_round_in_vain(sentence, match):
        return True
    behind = list(sentence.tokens[match.last + 1 :]) or list(following.tokens if following else ())
    tail = [token for token in behind if token.kind not in ("stop", "comma", "break", "link")][:2]
    texts = [token.text for token in tail]
    if texts[:1] == ["same"] or texts == ["still", "same"]:
        return len(behind) <= _SCOPE
    return len(tail) == len(("no", "change")) and tail[0].kind == "not" and texts[1] in all_well.EFFECT_WORDS


def _was_turned_round_in_vain(sentence: Sentence, match: AnyMatch) -> bool:
    """Check whether people exchanged two with each other in vain (``we swapped them and it still does``)."""
    clause = sentence.clause(match.first)
    before = [sentence.tokens[at].text for at in range(clause.start, match.first + 1)]
    turned = sentence.tokens[match.first].stem in parting.TURNED_STEMS
    somebody = not experiencer.PERSONS_SPEAKING.isdisjoint(before)
    behind = [token.text for token in sentence.tokens[match.last + 1 : match.last + 1 + _SCOPE]]
    return turned and somebody and "still" in behind


def is_fine_then(sentence: Sentence, match: AnyMatch) -> bool:
    """Check whether all was well at the time mentioned (``in summer no problem``, ``fine after cleaning``)."""
    tokens = sentence.tokens
    before = [
        token for token in tokens[max(0, match.first - 2) : match.first] if token.text not in ("the", "a", "every")
    ]
    opening = [tokens[match.first], *before[-1:]]
    if not any(token.text in temporality.TIME_PREPOSITIONS for token in opening):
        return False
    clause = sentence.clause(match.first)
    before_match = tokens[clause.start : match.first]
    if any(token.text in ("only", "still", "not") for token in (*before_match[-2:], tokens[match.first])):
        return False
    return _says_ok(tokens[match.last + 1 :]) or _it_was_ok(tokens[match.last + 1 :]) or _says_only_ok(before_match)


def tells_how_long_somebody_acted(sentence: Sentence, match: AnyMatch) -> bool:
    """Check whether a time is that of what a person did (``I have bridged it for five minutes``), not of a fault."""
    clause = sentence.clause(match.first)
    words = [sentence.tokens[at].text for at in range(clause.start, match.first)]
    words = [word for word in words if word not in ("and", "so", "then")]
    if words[:1] == [] or words[0] not in experiencer.PERSONS_SPEAKING:
        return False
    verb = next((word for word in words[1:] if word not in ("have", "has", "had", "just", "even")), "")
    return verb.endswith("ed") and verb not in temporality.PERCEIVED


def _says_ok(tokens: Sequence[Token]) -> bool:
    """Check whether tokens begin with the likes of ``it is ok``, ``both agree`` or ``no problem``."""
    other_words = 0
    for at, token in enumerate(tokens[: 2 * _SCOPE]):
        if token.kind == "not":
            return at + 1 < len(tokens) and tokens[at + 1].text in all_well.TROUBLE_NOUNS
        if token.text in all_well.OK_WORDS - all_well.OK_CHECKS and not other_words:
            return True
        if token.stem in all_well.AGREEMENT_STEMS and other_words <= _MOST_SUBJECTS:
            return True
        if _all_comes_back(tokens[at : at + 3]) and not other_words:
            return True
        if token.kind == "break" or (token.kind == "comma" and other_words):
            return False
        other_words += token.kind == "word"
        if other_words > _MOST_SUBJECTS:
            return False
    return False


def _it_was_ok(tokens: Sequence[Token]) -> bool:
    """Check for *it was ok* further behind, before anything else is told (``after the flush with two pumps it is ok``).

    Only a word like *all* or the name of the meter says of what it is told.
    """
    for at, token in enumerate(tokens[: 2 * _SCOPE]):
        if token.kind in ("break", "not"):
            return False
        ok = token.text in all_well.OK_WORDS - all_well.OK_CHECKS
        if ok and at > 1 and tokens[at - 1].text in grammar.COPULA | {"worked", "ran"}:
            return tokens[at - 2].text in all_well.WHOLE | experiencer.OWN_NAMES
    return False


def is_time_of_a_check(sentence: Sentence, match: AnyMatch) -> bool:
    """Check whether a time is that of what somebody measured (``repeated no. 5 after the rinse``), not of a fault."""
    tokens = sentence.tokens
    clause = sentence.clause(match.first)
    before = tokens[clause.start : match.first + 1]
    timed = any(token.text in temporality.TIME_PREPOSITIONS | {"before"} for token in before[-2:])
    first = next((token for token in before if token.kind == "word" or token.text in all_well.OK_CHECKS), None)
    return timed and first is not None and first.stem in parting.CHECK_STEMS


def _all_comes_back(tokens: Sequence[Token]) -> bool:
    texts = [token.text for token in tokens]
    return texts[:1] in (["all"], ["everything"]) and texts[1:] in (["comes", "back"], ["came", "back"])


def is_trial(sentence: Sentence, match: AnyMatch) -> bool:
    """Check whether a part may have been changed only for a trial (``swapped it with a spare from the store``)."""
    tokens = sentence.tokens
    if not any(tokens[at].stem in parting.SWAP_STEMS for at in match.positions):
        return False
    clause = sentence.clause(match.last)
    near = [tokens[at].text for at in range(match.first, max(clause.stop, match.last + 1)) if at not in match.positions]
    whole = {token.text for token in tokens}
    return not parting.TRIED_PARTS.isdisjoint(near) and parting.FOR_GOOD.isdisjoint(whole)


def _says_only_ok(tokens: Sequence[Token]) -> bool:
    content = [token for token in tokens if token.kind not in ("stop", "light", "link")]
    own = [token for token in content if token.text not in experiencer.OWN_NAMES]
    return len(content) in (1, 2) and _says_ok(own)
