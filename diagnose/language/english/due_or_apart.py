"""Words beside a figure by which it is no reading: what is due, or by how much something is apart."""

from __future__ import annotations

import re

_NEAR = r"(?:about|around|approx\.?|roughly|exactly|only|some|at|an?|the|up to)?"

_OUGHT = r"(?:should|ought to|supposed to|must|has to|have to)(?: now| only| then)? (?:be|read|show|have|see|give|get)"

DUE_BEFORE = re.compile(
    rf"\b(?:{_OUGHT}|expect(?:ed|ing|s)?|instead of|rather than|needs?|not|no|isn't|never|without|set (?:to|at)"
    r"|set-?point(?: of)?|want(?:ed)?|normally|than|designed for|rated(?: at| for)?|configured (?:for|as|to)|would be"
    rf"|max\.?|maximum|minimum|min\.?|every|each)\s*:?\s*{_NEAR}\s*$",
    re.IGNORECASE,
)
"""Before a figure: it is what is due (``should be 24 V``)."""

DUE_BEHIND = re.compile(
    r"\s?(?:(?:would|should|ought)\b(?! (?:to )?\w+ (?:about )?\d)"
    r"|(?:is|are) (?:required|due|expected|allowed|permitted)\b)",
    re.IGNORECASE,
)
"""Behind a figure: likewise (``7 mA would be right``), unless another figure follows that is due (``should be 90``)."""

_APART = (
    r"errors?|tolerances?|differences?|deviations?|discrepanc(?:y|ies)|offsets?|drifts?|spread|scatter|rise|increase"
    r"|decrease|drop|jumps?|steps?|shift|swings?|excess|surplus|shortfall|hysteresis|gain|loss"
)

APART_BEFORE = re.compile(
    r"(?:(?:%|\b(?:percent|half|third|quarter|tenth|out)) of"
    r"|\b(?:within|(?<!fed )(?<!supplied )(?<!powered )(?<!driven )by|plus(?: or | ?/ ?)minus|twice|double|half|times"
    rf"|(?:{_APART})(?: of| is| was|:)?)"
    rf"|[±]|\+/?-?)\s*:?\s*{_NEAR}\s*$",
    re.IGNORECASE,
)
"""Before a figure: it is by how much something is apart, or of what a share is told (``2 % of 300 l/min``)."""

APART_BEHIND = re.compile(
    r"\s?(?:too (?:high|low|much|little|big|small|long|short)|more|less|higher|lower|bigger|larger|smaller|greater"
    r"|wider|narrower|longer|shorter|thicker|thinner|deeper|warmer|hotter|colder|cooler|above|below|short of|off|away"
    r"|apart|deep|thick|missing|adrift|(?:up|down) (?:on|from)|ahead of|behind)\b(?!\s+by\b)",
    re.IGNORECASE,
)
"""Behind a figure: likewise (``ring 4 mm smaller``)."""
