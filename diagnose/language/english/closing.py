"""How people say that a report is dealt with."""

from __future__ import annotations

import re

_TICKET = r"(?:ticket|case|call|report|issue|incident|request|this(?: one)?|it|#?\d{2,})"

CLOSED = re.compile(
    rf"\bclose (?:the |this |my |our )?{_TICKET}(?:\s*(?:[.,;!]|$|and\b|please\b|thanks\b|now\b|from\b))"
    rf"|\bplease close\s*(?:[.,;!]|$|and\b)"
    r"|\b(?:ticket|case|call|report|issue|incident|request)\b[^.;]{0,12}\b(?:can|may|could) be (?:closed|cancelled)\b"
    r"|^\W*(?:this )?(?:can|may|could) be closed\b|\b(?:ok|okay|fine) to close\s*(?:[.,;!]|$)"
    r"|\bno (?:further|more) action\b|\bnothing (?:is )?(?:left )?open from (?:my|our) side\b"
    r"|\bno need to come\b"
)
"""Somewhere in a sentence: the report is dealt with. *Please close the valve* is another matter."""

ALL_SAID = re.compile(
    r"(?:all |now |problem |issue |case |it(?: i|')s |that(?: i|')s )?(?:re)?solved(?: now)?[.!]*|that did it[.!]*"
    r"|(?:re)?solved,[^,]*[.!]*"
)
"""A whole sentence that says so."""

REOPENED = re.compile(
    r"\b(?:re-?open\w*|not (?:yet )?(?:re)?solved|not close|(?:was|were|been) closed|closed too|back again)\b"
    r"|\b(?:came|is) back\b"
)
"""It is there again, whatever was closed before."""
