"""Lists of kept cases as types, ``"format": "case-list/1"`` and ``"format": "cases-alike/1"``."""

from __future__ import annotations

from typing import Literal

from diagnose.documents.typed import Document

CaseState = Literal["open", "waiting", "cured", "handed over", "closed"]


class CaseRow(Document, frozen=True, kw_only=True):
    """One case.

    ``cause`` is the id that it was closed with (``confirmed``), else the first when it was left, with its
    ``probability`` then; where the rule book does not list it, the words of whoever closed the case. ``outcome`` is
    empty while a case is not closed. ``rank`` is where the confirmed cause stood then (0: nobody knows),
    ``to_review`` whether that was so low, or the cause is not listed, that the rules should be looked at.
    ``area`` is that of the cause in this rule book, ``rule_book`` the fingerprint of the one that the case went by.
    """

    name: str
    meter: str
    started: str
    changed: str
    complaint: str
    state: CaseState
    outcome: Literal["", "found", "not found", "not listed"]
    cause: str
    area: str
    probability: float | None
    confirmed: bool
    remedy: str
    minutes: float | None
    rank: int
    to_review: bool
    rule_book: str


class CaseListDocument(Document, frozen=True, kw_only=True, tag_field="format", tag="case-list/1"):
    """Cases, the latest first; ``of`` so many altogether. ``problems`` are cases that cannot be read."""

    of: int
    cases: tuple[CaseRow, ...]
    problems: tuple[str, ...] = ()


class SharedFinding(Document, frozen=True, kw_only=True):
    """A finding that two cases share."""

    id: str
    title: str


class CaseAlike(Document, frozen=True, kw_only=True):
    """A case like another one: from 0 to 1, and by which findings, the rarest first."""

    case: CaseRow
    likeness: float
    shared: tuple[SharedFinding, ...]


class CasesAlikeDocument(Document, frozen=True, kw_only=True, tag_field="format", tag="cases-alike/1"):
    """Cases like one, the most alike first."""

    like: str
    cases: tuple[CaseAlike, ...]
