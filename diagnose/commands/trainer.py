"""``diagnose rules``: checking the rule book, and looking things up in it."""

from __future__ import annotations

import itertools
import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from diagnose.commands.main import load, rules_folder
from diagnose.commands.options import SHARE, with_options
from diagnose.commands.printing import print_json

if TYPE_CHECKING:
    from diagnose.rule_book.book import RuleBook


@click.group()
def rules() -> None:
    """Check a rule book, look things up in it, see how good it is.

    \b
    diagnose rules check my-rules/
    diagnose rules show load-too-high
    diagnose --rules my-rules rules coverage

    rules/README.md is the manual: how causes, findings, checks and rules are written, and how figures are set.
    """


@rules.command()
@click.argument("folder", required=False, type=click.Path(path_type=Path))
@click.option(
    "--one-line", is_flag=True, help="For editors, a line for each problem: file:line:column: error[code] text."
)
@click.pass_context
def check(ctx: click.Context, folder: Path | None, one_line: bool) -> None:
    """Find everything that is wrong in a rule book.

    FOLDER is the rule book; without it, the included one. Each problem comes with its place, what was
    probably meant, and how to fix it.

    \b
    diagnose rules check
    diagnose rules check my-rules/
    diagnose rules check --one-line my-rules/

    All problems come at once. Besides misspelt names it finds findings that nobody can learn, checks that tell
    nothing, units that do not go together, rules whose examples come out differently, and more. If there are none, it
    says how much the rule book holds; otherwise the exit status is 1.
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
    """Show an entry of the rule book, and where it is used.

    \b
    diagnose rules show load-too-high
    diagnose rules show supply-voltage
    diagnose --rules my-rules rules show our-own-finding

    Its fields are shown as the program takes them (words of a scale as figures, figures in SI units), then everything
    that refers to it.
    """
    from diagnose.authoring.lookup import described
    from diagnose.errors import BadInput
    from diagnose.place import did_you_mean

    rule_book = load(ctx).rule_book
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
    """List the ids of a part of the rule book with their titles.

    \b
    diagnose rules ids causes
    diagnose rules ids findings | grep earth
    diagnose rules ids data-sheet
    """
    rule_book = load(ctx).rule_book
    items = rule_book.data_sheet_fields() if part == "data-sheet" else getattr(rule_book, part)
    width = max(map(len, items), default=0)
    for name, item in items.items():
        click.echo(f"{name:{width}}  {item.title}")


@rules.command()
@click.argument("words", nargs=-1, required=True)
@click.pass_context
def phrase(ctx: click.Context, words: tuple[str, ...]) -> None:
    """Show what a phrase becomes: which words count, how freely they may stand, what it says today.

    \b
    diagnose rules phrase display stays dark
    diagnose --rules my-rules rules phrase "no light at all"
    """
    from diagnose.authoring.phrase_shown import phrase_shown

    for line in phrase_shown(load(ctx).lexicon, " ".join(words)):
        click.echo(line)


FORMAT = click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True, help="How to print it."
)


@rules.command()
@click.option(
    "--cases",
    "cases",
    type=click.Path(path_type=Path),
    help="Recorded cases to count; without it, for the included rule book, the included cases.",
)
@FORMAT
@click.pass_context
def coverage(ctx: click.Context, cases: Path | None, form: str) -> None:
    """Say which faults the rule book would see and tell apart.

    \b
    diagnose rules coverage
    diagnose rules coverage --cases my-cases/
    diagnose --rules my-rules rules coverage --format json

    Detection, isolation and ambiguity groups in the sense of IEEE 1522, weighted by how frequent each cause is. Then
    where it is thin: symptoms with few phrases, areas with few cases, look-alikes that no check tells apart.
    """
    from diagnose.authoring.coverage import coverage as covered_by
    from diagnose.authoring.coverage_text import in_words

    engine = load(ctx)
    covered = covered_by(engine, _confirmed(ctx, cases, engine.rule_book))
    if form == "json":
        print_json(covered)
    else:
        click.echo(in_words(covered))


def _confirmed(ctx: click.Context, cases: Path | None, rule_book: RuleBook) -> list[tuple[str, ...]] | None:
    """Return the confirmed causes of each case, None when there are no cases for this rule book."""
    from diagnose.cases.record import read_cases
    from diagnose.errors import BadInput, ProblemsFound
    from diagnose.shipped import shipped_folder

    if cases is None and ctx.obj is not None:
        return None
    folder = cases or shipped_folder("cases")
    if not folder.exists():
        raise BadInput(f"there is no case or folder of cases {folder}")
    try:
        return [case.confirmed for case in read_cases(folder, rule_book)]
    except ProblemsFound as error:
        if cases is not None:
            raise
        text = f"cases are not counted: {len(error.problems)} problems in them (diagnose cases replay tells which)"
        click.echo(text, err=True)
        return None


def _so_many(usual: int, help: str) -> dict[str, Any]:
    return {"type": click.IntRange(min=0), "default": usual, "show_default": True, "help": help}


_FAULTS = {
    "--single": _so_many(2000, "Faults with one cause."),
    "--double": _so_many(500, "Faults with two causes."),
    "--less-skilled": _so_many(200, "More single faults, met by ordinary and instructed persons."),
    "--intermittent": _so_many(100, "Single faults that come and go."),
    "--outside": _so_many(100, "Single faults whose cause is taken out of the rule book."),
}
"""How many faults of each kind are simulated."""


@rules.command()
@with_options(_FAULTS)
@click.option(
    "--wrong",
    type=SHARE,
    default=0.05,
    show_default=True,
    help="Share of answers, and of results of remedies, that are wrong.",
)
@click.option("--seed", type=int, default=1, show_default=True, help="The same seed draws the same faults.")
@click.option(
    "--processes",
    type=click.IntRange(min=1),
    default=lambda: os.cpu_count() or 1,
    show_default="one for each processor",
    help="Processes to use; the figures do not depend on it.",
)
@FORMAT
@click.pass_context
def simulate(
    ctx: click.Context,
    /,
    single: int,
    double: int,
    less_skilled: int,
    wrong: float,
    seed: int,
    processes: int,
    form: str,
    **others: int,
) -> None:
    """Simulate interviews, and count how often they end right.

    \b
    diagnose rules simulate --single 200 --double 50
    diagnose rules simulate --wrong 0.1 --seed 2
    diagnose --rules my-rules rules simulate --format json > figures.json

    Faults are drawn from the rule book, and so are the answers, some of them wrong. So the figures say how well it
    asks, not how true it is.
    Every step is watched for safety. Ctrl-C, or ending the process, prints the figures so far. A thousand faults take
    an hour or more on one processor.
    """
    from diagnose.authoring.figures import figures
    from diagnose.authoring.simulation import Order, collect
    from diagnose.authoring.simulation import simulate as simulated
    from diagnose.authoring.simulation_text import SimulationDocument, in_words

    engine = load(ctx)
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # in the background nothing hears Ctrl-C
    order = Order(single=single, double=double, less_skilled=less_skilled, wrong=wrong, seed=seed, **others)
    with _progress(len(order.tasks())) as advance:
        faults, complete = collect(simulated(engine, order, processes), advance)
    found = figures(engine.rule_book, faults)
    if form == "json":
        print_json(SimulationDocument(complete=complete, order=order, figures=found, faults=tuple(faults)))
    else:
        click.echo(in_words(found, order, complete))
    ctx.exit(0 if complete else 130)


FAULTS_A_LINE = 50
"""After so many faults a line of progress is written where there is no terminal."""


def _lines_of_progress(total: int) -> Callable[[], None]:
    done = itertools.count(1)

    def advance() -> None:
        number = next(done)
        if number % FAULTS_A_LINE == 0 and number < total:
            click.echo(f"{number} of {total} faults", err=True)

    return advance


@contextmanager
def _progress(total: int) -> Iterator[Callable[[], None]]:
    """Show a bar on a terminal, beside the output; elsewhere a line now and then, for a log."""
    if not sys.stderr.isatty():
        yield _lines_of_progress(total)
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

    columns = (BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=total)
        yield lambda: bar.advance(task)
