"""``diagnose cases learn`` and ``statistics``: what closed cases teach, and how the fleet and our own words did."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from diagnose.commands.main import load, rules_folder
from diagnose.commands.options import FORMAT
from diagnose.commands.printing import print_json
from diagnose.errors import BadInput

if TYPE_CHECKING:
    from diagnose.cases.record import RecordedCase
    from diagnose.learning.closed_cases import ClosedCase
    from diagnose.learning.learning import Learned
    from diagnose.reasoning.engine import Engine

DAY = click.DateTime(["%Y-%m-%d"])
MANY = 1e6


@click.command()
@click.option(
    "--prior-cases",
    type=click.FloatRange(1, MANY),
    help="As how many closed cases the rule book's own frequencies count; as fits the cases best if left out.",
)
@click.option(
    "--prior-looks",
    type=click.FloatRange(1, MANY),
    help="As how many looks each of its strengths counts; likewise.",
)
@click.option("--since", type=DAY, help="Learn from cases closed on this day or later, and say what has drifted.")
@click.option("--write", type=click.Path(path_type=Path), metavar="FOLDER", help="Write a rule book of your own.")
@click.option(
    "--recorded",
    type=click.Path(path_type=Path),
    help="Recorded cases to try, a file or a folder; without it, the included ones.",
)
@FORMAT
@click.pass_context
def learn(
    ctx: click.Context,
    prior_cases: float | None,
    prior_looks: float | None,
    since: datetime | None,
    write: Path | None,
    recorded: Path | None,
    form: str,
) -> None:
    """Learn how often causes come, and what they show, from closed cases.

    \b
    diagnose cases learn
    diagnose cases learn --since 2026-01-01
    diagnose cases learn --write our-rules && diagnose --rules our-rules rules check

    Each figure is shown before and after, with what it lies between with a probability of 95 %. Nothing is changed
    unless you name a folder with --write: a copy of the rule book, with these figures and all comments. The included
    rule book is never written over.

    The figures that the rule book has count as so many cases of its own (--prior-cases), from 200 to 20,000: 200 mean
    that a common cause may be one word of the scale off. Where your cases look much as the rule book believes, more
    are taken, so that chance changes little. In the same way each strength counts as 10 to 1,000 cases of its cause
    in which somebody looked (--prior-looks).

    A case counts by the cause that it was closed with, whatever was proposed; one in which none was found counts as
    one more in which each was not. What was told of one's own accord teaches nothing of how often it shows: only what
    a check or a reading looked for does. A copy counts once, and cases that are alike but for their causes not at all.
    """
    from diagnose.cases.journal import case_folder
    from diagnose.learning.closed_cases import read_closed
    from diagnose.learning.learning import learn as learn_from
    from diagnose.learning.learning_text import in_words
    from diagnose.learning.prior import Prior

    engine = load(ctx)
    cases, left_out = read_closed(engine, case_folder())
    learned = learn_from(engine, cases, Prior(prior_cases, prior_looks), since.date() if since else None, left_out)
    learned = _with_what_moves(engine, learned, cases, recorded)
    if form == "json":
        print_json(learned)
    else:
        click.echo(in_words(engine.rule_book, learned))
    if write is not None:
        _write(ctx, write, learned)


def _with_what_moves(engine: Engine, learned: Learned, cases: list[ClosedCase], recorded: Path | None) -> Learned:
    """Return what was learned together with the cases whose first cause would be another one."""
    import msgspec

    from diagnose.learning.learning import learned_engine, moved
    from diagnose.learning.recorded import recorded_moved

    if recorded is not None and not recorded.exists():
        raise BadInput(f"there is no case or folder of cases {recorded}")
    if not learned.found and not learned.in_vain:
        return learned
    after = learned_engine(engine, learned)
    rows, tried, first_before, first_after = moved(engine, after, cases)
    known = _recorded(engine, recorded)
    return msgspec.structs.replace(
        learned,
        moved=rows,
        closed_tried=tried,
        closed_first_before=first_before,
        closed_first_after=first_after,
        recorded_moved=recorded_moved(engine, after, known),
        recorded_tried=len(known),
    )


def _recorded(engine: Engine, path: Path | None) -> list[RecordedCase]:
    """Return recorded cases; none where the included ones are of another rule book than this one."""
    from diagnose.cases.record import read_cases
    from diagnose.errors import ProblemsFound
    from diagnose.shipped import shipped_folder

    try:
        return read_cases(path or shipped_folder("cases"), engine.rule_book)
    except ProblemsFound:
        if path is not None:
            raise
        return []


def _write(ctx: click.Context, folder: Path, learned: Learned) -> None:
    from diagnose.learning.writing import write_rule_book

    written = write_rule_book(rules_folder(ctx), folder, learned, datetime.now(UTC).date().isoformat())
    click.echo(
        f"written: {written.figures} figures in {written.files} files of {folder}; use it with "
        f"`diagnose --rules {folder} …`, and see what it changes with `cases replay`",
        err=True,
    )


@click.command()
@click.option("--since", type=DAY, help="Count cases closed on this day or later.")
@click.option("--until", type=DAY, help="Count cases closed on this day or earlier.")
@click.option("--meter", default="", metavar="TAG", help="Count the cases of one meter.")
@click.option("--format", "form", type=click.Choice(["text", "json", "html"]), default="text", show_default=True)
@click.pass_context
def statistics(ctx: click.Context, since: datetime | None, until: datetime | None, meter: str, form: str) -> None:
    """Count closed cases: causes, repeats, minutes, checks, and our own words.

    \b
    diagnose cases statistics
    diagnose cases statistics --since 2026-01-01 --format html > year.html
    diagnose cases statistics --meter FT-2041

    The commonest causes and areas; what came back on the same meter; minutes, and how often the first remedy was right;
    which checks brought the confirmed cause nearer for their minutes, beside what was expected of them; and how often
    what we called 80 % probable came true. `diagnose schema statistics` describes the JSON.
    """
    from diagnose.cases.journal import case_folder
    from diagnose.learning.closed_cases import read_closed
    from diagnose.learning.statistics import statistics as statistics_of

    engine = load(ctx)
    cases, left_out = read_closed(engine, case_folder(), meter)
    first, last = since.date() if since else date.min, until.date() if until else date.max
    told = statistics_of(engine, [each for each in cases if first <= each.closed_on <= last], left_out)
    if form == "json":
        print_json(told)
    elif form == "html":
        from diagnose.documents.statistics_page import statistics_page

        click.echo(statistics_page(told, datetime.now(UTC)), nl=False)
    else:
        from diagnose.documents.statistics_text import in_words

        click.echo(in_words(told))
