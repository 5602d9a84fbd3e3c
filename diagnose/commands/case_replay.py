"""``diagnose cases replay``: recorded cases with a confirmed cause, diagnosed again."""

from __future__ import annotations

from pathlib import Path

import click

from diagnose.commands.main import load
from diagnose.errors import BadInput


@click.command()
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
