"""The sources that claims come from, and the areas that causes sit in."""

from __future__ import annotations

from typing import Literal

from diagnose.entry import Entry


class Source(Entry, frozen=True, kw_only=True):
    """Where a claim comes from."""

    citation: str
    kind: Literal["standard", "handbook", "report", "common practice", "estimate", "from memory"]


class Area(Entry, frozen=True, kw_only=True):
    """A part of the measuring chain in which causes sit."""

    title: str
