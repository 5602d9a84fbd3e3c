"""Invented cases for reports: of the lamp, and of a meter with the rule book that the project ships."""

from __future__ import annotations

from msgspec.structs import replace

from diagnose.cases.events import (
    Acknowledgement,
    Attached,
    Case,
    Closed,
    CompetenceSaid,
    Disturbed,
    Entry,
    Event,
    MeterNamed,
    Note,
    PlantChanged,
    RemedyDone,
    Reopened,
    Restored,
    TextRead,
)
from diagnose.documents.case_report import FileKept
from diagnose.documents.case_report_page import case_report_html
from diagnose.documents.case_report_types import CaseReportDocument
from diagnose.interview.kept import report_document
from diagnose.observations import CheckDone, FindingSeen, RemedyTried
from diagnose.protocol.situation import Situation
from diagnose.reasoning.engine import Engine
from tests.protocol.lamps import lamp_book_engine

MADE = "2026-03-01T12:00:00+00:00"
PIXEL = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010806000000"
    "1f15c4890000000d49444154789c6360000002000001e221bc330000000049454e44ae426082"
)
PICTURE = Attached(name="bulb.png", sha256="a" * 64, size=len(PIXEL), note="the bulb", by="M. Invented")


def case_of(*turns: Event | tuple[Event, ...], name: str = "desk") -> Case:
    """Return a case; each turn is five minutes after the one before it, from ten o'clock on."""
    entries = []
    for number, turn in enumerate(turns, 1):
        minutes = 10 * 60 + 5 * number
        at = f"2026-03-01T{minutes // 60:02}:{minutes % 60:02}:00+00:00"
        events = turn if isinstance(turn, tuple) else (turn,)
        entries += [Entry(turn=number, at=at, event=each) for each in events]
    return Case(name=name, entries=tuple(entries))


def report_of(case: Case, engine: Engine | None = None, files: tuple[FileKept, ...] = ()) -> CaseReportDocument:
    """Return the report of a case, by default of the lamp."""
    return report_document(Situation(engine or lamp_book_engine(), case), MADE, files)


def whole_case(said: str = "no light", closed: Closed | None = None) -> Case:
    """Return a case of the lamp from its complaint to its end, in which everybody says the same words."""
    return case_of(
        (
            TextRead(text=said, not_understood=(said,)),
            FindingSeen(finding="dark", present=True, quote=said, heard="affirmed"),
        ),
        CompetenceSaid(competence="skilled"),
        MeterNamed(tag=said, by=said),
        Note(text=said),
        Acknowledgement(caution="live-socket", step="socket"),
        (
            PlantChanged(state="plug", value="out"),
            CheckDone(check="look-at-bulb", answer="black"),
            Disturbed(step="look-at-bulb", what=("bulb-out",)),
        ),
        Restored(what=("bulb-out",)),
        RemedyDone(remedy="bulb-burnt"),
        PlantChanged(state="plug", value="in"),
        RemedyTried(remedy="bulb-burnt", verdict="cured"),
        replace(closed, words=said, by=said, parts=(said,)) if closed else Note(text="over"),
        *((Reopened(why=said, by=said), closed) if closed else ()),
    )


CLOSED = Closed(
    outcome="found",
    cause="bulb-burnt",
    remedy="bulb-burnt",
    proof="switch-on",
    reading="it shines",
    minutes=12.5,
    parts=("bulb",),
    by="M. Invented",
    rank=2,
    probability=0.31,
)


def page_of(report: CaseReportDocument) -> str:
    """Return the page of a report, with the picture shown wherever it is attached."""
    return case_report_html(report, {PICTURE.sha256: PIXEL})


def kept(attached: Attached = PICTURE, **how: str) -> FileKept:
    """Return a file that is kept as it was attached, or as said."""
    return FileKept(attached, MADE, f"desk.files/{attached.sha256}", **{"kept": "as attached", **how})  # type: ignore[arg-type]
