"""From a pasted report, and readings beside it, to what they say and the diagnosis that follows."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import msgspec

from diagnose.analyses.analysed import Analysis
from diagnose.analyses.pasted import PastedTable, tables_in
from diagnose.errors import BadInput, DiagnoseError
from diagnose.language.cleaning import clean, decoded
from diagnose.language.understanding import Understanding, understand
from diagnose.observations import State
from diagnose.reasoning.diagnosis import Diagnosis, diagnose
from diagnose.rule_book.types import DataSheet, RuleBook


class TriageResult(NamedTuple):
    """What a report says, what its tables of readings and other analyses say, and the diagnosis of both."""

    understanding: Understanding
    analysed: tuple[Analysis, ...]
    diagnosis: Diagnosis


def triage(
    rule_book: RuleBook,
    report: str | bytes,
    data_sheet: DataSheet,
    state: State | None = None,
    analysed: Iterable[Analysis] = (),
) -> TriageResult:
    """Return what a report says and the diagnosis that follows, tables of readings in it and ``analysed`` included.

    Raises BadInput for an empty report without anything analysed, and for one that is not text.
    """
    text, tables = tables_in(decoded(report))
    doubts: list[str] = []
    found = list(analysed)
    for table in tables:
        try:
            found.append(_compared(rule_book, data_sheet, table))
        except DiagnoseError as error:
            doubts.append(f"the table of readings in the report cannot be used: {error}")
    understanding = _understood(rule_book, text, bool(found or doubts), doubts)
    observations = [*understanding.observations(), *(each for one in found for each in one.observations)]
    return TriageResult(
        understanding, tuple(found), diagnose(rule_book, data_sheet, tuple(observations), state or State())
    )


def _compared(rule_book: RuleBook, data_sheet: DataSheet, table: PastedTable) -> Analysis:
    from diagnose.analyses.answering import analyse_table  # numerics only where there is something to compare

    return analyse_table(rule_book, data_sheet, table.text, "the table in the report", table.compared)


def _understood(rule_book: RuleBook, text: str, may_be_empty: bool, doubts: list[str]) -> Understanding:
    try:
        understanding = understand(clean(text), rule_book)
    except BadInput:
        if text.strip() or not may_be_empty:
            raise
        understanding = Understanding(())
    return msgspec.structs.replace(understanding, doubts=(*understanding.doubts, *doubts))
