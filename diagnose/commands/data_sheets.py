"""``diagnose data-sheet``: what is known of one meter, filled in and judged."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from diagnose.commands.main import load
from diagnose.commands.printing import print_json
from diagnose.errors import WrongUse


@click.group("data-sheet")
def data_sheet() -> None:
    """Write down what is known of a meter, and have its installation judged."""


@data_sheet.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--continue", "go_on", is_flag=True, help="Ask for what an existing FILE does not say yet.")
@click.pass_context
def new(ctx: click.Context, file: Path, go_on: bool) -> None:
    """Fill in a data sheet step by step and keep it in FILE (YAML). Every answer is kept at once; all are optional."""
    from diagnose.documents.text import make_console
    from diagnose.interview.data_sheet_form import Form
    from diagnose.interview.terminal import Terminal
    from diagnose.rule_book.data_sheet import read_data_sheet

    if file.exists() and not go_on:
        raise WrongUse(f"{file} exists already; add --continue to fill in what it does not say, or name another file")
    if not file.parent.is_dir():
        raise WrongUse(f"there is no folder {file.parent}")
    rule_book = load(ctx).rule_book
    terminal = Terminal(make_console(), sys.stdin, sys.stdin.isatty())
    answers = Form(file, rule_book, terminal).fill_in()
    if not file.exists():
        click.echo("nothing was answered, nothing is kept")
        return
    click.echo(f"\n{file} holds {len(answers)} new fields; now: diagnose data-sheet review {file}")
    read_data_sheet(file, rule_book)


@data_sheet.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True)
@click.pass_context
def review(ctx: click.Context, file: Path, form: str) -> None:
    """Judge an installation from its data sheet in FILE, before anything is wrong.

    Each point is fine, doubtful, wrong, or cannot be told, with figures and sources. Exit status 1 when one is wrong.
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
