"""``diagnose interview``: the technician at the meter."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from diagnose.bounded import REPORT, read_file
from diagnose.commands.files import read_sheet
from diagnose.commands.main import load
from diagnose.commands.meters import known_of, not_kept
from diagnose.commands.options import DATA_SHEET
from diagnose.errors import BadInput, WrongUse


@click.command()
@DATA_SHEET
@click.option("--report", type=click.Path(path_type=Path), help="Start from a report in a file.")
@click.option("--resume", metavar="CASE", help="Go on with a case that was left, by its name or file.")
@click.option("--name", metavar="CASE", default="", help="Name of the new case; date and time if left out.")
@click.option("--meter", metavar="TAG", default="", help="Tag of the meter: its kept data sheet and its history count.")
@click.option(
    "--competence",
    type=click.Choice(["ordinary", "instructed", "skilled"]),
    help="What you may do (IEC 60050-195), if you do not want to be asked.",
)
@click.pass_context
def interview(
    ctx: click.Context,
    data_sheet: Path | None,
    report: Path | None,
    resume: str | None,
    name: str,
    meter: str,
    competence: str | None,
) -> None:
    """Find the fault at the meter, one question at a time.

    Cautions come first, and every answer is saved at once.

    \b
    diagnose interview
    diagnose interview --data-sheet ft-2041.yaml --report ticket.txt
    diagnose interview --resume 20260301-101500

    At any prompt type the number of an answer or its first letters, a reading, your own words (a new symptom, what
    you tried, what you found), or one of the words that ? lists.

    Readings are typed as the instrument gives them: 3.6 mA, 0,3 meg, 4k7, >20 Mohm, OL. Where the next reading can
    be worked out, the value to expect is shown with its tolerance. Where readings are compared you may type pairs or
    name a table; where a trend is asked for, name a log.

    Serious cautions come before the steps and ask for a y. After a remedy you are asked to prove it, then whether
    anything is still wrong, then to put the plant back. If what is left is not for you, a hand-over says what is
    known.

    It runs in any terminal, over ssh and without colour. Ctrl-C loses nothing. A finished case can be resumed as well.
    """
    from diagnose.cases.administration import administration
    from diagnose.cases.events import CompetenceSaid, MeterNamed
    from diagnose.cases.journal import Journal, case_folder
    from diagnose.documents.text import make_console
    from diagnose.interview.loop import interview as run
    from diagnose.interview.session import Session
    from diagnose.interview.terminal import Terminal

    if resume and (report or data_sheet or name):
        raise WrongUse("--resume goes on with a case as it is; leave out --report, --data-sheet and --name")
    if sys.stdin is None or sys.stdin.closed:
        raise WrongUse("there is no input to read answers from; run this in a terminal, or pipe the answers in")
    if sys.stdout is None:
        raise WrongUse("there is no output to put questions on; run this in a terminal, or send its output somewhere")
    engine = load(ctx)
    text = _report(report) if report else ""
    sheet = read_sheet(data_sheet, engine.rule_book)
    known = known_of(engine.rule_book, meter, sheet, data_sheet)
    folder = case_folder()
    with (
        Journal.resume(folder, resume) if resume else Journal.start(folder, sheet, name, engine.fingerprint) as journal
    ):
        if journal.closed:
            raise BadInput(f"the case {journal.head.case} is closed; first: {_reopening(journal.head.case)}")
        session = Session(engine, journal)
        terminal = Terminal(make_console(), sys.stdin, person=sys.stdin.isatty())
        if resume:
            from diagnose.interview.rule_book_changed import accepted

            if not accepted(session, terminal):
                ctx.exit(0)
            session.come_back()
        named = MeterNamed(tag=known.tag, data_sheet=dict(known.kept))
        was = administration(journal.entries)
        if known.tag and (was.meter, was.data_sheet) != (named.tag, named.data_sheet):
            journal.add(journal.new_turn(), named)
        first = list(known.told)
        if administration(journal.entries).meter:  # the first question of any other interview waits for no numerics
            from diagnose.learning.meter_history import at_case

            session.engine, found_before = at_case(engine, folder, session.case)
            first += filter(None, [found_before])
        if competence:
            journal.add(journal.new_turn(), CompetenceSaid(competence=competence))  # type: ignore[arg-type]
        status = run(session, terminal, text, first, resumed=bool(resume))
        for line in not_kept(engine.rule_book, folder, session.case):
            click.echo(f"  {line}")
    ctx.exit(status)


def _reopening(name: str) -> str:
    return f'diagnose cases reopen {name} --because "…"'


def _report(path: Path) -> str:
    """Return the text of a report, checked before a case is begun.

    Raises BadInput when it cannot be read, is empty, or is not text.
    """
    from diagnose.language.cleaning import clean, decoded

    text = decoded(read_file(path, REPORT))
    clean(text)
    return text
