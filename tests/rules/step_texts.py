"""What the words of a step say that somebody does."""

from __future__ import annotations

import re
from collections.abc import Sequence

_TELLS = re.compile(r"control room|who(ever)? (use|bill)|agree|operator|owner|all whose load|ask who\b", re.IGNORECASE)
_DISCONNECTS = re.compile(
    r"disconnect|nothing electronic|(leads|cores|cable|electronics|both ends)[^.;]* off\b|take[^.;]* off\b",
    re.IGNORECASE,
)


def tells_first(steps: Sequence[str]) -> bool:
    """Tell whether the very first thing to do is to tell those who use the signal or run the plant."""
    return bool(steps) and bool(_TELLS.search(steps[0]))


def says_disconnect(steps: Sequence[str]) -> bool:
    """Tell whether electronics are taken off before the rest."""
    return any(_DISCONNECTS.search(each) for each in steps)
