"""Whether causes have become more or less frequent since a day."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date

import msgspec
import numpy as np

from diagnose.learning.closed_cases import ClosedCase

DRAWS = 20_000
PROBABLE = 0.95
"""From here on it is said that a share has risen or fallen."""


class Drift(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """How often a cause was found before a day and since; ``risen`` is how probable it is that its share has risen."""

    cause: str
    found_before: int
    of_before: int
    found_since: int
    of_since: int
    risen: float

    @property
    def told(self) -> bool:
        """Whether it has probably changed."""
        return not 1 - PROBABLE < self.risen < PROBABLE


def drift(cases: Sequence[ClosedCase], since: date) -> tuple[Drift, ...]:
    """Return the causes that were found at all, those that changed most surely first.

    Both shares are believed by what was counted, on Jeffreys' prior of half a case for and half a case against; with so
    many causes some change by chance, one in ten at this probability.
    """
    found = [each for each in cases if each.outcome == "found"]
    before = Counter(each.cause for each in found if each.closed_on < since)
    after = Counter(each.cause for each in found if each.closed_on >= since)
    totals = before.total(), after.total()
    luck = np.random.default_rng(1)
    rows = []
    for cause in sorted({*before, *after}):
        counts = before[cause], after[cause]
        one, other = (
            luck.beta(count + 0.5, total - count + 0.5, DRAWS) for count, total in zip(counts, totals, strict=True)
        )
        risen = float(np.mean(other > one)) if all(totals) else 0.5
        rows.append(
            Drift(
                cause=cause,
                found_before=counts[0],
                of_before=totals[0],
                found_since=counts[1],
                of_since=totals[1],
                risen=risen,
            )
        )
    rows.sort(key=lambda row: (-abs(row.risen - 0.5), row.cause))
    return tuple(rows)
