"""``diagnose triage``: one pasted report to a diagnosis."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import click

from diagnose.commands.main import load
from diagnose.errors import BadInput, WrongUse


@click.command()
@click.argument("files", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json", "markdown"]),
    default="text",
    show_default=True,
    help="How to print the diagnosis. JSON goes to standard output alone.",
)
@click.option(
    "--data-sheet", type=click.Path(path_type=Path), help="YAML file with what is known of the meter (range, supply …)."
)
@click.option("--top", type=click.IntRange(min=1), help="Show so many causes at most (JSON: all of them if not given).")
@click.pass_context
def triage(ctx: click.Context, files: tuple[Path, ...], form: str, data_sheet: Path | None, top: int | None) -> None:
    """Diagnose one pasted report: what was understood, ranked causes, what to ask back, the next step.

    FILES are read together as one report; `-` or none reads standard input.

    \b
    diagnose triage ticket.txt
    diagnose triage --data-sheet ft-2041.yaml --format json - < mail.txt
    """
    from diagnose.documents.document import diagnosis_document
    from diagnose.rule_book.data_sheet import read_data_sheet
    from diagnose.triage.report import triage as triage_report

    report = _report(files)
    rule_book = load(ctx)
    sheet = read_data_sheet(data_sheet, rule_book) if data_sheet else {}
    understanding, diagnosis = triage_report(rule_book, report, sheet)
    document = diagnosis_document(rule_book, diagnosis, understanding, top)
    if form == "json":
        click.echo(json.dumps(document, ensure_ascii=not _speaks_unicode(), indent=2))
    elif form == "markdown":
        from diagnose.documents.markdown import markdown

        click.echo(markdown(document), nl=False)
    else:
        from diagnose.documents.text import make_console, print_document

        print_document(make_console(), document)


def _report(files: tuple[Path, ...]) -> bytes:
    """Return the report from files or standard input.

    Raises BadInput for a file that cannot be read, WrongUse when there is nothing to read.
    """
    parts = []
    for path in files or (Path("-"),):
        if str(path) == "-":
            parts.append(_pasted())
            continue
        try:
            parts.append(path.read_bytes())
        except OSError as error:
            raise BadInput(f"the report {path} cannot be read: {error.strerror or error}") from error
    return b"\n".join(parts)


def _pasted() -> bytes:
    if sys.stdin is None or sys.stdin.closed:
        raise WrongUse("there is no report; name a file, or pipe one in")
    if sys.stdin.isatty():
        click.echo("Paste the report, then press Enter and Ctrl-D (Ctrl-Z and Enter on Windows).", err=True)
    return sys.stdin.buffer.read()


def _speaks_unicode() -> bool:
    """Tell whether standard output can carry every letter; JSON has escapes for those that it cannot."""
    return (getattr(sys.stdout, "encoding", None) or "").lower().replace("-", "") == "utf8"
