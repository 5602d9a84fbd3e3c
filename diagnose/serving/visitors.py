"""Who may see the pages: whoever has the token of this server, each in a session of their own."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Lock
from time import monotonic

from diagnose.documents.blocks import Block

MOST_VISITORS = 50
"""Sessions at a time; the one that was idle longest goes first."""

MOST_ANSWERED = 100
"""Forms of one visitor that are known again; a phone sends one until it is answered, and then the next."""

LOOKING = 120.0
"""Seconds for which somebody counts as looking at a case after the last page of it."""


@dataclass
class Visitor:
    """One browser that has shown the token.

    ``said`` are the remarks on its last reply in a case, with how many entries that has then: they are shown until it
    moves on. ``ranked`` is the ranking that it saw last, by case, ``parting`` the case that it left last, with what is
    not put back there. ``answered`` are the forms that came last, each with the address that it led to: one that is
    sent again, because the answer got lost on its way, leads there again and does nothing. ``read`` are the
    cautions that were heeded on it, by case, each with the number of the entry that says so in the journal: who holds
    another phone has not read them.
    """

    id: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    form_token: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    said: dict[str, tuple[int, list[Block]]] = field(default_factory=dict)
    ranked: dict[str, dict[str, float]] = field(default_factory=dict)
    seen: dict[str, float] = field(default_factory=dict)
    read: dict[str, dict[str, int]] = field(default_factory=dict)
    parting: tuple[str, list[Block]] = ("", [])
    answered: dict[str, str] = field(default_factory=dict)
    answering: Lock = field(default_factory=Lock)
    last: float = 0.0

    def once(self, form: str, act: Callable[[], str]) -> str:
        """Do what a form asks for, and return where it leads; the same form once more leads there and does nothing.

        >>> visitor, done = Visitor(), []
        >>> [visitor.once("form 1", lambda: done.append("answer") or "/next") for _ in range(3)], done
        (['/next', '/next', '/next'], ['answer'])
        """
        with self.answering:
            if form not in self.answered:
                address = act()
                while len(self.answered) >= MOST_ANSWERED:
                    del self.answered[next(iter(self.answered))]
                self.answered[form] = address
            return self.answered[form]

    def is_own(self, form_token: str) -> bool:
        """Tell whether a form came from a page of this session (and not from another site)."""
        return hmac.compare_digest(self.form_token.encode(), form_token.encode())


class Visitors:
    """All sessions of one server; they end with it."""

    def __init__(self, token: str, clock: Callable[[], float] = monotonic) -> None:
        self._token = token.encode()
        self._clock = clock
        self._by_id: dict[str, Visitor] = {}

    def enter(self, token: str, known: Visitor | None = None) -> Visitor | None:
        """Return a session for whoever has the token: the one that is ``known`` already, or a new one.

        >>> visitors = Visitors("open sesame")
        >>> visitors.enter("open barley") is None, visitors.known(visitors.enter("open sesame").id) is None
        (True, False)
        """
        if not hmac.compare_digest(self._token, token.encode()):
            return None
        if known:
            return known
        visitor = Visitor(last=self._clock())
        while len(self._by_id) >= MOST_VISITORS:
            del self._by_id[min(self._by_id, key=lambda each: self._by_id[each].last)]
        self._by_id[visitor.id] = visitor
        return visitor

    def known(self, session: str) -> Visitor | None:
        """Return the session with this id."""
        visitor = self._by_id.get(session)
        if visitor:
            visitor.last = self._clock()
        return visitor

    def looks_at(self, visitor: Visitor, case: str) -> bool:
        """Note that somebody looks at a case; tell whether somebody else did so just before."""
        now = self._clock()
        visitor.seen[case] = now
        return any(
            now - other.seen.get(case, -LOOKING) < LOOKING
            for other in tuple(self._by_id.values())
            if other is not visitor
        )

    def leaves(self, visitor: Visitor, case: str) -> None:
        """Note that somebody has left a case."""
        visitor.seen.pop(case, None)
