"""Tags of flow meters, and what is said of one that is named only for comparison (``FT-203 has no fault``).

Tags follow ISA-5.1: their first letter is the variable, F for flow.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from diagnose.language.results import Mention
from diagnose.language.sentences import Sentence

TAG = re.compile(r"\b(?!FAX)F[A-Z]{1,3}[ -]?\d{1,5}[A-Z]?\b")


def first_tag(text: str) -> str:
    """Return the tag of the meter that a report is about: the first that it names."""
    found = TAG.search(text)
    return found[0] if found else ""


def without_comparison(text: str, sentence: Sentence, mentions: Sequence[Mention], own_tag: str) -> list[Mention]:
    """Leave out what is denied in a sentence that begins with another tag and tells of no trouble."""
    opening = TAG.match(text[sentence.start : sentence.end].lstrip(" -*•0123456789.)"))
    troubled = any(each.statement and each.statement.present for each in mentions)
    if not own_tag or opening is None or opening[0] == own_tag or troubled:
        return list(mentions)
    return [each for each in mentions if each.statement is None or each.statement.present is not False]
