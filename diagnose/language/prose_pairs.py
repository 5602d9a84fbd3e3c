"""Pairs of readings told in a running text (``display 10, SCADA 13; 40 and 43``): as good as a table.

The first pair names both sides; further ones may leave the names out and keep the order. What a number is of is plain
only shortly behind a name; one with the unit of something else, or inside a code, is no reading.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from diagnose.language.english import around_figures, speculation
from diagnose.language.lexicon import Lexicon
from diagnose.language.tokens import stem
from diagnose.units import is_unit, read_number, spelling, unit_info

FEWEST = 2
"""Pairs that are worth comparing."""

_NUMBER = re.compile(
    r"(?<![\w.,:/#°-])(?P<number>[-+]?\d+(?:[.,]\d+)?)(?![\w]|[.,:]\d|-\w)(?:\s?(?P<unit>%|(?:m[3³]|[A-Za-zµ]+)(?:/[A-Za-z]+)?)(?![\w/]))?"
)
_MOST_BETWEEN = 3
"""Words between a name and its number (``the screen then said 12``)."""

_MOST_LETTERS_BETWEEN = 500
"""Characters between a name and its number, or from one pair to the next: with more, spaces too, nothing is near."""

_SENTENCE_ENDS = re.compile(r"[.!?]+(?=\s|$)|\n")
_ENDS = re.compile(r"[.;!?\n]")
_JOINS = re.compile(r"\s*(?:and|for|to|vs\.?|versus|against|instead of|where|when|with|/|->|→|=>|=|:|-|–|,)?\s*", re.I)
_UNIT = r"%|(?:m[3³]|[A-Za-zµ]+)(?:/[A-Za-z]+)?"
_BETWEEN_NAMES = re.compile(r"\s*(?:vs\.?|versus|against|and|/|->|→|=>|,)\s*", re.I)
_BEGINS = re.compile(rf"\s?[\[(]?(?:in )?(?P<unit>{_UNIT})?[\])]?\s?[:=]")
"""What stands behind the names of both sides where their readings follow."""
_AT_PLACE = re.compile(r"\s*(?:at|on|by|from)\s+(?:(?:the|our|a)\s+)?", re.I)
"""What stands between a reading and its name behind it: `10.4 at the tank`."""

_PAIR = (
    rf"(?<![\w.,:/#°-])(?P<one>[-+]?\d+(?:[.,]\d+)?)(?: ?(?P<unit>{_UNIT}))?MARK"
    rf"(?P<other>[-+]?\d+(?:[.,]\d+)?)(?![\w]|[.,:/]\d|-\w)(?: ?(?P<other_unit>{_UNIT})(?![\w/]))?"
)
_MARKED_PAIR = re.compile(_PAIR.replace("MARK", r" ?(?:vs\.?|versus|against|/|->|→|=>) ?"), re.I)
_SPACED_PAIR = re.compile(rf"\s*{_PAIR.replace('MARK', ' ')}(?=\s*(?:[;\n]|\.?(?:\s|$)))", re.I)
"""A pair with nothing between its readings, parted from the next one by a semicolon or the end of a line."""

_ANY_PAIR = re.compile(_PAIR.replace("MARK", r"(?: ?(?:vs\.?|versus|against|/|->|→|=>) ?| )"), re.I)

_GOES_ON = re.compile(
    r"\s*[,;]?\s*(?:and\s+)?at\s+(?P<one>[-+]?\d+(?:[.,]\d+)?)\s+(?:it|this|that)\s+(?:says|shows|reads|gives|is)\s+"
    r"(?P<other>[-+]?\d+(?:[.,]\d+)?)(?![\w]|[.,:/]\d|-\w)",
    re.I,
)
"""How a further pair follows without names (``at display 45 the PLC says 31, at 90 it says 63``)."""

_MOST_WORDS_ON = 2
"""Words from one pair to the next without names (``and at last``); with more the text speaks of something else."""


class ProsePairs(NamedTuple):
    """Readings side by side: the quantities of both columns, the pairs, their unit if one was told, and as written.

    The digits as they were written tell how finely an instrument was read. ``start`` and ``end`` are where they stand,
    ``largest`` is where the largest does: of several it says most of how both stand.
    """

    first: str
    second: str
    pairs: tuple[tuple[float, float], ...]
    unit: str
    written: tuple[tuple[str, str], ...] = ()
    start: int = 0
    end: int = 0
    largest: tuple[int, int] = (0, 0)


class _Figure(NamedTuple):
    quantity: str
    value: float
    unit: str
    start: int
    end: int
    written: str
    name: int
    """Where its name begins, or the figure itself without one."""


def pairs_in_prose(text: str, lexicon: Lexicon) -> ProsePairs | None:
    """Return the pairs of readings that a text tells, or None where it tells fewer than two."""
    sides = _sides(lexicon)
    if not sides:
        return None
    figures = list(_figures(text, sides, lexicon))
    pairs: list[tuple[_Figure, _Figure]] = []
    at = 0
    while at < len(figures) - 1:
        one, other = figures[at], figures[at + 1]
        if _is_pair(text, lexicon, pairs, one, other):
            pairs.append((one, other))
            at += 2
        else:
            at += 1
    if pairs:
        pairs += _going_on(text, pairs[-1])
    if len(pairs) < FEWEST:
        return _below_names(text, sides, lexicon)
    first, second = pairs[0][0].quantity, pairs[0][1].quantity
    units = {spelling(each.unit): each.unit for pair in pairs for each in pair if each.unit}
    if len(units) > 1:
        return None
    largest = max(pairs, key=lambda pair: max(abs(each.value) for each in pair))
    ordered = [(other, one) if other.quantity == first else (one, other) for one, other in pairs]
    return ProsePairs(
        first,
        second,
        tuple((one.value, other.value) for one, other in ordered),
        next(iter(units.values()), ""),
        tuple((_plain(one.written), _plain(other.written)) for one, other in ordered),
        min(each.name for each in pairs[0]),
        max(each.end for each in pairs[-1]),
        (min(each.name for each in largest), max(each.end for each in largest)),
    )


def one_pair(sentence: str, lexicon: Lexicon) -> tuple[_Figure, ...]:
    """Return the two readings of a sentence that a word holds beside each other, or none.

    Without such a word, a figure behind a name may be part of it (`tank 4`).
    """
    if not _SAID_BETWEEN.search(sentence):
        return ()
    sides = _sides(lexicon)
    figures = list(_figures(sentence, sides, lexicon)) if sides else []
    if len(figures) != 2 or not all(each.quantity for each in figures):
        return ()
    one, other = figures
    held = _SAID_BETWEEN.search(sentence[one.end : other.start])
    return (one, other) if held and _are_compared(lexicon, one.quantity, other.quantity) else ()


def unnamed_pairs(text: str) -> tuple[int, int] | None:
    """Return where pairs of readings stand of which nobody says which is the reference, or None.

    They are two or more, or all that is said; figures that cannot be two readings of one flow are something else.

    >>> text = "reads different from the tank: 10 10.59; 20 21.2"
    >>> text[slice(*unnamed_pairs(text))], unnamed_pairs("pumps 1/2, 3/4 on 10/12")
    ('10 10.59; 20 21.2', None)
    """
    found: list[re.Match[str]] = []
    for match in _ANY_PAIR.finditer(text):
        if not _are_readings(match, text[match.end() : match.end() + 2]):
            continue
        if found and not _JOINS_PAIRS.fullmatch(text[found[-1].end() : match.start()]):
            if len(found) >= FEWEST:
                break
            found = []
        found.append(match)
    if len(found) < FEWEST and not (found and text.strip(" .") == found[0][0].strip()):
        return None
    begin = found[0].start("one")
    return begin, found[-1].end()


def which_is_the_reference(pairs: str) -> str:
    """Return the question that pairs of readings raise which nobody named."""
    shown = " ".join(pairs.split())
    shown = shown if len(shown) <= _MOST_SHOWN else f"{shown[:_MOST_SHOWN]}…"
    return (
        f"which is the reference in `{shown}`, and which the meter? write `reference / meter: {shown}` or "
        f"`meter / reference: {shown}`"
    )


def _are_readings(pair: re.Match[str], behind: str) -> bool:
    """Check whether two figures can be readings of one flow: near each other, and written as readings are."""
    has_mark = _MARK.search(pair[0]) is not None
    if not has_mark and behind.strip(" .")[:1] not in ("", ";", "\n"):
        return False
    one, other = (read_number(pair[name]) for name in ("one", "other"))
    if not one or not other or not 1 / _MOST_APART < one / other < _MOST_APART:
        return False
    units = [unit for unit in pair.group("unit", "other_unit") if unit and not _SAID_BETWEEN.fullmatch(unit)]
    if any(not is_unit(each) or unit_info(each).dimension != _FLOW for each in units):
        return False
    return bool(units) or any(mark in pair[0] for mark in ".,") or _SAID_BETWEEN.search(pair[0]) is not None


_MOST_APART = 3.0
_MOST_SHOWN = 60
_FLOW = unit_info("m3/h").dimension


def _going_on(text: str, pair: tuple[_Figure, _Figure]) -> list[tuple[_Figure, _Figure]]:
    """Return the pairs that follow one in its own order, without names."""
    found: list[tuple[_Figure, _Figure]] = []
    match = _GOES_ON.match(text, max(each.end for each in pair))
    while match:
        one, other = (
            each._replace(
                value=float(_plain(match[group])),
                written=match[group],
                name=match.start(group),
                start=match.start(group),
                end=match.end(group),
            )
            for each, group in zip(pair, ("one", "other"), strict=True)
        )
        found.append((one, other))
        match = _GOES_ON.match(text, match.end())
    return found


_MARK = re.compile(r"(?:vs\.?|versus|against|/|->|→|=>)(?!h|s|min|d)", re.I)
_SAID_BETWEEN = re.compile(r"\b(?:vs|versus|against|instead of|compared (?:to|with))\b|[-=]>|→", re.I)
_JOINS_PAIRS = re.compile(r"\s*(?:[;,\n]|and)\s*(?:and\s+)?", re.I)


def _plain(written: str) -> str:
    """Return a figure with a decimal point, its digits as they were."""
    return written.replace(",", ".")


def _below_names(text: str, sides: re.Pattern[str], lexicon: Lexicon) -> ProsePairs | None:
    """Return pairs below the names of both sides: `tank vs meter: 10 vs 10.4, 20 vs 20.8 m3/h`."""
    names, told_in = list(sides.finditer(text)), _Sentences(text)
    for one, other in pairwise(names):
        if other.start() - one.end() > _MOST_LETTERS_BETWEEN or not _BETWEEN_NAMES.fullmatch(
            text[one.end() : other.start()]
        ):
            continue
        begins = _BEGINS.match(text, other.end())
        quantities = _of_name(lexicon, one[0]), _of_name(lexicon, other[0])
        if begins is None or not _are_compared(lexicon, *quantities):
            continue
        found, end = _marked_pairs(text, begins.end(), told_in, lexicon)
        units = {spelling(unit): unit for unit in (begins["unit"] or "", *(each[2] for each in found)) if is_unit(unit)}
        if len(found) >= FEWEST and len(units) <= 1:
            written = tuple((_plain(a), _plain(b)) for a, b, _ in found)
            pairs = tuple((float(a), float(b)) for a, b in written)
            return ProsePairs(
                *quantities, pairs, next(iter(units.values()), ""), written, one.start(), end, (one.start(), end)
            )
    return None


def _marked_pairs(text: str, at: int, told_in: _Sentences, lexicon: Lexicon) -> tuple[list[tuple[str, str, str]], int]:
    """Return the pairs that begin at a place, with a mark between their readings or a space, and where they end."""
    found: list[tuple[str, str, str]] = []
    spaced = _SPACED_PAIR.match(text, at)
    pattern = _SPACED_PAIR if spaced else _MARKED_PAIR
    while match := pattern.search(text, at, at + _MOST_LETTERS_BETWEEN):
        units = [unit for unit in match.group("unit", "other_unit") if unit and is_unit(unit)]
        told = [_unit_of_readings(unit, lexicon) for unit in units]
        numbers = read_number(match["one"]), read_number(match["other"])
        goes_on = _goes_on(text[at : match.start()]) and not told_in.is_supposed(match.start())
        if not goes_on or None in (*told, *numbers):
            break
        found.append((match["one"], match["other"], next(filter(None, told), "")))
        at = match.end()
    return found, at


def _are_compared(lexicon: Lexicon, one: str, other: str) -> bool:
    """Check whether readings of two quantities are held beside each other."""
    return other in lexicon.quantities[one].disagreement or one in lexicon.quantities[other].disagreement


def _sides(lexicon: Lexicon) -> re.Pattern[str] | None:
    """Return what finds the names of quantities that are read side by side."""
    names = [re.escape(word.lower()) for each in _compared(lexicon) for word in _nouns(lexicon, each)]
    if not names:
        return None
    return re.compile(rf"(?<![\w-])(?:{'|'.join(sorted(names, key=len, reverse=True))})(?![\w-])", re.IGNORECASE)


def _nouns(lexicon: Lexicon, quantity: str) -> list[str]:
    """Return the words of a quantity without verbs, which every instrument shares (``SCADA shows 13``)."""
    words = lexicon.quantities[quantity].words
    return [each for each in words if each == stem(each) or stem(each) not in around_figures.READING_STEMS]


def _compared(lexicon: Lexicon) -> tuple[str, ...]:
    return tuple(each.id for each in lexicon.quantities.values() if each.column)


def _of_name(lexicon: Lexicon, name: str) -> str:
    return next(each for each in _compared(lexicon) if name.lower() in map(str.lower, lexicon.quantities[each].words))


def _figures(text: str, sides: re.Pattern[str], lexicon: Lexicon) -> Iterator[_Figure]:
    """Yield the numbers of a text that may be readings, with the quantity named just before each, if any."""
    names = [(each.start(), each.end(), _of_name(lexicon, each[0])) for each in sides.finditer(text)]
    ends = [end for _, end, _ in names]
    told_in = _Sentences(text)
    free = 0
    for match in _NUMBER.finditer(text):
        unit = match["unit"] if match["unit"] and is_unit(match["unit"]) else ""
        end = match.end() if unit or not match["unit"] else match.start("unit")
        number = None if told_in.is_supposed(match.start()) else read_number(match["number"])
        told = _unit_of_readings(unit, lexicon)
        if number is None or told is None:
            continue
        at = bisect_right(ends, match.start())
        before = names[at - 1] if at else None
        behind = names[at] if at < len(names) else None
        if before and free <= before[0] and _is_its_name(text[before[1] : match.start()]):
            free = end
            yield _Figure(before[2], number, told, match.start(), end, match["number"], before[0])
        elif behind and behind[0] - end <= _MOST_LETTERS_BETWEEN and _AT_PLACE.fullmatch(text[end : behind[0]]):
            free = behind[1]
            yield _Figure(behind[2], number, told, match.start(), free, match["number"], match.start())
        else:
            yield _Figure("", number, told, match.start(), end, match["number"], match.start())


class _Sentences:
    """The sentences of a text; each is looked at once, however many figures stand in it."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.ends = list(_SENTENCE_ENDS.finditer(text))
        self.starts = [each.start() for each in self.ends]
        self.supposed: dict[int, bool] = {}

    def is_supposed(self, at: int) -> bool:
        """Check whether the sentence there asks, or says what would or should be: nobody read its figures."""
        number = bisect_left(self.starts, at)
        if number not in self.supposed:
            start = self.ends[number - 1].end() if number else 0
            end = self.ends[number] if number < len(self.ends) else None
            words = re.findall(r"[^\W\d_]+", self.text[start : end.start() if end else len(self.text)].lower())
            asked = end is not None and end[0].startswith("?")
            doubted = words[:1] in (["if"], ["unless"]) or not speculation.SUPPOSED.isdisjoint(words)
            self.supposed[number] = asked or doubted
        return self.supposed[number]


def _unit_of_readings(unit: str, lexicon: Lexicon) -> str | None:
    """Return the unit of a reading, empty where there is none; None where the figure is of something else."""
    if not unit:
        return ""
    wanted = {unit_info(lexicon.quantities[each].unit).dimension for each in _compared(lexicon)}
    return unit if unit_info(unit).dimension in wanted else None


def _is_its_name(between: str) -> bool:
    return (
        len(between) <= _MOST_LETTERS_BETWEEN
        and not _ENDS.search(between)
        and len(re.findall(r"[^\W\d_]+", between)) <= _MOST_BETWEEN
        and "," not in between
    )


def _is_pair(
    text: str, lexicon: Lexicon, pairs: Sequence[tuple[_Figure, _Figure]], one: _Figure, other: _Figure
) -> bool:
    if one.quantity and other.quantity:
        known = {pairs[0][0].quantity, pairs[0][1].quantity} if pairs else {one.quantity, other.quantity}
        told = lexicon.quantities[one.quantity].disagreement.keys() | {
            name for name, each in lexicon.quantities.items() if one.quantity in each.disagreement
        }
        together = not _ENDS.search(text[one.end : other.start].replace(";", ""))
        return other.quantity in told and together and {one.quantity, other.quantity} == known
    if one.quantity or not pairs or not _goes_on(text[pairs[-1][1].end : one.start]):
        return False
    if other.quantity:  # `and 60 when the screen had 65`: the second is named, the first goes without saying
        return other.quantity == pairs[0][1].quantity and not _ENDS.search(text[one.end : other.start])
    return _JOINS.fullmatch(text[one.end : other.start]) is not None


def _goes_on(between: str) -> bool:
    return (
        len(between) <= _MOST_LETTERS_BETWEEN
        and not re.search(r"[.!?](?:\s|$)", between)
        and len(re.findall(r"[^\W\d_]+", between)) <= _MOST_WORDS_ON
    )
