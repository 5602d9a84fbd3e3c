"""Greetings, signatures, headers and tags: what a report holds and does not say."""

from __future__ import annotations

import re

from diagnose.language.english.lists import words

GREETING = re.compile(
    r"(?:hi|hello|hey|dear|good (?:morning|afternoon|evening|day)|greetings)\b"
    r"(?P<name>[^,.!?:;]{0,40})(?P<end>[,.!:]|$)\s*",
    re.IGNORECASE,
)

CLOSING = re.compile(
    r"(?:(?:many )?thanks (?:and|&) )?(?:(?:with )?(?:kind|best|warm|many)? ?regards|sincerely|yours|br|rgds|cheers)"
    r"\b[^.!?]{0,30}[,.!]*",
    re.IGNORECASE,
)

THANKS = re.compile(r"(?:(?:many |kind )?thanks|thank you|thx)\b[^.!?]{0,30}[,.!]*", re.IGNORECASE)

COURTESIES = words("""
    regards thanks thank thx cheers greetings sincerely yours rgds br please kind best warm sir madam team all morning
    evening afternoon good dear hello hi hey appreciated welcome
""")
"""Courtesies: alone they say nothing about a meter."""

TAG = re.compile(r"(?:tag|item|meter|loop)?[ :.]*[A-Za-z]{1,5}[ -]?\d{1,6}[A-Za-z]?", re.IGNORECASE)
"""A tag number, as plants give them: it names a meter and says nothing about it."""

HEADER = re.compile(
    r"(?:from|to|cc|bcc|sent|date|received|reply-to|attachments?|importance|priority|tel|phone|fax|mobile|e-?mail|web"
    r"|message-id|content-type|mime-version|time|reported by|requester|caller|ticket(?: (?:no|number|id))?)\.?\s*:.*"
    r"|.*\bwrote:|-+\s*original message\s*-+|sent from my .*|begin forwarded message:?|--+",
    re.IGNORECASE,
)

LABEL = re.compile(r"(?:(?:subject|re|fw|fwd|aw|wg)\s*:\s*)+|[-*•·]+\s+|\d{1,2}[.)]\s+", re.IGNORECASE)
"""Removed from the start of a line: subject labels and list marks."""
