"""From a pasted report to what it says and the diagnosis that follows."""

from __future__ import annotations

from diagnose.language.cleaning import clean
from diagnose.language.understanding import Understanding, understand
from diagnose.reasoning.diagnosis import Diagnosis, diagnose
from diagnose.reasoning.observations import State
from diagnose.rule_book.types import DataSheet, RuleBook


def triage(
    rule_book: RuleBook, report: str | bytes, data_sheet: DataSheet, state: State | None = None
) -> tuple[Understanding, Diagnosis]:
    """Return what a report says and the diagnosis that follows.

    Raises BadInput for an empty report and for one that is not text.
    """
    understanding = understand(clean(report), rule_book)
    return understanding, diagnose(rule_book, data_sheet, understanding.observations(), state or State())
