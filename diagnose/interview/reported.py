"""The report of a case as it stands on disk, with what was attached to it."""

from __future__ import annotations

from pathlib import Path

from diagnose.cases.attached_files import kept_files
from diagnose.cases.fitting import fitting, misfits
from diagnose.cases.journal import Journal, journal_of, now
from diagnose.documents.case_report import FileKept
from diagnose.documents.case_report_types import CaseReportDocument
from diagnose.interview.kept import report_document
from diagnose.learning.meter_history import at_case
from diagnose.protocol.situation import Situation
from diagnose.reasoning.engine import Engine


def report_of(engine: Engine, folder: Path, name: str) -> tuple[CaseReportDocument, dict[str, bytes]]:
    """Return the report of a case, and the pictures to show in it by their SHA-256.

    Raises BadInput when there is no such case, or when its journal is damaged.
    """
    kept = Journal.read(folder, name)
    engine, found_before = at_case(engine, folder, kept)
    files = tuple(kept_files(journal_of(folder, name), kept))
    document = report_document(
        Situation(engine, fitting(engine.rule_book, kept)),
        now(),
        [
            FileKept(each.attached, each.at, f"{each.path.parent.name}/{each.path.name}", each.kept, each.picture)
            for each in files
        ],
        [f"line {each.line}: {each.text}" for each in misfits(engine.rule_book, kept)],
        found_before,
    )
    return document, {each.attached.sha256: each.data for each in files if each.data}
