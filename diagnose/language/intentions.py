"""What is wanted, planned, ordered or still to come: no fact (``wants a new one``, ``before we drain it``)."""

from __future__ import annotations

from typing import Any

from diagnose.language.english import grammar, intention, temporality
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence


def is_intended(sentence: Sentence, match: Match[Any]) -> bool:
    """Check whether a mention is only wanted, planned or still to come."""
    tokens = sentence.tokens
    for at in range(sentence.clause(match.first).start, match.first):
        text, behind = tokens[at].text, [token.text for token in tokens[at + 1 : at + 3]]
        wished = text in intention.WISHES or (text, behind[0]) in intention.WISH_PAIRS
        if wished and not (behind[0] == "to" and intention.TELLING.intersection(behind[1:])):
            return True
        if text == "to" and behind[:1] in intention.BRINGING_ABOUT and behind[1:] in intention.BROUGHT_ABOUT:
            return True
        if text == "before" and behind[0] in intention.YET_TO_COME and not _is_past(behind[1:]):
            return True
    return False


def _is_past(behind: list[str]) -> bool:
    verb = behind[0] if behind else ""
    return verb.endswith("ed") or verb in temporality.PAST_VERBS


def is_ordered(sentence: Sentence, match: Match[Any]) -> bool:
    """Check whether all of a mention stands in an order, before what came of it (``Stop dosing: calm``)."""
    tokens = sentence.tokens
    clause = sentence.clause(match.first)
    opening = tokens[clause.start]
    if opening.text not in intention.ORDERS or len(clause) < len(("stop", "it")):
        return False
    done_to = tokens[clause.start + 1].text
    ordered = done_to in grammar.DETERMINERS or done_to.endswith("ing") or opening.text == "please"
    colon = next((at for at in clause if tokens[at].text == ":"), clause.stop)
    return ordered and match.last < colon
