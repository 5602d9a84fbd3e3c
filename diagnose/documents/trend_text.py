"""A log's analysis for the terminal: what log it is, what shows, the picture, and what follows."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console
from rich.text import Text

from diagnose.documents import parts
from diagnose.documents.blocks import percent
from diagnose.documents.text import print_head, print_line, write
from diagnose.documents.trend_picture import print_picture
from diagnose.documents.trend_types import MarkDocument, SignDocument, TrendDocument
from diagnose.documents.typed import FindingDocument
from diagnose.tables.log_clock import duration

MOST_PLACES = 4
"""Places of a sign that are listed."""


def print_trend(console: Console, document: TrendDocument, picture: bool = True) -> None:
    """Print a trend document."""
    _log(console, document)
    _seen(console, document)
    if picture:
        print_picture(console, document)
    _not_seen(console, document)
    _findings(console, document.findings)
    if document.warnings:
        print_head(console, "Note")
        for each in document.warnings:
            print_line(console, Text(f"! {each}", "warning-text"))


def _log(console: Console, document: TrendDocument) -> None:
    log, figures = document.log, document.statistics
    gaps = (
        "no gaps"
        if not log.gaps
        else f"{log.gaps} {'gap' if log.gaps == 1 else 'gaps'}, the longest {duration(log.longest_gap_seconds)}"
    )
    beside = f"; beside it: {', '.join(log.beside)}" if log.beside else ""
    print_line(
        console,
        f"{log.readings:,} readings, {log.from_} to {log.to}, usually one every "
        f"{duration(log.usual_step_seconds)}, {gaps}{beside}",
        indent=0,
    )
    unit = log.unit
    print_line(
        console,
        f"median {figures.median:.4g} {unit}, half of them {figures.lower_quartile:.4g} to "
        f"{figures.upper_quartile:.4g}, all {figures.least:.4g} to {figures.greatest:.4g}; short-term noise "
        f"{figures.noise:.2g} {unit}",
        indent=0,
    )


def _seen(console: Console, document: TrendDocument) -> None:
    present = [each for each in document.signs if each.present]
    print_head(console, "Seen")
    if not present:
        print_line(console, "nothing that was looked for")
    for each in present:
        line = Text.assemble((f"{percent(each.probability):>5}  ", "head"), each.title, (f": {each.because}", ""))
        print_line(console, line, indent=0, hang=7)
        print_line(console, Text(_statistic(each), "quiet"), indent=7, hang=2)
        for mark in each.marks[:MOST_PLACES]:
            print_line(console, _place(mark, each.unit), indent=7, hang=2)
        if each.marks_in_all > MOST_PLACES:
            print_line(console, f"and {each.marks_in_all - MOST_PLACES} more", indent=7)
        print_line(console, each.means, indent=7, hang=2)


def _statistic(sign: SignDocument) -> str:
    if sign.value is None or sign.limit is None:
        return str(sign.statistic)
    return f"{sign.statistic}: {figure(sign.value)}, limit {figure(sign.limit)}"


def figure(value: float) -> str:
    """Return a statistic as people read it, large ones without a power of ten.

    >>> figure(5.2856), figure(0.2061), figure(10800.0), figure(1e12)
    ('5.29', '0.206', '10 800', '1e+12')
    """
    return f"{value:,.0f}".replace(",", " ") if 1000 <= abs(value) < 1e9 else f"{value:.3g}"


def _place(mark: MarkDocument, unit: str) -> str:
    length = f" for {duration(mark.seconds)}" if mark.seconds > 0 else ""
    size = "" if mark.size is None else f": {mark.size:.4g} {unit}"
    return f"{mark.from_}{length}{size}"


def _not_seen(console: Console, document: TrendDocument) -> None:
    unseen = [each for each in document.signs if not each.present and not each.untested]
    excluded = [each.title for each in unseen if each.excluded]
    untested = [f"{each.title} ({each.untested})" for each in document.signs if each.untested]
    share = f"{100 * document.false_alarm_rate:g} of a hundred logs of healthy plants for each sign"
    rate = f"false alarms: at most {share}; more for spikes where the noise has heavy tails"
    if unseen:
        print_head(console, "Looked for and not seen")
        print_line(console, "; ".join(each.title for each in unseen))
        if excluded:
            print_line(console, Text(f"and not there, for this log would show it: {'; '.join(excluded)}", "quiet"))
        print_line(console, Text(rate, "quiet"))
    if untested:
        print_head(console, "Not tested")
        for each in untested:
            print_line(console, each)


def _findings(console: Console, findings: Iterable[FindingDocument]) -> None:
    if not findings:
        return
    print_head(console, "What follows for the diagnosis")
    # The places listed above say why.
    write(console, parts.findings((each.title, each.present, "") for each in findings))
