"""The report of a case as a page of HTML: one file, nothing outside it, made for paper without colour."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable, Mapping
from functools import cache
from itertools import groupby
from operator import attrgetter
from typing import Any

from diagnose.documents.blocks import percent
from diagnose.documents.case_report_picture import ranking_picture
from diagnose.documents.case_report_types import CaseReportDocument, EntryDocument
from diagnose.documents.diagnosis_types import CauseDocument, StepDocument
from diagnose.documents.figures_picture import figures_picture
from diagnose.rule_book.competence import a_person

LEAST = 0.02
"""Probability from which a cause is named as still possible."""

MOST_POSSIBLE = 5


def case_report_html(document: CaseReportDocument, pictures: Mapping[str, bytes]) -> str:
    """Return the page; ``pictures`` are attached pictures that are shown, and figures to draw, by their SHA-256."""
    shown = {each.sha256: each.picture for each in document.attachments if each.picture and each.sha256 in pictures}
    made: str = _template().render(
        document=document,
        title=title_of(document),
        picture=ranking_picture(document.ranking),
        ways=cause_of(document),
        data={sha: f"data:{kind};base64,{b64encode(pictures[sha]).decode()}" for sha, kind in shown.items()},
        drawn={
            each.sha256: figures_picture(each.figures, pictures[each.sha256])
            for each in document.attachments
            if each.figures and each.sha256 in pictures
        },
        possible=possible(document),
        looks_on=looks_on(document),
        to_prove=to_prove(document),
        next_step=next_step(document),
        verdict_of=verdict_of,
        a_person=a_person,
        one_day=len({each.at[:10] for each in document.timeline}) <= 1,
        days={next(each).number for _, each in groupby(document.timeline, lambda entry: entry.at[:10])},
    )
    return made


@cache
def _template() -> Any:
    from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

    environment = Environment(
        loader=PackageLoader("diagnose.documents"),
        autoescape=select_autoescape(["html"]),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters |= {"share": percent, "time": when, "clock": clock, "size": size_in_words, "together": together}
    return environment.get_template("case_report.html")


def looks_on(document: CaseReportDocument) -> bool:
    """Tell whether a fault is still looked for: nobody closed the case, and all that was told is not accounted for."""
    cured = bool(document.cured) and document.now.next.kind == "done" and not document.still_wrong
    return not (document.closed or cured)


def to_prove(document: CaseReportDocument) -> tuple[str, ...]:
    """Return remedies that were done but not proved, each with the check that proves it."""
    waiting = (each for each in document.remedies if each.verdict == "not proved")
    return tuple(f"{each.remedy}; proof: {each.proof}" if each.proof else each.remedy for each in waiting)


def next_step(document: CaseReportDocument) -> StepDocument | None:
    """Return the step that comes next; none where it is that a remedy which was done is proved."""
    step = document.now.next
    return step if step.title not in document.now.not_proved else None


def possible(document: CaseReportDocument) -> tuple[CauseDocument, ...]:
    """Return the causes that are named as still possible: at least one, and none that hardly is."""
    causes = document.now.causes[:MOST_POSSIBLE]
    return tuple(each for each in causes if each.probability >= LEAST) or causes[:1]


def title_of(document: CaseReportDocument) -> str:
    """Return the title of a report."""
    return f"Fault report: meter {document.meter}" if document.meter else "Fault report of a flow meter"


def cause_of(document: CaseReportDocument) -> str:
    """Return what the case came to: what it was closed with, else what was cured, else what is likeliest."""
    closed = document.closed
    if closed and closed.cause:
        return closed.cause
    if closed:
        return "no cause was found" if closed.outcome == "not found" else "a cause that the rule book does not list"
    if document.cured:
        cured = "; ".join(document.cured)
        return f"{cured}. Something else is still wrong; see what remains" if looks_on(document) else cured
    likely = document.now.causes[:1]
    return f"not proved yet; likeliest: {likely[0].title} ({percent(likely[0].probability)})" if likely else "not known"


def when(at: str) -> str:
    """Return a time as people read it.

    >>> when("2026-11-30T09:03:20+00:00"), when("")
    ('2026-11-30 09:03 UTC', '')
    """
    zone = " UTC" if at.endswith(("+00:00", "Z")) else ""
    return f"{at[:16].replace('T', ' ')}{zone}" if at else ""


def clock(at: str, one_day: bool) -> str:
    """Return a time of the timeline; the date is left out where all is of one day.

    >>> clock("2026-11-30T09:03:20+00:00", True), clock("2026-11-30T09:03:20+00:00", False)
    ('09:03', '2026-11-30 09:03')
    """
    return at[11:16] if one_day else at[:16].replace("T", " ")


def size_in_words(size: int) -> str:
    """Return a length in bytes as people read it.

    >>> size_in_words(900), size_in_words(15_300), size_in_words(2_500_000)
    ('900 bytes', '15 kB', '2.5 MB')
    """
    if size < 1_000:
        return f"{size} bytes"
    return f"{size / 1_000:.0f} kB" if size < 1_000_000 else f"{size / 1_000_000:.1f} MB"


def verdict_of(entry: EntryDocument) -> str:
    """Return the verdict on a step in a word: whether something was found wrong, or all was as expected.

    On what was only told there is none.
    """
    if entry.kind == "told":
        return ""
    found = entry.wrong or any(each.wrong for each in entry.readings)
    judged = found or entry.expected or entry.kind == "proof" or any(each.verdicts for each in entry.readings)
    return "wrong" if found else "fine" if judged else ""


def together(entries: Iterable[Any], *names: str) -> list[tuple[tuple[Any, ...], list[Any]]]:
    """Return entries that follow each other and have these fields in common, under what they have in common."""
    return [(shared, list(each)) for shared, each in groupby(entries, attrgetter(*names))]
