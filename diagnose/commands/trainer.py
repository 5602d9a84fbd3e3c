"""``diagnose rules``: checking the rule book, and looking things up in it."""

from __future__ import annotations

from pathlib import Path

import click

from diagnose.commands.main import load, rules_folder


@click.group()
def rules() -> None:
    """Check the rule book and look things up in it."""


@rules.command()
@click.argument("folder", required=False, type=click.Path(path_type=Path))
@click.option("--one-line", is_flag=True, help="One line a problem, for editors: file:line:column: error[code] text.")
@click.pass_context
def check(ctx: click.Context, folder: Path | None, one_line: bool) -> None:
    """Find everything that is wrong in a rule book: places, what is meant, how to mend it.

    FOLDER is the rule book; the one that came along if left out.
    """
    from diagnose.rule_book.load import examine_folder

    book, problems = examine_folder(folder or rules_folder(ctx))
    for problem in problems:
        click.echo(problem.in_one_line() if one_line else problem.in_full() + "\n")
    if problems or book is None:
        click.echo(f"{len(problems)} problem{'s' if len(problems) != 1 else ''} found", err=True)
        ctx.exit(1)
    counts = (
        f"{len(book.causes)} causes in {len({cause.area for cause in book.causes.values()})} areas, "
        f"{len(book.findings)} findings, {len(book.checks)} checks, {len(book.inference)} inference rules, "
        f"{len(book.remedies)} remedies, {len(book.cautions)} cautions"
    )
    click.echo(f"fine: {counts}")


@rules.command()
@click.argument("name")
@click.pass_context
def show(ctx: click.Context, name: str) -> None:
    """Show one entry of the rule book, by its id, and where it is used."""
    from diagnose.authoring.lookup import described
    from diagnose.errors import BadInput
    from diagnose.place import did_you_mean

    rule_book = load(ctx)
    text, known = described(rule_book, name)
    if not text:
        raise BadInput(
            f"nothing in the rule book is called `{name}`; {did_you_mean(name, known, 'see the files in rules/')}"
        )
    click.echo(text)


@rules.command()
@click.argument("part", type=click.Choice(["causes", "findings", "checks", "quantities", "cautions", "data-sheet"]))
@click.pass_context
def ids(ctx: click.Context, part: str) -> None:
    """List the ids of a part of the rule book with their titles."""
    rule_book = load(ctx)
    items = rule_book.data_sheet_fields() if part == "data-sheet" else getattr(rule_book, part)
    width = max(map(len, items), default=0)
    for name, item in items.items():
        click.echo(f"{name:{width}}  {item.title}")
