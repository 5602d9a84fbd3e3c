"""The review of a data sheet, as a document for programs and as text for people."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console
from rich.text import Text

from diagnose.documents.review_types import FieldDocument, FigureShown, GroundDocument, PointDocument, ReviewDocument
from diagnose.documents.text import print_line
from diagnose.reasoning.reviewing import JUDGEMENTS, Point
from diagnose.rule_book.book import RuleBook

STYLES = {"wrong": "danger", "doubtful": "caution", "fine": "for", "cannot tell": "quiet"}


def review_document(rule_book: RuleBook, points: Iterable[Point]) -> ReviewDocument:
    """Return all points with their figures, reasons, sources and what is missing."""
    return ReviewDocument(points=tuple(_point(rule_book, each) for each in points))


def _point(rule_book: RuleBook, point: Point) -> PointDocument:
    return PointDocument(
        id=point.id,
        title=point.title,
        judgement=point.judgement,
        figures=tuple(FigureShown(title=title, shown=shown) for title, shown in point.figures),
        reasons=tuple(GroundDocument(because=because, source=source) for because, source in point.reasons),
        missing=tuple(FieldDocument(field=name, title=rule_book.quantities[name].title) for name in point.missing),
        advice=point.advice,
    )


def print_review(console: Console, document: ReviewDocument) -> None:
    """Print every point, gravest first, and how many there are of each judgement."""
    for point in document.points:
        _print_point(console, point)
    counts = {word: sum(point.judgement == word for point in document.points) for word in JUDGEMENTS}
    told = ", ".join(f"{count} {word}" for word, count in counts.items() if count)
    console.print()
    print_line(console, Text(told or "nothing to judge", "head"), indent=0)


def _print_point(console: Console, point: PointDocument) -> None:
    line = Text.assemble((f"{point.judgement:>11}", STYLES[point.judgement]), "  ", (point.title, "head"))
    print_line(console, line, indent=0, hang=13)
    if point.figures:
        figures = "; ".join(f"{each.title}: {each.shown}" for each in point.figures)
        print_line(console, figures, indent=13)
    for reason in point.reasons:
        print_line(console, f"{reason.because} ({reason.source})", indent=13)
    if point.advice:
        print_line(console, Text(f"→ {point.advice}"), indent=13)
    if point.missing:
        missing = ", ".join(each.title for each in point.missing)
        print_line(console, Text(f"not on the data sheet: {missing}", "quiet"), indent=13)
