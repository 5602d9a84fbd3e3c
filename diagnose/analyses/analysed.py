"""The result of an analysis of readings or of a log, as the rest of the program uses it."""

from __future__ import annotations

from typing import Literal

import msgspec

from diagnose.observations import Compared, FindingSeen


class Analysis(msgspec.Struct, frozen=True, kw_only=True):
    """A summary of an analysis: what was analysed, the result in words, warnings, and the findings that follow.

    ``readings`` (SI) are the two of a pair, by quantity, where a check that was answered so takes both: of several
    pairs the one that is furthest apart, by which a proof stands or falls. ``figures`` are those that were analysed, as
    CSV, and ``kind`` what they are.
    """

    about: str
    says: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    observations: tuple[FindingSeen | Compared, ...] = ()
    readings: dict[str, float] = {}
    figures: str = ""
    kind: Literal["", "pairs", "log"] = ""
