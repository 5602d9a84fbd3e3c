"""What a reply brings: events, and remarks that say at once what was understood of it."""

from __future__ import annotations

from typing import Literal

import msgspec

from diagnose.analyses.analysed import Analysis
from diagnose.cases.events import Event
from diagnose.language.results import Statement

RemarkKind = Literal["understood", "not understood", "doubt", "means", "taken", "noted", "analysed", "said", "help"]
"""What a remark is about: statements read from words, clauses that were not, what to clear up, what an answer means,
a reading read back, a note, an analysis of readings, anything else, or how to reply here."""


class Remark(msgspec.Struct, frozen=True, kw_only=True):
    """One thing said back at once; *understood* comes with the statement, *analysed* with the analysis.

    ``buttons`` is said in place of the ``text`` where there are buttons.
    """

    kind: RemarkKind
    text: str = ""
    buttons: str = ""
    statement: Statement | None = None
    analysis: Analysis | None = None


class Turn(msgspec.Struct, frozen=True, kw_only=True):
    """What a reply brings; without events the prompt stays as it is."""

    events: tuple[Event, ...] = ()
    remarks: tuple[Remark, ...] = ()


def told(text: str, buttons: str = "") -> Turn:
    """Return a turn that only says how to reply here; ``buttons`` the same where there are buttons."""
    return Turn(remarks=(Remark(kind="help", text=text, buttons=buttons),))
