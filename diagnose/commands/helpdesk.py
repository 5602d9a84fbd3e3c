"""``diagnose triage``: one pasted report to a diagnosis."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from diagnose.commands.files import read_file
from diagnose.commands.main import load
from diagnose.commands.options import DATA_SHEET, DIAGNOSIS_FORMAT
from diagnose.commands.printing import print_diagnosis
from diagnose.errors import WrongUse

if TYPE_CHECKING:
    from diagnose.analyses.analysed import Analysis
    from diagnose.rule_book.book import RuleBook
    from diagnose.rule_book.quantities import DataSheet


@click.command()
@click.argument("files", nargs=-1, type=click.Path(path_type=Path))
@DIAGNOSIS_FORMAT
@DATA_SHEET
@click.option(
    "--readings",
    type=click.Path(path_type=Path),
    help="Table of readings that goes with the report, as for `diagnose compare`.",
)
@click.option(
    "--compared",
    type=click.Choice(["reference", "control-system", "counter"]),
    default="reference",
    show_default=True,
    help="What the readings compare the meter with; the last two are compared with its own display.",
)
@click.option("--trend", type=click.Path(path_type=Path), help="Log that goes with it, as for `diagnose trend`.")
@click.option("--unit", default="", metavar="UNIT", help="Unit of readings and log if no heading gives it.")
@click.option("--top", type=click.IntRange(min=1), help="Show at most this many causes; JSON has them all without it.")
@click.pass_context
def triage(
    ctx: click.Context, /, files: tuple[Path, ...], form: str, data_sheet: Path | None, top: int | None, **beside: Any
) -> None:
    """Diagnose a pasted report: causes, questions, the next step.

    FILES are read together as one report; `-` or no file reads standard input. A table of readings in the report is
    compared as `diagnose compare` does it.

    \b
    diagnose triage ticket.txt
    diagnose triage --data-sheet ft-2041.yaml --format markdown - < mail.txt
    diagnose triage ticket.txt --readings against_tank.csv --trend last_week.csv

    What was understood comes first, with the words it was read from, so that a misreading shows: + present,
    - absent, = a value. Then what was not understood, and what to clear up.

    Each cause has its probability and the reasons for and against it, and how strong each is. "Words in the report
    that fit" resemble what the rule book says of a cause, though no phrase was found: they change the order but are
    never a finding. Several causes can be there at once, so the shares may add up to more than 100 %.

    The questions are those that tell most and need nobody to open, measure or change anything. A hazard in the report
    stops everything else and comes first.
    """
    from diagnose.documents.document import diagnosis_document, hazard_documents
    from diagnose.rule_book.data_sheet import read_data_sheet
    from diagnose.triage.report import triage as triage_report

    alone = not files and (beside["readings"] or beside["trend"])
    report = b"" if alone else _report(files)
    engine = load(ctx)
    rule_book = engine.rule_book
    sheet = read_data_sheet(data_sheet, rule_book) if data_sheet else {}
    triaged = triage_report(engine, report, sheet, analysed=_analysed(rule_book, sheet, beside))
    stop = triaged.stop
    document = diagnosis_document(
        rule_book,
        triaged.diagnosis,
        triaged.report.understanding,
        top,
        triaged.report.analyses,
        hazard_documents(rule_book, stop.findings, stop.quotes) if stop else (),
    )
    print_diagnosis(document, form)


def _analysed(rule_book: RuleBook, sheet: DataSheet, beside: dict[str, Any]) -> list[Analysis]:
    """Return what the readings and the log beside the report say."""
    from diagnose.analyses.answering import analyse_file, analyse_log

    found = []
    if beside["readings"]:
        found.append(analyse_file(rule_book, sheet, beside["readings"], beside["compared"], beside["unit"]))
    if beside["trend"]:
        found.append(analyse_log(rule_book, sheet, beside["trend"], beside["unit"]))
    return found


def _report(files: tuple[Path, ...]) -> bytes:
    """Return the report from files or standard input.

    Raises BadInput for a file that cannot be read, WrongUse when there is nothing to read.
    """
    named = files or (Path("-"),)
    return b"\n".join(_pasted() if str(path) == "-" else read_file(path, "report") for path in named)


def _pasted() -> bytes:
    if sys.stdin is None or sys.stdin.closed:
        raise WrongUse("there is no report; name a file, or pipe one in")
    if sys.stdin.isatty():
        click.echo("Paste the report, then press Enter and Ctrl-D (Ctrl-Z and Enter on Windows).", err=True)
    return sys.stdin.buffer.read()
