"""Kept cases as rows: for other programs, for a spreadsheet, and for a screen however narrow."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from diagnose.cases.listing import Alike, CasesFound
from diagnose.cases.summary import Summary
from diagnose.documents.case_list_types import CaseAlike, CaseListDocument, CaseRow, CasesAlikeDocument, SharedFinding
from diagnose.documents.csv_cells import written
from diagnose.rule_book.book import RuleBook

HEADINGS = ("name", "date", "meter", "state", "cause", "complaint")
WIDEST = {"meter": 12, "name": 24}
GIVE_WAY = (("complaint", 16), ("cause", 16), ("meter", 8), ("name", 15), ("cause", 8), ("complaint", 8), ("name", 8))
"""Which column is made narrower first where they do not all fit, and down to how many letters."""

BETWEEN = "  "


def case_list_document(found: CasesFound, problems: Sequence[str], book: RuleBook) -> CaseListDocument:
    """Return a list as a document."""
    rows = tuple(_row(each, book) for each in found.cases)
    return CaseListDocument(of=found.of, cases=rows, problems=tuple(problems))


def cases_alike_document(name: str, alike: Iterable[Alike], book: RuleBook) -> CasesAlikeDocument:
    """Return cases like one as a document."""
    return CasesAlikeDocument(
        like=name,
        cases=tuple(
            CaseAlike(
                case=_row(each.case, book),
                likeness=round(each.likeness, 3),
                shared=tuple(SharedFinding(id=found, title=title_of(book, found)) for found in each.shared),
            )
            for each in alike
        ),
    )


def title_of(book: RuleBook, finding: str) -> str:
    """Return the title of a finding; of one that the rule book does not have, its name in words."""
    return book.findings[finding].title if finding in book.findings else finding.replace("-", " ")


def as_csv(rows: Iterable[CaseRow]) -> str:
    """Return rows as CSV with a heading; no cell is a formula to a spreadsheet."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(CaseRow.__struct_fields__)
    for row in rows:
        writer.writerow(written(getattr(row, name)) for name in CaseRow.__struct_fields__)
    return text.getvalue()


def table(cases: Sequence[Summary], width: int) -> list[str]:
    """Return cases as lines of text that fit, with a heading; nothing where there are none.

    A column that is empty in all of them is left out.
    """
    rows = [_cells(each) for each in cases]
    columns = [name for name in HEADINGS if any(row[name] for row in rows)]
    if not rows:
        return []
    widths = {name: max(len(name), *(len(row[name]) for row in rows)) for name in columns}
    widths |= {name: min(widths[name], most) for name, most in WIDEST.items() if name in widths}
    _fit(widths, width)
    lines = [dict(zip(HEADINGS, HEADINGS, strict=True)), *rows]
    return [BETWEEN.join(_cut(line[name], widths[name]) for name in columns).rstrip() for line in lines]


def _cells(case: Summary) -> dict[str, str]:
    """Return what a screen shows of a case; a cause that nobody confirmed comes with its share."""
    share = "" if case.confirmed or case.probability is None else f"{round(100 * case.probability)} % "
    nothing = "(not found)" if case.outcome == "not found" else ""
    return {
        "name": case.name,
        "date": case.changed[:10],
        "meter": case.meter,
        "state": case.state,
        "cause": f"{share}{case.cause}" if case.cause else nothing,
        "complaint": case.complaint,
    }


def _fit(widths: dict[str, int], width: int) -> None:
    """Make columns narrower, in the order in which they give way, until the lines fit."""
    for name, least in GIVE_WAY:
        over = sum(widths.values()) + len(BETWEEN) * (len(widths) - 1) - width
        if over > 0 and name in widths:
            widths[name] = max(min(widths[name], least), widths[name] - over)


def _cut(text: str, width: int) -> str:
    return f"{text[: width - 1]}…" if len(text) > width else text.ljust(width)


def _row(case: Summary, book: RuleBook) -> CaseRow:
    area = book.causes[case.cause].area if case.cause in book.causes else ""
    values = {name: value for name, value in case._asdict().items() if name not in ("words", "findings")}
    return CaseRow(**values, area=area)
