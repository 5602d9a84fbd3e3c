"""The review of a data sheet as types, ``"format": "review/1"``."""

from __future__ import annotations

from typing import Literal

from diagnose.documents.typed import Document


class FigureShown(Document, frozen=True, kw_only=True):
    """A figure as people read it."""

    title: str
    shown: str


class GroundDocument(Document, frozen=True, kw_only=True):
    """What a rule says, and its source."""

    because: str
    source: str


class FieldDocument(Document, frozen=True, kw_only=True):
    """A field of the data sheet that would settle a point."""

    field: str
    title: str


class PointDocument(Document, frozen=True, kw_only=True):
    """One point: its judgement with figures and reasons, what is missing to judge it, and what to do."""

    id: str
    title: str
    judgement: Literal["wrong", "doubtful", "cannot tell", "fine"]
    figures: tuple[FigureShown, ...]
    reasons: tuple[GroundDocument, ...]
    missing: tuple[FieldDocument, ...]
    advice: str


class ReviewDocument(Document, frozen=True, kw_only=True, tag_field="format", tag="review/1"):
    """All points of an installation, gravest first."""

    points: tuple[PointDocument, ...]
