"""``diagnose cases``: recorded cases, replayed."""

from __future__ import annotations

from pathlib import Path

import click

from diagnose.commands.main import load
from diagnose.errors import BadInput


@click.group()
def cases() -> None:
    """Replay recorded cases and look after interviews."""


@cases.command()
@click.argument("path", required=False, type=click.Path(path_type=Path))
@click.pass_context
def replay(ctx: click.Context, path: Path | None) -> None:
    """Diagnose recorded cases anew and hold the result against their confirmed causes.

    PATH is a case file or a folder of them; those that came along if left out.
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
    """List the interviews kept on this machine, latest last."""
    from diagnose.cases.journal import case_folder

    folder = case_folder()
    names = sorted(path.stem for path in folder.glob("*.case"))
    for name in names:
        click.echo(name)
    click.echo(f"{len(names)} in {folder}", err=True)
