"""``diagnose cases``: recorded cases, replayed; interviews kept here, listed and shown."""

from __future__ import annotations

from pathlib import Path

import click

from diagnose.commands.main import load
from diagnose.commands.options import DIAGNOSIS_FORMAT
from diagnose.commands.printing import print_diagnosis
from diagnose.errors import BadInput


@click.group()
def cases() -> None:
    """Replay recorded cases; list and show the interviews kept here.

    \b
    diagnose cases replay
    diagnose cases replay my-cases/
    diagnose cases list
    diagnose cases show 20260301-101500
    """


@cases.command()
@click.argument("path", required=False, type=click.Path(path_type=Path))
@click.pass_context
def replay(ctx: click.Context, path: Path | None) -> None:
    """Diagnose recorded cases again, and check the results.

    PATH is a case file or a folder of them; without it, the included cases.

    \b
    diagnose cases replay
    diagnose cases replay my-cases/pump_house.yaml
    diagnose --rules my-rules cases replay my-cases

    One line per case, with the rank of each confirmed cause, and what the case calls for but did not get; then totals.
    Exit status 1 if a case fails. The files in cases/ show how a case is written.
    """
    from diagnose.authoring.replay import figures
    from diagnose.authoring.replay import replay as replay_case
    from diagnose.cases.record import read_cases
    from diagnose.shipped import shipped_folder

    if path is not None and not path.exists():
        raise BadInput(f"there is no case or folder of cases {path}")
    engine = load(ctx)
    cases = read_cases(path or shipped_folder("cases"), engine.rule_book)
    results = [replay_case(case, engine) for case in cases]
    for result in results:
        places = ", ".join(f"{name} {rank}." for name, rank in result.ranks.items())
        click.echo(f"{'fails' if result.failures else 'fine '}  {result.case.id}: {places}")
        for failure in result.failures:
            click.echo(f"       {failure}")
    click.echo(figures(results))
    ctx.exit(1 if any(result.failures for result in results) else 0)


@cases.command("list")
def list_cases() -> None:
    """List the interviews kept on this machine, by name.

    \b
    diagnose cases list
    diagnose cases list | tail -3
    DIAGNOSE_CASES=/media/stick diagnose cases list

    `diagnose interview --resume NAME` goes on with one.
    """
    from diagnose.cases.journal import case_folder

    folder = case_folder()
    names = sorted(path.stem for path in folder.glob("*.case"))
    for name in names:
        click.echo(name)
    click.echo(f"{len(names)} in {folder}", err=True)


@cases.command()
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
