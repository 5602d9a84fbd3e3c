"""Questions that a report asks, and answers in the sentence behind them."""

from __future__ import annotations

from diagnose.language.english import speculation
from diagnose.language.sentences import Sentence


def asks_why_not(sentence: Sentence) -> bool:
    """Check whether a sentence asks why something that was due did not come (``why didn't we get an alarm``)."""
    opening = [token.text for token in sentence.tokens[:1]]
    return opening == ["why"] and any(token.kind == "not" for token in sentence.tokens[1:3])


def answer_in(following: Sentence | None) -> bool | None:
    """Return the answer, yes or no, in the sentence after a question, or None if it is not an answer."""
    if following is None:
        return None
    said = [token for token in following.tokens if token.text != ":"]
    if said[0].text in speculation.ANSWER_MARKS:
        said = said[1:]
    if not said or (len(said) > 1 and said[1].kind not in ("comma", "break")):
        return None
    first = said[0].text
    return True if first in speculation.YES_WORDS else False if first in speculation.NO_WORDS else None
