"""Pairs of readings that somebody typed, the reference first unless names say otherwise.

`5 5.31; 10 10.42 m3/h`, `5/5.31, 10/10.42 m3/h`, `meter 5.31 tank 5, meter 10.42 tank 10`, `meter / tank: 5.31/5`.
"""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import islice

from diagnose.errors import BadInput
from diagnose.place import visible
from diagnose.tables.amounts import TYPED
from diagnose.tables.heading_words import HeadingWords
from diagnose.tables.headings import read_heading
from diagnose.tables.readings import Readings
from diagnose.tables.table_options import TableOptions
from diagnose.tables.table_readings import readings_from_table
from diagnose.tables.table_text import Cell, TextTable, split_pair, split_typed
from diagnose.tables.written_figures import is_plain_figure, unit_behind
from diagnose.units import is_unit

_UNIT_BEGINS = re.compile(r"(?<=[\d\s)])(?=[^\W\d_]|%)")
_LONGEST_UNIT = 40
_FIGURES = re.compile(r"(?<![\w.,])[-+]?\d[\d.,]*")


def readings_from_pairs(text: str, options: TableOptions) -> Readings:
    """Return typed pairs, ``5 5.31; 10 10.42``, in SI; the unit follows them or comes from ``--unit``.

    >>> readings_from_pairs("10 10.4; 20 vs 20.8 l/s", TableOptions()).reference
    (0.01, 0.02)
    """
    unit = options.unit
    bare = text.rstrip()
    last = max(bare.rfind(";"), bare.rfind("\n")) + 1
    at = _unit_at_the_end(bare, last)
    if at is not None and (unit or not _has_unit_of_its_own(bare[:at], options)):
        text, unit = bare[:at], unit or bare[at:].strip()
    rows = []
    begins, is_turned = _named_above(text, options)
    at, text = 0, " " * begins + text[begins:]
    for part in _parts(text, options):
        figures = _pair(part, options)
        if figures and is_turned:
            figures = figures[::-1]
        if figures is None:
            raise BadInput(
                f"`{visible(part.strip())}` is not a pair; write reference and indicated, as in `5 5.31; 10 10.42`"
            )
        start = text.index(part, at)
        rows.append(tuple(Cell(each, 1, start + place + 1) for each, place in figures))
        at = start + len(part)
    if not rows:
        raise BadInput("no pair is given; write reference and indicated, as in `5 5.31; 10 10.42 m3/h`")
    table = TextTable(TYPED, "\t", tuple(rows), (text,))
    return readings_from_table(table, replace(options, unit=unit, reference="1", indicated="2"))


def _has_unit_of_its_own(text: str, options: TableOptions) -> bool:
    """Tell whether the first reading of a pair has a unit behind it: the last one is then of the other side alone."""
    pairs = (_pair(part, options) for part in _parts(text, options))
    return any(unit_behind(min(pair, key=lambda each: each[1])[0]) for pair in pairs if pair)


def _named_above(text: str, options: TableOptions) -> tuple[int, bool]:
    """Return where pairs begin behind the names of both sides (`meter / tank: …`), and whether the meter is first."""
    names = _NAMES_ABOVE.match(text)
    if names is None:
        return 0, False
    words = options.words or HeadingWords()
    found = [read_heading(each, words, options.against_display).side for each in _BETWEEN_NAMES.split(names[1])]
    if sorted(found) != ["indicated", "reference"]:
        return 0, False
    return names.end(), found[0] == "indicated"


_NAMES_ABOVE = re.compile(r"([^\d:;\n]{1,80}):(?=\s)")
_BETWEEN_NAMES = re.compile(r"\s*(?:/|->|→|,|\b(?:vs\.?|versus|against|and)(?=\s))\s*", re.IGNORECASE)


def _parts(text: str, options: TableOptions) -> list[str]:
    """Return the pairs of a text: parted by semicolons or lines, else by commas or *and* where pairs stand between."""
    parts = [each for each in re.split(r"[;\n]", text) if each.strip()]
    if len(parts) != 1:
        return parts
    for mark in _BETWEEN_PAIRS:
        pieces = [each for each in re.split(mark, parts[0]) if each.strip()]
        if len(pieces) > 1 and all(_is_pair(each, options) for each in pieces):
            return pieces
    return parts


_BETWEEN_PAIRS = (r",\s+(?:and\s+)?", r",\s+(?:and\s+)?|\s+and\s+", ",")


def _is_pair(text: str, options: TableOptions) -> bool:
    pair = _pair(text, options)
    return pair is not None and all(is_plain_figure(each) for each, _ in pair)


def _pair(text: str, options: TableOptions) -> tuple[tuple[str, int], ...] | None:
    """Return the two readings of a pair with their places, that of the reference first."""
    return split_pair(text) or _named_pair(text, options) or split_typed(text)


def _unit_at_the_end(text: str, least: int) -> int | None:
    """Return where the unit behind the last pair begins: the longest that is known, else the last word."""
    places = [each.start() for each in _UNIT_BEGINS.finditer(text, max(least, len(text) - _LONGEST_UNIT))]
    known = next((at for at in places if is_unit(text[at:])), None)
    last = places[-1] if places and not any(map(str.isdigit, text[places[-1] :].split()[-1][:1])) else None
    return known if known is not None else last


def _named_pair(text: str, options: TableOptions) -> tuple[tuple[str, int], ...] | None:
    """Return two readings that have their names before them, that of the reference first."""
    found = list(islice(_FIGURES.finditer(text), 3))
    if len(found) != 2 or text[found[1].end() :].strip():
        return None
    names = text[: found[0].start()], text[found[0].end() : found[1].start()]
    words = options.words or HeadingWords()
    sides = [read_heading(name, words, options.against_display).side for name in names]
    if sorted(sides) != ["indicated", "reference"]:
        return None
    figures = tuple((each[0].rstrip(","), each.start()) for each in found)
    return figures if sides[0] == "reference" else figures[::-1]
