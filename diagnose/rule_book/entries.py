"""What every part of a rule book shares, the sources that its claims come from, and the areas that causes sit in."""

from __future__ import annotations

from typing import Literal

import msgspec


class Entry(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """What all parts share: an id that can be said aloud, and where the claim comes from."""

    id: str
    source: str = ""


class Source(Entry, frozen=True, kw_only=True):
    """Where a claim comes from."""

    citation: str
    kind: Literal["standard", "handbook", "report", "common practice", "estimate", "from memory"]


class Area(Entry, frozen=True, kw_only=True):
    """A part of the measuring chain in which causes sit."""

    title: str
