"""Numbers with units in a text, as distinct from dates, tags, serial numbers and telephone numbers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from diagnose.language.english import due_or_apart
from diagnose.rule_book.readings import ABOVE, BELOW
from diagnose.units import NUMBER, is_unit, read_number

Direction = Literal["", "above", "below"]
Kind = Literal["exact", "range", "limit", "expected", "difference", "ambiguous", "unknown unit"]

_NOT_FIGURES = re.compile(
    r"\b\d{1,4}[-/.]\d{1,2}[-/.]\d{2,4}\b(?![-/.]?\d)"  # dates
    r"|\b\d{1,2}:\d{2}(?::\d{2})?\b(?:\s?(?:am|pm|h|hrs?)\b)?|\b\d{1,2}\s?(?:am|pm|o'clock)\b"  # times
    r"|\b(?:serial(?: (?:number|no\.?))?|s/n|sn|p/n|tag(?: (?:number|no\.?))?|order|part|ticket|ref(?:erence no)?\.?"
    r"|tel|phone|fax|mobile|version|ver|firmware|revision|rev|po|asset)\b\.?\s?[:#]?\s?(?=[\w/+-]*\d)[\w/+.-]+"
    r"(?:[ -]\d{2,}[\w-]*)*"
    r"|\+\d[\d ()/-]{6,}\d|\b0\d{2,4}[ /-]\d{3,}[\d -]*\b",  # telephone numbers
    re.IGNORECASE,
)
_BEFORE = r"(?<![\w#^/])(?<!\w[-–−])(?<!\d[.,])(?<!\d [-–−])(?<!\d\.\.)(?<!\d\.\.\.)(?<!\d…)"
_SINGLE = re.compile(rf"{_BEFORE}(?P<number>{NUMBER})(?!\d)")
_RANGE = re.compile(
    rf"{_BEFORE}(?P<low>{NUMBER})(?P<unit>\s?[A-Za-zµ°Ω/%³0-9]{{1,6}}?)??"
    rf"(?P<link>\s?(?:[-–—−]|\.{{2,3}}|…|/|~)\s?|\s(?:to|till|until|and|or|through|down to|up to)\s)"
    rf"(?P<high>{NUMBER})(?!\d)"
)
_BETWEEN = re.compile(r"\b(?:between|from)\s+(?:about\s+)?$", re.IGNORECASE)
_UNIT_BEHIND = re.compile(r"\s?(?P<words>[^\W\d_°%\"][\w°%\"³²./^*·]*(?: ?/ ?[\w³²]+| [\w./³²]+){0,3}|[°%\"][\w]*)")
_LIMIT = re.compile(
    rf"(?<![a-z])(?:(?P<above>{ABOVE}|exceed\w*)|(?P<below>{BELOW})|(?:up to|from|starting (?:at|from)))"
    r"\s*(?:(?:of|say|about|around|roughly|some|approx\.?)\s+)?$",
    re.IGNORECASE,
)
_OVER_RANGE = re.compile(r"(?<![\w./-])(?:O\.L\b\.?|OL|0\.L\b\.?|O/L|OVLD|OFL|[Ii]nfinite|[Ii]nfinity)(?![\w/-]|\.\w)")
"""What stands for a reading over range in a report; the rest of what instruments show has other meanings there."""
_CHANGE = re.compile(
    r"\b(?:chang|rais|increas|lower|reduc|decreas|adjust|shorten|lengthen)\w*\b[^.,;!?]*$", re.IGNORECASE
)
"""Before ``from 1 s to 5 s``: a setting was changed, so the second figure is the present one."""

_MINUS = re.compile(r"(?<!plus or )(?<!plus/)(?<!plus / )\b(?:minus|negative)\s+$", re.IGNORECASE)
_CONTEXT = 32
_LONGEST_NUMBER = 24
_AMBIGUOUS_UNITS = frozenset({"a", "in", "d", "r", "c", "bytes", "h"})


@dataclass(frozen=True)
class FigureInText:
    """A number with its unit, as written in a text.

    For a range, ``number`` is the upper end and ``low`` the lower; ``in_words`` marks one spelt out (``from 3 to 4
    mA``), ``swings`` what goes to and fro (``between 3 and 4 mA``), ``is_change`` a setting that was changed (``changed
    from 3 to 4 s``). ``lead`` is where the words begin that give the kind of figure (``should be 24 V``); a
    ``difference`` is by how much something is apart.
    """

    kind: Kind
    start: int
    end: int
    text: str
    number: float
    unit: str
    low: float | None = None
    in_words: bool = False
    lead: int = 0
    is_change: bool = False
    direction: Direction = ""
    signed: bool = False
    swings: bool = False
    over_range: bool = False


def figures(text: str) -> list[FigureInText]:
    """Return the numbers with units in a cleaned text, in order.

    >>> [(each.kind, each.number, each.unit) for each in figures("FT-101 of 3.2.2024: 0,0036 A, 4-20 mA, 38 m3/h")]
    [('exact', 0.0036, 'A'), ('range', 20.0, 'mA'), ('exact', 38.0, 'm3/h')]
    >>> [(each.kind, each.number, each.unit) for each in figures("DN100, should be 24 V, 1,250 m3/h, minus 5 flurbs")]
    [('expected', 24.0, 'V'), ('ambiguous', 0.0, 'm3/h'), ('unknown unit', -5.0, 'flurbs')]
    """
    text = _NOT_FIGURES.sub(lambda match: "_" * len(match[0]), text)
    ranges = list(_ranges(text))
    remaining_ranges = iter([*ranges, None])
    current = next(remaining_ranges)
    found: list[FigureInText] = []
    for match in _SINGLE.finditer(text):
        while current is not None and current.end <= match.start():
            found.append(current)
            current = next(remaining_ranges)
        if current is not None and current.start <= match.start():
            continue
        figure = _figure(text, match)
        if figure is not None:
            found.append(figure)
    found += [] if current is None else [current, *(each for each in remaining_ranges if each is not None)]
    return sorted([*found, *_over_range(text)], key=lambda each: each.start)


def _over_range(text: str) -> Iterator[FigureInText]:
    for match in _OVER_RANGE.finditer(text):
        yield over_range(match.start(), match.end(), match[0])


def over_range(start: int, end: int, text: str) -> FigureInText:
    """Return what instruments show over their range (``OL``), wherever it stands in a text."""
    return FigureInText(
        "limit", start, end, text, 0.0, "ohm", lead=start, direction="above", signed=True, over_range=True
    )


def _ranges(text: str) -> Iterator[FigureInText]:
    for match in _RANGE.finditer(text):
        before = text[max(0, match.start() - _CONTEXT) : match.start()]
        between = _BETWEEN.search(before)
        if "and" in match["link"] and not between:
            continue
        if match["unit"] and not is_unit(match["unit"]):
            continue
        low, high = read_number(match["low"]), read_number(match["high"])
        unit, end = _unit(text, match.end())
        if low is None or high is None or not unit:
            continue
        in_words = between is not None or match["link"].strip().isalpha()
        swings = between is not None and between[0].lower().startswith("between")
        is_change = match["link"].strip() == "to" and bool(_CHANGE.search(before))
        yield FigureInText(
            "range",
            match.start(),
            end,
            text[match.start() : end],
            high,
            unit,
            low,
            in_words,
            is_change=is_change,
            swings=swings,
        )


def _figure(text: str, match: re.Match[str]) -> FigureInText | None:
    raw = match["number"]
    if len(raw) > _LONGEST_NUMBER:
        return None
    start = match.start()
    before = text[max(0, start - _CONTEXT) : start]
    number = read_number(raw)
    unit, end = _unit(text, match.end())
    minus = _MINUS.search(before)
    if minus and number is not None:
        number, start, before = -number, start - len(minus[0]), before[: minus.start()]
    if not unit:
        return _of_unknown_unit(text, start, match.end(), number)
    kind, lead = _kind(before)
    direction = _direction(before) if kind == "limit" else ""
    signed = not before[lead : lead + 1].isalpha()
    if kind in ("exact", "expected") and due_or_apart.APART_BEHIND.match(text, end):
        kind = "difference"
    elif kind == "exact" and due_or_apart.DUE_BEHIND.match(text, end):
        kind = "expected"
    if number is None:
        kind, number = "ambiguous", 0.0
    lead += start - len(before)
    return FigureInText(kind, start, end, text[start:end], number, unit, lead=lead, direction=direction, signed=signed)


def _kind(before: str) -> tuple[Kind, int]:
    """Return the kind of figure that follows, and where the words for that kind begin."""
    limit = _LIMIT.search(before)
    if limit:
        return "limit", limit.start()
    apart = due_or_apart.APART_BEFORE.search(before)
    if apart:
        return "difference", apart.start()
    expected = due_or_apart.DUE_BEFORE.search(before)
    return ("expected", expected.start()) if expected else ("exact", len(before))


def _direction(before: str) -> Direction:
    limit = _LIMIT.search(before)
    if limit is None or not (limit["above"] or limit["below"]):
        return ""
    return "above" if limit["above"] else "below"


def _unit(text: str, at: int) -> tuple[str, int]:
    """Return the longest readable unit at a position, and where it ends."""
    match = _UNIT_BEHIND.match(text, at, at + _CONTEXT)
    if match is None or not match["words"]:
        return "", at
    spaced = match.start("words") > at
    words = re.split(r"( )", match["words"] if match["words"][0] == '"' else match["words"].partition('"')[0])
    while words:
        candidate = "".join(words).rstrip(" .,;:!?*/·^")
        if candidate and is_unit(candidate) and not (spaced and candidate in _AMBIGUOUS_UNITS):
            return candidate, match.start("words") + len("".join(words).rstrip(" ,;:!?*/·^").rstrip("."))
        words.pop()
    return "", at


def _of_unknown_unit(text: str, start: int, at: int, number: float | None) -> FigureInText | None:
    match = re.compile(r" ?([^\W\d_]{3,20})\b").match(text, at)
    if match is None or number is None:
        return None
    return FigureInText("unknown unit", start, match.end(), text[start : match.end()], number, match[1])
