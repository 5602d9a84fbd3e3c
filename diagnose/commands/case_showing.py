"""``diagnose cases show`` and ``resume``: one case as it stands, and going on with it."""

from __future__ import annotations

import click

from diagnose.commands.main import load
from diagnose.commands.options import DIAGNOSIS_FORMAT
from diagnose.commands.printing import print_diagnosis


@click.command()
@click.argument("name")
@DIAGNOSIS_FORMAT
@click.pass_context
def show(ctx: click.Context, name: str, form: str) -> None:
    """Print an interview as it stands, for whoever takes over: what is disturbed, the causes, the next step.

    NAME is its name or its file.

    \b
    diagnose cases show 20260301-101500
    diagnose cases show 20260301-101500 --format markdown > hand-over.md
    diagnose cases show 20260301-101500 --format json

    What nobody has put back comes first, with how it is put back. `diagnose interview --resume NAME` goes on with it.
    """
    from diagnose.cases.fitting import fitting, misfits
    from diagnose.cases.journal import Journal, case_folder
    from diagnose.interview.kept import kept_document
    from diagnose.protocol.situation import Situation

    engine = load(ctx)
    case = Journal.read(case_folder(), name)
    for each in misfits(engine.rule_book, case):
        click.echo(
            f"left out, for this rule book does not know it: line {each.line} of the case: {each.text}", err=True
        )
    print_diagnosis(kept_document(Situation(engine, fitting(engine.rule_book, case))), form)


@click.command()
@click.argument("name")
@click.pass_context
def resume(ctx: click.Context, name: str) -> None:
    """Go on with a case, as `diagnose interview --resume NAME` does.

    \b
    diagnose cases resume 20260301-101500

    A closed case is reopened first: `diagnose cases reopen NAME --because "…"`.
    """
    from diagnose.commands.technician import interview

    ctx.invoke(interview, resume=name, name="")
