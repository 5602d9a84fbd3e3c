"""Column headings of a comparison: what their words say, and the unit."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Literal

from diagnose.tables.figures_in_table import Beside, SpreadTold
from diagnose.tables.heading_words import HeadingWords, Meanings
from diagnose.tables.table_units import is_unit, multiplied, table_unit
from diagnose.tables.written_figures import coverage_in, written

Side = Literal["reference", "indicated", ""]
Stage = Literal["as found", "as left", ""]

UNCERTAIN: Meanings = frozenset({"uncertainty", "standard-uncertainty", "expanded-uncertainty"})

_BRACKET = re.compile(r"[\[(]([^()\[\]]*)[\])]")
_SPREAD = re.compile(r"(?:±|\+/-|\+-)\s*(?P<said>\d[^\[\]()]*(?:\([^()]*\))?)")
"""An uncertainty that holds for the whole column: `Tank [m3/h] ±0.5 %`, `Meter (±1 %)`."""

_NOT_ALONE = frozenset({"in", "a", "d", "s", "h", "c", "r", "t", "v", "w"})
"""Units that are also words or initials: no unit where nothing sets them off from the heading."""

_IN_TONNES = re.compile(r"[\s,]t$")
_WEIGHED: Meanings = frozenset({"reference", "indicated", "start", "stop"})
"""What a heading has to say for a lone `t` at its end to be tonnes: behind `Zeit` it is the time."""


@dataclass(frozen=True, slots=True)
class ColumnHeading:
    """A parsed heading: its text, what its words say, its side, its unit ("" if none), and the coverage factor told.

    Its figures are multiplied by ``factor`` (`Counter x10`); ``spread`` is the uncertainty of each (`Tank ±0.5 %`).
    """

    text: str = ""
    means: Meanings = field(default_factory=frozenset)
    side: Side = ""
    unit: str = ""
    coverage: float | None = None
    factor: float = 1.0
    spread: Beside | None = None

    @property
    def is_uncertain(self) -> bool:
        """Whether the column holds uncertainties."""
        return bool(self.means & UNCERTAIN)


def read_heading(text: str, words: HeadingWords, against_display: bool = False) -> ColumnHeading:
    """Parse a heading; with ``against_display`` the display is the reference.

    >>> found = read_heading("Reference flow [l/s]", HeadingWords())
    >>> found.side, found.unit, found.coverage
    ('reference', 'l/s', None)
    >>> found = read_heading("U_ref (%, k=2)", HeadingWords())
    >>> found.side, found.is_uncertain, found.unit, found.coverage
    ('reference', True, '%', 2.0)
    >>> found = read_heading("Tank [m3/h] ±0.5 %", HeadingWords())
    >>> found.side, found.is_uncertain, found.unit, found.spread.half, found.spread.unit
    ('reference', False, 'm3/h', 0.5, '%')
    """
    spread = _SPREAD.search(text)
    left = f"{text[: spread.start()]} {text[spread.end() :]}" if spread else text
    told, factor = multiplied(left)
    bare, unit = split_unit(told)
    means = words.meanings(bare)
    if not unit and _IN_TONNES.search(bare) and means & _WEIGHED and "time" not in means:
        unit = table_unit("t")
    side, stated = _side(means, against_display), _spread(spread["said"]) if spread else None
    return ColumnHeading(text.strip(), means, side, unit, coverage_in(text), factor, stated)


def _spread(said: str) -> Beside | None:
    """Return the uncertainty that stands behind a ± in a heading, None if that is none."""
    parts = written(f"0 ± {said}")
    if parts is None or not parts.half:
        return None
    told: SpreadTold = "standard" if "standard" in parts.said else "expanded" if "expanded" in parts.said else ""
    return Beside(float(parts.half.replace(",", ".")), parts.half_unit, coverage_in(said), told)


def _side(means: Meanings, against_display: bool) -> Side:
    if against_display and "display" in means:
        return "reference"
    if "reference" in means:
        return "reference"
    return "indicated" if "indicated" in means else ""


def split_unit(text: str) -> tuple[str, str]:
    """Split a heading into words and unit: in brackets, after a comma or underscore, or at the end.

    >>> split_unit("Meter m3/h"), split_unit("flow_l/s"), split_unit("Duration in min")
    (('Meter', 'm3/h'), ('flow', 'l/s'), ('Duration', 'min'))
    """
    for match in _BRACKET.finditer(text):
        for part in re.split(r"[,;]\s*", match[1]):
            part = part.removeprefix("in ").strip()
            if part and (unit := table_unit(part, set_off=True)):
                return text.replace(match[0], " "), unit
    bare = _BRACKET.sub(" ", text)
    pieces = re.split(r"(?<=\S)(?:\s+in\s+|,\s*|_(?=[^\W_]+/)|\s+)", bare.strip())
    for take in (3, 2, 1):
        tail = " ".join(pieces[-take:])
        if len(pieces) > take and is_unit(tail) and tail.casefold() not in _NOT_ALONE:
            return " ".join([*pieces[:-take], *(each[1] for each in _BRACKET.finditer(text))]), table_unit(tail)
    return text, ""


_MINUTES = re.compile(r"(?:in )?(?:m{1,2}|min):s{1,2}(?:ek|ec)?", re.IGNORECASE)


def is_in_minutes(heading: ColumnHeading) -> bool:
    """Check whether brackets say that `6:30` is six and a half minutes: `Time [min:s]`."""
    return _MINUTES.fullmatch(bracketed(heading.text)) is not None


def bracketed(text: str) -> str:
    """Return the text in brackets in a heading, for a message about an unknown unit."""
    match = _BRACKET.search(text)
    return match[1].strip() if match else ""
