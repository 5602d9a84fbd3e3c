"""What an analysis of readings or of a log says to the rest of the program."""

from __future__ import annotations

import msgspec

from diagnose.observations import FindingSeen


class Analysis(msgspec.Struct, frozen=True, kw_only=True):
    """An analysis in short: what was analysed, what it says in words, what is odd about it, and what follows."""

    about: str
    says: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    observations: tuple[FindingSeen, ...] = ()
