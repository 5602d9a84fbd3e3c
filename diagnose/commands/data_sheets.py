"""``diagnose data-sheet``: what is known of one meter, filled in and judged."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from diagnose.commands.main import load
from diagnose.commands.options import FORMAT
from diagnose.commands.printing import print_json
from diagnose.errors import BadInput, WrongUse


@click.group("data-sheet")
def data_sheet() -> None:
    """Write down what is known of a meter; judge its installation.

    \b
    diagnose data-sheet new ft-2041.yaml
    diagnose data-sheet review ft-2041.yaml
    diagnose triage --data-sheet ft-2041.yaml ticket.txt
    diagnose data-sheet keep FT-2041 ft-2041.yaml
    diagnose triage --meter FT-2041 ticket.txt

    A data sheet is YAML, one field per line, figures with their units:

    \b
    output: 4-20 mA
    bore: 100 mm
    upper-range-value: 80 m3/h
    signal-duty: [control, dosing]

    Everything may stay unknown, but whatever is known makes triage and interview sharper. `diagnose rules ids
    data-sheet` lists the fields; `diagnose schema data-sheet` lets an editor complete and check them.
    """


@data_sheet.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--continue", "go_on", is_flag=True, help="Ask for what an existing FILE does not say yet.")
@click.pass_context
def new(ctx: click.Context, file: Path, go_on: bool) -> None:
    """Fill in a data sheet, one field at a time.

    \b
    diagnose data-sheet new ft-2041.yaml
    diagnose data-sheet new --continue ft-2041.yaml
    diagnose --rules my-rules data-sheet new ft-2041.yaml

    Every answer is saved in FILE (YAML) at once. Enter skips a field.
    """
    from diagnose.documents.text import make_console
    from diagnose.interview.data_sheet_form import Form
    from diagnose.interview.terminal import Terminal
    from diagnose.rule_book.data_sheet import read_data_sheet

    if sys.stdin is None or sys.stdin.closed:
        raise WrongUse("there is no input to read answers from; run this in a terminal, or pipe the answers in")
    if file.exists() and not go_on:
        raise WrongUse(f"{file} exists already; add --continue to fill in what it does not say, or name another file")
    if not file.parent.is_dir():
        raise WrongUse(f"there is no folder {file.parent}")
    rule_book = load(ctx).rule_book
    terminal = Terminal(make_console(), sys.stdin, sys.stdin.isatty())
    answers = Form(file, rule_book, terminal).fill_in()
    if not file.exists():
        click.echo("nothing was answered, so nothing is kept")
        return
    click.echo(f"\n{file} holds {len(answers)} new fields; next: diagnose data-sheet review {file}")
    read_data_sheet(file, rule_book)


@data_sheet.command("keep")
@click.argument("tag")
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option("--case", "name", metavar="CASE", help="Keep what was answered in a case, beside what is kept.")
@click.pass_context
def keep_sheet(ctx: click.Context, tag: str, file: Path | None, name: str | None) -> None:
    """Keep the data sheet of a meter beside the cases, under its tag.

    \b
    diagnose data-sheet keep FT-2041 ft-2041.yaml
    diagnose data-sheet keep FT-2041 --case 20260301-101500

    A FILE takes the place of what is kept, comments and all, and what differs is told. From a case come the fields that
    the kept one does not have; where both say something else, the kept one stays.
    """
    from diagnose.commands.meters import keep_fields, keep_file, tag_of

    if (file is None) == (name is None):
        raise WrongUse("name the file of a data sheet, or a case with --case")
    tag = tag_of(tag)
    if not tag:
        raise WrongUse("name the meter by its tag, for example FT-2041")
    rule_book = load(ctx).rule_book
    told = keep_file(rule_book, tag, file) if file else keep_fields(rule_book, tag, str(name))
    for each in told:
        click.echo(each)


@data_sheet.command("show")
@click.argument("tag")
def show_sheet(tag: str) -> None:
    """Print the data sheet kept of a meter, and where it is kept.

    \b
    diagnose data-sheet show FT-2041
    diagnose data-sheet show FT-2041 > ft-2041.yaml
    """
    from diagnose.cases.journal import case_folder
    from diagnose.cases.meter_sheets import kept_text, sheet_of
    from diagnose.commands.meters import tag_of
    from diagnose.place import visible

    path = sheet_of(case_folder(), tag_of(tag))
    text = kept_text(path) if tag_of(tag) else ""
    if not text:
        raise BadInput(f"no data sheet is kept of {visible(tag)}; keep one with: diagnose data-sheet keep TAG FILE")
    click.echo(visible(text, "\n\t"), nl=not text.endswith("\n"))
    click.echo(f"kept in {path}", err=True)


@data_sheet.command()
@click.argument("file", type=click.Path(path_type=Path))
@FORMAT
@click.pass_context
def review(ctx: click.Context, file: Path, form: str) -> None:
    """Judge an installation from its data sheet.

    \b
    diagnose data-sheet review ft-2041.yaml
    diagnose data-sheet review --format json ft-2041.yaml
    diagnose --rules my-rules data-sheet review ft-2041.yaml

    Best done before anything is wrong. Velocity, straight runs, earthing, conductivity, loop, cable, fuse, bus and
    more: each is fine, doubtful, wrong, or cannot be judged, with the figures behind it, their sources, and what to do.
    Exit status 1 if one is wrong.
    """
    from diagnose.documents.review import print_review, review_document
    from diagnose.documents.text import make_console
    from diagnose.reasoning.reviewing import review as reviewed
    from diagnose.rule_book.data_sheet import read_data_sheet

    engine = load(ctx)
    rule_book = engine.rule_book
    points = reviewed(engine, read_data_sheet(file, rule_book))
    document = review_document(rule_book, points)
    if form == "json":
        print_json(document)
    else:
        print_review(make_console(), document)
    ctx.exit(1 if any(point.judgement == "wrong" for point in points) else 0)
