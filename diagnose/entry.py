"""What everything that an author writes has: an id that can be said aloud, and where the claim comes from."""

from __future__ import annotations

import msgspec


class Entry(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """An entry of a rule book; parts of the rule book add what they are."""

    id: str
    source: str = ""
