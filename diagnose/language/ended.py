"""When something was: over by now, long ago, or only said of the past.

Temporality in the manner of ConText (Harkema et al. 2009, from memory): what ``was`` so and is ``ok now``, has
``cleared`` or is ``gone``, is not present; what ``was fine until Monday`` is not absent.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from diagnose.language.english import all_well, grammar, negation, temporality
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import Token

_REPLACEMENT_SCOPE = 8
_TAIL_SCOPE = 3
_YEAR = re.compile(r"(?:19|20)\d\d")
AnyMatch = Match[Any]


def has_ended(sentence: Sentence, following: Sentence | None, match: AnyMatch, danger: bool = False) -> bool:
    """Check whether what was stated is over by now (``was dark last week, now fine``, ``alarm cleared``).

    A danger is not over because something was done next (``there was smoke, opened the lid``).
    """
    tokens = sentence.tokens
    clause = sentence.clause(match.last)
    tail = tokens[match.last + 1 : min(clause.stop, match.last + 1 + _TAIL_SCOPE)]
    for at, token in enumerate(tail):
        if token.kind == "not":
            break
        if token.text in temporality.RESOLUTION_WORDS or (token.text == "away" and at and tail[at - 1].stem == "go"):
            return True
    if _is_gone(tokens[match.last + 1 : clause.stop]):
        return True
    if not danger and following is not None and clause.stop >= len(tokens) and _says_that_it_is_over(following.tokens):
        return True
    start = sentence.clause(match.first).start
    # What is so `now` (`it was going down, and now it shows zero`) is not over, whatever was before.
    now = [at for at in range(start, match.first) if tokens[at].text == "now"]
    if not any(token.text in temporality.PAST_VERBS for token in tokens[now[-1] if now else start : match.last]):
        return False
    if _is_reason_for_replacement(tokens, start) or _was_put_right(sentence, clause):
        return True
    if not danger and _was_worked_on_since(sentence, following, clause):
        return True
    if _is_turned_round(sentence, match, clause):
        return True
    if any((a.text, b.text) == ("used", "to") for a, b in pairwise(tokens[start : match.first])):
        return True
    later = [tokens[match.last + 1 :], following.tokens if following else ()]
    return any(_is_resolved(part) for part in later)


def _is_gone(tail: Sequence[Token]) -> bool:
    """Check whether the rest of a clause says that it is gone (``the jumping at the feed has gone``)."""
    for token, following in pairwise(tail):
        if token.kind in ("link", "not") or token.text in grammar.WHEN_LINKS:
            return False
        if token.text in temporality.BEFORE_GONE and following.text in temporality.GONE_WORDS:
            return True
    return False


def _says_that_it_is_over(tokens: Sequence[Token]) -> bool:
    """Check whether a sentence says of the one before that it is over, and no more (``That is fixed now``)."""
    said = [token.text for token in tokens if token.kind not in ("comma", "break")]
    named = [word for word in said[1:] if word not in grammar.COPULA | temporality.SINCE_PUT_RIGHT]
    return said[:1] in (["that"], ["this"], ["it"]) and len(named) == 1 and named[0] in temporality.RESOLUTION_WORDS


def _was_worked_on_since(sentence: Sentence, following: Sentence | None, clause: range) -> bool:
    """Check whether what comes next begins with what was done, and nothing says that it is there still.

    ``the range was wrong, corrected by us``, ``the strainer was full. Cleaned.``
    """
    own = sentence.tokens[clause.stop :]
    next_ones = following.tokens if following else ()
    later, opening = (own, own[1:2]) if own else (next_ones, next_ones[:1])
    if any(token.kind == "not" or token.text in temporality.STILL_THERE for token in (*own, *later)):
        return False
    again = any(token.text == "again" for token in next_ones)
    return not again and any(token.text in temporality.PUT_RIGHT for token in opening)


def _is_turned_round(sentence: Sentence, match: AnyMatch, clause: range) -> bool:
    """Check whether the next clause says that the opposite is so now (``the gland was open, closed now``)."""
    if clause.stop + 1 >= len(sentence.tokens):
        return False
    behind = [sentence.tokens[at] for at in sentence.clause(clause.stop + 1)]
    opposites = {negation.ANTONYMS.get(sentence.tokens[at].stem) for at in match.positions}
    now = any(token.text in temporality.NOW_WORDS for token in behind)
    return now and any(token.stem in opposites for token in behind)


def _was_put_right(sentence: Sentence, clause: range) -> bool:
    """Check whether the next clause says only that it was put right (``had a leak in 2019, was repaired``)."""
    tokens = sentence.tokens
    if clause.stop + 1 >= len(tokens):
        return False
    behind = [tokens[at] for at in sentence.clause(clause.stop + 1)]
    named = [token for token in behind if token.kind == "word" and not _YEAR.fullmatch(token.text)]
    named = [token for token in named if token.text not in temporality.LONG_UNITS | {"last", "ago", "then"}]
    return bool(named) and all(token.text in temporality.RESOLUTION_WORDS for token in named)


def happened_long_ago(sentence: Sentence, match: AnyMatch, weeks: bool = True) -> bool:
    """Check whether it was long ago (``last winter``, ``in 2019``, ``was last week``) and not said to last since.

    With ``weeks`` what ``was`` some weeks ago is over as well: enough for a danger, which would be told of now.
    """
    clause = sentence.clause(match.first)
    own = sentence.tokens[clause.start : max(clause.stop, match.last + 1)]
    if any(token.text in temporality.LASTING_WORDS or token.text == "now" for token in own):
        return False
    was = any(token.text in temporality.PAST_VERBS for token in own)
    units = temporality.LONG_UNITS | temporality.WEEKS if was and weeks else temporality.LONG_UNITS
    return any(
        (token.text == "last" and following.text in units)
        or (token.text in units and following.text == "ago")
        or (token.text == "in" and _YEAR.fullmatch(following.text) is not None)
        or (was and token.text == "in" and following.text in temporality.LONG_UNITS)
        for token, following in pairwise(own)
    )


def was_another_time(sentence: Sentence, match: AnyMatch) -> bool:
    """Check whether it is told of an earlier case (``last time we had this they pulled the sensor out``)."""
    clause = sentence.clause(match.first, soft=False)
    before = [sentence.tokens[at] for at in range(clause.start, match.first)]
    return any((a.text, b.text) in temporality.EARLIER_CASES for a, b in pairwise(before))


def was_measured_before(sentence: Sentence, match: AnyMatch) -> bool:
    """Check whether a figure is of some time ago, and says nothing of now (``was OL last year``, ``a week ago``)."""
    own = [sentence.tokens[at] for at in sentence.clause(match.first)]
    before = [sentence.tokens[at] for at in range(sentence.clause(match.first).start, match.first)]
    used_to = any((a.text, b.text) == ("used", "to") for a, b in pairwise(before))
    ago = used_to or any(a.text in temporality.DAYS_AND_MORE and b.text == "ago" for a, b in pairwise(own))
    lasting = any(token.text in temporality.LASTING_WORDS for token in own)
    return (ago and not lasting) or happened_long_ago(sentence, match)


def _is_reason_for_replacement(tokens: Sequence[Token], start: int) -> bool:
    """Check whether a clause gives the reason for a replacement (``sensor replaced (liner was torn)``)."""
    if not start or tokens[start - 1].text not in temporality.REASON_WORDS:
        return False
    before = tokens[max(0, start - 1 - _REPLACEMENT_SCOPE) : start - 1]
    return any(token.text in temporality.REPLACEMENT_VERBS for token in before)


def _is_resolved(tokens: Sequence[Token]) -> bool:
    for at, token in enumerate(tokens):
        if token.text in temporality.NOW_WORDS:
            near = tokens[max(0, at - _TAIL_SCOPE) : at + _TAIL_SCOPE + 1]
            if any(each.text in all_well.WELL_WORDS for each in near) and not any(each.kind == "not" for each in near):
                return True
        if token.text == "back" and any(each.text == "normal" for each in tokens[at : at + _TAIL_SCOPE]):
            return True
    return False


def is_historical(sentence: Sentence, at: int) -> bool:
    """Check whether a denial is about the past (``was fine until Monday``)."""
    clause = [sentence.tokens[place].text for place in sentence.clause(at, soft=False)]
    return bool(temporality.PAST_VERBS.intersection(clause)) and bool(
        temporality.HISTORICAL_WORDS.intersection(clause) or "used" in clause
    )
