"""Columns of quality: what is marked as bad or uncertain is no reading, whatever figure stands there."""

from __future__ import annotations

import re
from collections import Counter

import numpy as np
import numpy.typing as npt

from diagnose.tables.log_bytes import Bytes, printable
from diagnose.tables.log_layouts import layouts

_BAD = re.compile(
    r"bad|fail|invalid|error|stale|time ?out|no ?data|off ?line|comm|uncertain|question|suspect|doubt|n/?a\b|missing"
    r"|not (?:good|ok|valid)|fault|substitut|manual|schlecht|unsicher|ung(?:ü|ue?)ltig|st(?:ö|oe?)rung|lost",
    re.IGNORECASE,
)
_GOOD = re.compile(r"good|ok|valid|normal|gut|g(?:ü|ue?)ltig|raw|true", re.IGNORECASE)
_GOOD_CODE = 192
"""Least code of a good value in OPC Data Access, whose quality is a byte; below 64 it is bad, below 192 uncertain."""


def is_good(text: str) -> bool:
    """Check whether a word of quality lets its reading stand; an empty cell or an unknown word does.

    >>> is_good("Good"), is_good("Bad [no data]"), is_good("Uncertain"), is_good(""), is_good("Not good"), is_good("OK")
    (True, False, False, True, False, True)
    """
    return _BAD.search(text) is None


def is_quality(text: str) -> bool:
    """Check whether a cell holds a word of quality.

    >>> is_quality("Good"), is_quality("Comm fail"), is_quality("on"), is_quality("192")
    (True, True, False, True)
    """
    return bool(_BAD.search(text) or _GOOD.fullmatch(text.strip().split(" ")[0] if text.strip() else "")) or (
        text.strip().isdigit() and _GOOD_CODE <= int(text) <= 255
    )


def codes(table: Bytes, seen: Counter[str]) -> npt.NDArray[np.int64]:
    """Return for each cell 1 if its word is good, -1 if it is bad, and a code plus 2 if it is a figure.

    ``seen`` counts the words that are bad.
    """
    found = np.ones(len(table), np.int64)
    for cell, rows, own in layouts(table):
        shown = cell.decode("utf-8", errors="replace").strip()
        if shown.isdigit():
            digits = (b"".join(bytes(row) for row in own)).replace(b"\0", b"")
            width = len(shown)
            found[rows] = [2 + int(digits[each : each + width]) for each in range(0, len(digits), width)]
        elif not is_good(shown):
            found[rows] = -1
            seen[printable(shown)] += len(rows)
    return found


def good(marks: npt.NDArray[np.int64], seen: Counter[str]) -> npt.NDArray[np.bool_]:
    """Return which readings stand, once the whole column is known.

    Figures from 192 on are good if there are such (OPC Data Access); otherwise the commonest figure is the good one.

    >>> good(np.array([194, 194, 2, 66]), Counter()).tolist(), good(np.array([3, 3, 2]), Counter()).tolist()
    ([True, True, False, False], [True, True, False])
    """
    figures = marks >= 2
    stands = marks == 1
    if figures.any():
        own = marks[figures] - 2
        best = (own >= _GOOD_CODE) if np.any(own >= _GOOD_CODE) else own == np.bincount(np.minimum(own, 1000)).argmax()
        stands[figures] = best
        for value, count in zip(*np.unique(own[~best], return_counts=True), strict=True):
            seen[str(value)] += int(count)
    return np.asarray(stands, bool)
