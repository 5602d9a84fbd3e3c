"""Column headings of a comparison: reference or meter, unit, uncertainty."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from diagnose.units import is_unit

Role = Literal[
    "reference", "indicated", "uncertainty of the reference", "uncertainty of the indicated", "uncertainty", ""
]

_REFERENCE = frozenset(
    {"reference", "ref", "master", "standard", "true", "truth", "actual", "prover", "calibrated"}
    | {"tank", "bucket", "weighbridge", "clamp", "clamp-on", "clampon"}
)
_INDICATED = frozenset(
    {"indicated", "indication", "indicates", "ind", "meter", "measured", "shown", "shows", "reading", "readout"}
    | {"magmeter", "mag", "mut", "uut", "dut", "display", "displayed", "flowmeter"}
    | {"scada", "plc", "dcs", "receiver", "counter", "control"}
)
_DISPLAY = frozenset({"display", "displayed", "meter", "transmitter", "local"})
_UNCERTAIN = frozenset({"uncertainty", "uncertainties", "unc", "u", "sd", "stdev", "sigma", "±", "+-", "+/-"})
_BRACKET = re.compile(r"[\[(]([^\])]*)[\])]")
_WORD = re.compile(r"[^\W_]+(?:-[^\W_]+)*|±|\+/?-")


@dataclass(frozen=True, slots=True)
class ColumnHeading:
    """A parsed heading: role of the column, its unit ("" if none), and the coverage factor of an uncertainty."""

    role: Role
    unit: str
    coverage: float | None = None


def read_heading(text: str, against_display: bool = False) -> ColumnHeading:
    """Parse a heading; with ``against_display`` the display is the reference.

    >>> read_heading("Reference flow [l/s]")
    ColumnHeading(role='reference', unit='l/s', coverage=None)
    >>> read_heading("U_ref (%, k=2)")
    ColumnHeading(role='uncertainty of the reference', unit='%', coverage=2.0)
    """
    bare, unit = _unit(text)
    words = {word.casefold() for word in _WORD.findall(bare)}
    role = _role(words, against_display)
    uncertain = bool(words & _UNCERTAIN)
    coverage = re.search(r"k\s*=\s*(\d+(?:[.,]\d+)?)", text)
    factor = float(coverage[1].replace(",", ".")) if coverage else 2.0 if "expanded" in words else None
    if not uncertain:
        return ColumnHeading(role, unit)
    of: Role = "uncertainty of the reference" if role == "reference" else "uncertainty"
    return ColumnHeading("uncertainty of the indicated" if role == "indicated" else of, unit, factor)


def _role(words: set[str], against_display: bool) -> Role:
    if against_display and words & _DISPLAY:
        return "reference"
    if words & _REFERENCE:
        return "reference"
    return "indicated" if words & _INDICATED else ""


def _unit(text: str) -> tuple[str, str]:
    """Split a heading into words and unit: in brackets, after a comma or underscore, or at the end."""
    for match in _BRACKET.finditer(text):
        for part in re.split(r"[,;]\s*", match[1]):
            part = part.removeprefix("in ").strip()
            if part and is_unit(part):
                return text.replace(match[0], " "), part
    bare = _BRACKET.sub(" ", text)
    pieces = re.split(r"(?<=\S)(?:\s+in\s+|,\s*|_(?=\w+/)|\s+)", bare.strip())
    for take in (3, 2, 1):
        tail = " ".join(pieces[-take:])
        if (
            len(pieces) > take
            and is_unit(tail)
            and tail.casefold() not in ("in", "a", "d", "s", "h", "c", "r", "v", "w")
        ):
            return " ".join(pieces[:-take]), tail
    return bare, ""


def bracketed(text: str) -> str:
    """Return the text in brackets in a heading, for a message about an unknown unit."""
    match = _BRACKET.search(text)
    return match[1].strip() if match else ""
