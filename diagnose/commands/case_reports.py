"""``diagnose cases report``: all of a case on one page, and what was photographed or recorded beside it."""

from __future__ import annotations

import sys
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING

import click

from diagnose.commands.files import write_text
from diagnose.commands.main import load
from diagnose.commands.printing import speaks_unicode
from diagnose.errors import WrongUse

if TYPE_CHECKING:
    from diagnose.documents.case_report_types import CaseReportDocument
    from diagnose.reasoning.engine import Engine

FORMATS = ("html", "markdown", "text", "json")
ENDINGS = {".html": "html", ".htm": "html", ".md": "markdown", ".txt": "text", ".json": "json"}
"""Endings of a file by which the format is known where none is named."""

PAGE = 100
"""Letters of a line of plain text that goes to a file or a pipe."""


@click.command()
@click.argument("case")
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="How to write the report; by the ending of --output, else text. `diagnose schema case-report` describes JSON.",
)
@click.option("--output", type=click.Path(path_type=Path), help="Write it into this file.")
@click.option(
    "--attach",
    type=click.Path(path_type=Path),
    multiple=True,
    help="Attach a photo or a file to the case first; may be given several times.",
)
@click.option("--note", default="", help="What the attached files show.")
@click.option("--by", default="", metavar="NAME", help="Who attaches them.")
@click.pass_context
def report(
    ctx: click.Context, case: str, form: str | None, output: Path | None, attach: tuple[Path, ...], note: str, by: str
) -> None:
    """Write the report of a case that a planner files: what was reported, done, read and found, and what remains.

    CASE is its name or its file.

    \b
    diagnose cases report 20260301-101500 --output fault.html
    diagnose cases report 20260301-101500 --attach wet_box.jpg --note 'water in the box' --output fault.html
    diagnose cases report 20260301-101500 --format markdown

    The page is one file that needs no network and prints on A4 without colour. Every reading stands beside what was
    expected. Attached files are copied beside the case and named with their SHA-256; small pictures are shown.
    """
    from diagnose.cases.attached_files import attach as attach_files
    from diagnose.cases.journal import Journal, case_folder

    if (note or by) and not attach:
        raise WrongUse("--note and --by say something of files; name them with --attach")
    form = form or ENDINGS.get(output.suffix.lower() if output else "", "text")
    engine = load(ctx)
    if attach:
        with Journal.resume(case_folder(), case) as journal:
            for each in attach_files(journal, attach, note, by):
                click.echo(f"attached {each.name}: SHA-256 {each.sha256}", err=True)
    document, pictures = _report(engine, case)
    text = _written(document, pictures, form)
    if output:
        write_text(output, text)
    else:
        click.echo(text, nl=False)


def _report(engine: Engine, name: str) -> tuple[CaseReportDocument, dict[str, bytes]]:
    """Return the report of a case as it stands on disk, with the pictures to show in it."""
    from diagnose.cases.attached_files import kept_files
    from diagnose.cases.fitting import fitting, misfits
    from diagnose.cases.journal import Journal, case_folder, journal_of, now
    from diagnose.documents.case_report import FileKept
    from diagnose.interview.kept import report_document
    from diagnose.protocol.situation import Situation

    kept = Journal.read(case_folder(), name)
    journal = journal_of(case_folder(), name)
    files = tuple(kept_files(journal, kept))
    document = report_document(
        Situation(engine, fitting(engine.rule_book, kept)),
        now(),
        [
            FileKept(each.attached, each.at, f"{each.path.parent.name}/{each.path.name}", each.kept, each.picture)
            for each in files
        ],
        [f"line {each.line}: {each.text}" for each in misfits(engine.rule_book, kept)],
    )
    return document, {each.attached.sha256: each.data for each in files if each.data}


def _written(document: CaseReportDocument, pictures: dict[str, bytes], form: str) -> str:
    """Return a report as text of one of the formats."""
    if form == "html":
        from diagnose.documents.case_report_page import case_report_html

        return case_report_html(document, pictures)
    if form == "json":
        from diagnose.documents.typed import as_json

        return as_json(document, ascii_only=not speaks_unicode()) + "\n"
    from diagnose.documents.case_report_blocks import case_report_blocks, case_report_markdown

    if form == "markdown":
        return case_report_markdown(document)
    from diagnose.documents.text import make_console, write

    console = make_console(file=StringIO(), width=None if sys.stdout.isatty() else PAGE)
    write(console, case_report_blocks(document))
    return console.file.getvalue()  # type: ignore[attr-defined, no-any-return]
