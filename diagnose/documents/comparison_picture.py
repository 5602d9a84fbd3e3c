"""A comparison drawn with letters: what is indicated over the reference beside the deviations with their limits."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Console
from rich.text import Text

from diagnose.documents.comparison_types import ComparisonDocument
from diagnose.documents.letters import LABEL, ROWS, Sheet, shows

LEFT, RIGHT = 27, 31
"""Letters of both panels; with their labels they fill 80 columns."""

MARKS, PLAIN_MARKS = ("●", "·", "+", "×"), ("o", ".", "+", "x")
"""Readings, then the leading curves; the second set for terminals that cannot show the first."""

BEYOND = 0.25
"""Share of the range of deviations by which the picture reaches beyond them."""

SMALL = 0.05
"""Share of the range of deviations from which limits are part of it."""


def print_picture(console: Console, document: ComparisonDocument) -> None:
    """Print both panels; nothing when all readings are at one flow."""
    flows = [pair.reference for pair in document.pairs]
    if min(flows) == max(flows):
        return
    marks = MARKS if shows(console, "".join(MARKS)) else PLAIN_MARKS
    left, right = _indicated(document, marks), _deviations(document, marks)
    console.print()
    unit = document.unit
    width = LABEL + 2 + LEFT
    console.print(Text(f"{f'Indicated [{unit}]':{width}} Deviation [%]", "head"))
    for one, other in zip(left.lines(), right.lines(), strict=True):
        console.print(Text(f"{one:{width}} {other}".rstrip()))
    axis = f"{'':{LABEL + 2}}reference [{unit}]"
    console.print(Text(f"{axis:{width}} {axis}", "quiet"))
    _legend(console, document, marks, limited=any("=" in row for row in right.cells))


def _legend(console: Console, document: ComparisonDocument, marks: tuple[str, ...], limited: bool) -> None:
    curves = zip(marks[1:], document.picture.curves, strict=False)
    legend = [f"{marks[0]} readings", *(f"{mark} {curve.title}" for mark, curve in curves)]
    if document.picture.line:
        legend.append("/ line (left)")
    legend.append("- no difference (right)")
    if limited:
        legend.append("= permissible error")
    for each in legend:
        console.print(Text(f"{'':{LABEL}}  {each}", "quiet"))


def _curves(document: ComparisonDocument, marks: tuple[str, ...]) -> Iterator[tuple[str, tuple[float, ...]]]:
    """Go through the leading curves, the most probable one last, so that it lies on top."""
    curves = [each.indicated for each in document.picture.curves]
    yield from reversed(list(zip(marks[1:], curves, strict=False)))


def _indicated(document: ComparisonDocument, marks: tuple[str, ...]) -> Sheet:
    flows, pairs = document.picture.flows, document.pairs
    shown = [pair.indicated for pair in pairs]
    low = min(0.0, *shown)
    high = 1.05 * max(max(shown), max(pair.reference for pair in pairs), low + 1e-9)
    sheet = Sheet((flows[0], flows[-1]), (low, high), LEFT)
    if document.picture.line:
        sheet.draw(zip(flows, document.picture.line, strict=True), "/")
    for mark, curve in _curves(document, marks):
        sheet.draw(zip(flows, curve, strict=True), mark)
    sheet.draw(((pair.reference, pair.indicated) for pair in pairs), marks[0])
    return sheet


def _deviations(document: ComparisonDocument, marks: tuple[str, ...]) -> Sheet:
    flows = document.picture.flows
    points = [(pair.reference, 100 * pair.deviation) for pair in document.pairs if pair.deviation is not None]
    limits = [100 * pair.permissible_error for pair in document.pairs if pair.permissible_error is not None]
    widest, reach = max(limits, default=0.0), deviations_shown(document)
    sheet = Sheet((flows[0], flows[-1]), reach, RIGHT)
    sheet.rule(0.0, "-")
    for sign in (1, -1):
        if widest > (reach[1] - reach[0]) / (2 * ROWS - 2):
            sheet.rule(sign * widest, "=")
    for mark, curve in _curves(document, marks):
        drawn = ((flow, 100 * (shown - flow) / flow) for flow, shown in zip(flows, curve, strict=True) if flow)
        sheet.draw(drawn, mark)
    sheet.draw(points, marks[0])
    return sheet


def deviations_shown(document: ComparisonDocument) -> tuple[float, float]:
    """Return the deviations [%] between which a picture shows what is to be seen: readings, none, and limits."""
    pairs = [(pair, 100 * pair.deviation) for pair in document.pairs if pair.deviation is not None]
    offs = [0.0, *(deviation for _, deviation in pairs)]
    widest = max((100 * (pair.permissible_error or 0.0) for pair, _ in pairs), default=0.0)
    if widest > SMALL * (max(offs) - min(offs)):
        offs += [widest, -widest]
    beyond = BEYOND * (max(offs) - min(offs)) or 1.0
    return min(offs) - beyond, max(offs) + beyond
