"""A worked calculation as types, ``"format": "calculation/2"``: figures in the unit given beside them.

A field that is ``UNSET`` is left out of the JSON.
"""

from __future__ import annotations

from typing import Literal

from msgspec import UNSET, UnsetType

from diagnose.documents.typed import Document

Plain = float | str | tuple[float | str, ...]
"""A figure, a word, or several of either."""


class FigureDocument(Document, frozen=True, kw_only=True):
    """One figure (or word) by the name of its term; ``shown`` is how people read it.

    Of one with a ``limit`` only that is known: above, or below, its value.
    """

    name: str
    title: str
    value: Plain
    unit: str
    standard_uncertainty: float | UnsetType = UNSET
    limit: Literal["above", "below"] | UnsetType = UNSET
    shown: str


class VerdictDocument(Document, frozen=True, kw_only=True):
    """What a rule (with its source) says of figures; without a judgement, a plain remark.

    Where the uncertainty (k = 2) of the figures reaches across a limit of the rule, it cannot be told.
    """

    judgement: Literal["", "fine", "doubtful", "cannot tell"]
    because: str
    source: str | UnsetType = UNSET


class ColumnDocument(Document, frozen=True, kw_only=True):
    """One column of a table."""

    title: str
    unit: str


class TableDocument(Document, frozen=True, kw_only=True):
    """A result of several rows."""

    columns: tuple[ColumnDocument, ...]
    rows: tuple[tuple[float | str, ...], ...]


class ShareOfUncertainty(Document, frozen=True, kw_only=True):
    """What an input contributes to a standard uncertainty, and its share of the variance (JCGM 100:2008)."""

    input: str
    contribution: float
    share: float


class ResultDocument(Document, frozen=True, kw_only=True):
    """One calculation with what was put in, what was assumed for want of anything better, and its result.

    The result is a table, or a figure with ``name``, ``value``, ``unit`` and ``shown``; one with an uncertainty has an
    expanded uncertainty (k = 2) and a budget as well.
    """

    calculation: str
    title: str
    formula: str
    put_in: tuple[FigureDocument, ...]
    taken: tuple[FigureDocument, ...]
    valid: str
    source: str
    table: TableDocument | UnsetType = UNSET
    name: str | UnsetType = UNSET
    value: Plain | UnsetType = UNSET
    unit: str | UnsetType = UNSET
    standard_uncertainty: float | UnsetType = UNSET
    shown: str | UnsetType = UNSET
    expanded_uncertainty: float | UnsetType = UNSET
    budget: tuple[ShareOfUncertainty, ...] | UnsetType = UNSET
    verdicts: tuple[VerdictDocument, ...]


class CalculationDocument(Document, frozen=True, kw_only=True, tag_field="format", tag="calculation/2"):
    """What was given and what rules say of that, all that follows from it, and what does not fit."""

    subject: str
    given: tuple[FigureDocument, ...]
    verdicts: tuple[VerdictDocument, ...]
    results: tuple[ResultDocument, ...]
    warnings: tuple[str, ...]
