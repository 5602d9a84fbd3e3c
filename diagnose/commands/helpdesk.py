"""``diagnose triage``: one pasted report to a diagnosis."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from diagnose.bounded import REPORT, read_file, read_stream, too_long
from diagnose.commands.files import read_sheet
from diagnose.commands.main import load
from diagnose.commands.meters import known_of
from diagnose.commands.options import DATA_SHEET, DIAGNOSIS_FORMAT
from diagnose.commands.printing import print_diagnosis
from diagnose.errors import WrongUse

if TYPE_CHECKING:
    from diagnose.analyses.analysed import Analysis
    from diagnose.documents.diagnosis_types import DiagnosisDocument
    from diagnose.reading import Report
    from diagnose.reasoning.engine import Engine
    from diagnose.rule_book.book import RuleBook
    from diagnose.rule_book.quantities import DataSheet
    from diagnose.triage.report import TriageResult


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
@click.option("--without", "struck", type=int, multiple=True, metavar="N", help="Strike statement N: it was misread.")
@click.option(
    "--with",
    "beside",
    multiple=True,
    metavar="FINDING",
    help="Add a finding or a reading: `display-dark`, `fuse-open=absent`, `loop-current=3.6 mA`.",
)
@click.option("--meter", metavar="TAG", default="", help="Tag of the meter: its kept data sheet and its history count.")
@click.option("--marked", is_flag=True, help="Show the whole report, part by part, with what became of each.")
@click.option("--top", type=click.IntRange(min=1), help="Show at most this many causes; JSON has them all without it.")
@click.pass_context
def triage(
    ctx: click.Context, /, files: tuple[Path, ...], form: str, data_sheet: Path | None, top: int | None, **rest: Any
) -> None:
    """Diagnose a pasted report: causes, questions, the next step.

    FILES are read together as one report; `-` or no file reads standard input. Of at most 2 MB the first 100,000
    characters are understood. A table of readings in the report is compared as `diagnose compare` does it.

    \b
    diagnose triage ticket.txt
    diagnose triage --data-sheet ft-2041.yaml --format markdown - < mail.txt
    diagnose triage ticket.txt --readings against_tank.csv --trend last_week.csv
    diagnose triage ticket.txt --without 2 --with 'loop-current=3.6 mA'

    What was understood comes first, with the words it was read from, so that a misreading shows: + present,
    - absent, = a value. Then what was not understood, and what to clear up. Strike what was misread by its number.

    A report about several meters is taken apart where each has its name; one that says that all is solved, that
    nothing is wrong, or that is not about a flow meter gets no ranking.

    Each cause has its probability and the reasons for and against it, and how strong each is. "Words in the report
    that fit" resemble what the rule book says of a cause, though no phrase was found: they change the order but are
    never a finding. Several causes can be there at once, so the shares may add up to more than 100 %.

    The questions are those that tell most and need nobody to open, measure or change anything. A hazard in the report
    stops everything else and comes first.
    """
    from diagnose.triage.report import triage as triage_report

    alone = not files and (rest["readings"] or rest["trend"])
    report = b"" if alone else _report(files)
    engine = load(ctx)
    rule_book = engine.rule_book
    sheet = read_sheet(data_sheet, rule_book)
    known = known_of(rule_book, rest["meter"], sheet, data_sheet)
    sheet = {**known.kept, **sheet}
    first = list(known.told)
    if known.tag:
        from diagnose.cases.journal import case_folder
        from diagnose.learning.meter_history import on_meter

        engine, found_before = on_meter(engine, case_folder(), known.tag)
        first += filter(None, [found_before])
    analysed = _analysed(engine, sheet, rest)
    triaged = triage_report(engine, report, sheet, analysed=analysed, struck=rest["struck"], beside=rest["beside"])
    print_diagnosis(triage_document(rule_book, triaged, top, first), form, marked=rest["marked"])


def triage_document(
    rule_book: RuleBook, triaged: TriageResult, top: int | None = None, first: Sequence[str] = ()
) -> DiagnosisDocument:
    """Return a triage as a document, with one for each meter that the report tells of.

    ``first`` are messages that go before its own, as what was found on the meter before.
    """
    from diagnose.documents.diagnosis_types import MeterDocument
    from diagnose.documents.document import diagnosis_document, hazard_documents

    stop, read = triaged.stop, triaged.report
    return diagnosis_document(
        rule_book,
        triaged.diagnosis,
        read.understanding,
        top,
        read.analyses,
        hazard_documents(rule_book, stop.findings, stop.quotes) if stop else (),
        about=triaged.about,
        meters=[
            MeterDocument(name=name, diagnosis=triage_document(rule_book, each, top)) for name, each in triaged.meters
        ],
        disturbed=read.understanding.disturbed,
        reading=read.understanding.reading,
        messages=(*first, *_only_meaning_read(read), *_meters_left_out(triaged)),
    )


def _only_meaning_read(read: Report) -> tuple[str, ...]:
    if not read.foreign:
        return ()
    if read.understanding.worded and read.understanding.worded.like:
        return (
            "This is not in English: only its meaning was read, roughly, and no statement of it. Ask in plain words.",
        )
    return ("This is not in English, and could not be read: put it into plain English words.",)


def _meters_left_out(triaged: TriageResult) -> tuple[str, ...]:
    more = len(triaged.report.topic.meters) - len(triaged.meters)
    if not triaged.meters or not more:
        return ()
    return (f"{more:,} more meters of the report were left out: send what it says of them by itself.",)


def _analysed(engine: Engine, sheet: DataSheet, given: dict[str, Any]) -> list[Analysis]:
    """Return what the readings and the log beside the report say."""
    if not (given["readings"] or given["trend"]):
        return []
    from diagnose.analyses.answering import analyse_file, analyse_log

    found = []
    if given["readings"]:
        found.append(analyse_file(engine, sheet, given["readings"], given["compared"], given["unit"]))
    if given["trend"]:
        found.append(analyse_log(engine, sheet, given["trend"], given["unit"]))
    return found


def _report(files: tuple[Path, ...]) -> bytes:
    """Return the report from files or standard input.

    Raises BadInput for a file that cannot be read, WrongUse when there is nothing to read.
    """
    named = files or (Path("-"),)
    parts: list[bytes] = []
    for path in named:
        parts.append(_pasted() if str(path) == "-" else read_file(path, REPORT))
        if sum(map(len, parts)) > REPORT.most:
            raise too_long(REPORT, "report in all these files")
    return b"\n".join(parts)


def _pasted() -> bytes:
    if sys.stdin is None or sys.stdin.closed:
        raise WrongUse("there is no report; name a file, or pipe one in")
    if sys.stdin.isatty():
        click.echo("Paste the report, then press Enter and Ctrl-D (Ctrl-Z and Enter on Windows).", err=True)
    return read_stream(sys.stdin.buffer, REPORT, REPORT.what)
